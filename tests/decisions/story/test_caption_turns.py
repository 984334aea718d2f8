"""One caption at a time, each long enough to be read; nothing chatters, and nothing is re-timed."""

from __future__ import annotations

import pytest

from exhibit.decisions.commands import Arm, Drop, Tell
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.story.caption_turns import AGAIN_AFTER_US, CaptionTurns
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again
from tests.decisions.deciders import decider_for
from tests.decisions.heron import S, caption, folder, opened, pause, script
from tests.decisions.playbook import play

SHORT, LONG = "Two words.", "A caption of sixteen short words that needs six seconds to be read by each one."
LONG_S = 6.0


class Stage:
    """Captions come, deadlines pass, and what is shown is noted with the second."""

    def __init__(self, *captions):
        kinds_of_trigger = [
            caption("load", reading="board.load", change="changes"),
            caption("board-stands", when="board"),
            caption("history", kind="background", when="ready"),
        ]
        self._turns = CaptionTurns(folder(captions=(*kinds_of_trigger, *captions)))
        self._seq = 0
        self.now_s = 0.0
        self.due_s: float | None = None
        self.shown: list[tuple[float, str]] = []
        self.showing: kinds.CaptionShown | None = None

    def explained(self) -> Stage:
        """The board was explained, and that could be read."""
        self.brings("board-stands", words="So.")
        self.now_s = 2.0
        self.shown.clear()
        return self

    def at(self, second: float) -> Stage:
        while self.due_s is not None and self.due_s <= second:
            self.now_s, self.due_s = max(self.now_s, self.due_s), None
            self.fact(kinds.DeadlinePassed(name="caption"))
        self.now_s = second
        return self

    def brings(self, *names: str, words: str = LONG, **languages: str) -> Stage:
        brought = [
            kinds.CaptionShown(
                caption=name,
                kind="background" if name == "history" else "seen",
                words={"en": words, **languages},
                part="console",
                because=[1],
                source={},
                display="board" if name in ("load", "board-stands") else "",
            )
            for name in names
        ]
        return self.fact(kinds.Heartbeat(wall=""), brought)

    def fact(self, fact: kinds.AnyFact, brought: list[kinds.CaptionShown] | None = None) -> Stage:
        self._seq += 1
        entry = kinds.Entry(self._seq, round(self.now_s * S), fact)
        for command in self._turns.note(entry, brought or []):
            match command:
                case Tell(fact=kinds.CaptionShown() as shown):
                    self.shown.append((self.now_s, shown.caption))
                    self.showing = shown
                case Arm(name="caption", due_us=due_us):
                    assert self.due_s is None, "it is armed already"
                    self.due_s = due_us / S
                case Drop(name="caption"):
                    self.due_s = None
                case _:
                    raise AssertionError(command)
        return self


# -- turns


def test_a_caption_is_shown_at_once_when_nothing_must_still_be_read():
    stage = Stage().at(1).brings("one").at(1 + LONG_S).brings("two")
    assert stage.shown == [(1, "one"), (1 + LONG_S, "two")]


def test_a_caption_that_comes_too_soon_waits_until_the_one_before_can_have_been_read():
    stage = Stage().at(1).brings("one").at(2).brings("two")
    assert stage.shown == [(1, "one")]
    assert stage.due_s == 1 + LONG_S
    assert stage.at(99).shown == [(1, "one"), (1 + LONG_S, "two")]


def test_of_those_that_wait_the_newest_wins():
    stage = Stage().brings("one").at(1).brings("two").at(2).brings("three").at(99)
    assert stage.shown == [(0, "one"), (LONG_S, "three")]


def test_of_two_that_come_with_one_fact_the_second_waits():
    assert Stage().brings("one", "two").at(99).shown == [(0, "one"), (LONG_S, "two")]


def test_the_caption_in_the_language_that_takes_longest_to_read_sets_the_time():
    stage = Stage().brings("one", words=SHORT, de=LONG).brings("two").at(99)
    assert stage.shown == [(0, "one"), (LONG_S, "two")]


def test_even_the_shortest_caption_stands_for_two_seconds():
    stage = Stage().brings("one", words="No.").at(1).brings("two").at(99)
    assert stage.shown == [(0, "one"), (2, "two")]


def test_a_caption_that_comes_when_the_deadline_is_late_goes_before_the_one_that_waited():
    stage = Stage().brings("one").at(1).brings("two")
    stage.now_s = LONG_S + 1  # the computer was busy, and the deadline has not passed yet
    stage.brings("three")
    assert stage.shown == [(0, "one"), (LONG_S + 1, "three")]
    assert stage.due_s is None
    assert stage.at(99).shown[2:] == []


def test_nothing_is_armed_when_nothing_waits():
    assert Stage().brings("one").due_s is None


# -- which goes first


@pytest.mark.parametrize("low", ["load", "history"])
def test_a_caption_of_the_moment_takes_the_turn_of_a_reading_and_of_background(low):
    assert Stage().brings("one", low, "two").at(99).shown == [(0, "one"), (LONG_S, "two")]


@pytest.mark.parametrize("low", ["load", "history"])
def test_a_reading_and_background_never_take_the_turn_of_a_caption_of_the_moment(low):
    assert Stage().brings("one", "two", low).at(99).shown == [(0, "one"), (LONG_S, "two")]


def test_a_reading_never_takes_the_turn_of_background():
    assert Stage().brings("one", "history", "load").at(99).shown == [(0, "one"), (LONG_S, "history")]


def test_a_reading_has_its_turn_when_nobody_else_wants_it():
    assert Stage().explained().brings("one", "load").at(99).shown == [(2, "one"), (2 + LONG_S, "load")]


def test_a_reading_that_comes_when_the_deadline_is_late_lets_the_one_go_that_waited():
    for late_s in (2, 3):
        stage = Stage().explained().brings("one", "two")
        stage.now_s = LONG_S + late_s
        assert stage.brings("load").shown == [(2, "one"), (LONG_S + late_s, "two")]


# -- no chatter


def test_what_stands_there_is_not_shown_anew_however_often_it_comes():
    stage = Stage().brings("one")
    for second in range(1, 200):
        stage.at(second).brings("one")
    assert stage.shown == [(0, "one")]


def test_the_same_background_comes_again_after_a_minute_and_not_before():
    assert AGAIN_AFTER_US == 60 * S
    stage = Stage().brings("history").at(10).brings("two").at(59.9).brings("history").at(60)
    stage.brings("history")
    assert stage.shown == [(0, "history"), (10, "two"), (60, "history")]


def test_a_caption_of_the_moment_gets_its_turn_again_when_another_stands():
    stage = Stage().brings("one").at(10).brings("two").at(20).brings("one").at(99)
    assert stage.shown == [(0, "one"), (10, "two"), (20, "one")]


def test_when_the_standing_caption_comes_again_what_waits_is_forgotten():
    stage = Stage().brings("one").at(1).brings("two").at(2).brings("one")
    assert stage.due_s is None
    assert stage.at(99).shown == [(0, "one")]


def test_a_display_that_is_painted_again_takes_no_turn_from_what_waits():
    stage = Stage().brings("board-stands").at(1).brings("two").at(2).brings("board-stands").at(99)
    assert stage.shown == [(0, "board-stands"), (LONG_S, "two")]


@pytest.mark.parametrize("ends", [kinds.StepFailed, kinds.StepLeftOut])
def test_what_a_step_would_have_said_is_forgotten_when_it_fails_or_is_left_out(ends):
    told = kinds.CaptionShown(
        caption="two", kind="seen", words={"en": LONG}, part="console", because=[1], source={}
    )
    stage = Stage().brings("one").fact(kinds.StepStarted(script="round", step="go"), [told])
    stage.fact(ends(script="round", step="other", why="it broke"))
    assert stage.due_s == LONG_S
    stage.fact(ends(script="round", step="go", why="it broke"))
    assert stage.at(99).shown == [(0, "one")]


STARTED = kinds.ScriptStarted(script="round", title={}, by="a docent", round=1)
ENDED = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")


def test_in_a_script_captions_of_one_kind_in_a_row_are_one_caption_whatever_their_figures():
    stage = Stage().fact(STARTED).brings("hours", words=f"0 {LONG}").at(1).brings("two")
    for second in range(2, 30):
        stage.at(second).brings("hours", words=f"{second} {LONG}")
    assert stage.at(99).shown == [(0, "hours")]
    stage.brings("two").at(110).brings("hours", words="Again an hour.")
    assert stage.shown == [(0, "hours"), (99, "two"), (110, "hours")]


@pytest.mark.parametrize("before", [[], [STARTED, ENDED]])
def test_when_no_script_runs_a_caption_is_told_again_with_each_new_figure(before):
    stage = Stage()
    for fact in before:
        stage.fact(fact)
    for second, words in ((0, "Load 0.10."), (400, "Load 0.90."), (800, "Load 0.90."), (4000, "Load 3.50.")):
        stage.at(second).brings("hours", words=words)
    assert stage.shown == [(0, "hours"), (400, "hours"), (4000, "hours")]


def test_what_a_run_left_showing_is_told_again_with_new_figures_once_the_run_is_over():
    stage = Stage().fact(STARTED).brings("hours", words="3 hours.").at(10).fact(ENDED)
    assert stage.brings("hours", words="6 hours.").shown == [(0, "hours"), (10, "hours")]


def told(name="one", words=LONG, **about):
    return kinds.CaptionShown(
        caption=name, kind="seen", words={"en": words}, source={}, **{"part": "", "because": [1], **about}
    )


OVER = {
    "its job has ended": ({"job": "1"}, [kinds.ExerciserEnded(exerciser="shuttle", job="1", by="stopped")]),
    "what ends it has come": (
        {"ends": ["closed"]},
        [kinds.PatternSeen(pattern="closed", line="", fields={})],
    ),
    "its display was put away": ({"display": "board"}, [kinds.LandmarkReached(landmark="ready", line="")]),
    "its part was stopped": (
        {"part": "drive"},
        [kinds.PatternSeen(pattern="off", line="", fields={}), kinds.PartStopped(part="drive", by="off")],
    ),
    "the machine was silent": ({}, [kinds.MachineSilent(heard_us=1, due_us=2, due="typing")]),
}


@pytest.mark.parametrize("why", OVER)
def test_a_caption_that_was_withdrawn_is_shown_again_when_it_comes_again_in_the_same_run(why):
    about, over = OVER[why]
    stage = Stage().fact(STARTED).fact(kinds.Heartbeat(wall=""), [told(**about)]).at(20)
    for fact in over:
        stage.fact(fact)
    stage.fact(kinds.Heartbeat(wall=""), [told(words="Job 2, and again.", **about)])
    assert stage.shown == [(0, "one"), (20, "one")]


def test_a_caption_that_came_with_the_report_that_its_part_was_stopped_isnt_withdrawn_by_it():
    stage = Stage().fact(STARTED)
    off = kinds.PatternSeen(pattern="off", line="", fields={})
    for _ in range(2):
        stage.fact(off, [told(part="drive", because=[2])]).fact(kinds.PartStopped(part="drive", by="off"))
    assert stage.shown == [(0, "one")]


def test_what_an_earlier_run_left_showing_is_shown_with_the_figures_of_this_one():
    started = kinds.ScriptStarted(script="round", title={}, by="a docent", round=2)
    stage = Stage().brings("begun", words="Job 1.").at(10).fact(started).brings("begun", words="Job 4.")
    assert stage.shown == [(0, "begun"), (10, "begun")]


def test_of_a_reading_that_is_showing_only_the_figures_are_read_again():
    stage = Stage().explained().brings("load", words=f"3 {LONG}").at(9).brings("load", words=f"6 {LONG}")
    stage.at(10).brings("two").at(99)
    assert stage.shown == [(2, "load"), (9, "load"), (11, "two")]


def test_the_frames_of_a_status_display_dont_repeat_its_caption():
    stage = Stage()
    for second in range(0, 60, 4):
        stage.at(second).brings("board-stands", words=f"The board at {second}.")
    assert stage.shown == [(0, "board-stands")]


def test_a_reading_that_goes_on_changing_is_told_once_a_minute():
    stage = Stage().explained()
    for second in range(2, 102, 4):
        stage.at(second).brings("load", words=f"Load {second}.").brings("one" if second % 8 == 2 else "two")
    first, again = [second for second, name in stage.at(120).shown if name == "load"]
    assert again - first >= 60


def test_a_reading_whose_caption_stands_is_kept_true():
    stage = Stage().explained().brings("load", words="Load 1.").at(6).brings("load", words="Load 2.")
    assert stage.shown == [(2, "load"), (6, "load")]


# -- what explains, and what elaborates


def test_a_reading_is_not_told_before_its_display_was_explained_and_then_follows_with_its_newest_figures():
    stage = Stage().brings("one").at(1).brings("load", words="Load 1.").brings("board-stands")
    stage.at(5).brings("load", words="Load 2.").at(99)
    assert stage.shown == [(0, "one"), (LONG_S, "board-stands"), (2 * LONG_S, "load")]
    assert stage.showing.words == {"en": "Load 2."}


def test_a_reading_is_held_back_however_long_nobody_explains_its_display():
    stage = Stage()
    for second in range(0, 200, 5):
        stage.at(second).brings("load", words=f"Load {second}.")
    assert stage.shown == []


def test_what_explains_waits_behind_nothing_that_elaborates():
    stage = Stage().explained().brings("load").at(64).brings("one").at(74).brings("load", words=f"3 {LONG}")
    stage.at(75).brings("board-stands")
    assert stage.shown == [(2, "load"), (64, "one"), (74, "load"), (75, "board-stands")]


def test_each_run_of_a_script_explains_anew():
    started = kinds.ScriptStarted(script="round", title={}, by="a docent", round=2)
    stage = Stage().explained().at(10).fact(started).brings("load")
    assert stage.at(99).shown == []


def test_where_nothing_explains_the_display_its_readings_wait_for_nothing():
    stage = Stage()
    stage._turns = CaptionTurns(folder(captions=(caption("load", reading="board.load", change="changes"),)))
    assert stage.brings("load").shown == [(0, "load")]


def test_a_reading_held_back_or_waiting_is_forgotten_when_its_display_is_put_away():
    away = kinds.LandmarkReached(landmark="ready", line="READY:")
    held = Stage().brings("load").fact(away).brings("board-stands").at(99)
    assert held.shown == [(0, "board-stands")]
    waiting = Stage().explained().brings("one", "load").fact(away).at(99)
    assert waiting.shown == [(2, "one")]


def test_a_caption_that_waits_is_forgotten_when_its_end_comes_or_its_job_ends():
    over = {
        "ends": kinds.PatternSeen(pattern="closed", line="CLOSED", fields={}),
        "job": kinds.ExerciserEnded(exerciser="shuttle", job="3", by="stopped"),
    }
    for key, fact in over.items():
        told = kinds.CaptionShown(
            caption="two", kind="seen", words={"en": LONG}, part="console", because=[1], source={},
            **({"ends": ["closed"]} if key == "ends" else {"job": "3"}),
        )  # fmt: skip
        stage = Stage().brings("one").fact(kinds.Heartbeat(wall=""), [told]).fact(fact)
        assert stage.at(99).shown == [(0, "one")], key


def test_a_new_run_of_a_script_tells_its_story_from_the_beginning():
    started = kinds.ScriptStarted(script="round", title={}, by="a docent", round=2)
    stage = Stage().brings("one").at(10).brings("two").at(20).fact(started).brings("one")
    assert stage.shown == [(0, "one"), (10, "two"), (20, "one")]


def test_what_was_shown_is_forgotten_after_a_minute_so_a_day_takes_no_room():
    stage = Stage()
    for number in range(2000):
        stage.at(number * 10.0).brings(f"hours-{number}", words=f"{number} hours.")
    assert len(stage.shown) == 2000
    assert len(stage._turns._shown_us) <= 2 * 7


# -- the end


@pytest.mark.parametrize(
    "fact", [kinds.LineLost(why="unplugged"), kinds.SessionFailed(why="it broke", last_lines=[])]
)
def test_what_waits_when_the_line_is_lost_or_all_failed_is_never_shown(fact):
    assert Stage().brings("one", "two").fact(fact).at(99).shown == [(0, "one")]


def test_the_last_caption_of_all_doesnt_wait_for_what_never_comes():
    stage = Stage().brings("one", "two").at(1).fact(kinds.SessionResting(until_us=0)).at(99)
    assert stage.shown == [(0, "one"), (1, "two")]
    between_rounds = Stage().brings("one", "two").at(1).fact(kinds.SessionResting(until_us=30 * S))
    assert between_rounds.shown == [(0, "one")]


# -- with all decisions together

CAPTIONS = (
    caption("begun", "Job {job} has begun to do what it was told.", when="begun"),
    caption("stopped", "Job {job} was stopped.", when="stopped"),
)
QUIET = ("arm settle", "drop settle", "arm unended", "drop unended", "tell pattern", "tell landmark")


def test_a_caption_waits_for_its_deadline_and_a_recording_decides_so_again():
    stories = folder(captions=CAPTIONS)
    driver = play(
        decider_for(stories, opened()),
        r"""
        opens
        prints "JOB 3 BEGUN: SHUTTLE\r\n"
            tell caption shown: begun
        prints "JOB 3 STOPPED\r\n"
            arm caption 3.75 s
        passes caption
            tell caption shown: stopped
        prints "JOB 3 STOPPED\r\n"
        """,
        without=QUIET,
    )
    check_decided_again(stories, None, driver.entries)
    armed = [entry.fact for entry in driver.entries if isinstance(entry.fact, kinds.DeadlineArmed)]
    assert kinds.DeadlineArmed(name="caption", due_us=3_750_000) in armed


def test_the_last_caption_of_a_run_is_shown_before_it_ends():
    closing = script("closing", pause("night", 1 * S))
    captions = (
        caption("night", "It is night, and this takes a while to be read.", step_started="closing.night"),
        caption("quiet", "All is quiet.", step_done="closing.night"),
    )
    stories = folder(closing, captions=captions)
    wanted = Wanted(before=(), rounds=0, after=("closing",))
    driver = play(
        decider_for(stories, opened(), wanted),
        """
        opens
            tell script started: closing
            arm script 1200 s
            tell step started: night
            arm step 1 s
            tell caption shown: night
        passes step
            tell step ended: night
            tell tidy up started: (the script is done)
            drop script
            tell script ended: done tidy
            arm caption 3.125 s
            tell session resting
            end done
            drop caption
            tell caption shown: quiet
        """,
    )
    check_decided_again(stories, wanted, driver.entries)
