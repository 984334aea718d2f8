"""A job that may be running is never forgotten, and never said to run, or to have ended, without its line."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from exhibit.decisions.machine.description import Interruption, LinePattern
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.wear.use import Use
from exhibit.decisions.wear.use_watch import FACTS, UseWatch
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.parts_and_cards import NowReadings
from exhibit.facts.use_before import UseBefore
from tests.decisions.heron import CANCEL, MACHINE, S, machine, opened

MIN = 60 * S


def exerciser(name: str, typed: str, begun: str, **more) -> Exerciser:
    given = {
        "job": "job",
        "minutes": "minutes",
        "ended": ("stopped", "all-stopped", "job-ended"),
        "part": "left",
        "writes": "",
        "longest_us": 60 * MIN,
        "because": "",
        "called": "WORK",
        "listed": ("listed", "board.jobs"),
        "none_listed": ("no-jobs", "board.jobs"),
        "refused": ("stuck",),
    }
    return Exerciser(name=name, typed=Pattern(typed), begun=begun, **given | more)


WORK = exerciser("work", "WORK {minutes: number}", "works")
ENDLESS = exerciser("endless", "WORK", "works-on", minutes="", longest_us=None, because="a test")
SLOW = exerciser("slow", "SLOW {minutes: number}", "grinds", called="GRIND")
FAST = exerciser("fast", "FAST", "grinds", called="GRIND", longest_us=5 * MIN)
LINES = {
    "works": "JOB {job: number} WORKS {minutes: number} MINUTES",
    "works-on": "JOB {job: number} WORKS",
    "grinds": "JOB {job: number} GRINDS",
    "all-stopped": "ALL JOBS STOPPED",
    "job-ended": "== {job: number} {name: word} ENDED ==",
    "listed": "LISTED {job: number}",
    "no-jobs": "NO JOBS",
}
HERON = machine(
    exercisers=(WORK, ENDLESS, SLOW, FAST),
    lines=(*MACHINE.lines, *(LinePattern(name=n, pattern=Pattern(text)) for n, text in LINES.items())),
    now=NowReadings(jobs=["board.jobs"], job_name="name"),
)


class Watched:
    """The facts about jobs that follow from what happens, as they are recorded."""

    def __init__(self, before: UseBefore | None = None, opening: kinds.RecordingOpened | None = None) -> None:
        self.use = Use(opening or opened(HERON, use_before=before))
        self.watch = UseWatch(HERON, self.use)
        self.facts: list[kinds.AnyFact] = []
        self.at_us = 0

    def note(self, fact: kinds.AnyFact) -> list[kinds.AnyFact]:
        self.use.note(self.at_us, fact)
        decided = self.watch.note(self.at_us, fact)
        self.facts += decided
        return decided

    def types(self, command: str, end: str = "\r") -> list[kinds.AnyFact]:
        facts: list[kinds.AnyFact] = []
        for one in command + end:
            facts += self.note(kinds.BytesTyped(bytes=one, count=1, by="script round"))
        return facts

    def prints(self, line: str) -> list[kinds.AnyFact]:
        facts: list[kinds.AnyFact] = []
        for known in HERON.lines:
            if (fields := known.pattern.match(line)) is not None:
                facts += self.note(kinds.PatternSeen(pattern=known.name, line=line, fields=fields))
        return facts

    def stands(self, name: str = "ready") -> list[kinds.AnyFact]:
        return self.note(kinds.LandmarkReached(landmark=name, line=""))

    def shows(self, *rows: str, frames: int = 2, unread: tuple[int, ...] = ()) -> list[kinds.AnyFact]:
        table = [dict(zip(("job", "name"), row.split(), strict=True)) for row in rows]
        facts: list[kinds.AnyFact] = []
        for frame in range(1, frames + 1):
            reading = kinds.ReadingTaken(
                display="board", frame=frame, name="jobs", table=table, unread=[*unread]
            )
            facts += self.note(reading)
        return facts

    def later(self) -> Watched:
        """After a restart of the bridge."""
        return Watched(self.use.before(self.at_us))

    @property
    def doubted(self) -> list[tuple[str, str]]:
        """Command and number of each job in doubt."""
        return [(one.command, one.job) for one in self.use.doubts.doubted]

    @property
    def running(self) -> list[tuple[str, str]]:
        return [(busy.exerciser, busy.job) for busy in self.use.running]


def in_doubt(command: str = "WORK 4") -> Watched:
    """The machine took the command, and then its prompt came without the line that says that it has begun."""
    watched = Watched()
    watched.types(command)
    watched.stands()
    assert watched.doubted == [(command, "")]
    return watched


# -- asked for, and begun


def test_a_job_runs_only_once_the_whole_line_that_says_so_has_arrived():
    watched = Watched()
    (asked,) = watched.types("WORK 4")
    assert asked == kinds.JobAsked(
        asked=1, exercisers=["work"], command="WORK 4", by="script round", ends_us=4 * MIN
    )
    assert (watched.running, watched.doubted) == ([], [])
    (begun,) = watched.prints("JOB 7 WORKS 4 MINUTES")
    assert begun == kinds.ExerciserBegun(exerciser="work", job="7", part="left", ends_us=4 * MIN, asked=1)
    assert watched.stands() == []
    assert (watched.running, watched.doubted) == ([("work", "7")], [])


def test_a_command_that_was_not_sent_starts_nothing():
    for end in ("", CANCEL.decode("latin-1")):
        watched = Watched()
        assert watched.types("WORK 4", end) == []
    assert watched.types("TIME") == []
    assert watched.types("WORK FOUR") == []


def test_a_key_that_puts_a_display_away_is_no_part_of_the_command():
    watched = Watched()
    watched.stands("board")
    watched.types(" ", "")
    assert [type(fact) for fact in watched.types("WORK 4")] == [kinds.JobAsked]


@pytest.mark.parametrize(
    "happens",
    [
        lambda watched: watched.stands(),
        lambda watched: watched.note(kinds.LineLost(why="unplugged")),
        lambda watched: watched.note(kinds.StepFailed(script="round", step="go", why="it was late")),
        lambda watched: watched.types("TIME"),
        lambda watched: (watched.prints("JOB 7 W+RKS 4 MINUTES"), watched.stands())[1],
    ],
)
def test_a_begun_line_that_did_not_come_whole_leaves_the_job_in_doubt_and_not_running(happens):
    watched = Watched()
    watched.types("WORK 4")
    (fact,) = happens(watched)
    assert isinstance(fact, kinds.JobInDoubt)
    assert fact.why
    assert (fact.exercisers, fact.command, fact.job, fact.ends_us) == (["work"], "WORK 4", "", 4 * MIN)
    assert watched.running == []


def test_the_first_piece_of_a_line_is_not_another_exerciser():
    """As when a broadcast broke in after "JOB 7 WORKS": so would the line of the endless one read."""
    watched = Watched()
    watched.types("WORK 4")
    (fact,) = watched.prints("JOB 7 WORKS")
    assert (fact.exercisers, fact.job, fact.ends_us) == (["work", "endless"], "", 0)
    assert watched.running == []
    watched = Watched()
    watched.types("WORK")
    watched.prints("JOB 7 WORKS")
    assert watched.running == [("endless", "7")]


def test_a_line_whose_minutes_are_not_those_that_were_typed_is_not_believed():
    watched = Watched()
    watched.types("WORK 4")
    watched.prints("JOB 7 WORKS 44 MINUTES")
    assert (watched.running, watched.doubted) == ([], [("WORK 4", "")])


def test_the_line_may_come_late_as_long_as_the_connection_lasts():
    watched = in_doubt()
    watched.prints("JOB 7 WORKS 4 MINUTES")
    assert (watched.running, watched.doubted) == ([("work", "7")], [])
    watched = Watched()
    watched.types("WORK 4")
    watched.note(kinds.LineLost(why="unplugged"))
    watched.prints("JOB 7 WORKS 4 MINUTES")
    assert watched.doubted == [("WORK 4", "")]


def test_a_command_that_the_machine_refuses_leaves_nothing_in_doubt():
    watched = Watched()
    watched.types("WORK 4")
    refused = kinds.TroubleRaised(trouble="stuck", line="", words={}, do={})
    assert watched.note(refused) == [kinds.JobDoubtOver(asked=1, how="refused", by="stuck")]
    assert watched.stands() == []
    after = in_doubt()
    after.note(refused)
    assert after.doubted == [("WORK 4", "")]  # by then it may be about something else


@pytest.mark.parametrize(("new_line", "count"), [(True, 1), (False, 0)])
def test_a_command_that_may_have_been_taken_before_return_leaves_a_job_in_doubt(new_line, count):
    watched = Watched()
    watched.types("WORK 4", "")
    garbled = kinds.TypingGarbled(
        command="work 4", expected="WORK", came_back="WORK\\r\\n", attempt=1, new_line=new_line
    )
    assert len(watched.note(garbled)) == len(watched.doubted) == count
    for doubt in watched.use.doubts.doubted:
        assert (doubt.exercisers, doubt.by, doubt.ends_us) == (("work", "endless"), "script round", 0)
    other = kinds.TypingGarbled(command="TIME", expected="TI", came_back="", attempt=1, new_line=True)
    assert watched.note(other) == []


# -- two with the same line


def test_the_command_that_was_typed_decides_which_of_two_it_is():
    for command, name, ends_us in (("SLOW 2", "slow", 2 * MIN), ("FAST", "fast", 5 * MIN)):
        watched = Watched()
        watched.types(command)
        (begun,) = watched.prints("JOB 3 GRINDS")
        assert (begun.exerciser, begun.job, begun.ends_us) == (name, "3", ends_us)


def test_minutes_that_only_the_command_gives_count_once_the_machine_says_that_it_has_begun():
    watched = Watched()
    watched.types("SLOW 2")
    (begun,) = watched.prints("JOB 3 GRINDS")
    assert begun.ends_us == 2 * MIN
    longest = Watched()  # somebody at another console began it, and nobody here knows for how long
    (doubt,) = longest.prints("JOB 3 GRINDS")
    assert doubt.ends_us == 60 * MIN
    late = Watched()  # the machine didn't answer at once: perhaps it received the command damaged
    late.types("SLOW 2")
    late.stands()
    (begun,) = late.prints("JOB 3 GRINDS")
    assert (begun.exerciser, begun.ends_us) == ("slow", 60 * MIN)


def test_minutes_that_are_too_long_to_be_true_are_no_end():
    watched = Watched()
    watched.types("SLOW 999999")
    (begun,) = watched.prints("JOB 3 GRINDS")
    assert begun.ends_us == 0


def test_if_nobody_typed_it_here_either_may_be_meant():
    watched = Watched()
    (fact,) = watched.prints("JOB 3 GRINDS")
    assert isinstance(fact, kinds.JobInDoubt)
    assert (fact.exercisers, fact.command, fact.job) == (["slow", "fast"], "", "3")
    assert watched.running == []
    assert [type(fact) for fact in watched.prints("JOB 3 STOPPED")] == [kinds.JobDoubtOver]
    assert [type(fact) for fact in Watched().prints("JOB 3 WORKS 4 MINUTES")] == [kinds.ExerciserBegun]


# -- the only ways in which a doubt ends


def test_no_later_pass_no_restart_and_no_time_ends_a_doubt():
    watched = in_doubt()
    watched.types("WORK 4")
    watched.prints("JOB 8 WORKS 4 MINUTES")
    watched.prints("JOB 8 STOPPED")
    ended = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    for fact in (ended, kinds.LineLost(why=""), kinds.LineOpened(line="x"), kinds.SessionCleared(by="1")):
        watched.note(fact)
    watched.at_us = 300 * 60 * MIN
    again = watched.later().later()
    assert watched.doubted == again.doubted == [("WORK 4", "")]
    assert again.types("WORK 4")[0].asked == 2


def test_a_job_that_was_just_asked_for_is_in_doubt_after_a_restart():
    watched = Watched()
    watched.types("WORK 4")
    assert watched.doubted == []
    (job,) = watched.later().use.doubts.doubted
    assert (job.command, job.ends_us) == ("WORK 4", 4 * MIN)
    assert "before the machine had answered" in job.why


def test_a_printed_end_of_the_same_program_ends_the_doubt():
    assert in_doubt().prints("JOB 9 STOPPED") == []  # other programs end with this line too
    watched = in_doubt()
    assert watched.prints("== 9 OTHER ENDED ==") == []
    assert watched.prints("== 9 WORK ENDED ==") == [kinds.JobDoubtOver(asked=1, how="ended", by="job-ended")]
    assert watched.doubted == []


def test_the_end_of_another_job_of_the_same_program_does_not():
    watched = Watched()
    watched.types("WORK 1")
    watched.prints("JOB 5 WORKS 1 MINUTES")
    watched.types("WORK 4")
    watched.stands()
    watched.at_us = 2 * MIN  # job 5 must have ended by itself
    watched.prints("== 5 WORK ENDED ==")
    assert watched.doubted == [("WORK 4", "")]
    watched.types("WORK 4")
    watched.stands()
    watched.prints("== 6 WORK ENDED ==")  # of two in doubt, nobody knows which
    assert watched.doubted == [("WORK 4", ""), ("WORK 4", "")]


def test_a_number_that_the_run_before_knew_is_not_that_of_a_job_in_doubt():
    later = in_doubt().later()
    numbers = {"go": {"job": "9"}}
    later.note(msgspec.structs.replace(LAST, numbers=numbers, in_doubt=[]))
    later.prints("== 9 WORK ENDED ==")
    assert later.doubted == [("WORK 4", "")]


def test_a_job_whose_beginning_breaks_into_other_output_is_known_like_any_other(monkeypatch):
    news = Interruption(name="works", starts=Pattern(LINES["works"]), lines=1)
    monkeypatch.setattr(f"{__name__}.HERON", msgspec.structs.replace(HERON, interruptions=(news,)))
    watched = Watched()
    watched.types("WORK 1")
    broke_in = kinds.InterruptionSeen(interruption="works", text="\nJOB 5 WORKS 1 MINUTES\n")
    begun = kinds.ExerciserBegun(exerciser="work", job="5", part="left", ends_us=MIN, asked=1)
    assert watched.watch.jobs.seen(0, broke_in) == [begun]  # this is what a script asks
    assert watched.note(broke_in) == [begun]
    watched.types("WORK 4")
    watched.stands()
    watched.at_us = 2 * MIN  # job 5 must have ended by itself
    watched.prints("== 5 WORK ENDED ==")
    assert watched.doubted == [("WORK 4", "")]


def test_a_line_that_stops_all_jobs_ends_every_exerciser_that_lists_it():
    watched = Watched()
    for number in (1, 2):
        watched.types("WORK 4")
        watched.prints(f"JOB {number} WORKS 4 MINUTES")
    watched.types("SLOW 3")
    watched.prints("JOB 3 GRINDS")
    watched.types("WORK 4")
    watched.stands()
    watched.types("SHUT DOWN")
    facts = watched.prints("ALL JOBS STOPPED")
    assert [type(fact) for fact in facts] == [kinds.ExerciserEnded] * 3 + [kinds.JobDoubtOver]
    assert (watched.running, watched.doubted) == ([], [])


def test_such_a_line_ends_no_exerciser_that_does_not_list_it():
    rules = msgspec.structs.replace(WORK, ended=("stopped",))
    described = msgspec.structs.replace(HERON, exercisers=(rules, SLOW))
    use = Use(opened(HERON))
    watch = UseWatch(described, use)
    use.note(0, kinds.ExerciserBegun(exerciser="work", job="1", part="left", ends_us=0))
    use.note(0, kinds.JobInDoubt(asked=1, exercisers=["work"], command="WORK 4", by="", why="late"))
    seen = kinds.PatternSeen(pattern="all-stopped", line="ALL JOBS STOPPED")
    assert watch.note(0, seen) == []


def test_an_end_counts_whatever_command_printed_it():
    watched = Watched()
    watched.types("WORK 4")
    watched.prints("JOB 7 WORKS 4 MINUTES")
    watched.types("CLOSE")
    watched.stands("sure")
    watched.types("YES")
    watched.prints("JOB 7 STOPPED")
    assert watched.running == []


# -- listings


def test_a_listing_shows_the_number_of_the_job_but_not_that_it_runs():
    watched = in_doubt()
    assert watched.prints("LISTED 7") == [kinds.JobListed(asked=1, job="7", by="listed")]
    assert (watched.doubted, watched.running) == ([("WORK 4", "7")], [])
    assert watched.prints("LISTED 8") == []
    assert watched.prints("JOB 8 STOPPED") == []
    assert watched.prints("JOB 7 STOPPED") == [kinds.JobDoubtOver(asked=1, how="ended", by="stopped")]


def test_the_number_of_a_job_that_is_known_is_not_taken_for_it():
    watched = Watched()
    watched.types("WORK 4")
    watched.prints("JOB 7 WORKS 4 MINUTES")
    watched.types("WORK 4")
    watched.stands()
    assert watched.prints("LISTED 7") == watched.shows("7 WORK", frames=1) == []
    assert watched.shows("7 WORK", "8 WORK", "9 WORK") == []  # it may be 8 or 9
    assert watched.shows("7 WORK", "9 WORK", frames=1) == [kinds.JobListed(asked=2, job="9", by="board.jobs")]


def test_a_listing_that_does_not_contain_it_ends_the_doubt():
    assert in_doubt().prints("NO JOBS") == [kinds.JobDoubtOver(asked=1, how="not listed", by="no-jobs")]
    assert in_doubt().shows("3 GRIND") == [kinds.JobDoubtOver(asked=1, how="not listed", by="board.jobs")]
    listed = in_doubt()
    listed.prints("LISTED 7")
    assert listed.shows("8 WORK") == [kinds.JobDoubtOver(asked=1, how="not listed", by="board.jobs")]


def test_one_frame_is_not_enough_nor_is_a_table_with_rows_that_could_not_be_read():
    watched = in_doubt()
    assert watched.shows(frames=1) == []
    assert watched.shows("7 WORK", frames=1) != []
    assert watched.shows(frames=1) == []
    assert in_doubt().shows(unread=(7,), frames=4) == []


def test_a_table_that_does_not_list_all_jobs_does_not_show_that_there_is_none():
    rules = msgspec.structs.replace(WORK, none_listed=())
    use = Use(opened(HERON))
    watch = UseWatch(msgspec.structs.replace(HERON, exercisers=(rules,)), use)
    use.note(0, kinds.JobInDoubt(asked=1, exercisers=["work"], command="WORK 4", by="", why="late"))
    for frame in range(1, 5):
        reading = kinds.ReadingTaken(display="board", frame=frame, name="jobs", table=[])
        assert watch.note(0, reading) == []


def test_a_listing_printed_before_the_machine_has_answered_says_nothing_about_the_job():
    watched = Watched()
    watched.types("WORK 4")
    assert watched.prints("NO JOBS") == watched.prints("ALL JOBS STOPPED") == watched.shows() == []


# -- a person


def test_a_person_can_say_that_no_job_is_running():
    watched = in_doubt()
    request = kinds.RequestMade(request="no job", by="a docent")
    assert watched.note(request) == [kinds.JobDoubtOver(asked=1, how="a person", by="a docent")]
    assert watched.doubted == []
    (refused,) = watched.note(request)
    assert isinstance(refused, kinds.RequestRefused)
    for other in ("clear", "stop", "confirm"):
        watched = in_doubt()
        watched.note(kinds.RequestMade(request=other, by="a docent"))
        assert watched.doubted == [("WORK 4", "")]


# -- the run before


LAST = msgspec.structs.replace(
    NOTHING,
    recording="last",
    closed=False,
    in_doubt=[kinds.InDoubt(asked=0, exercisers=["work"], command="WORK 4", by="script round", why="cut")],
)


def test_a_job_whose_command_was_the_last_that_was_recorded_is_taken_over():
    watched = in_doubt("SLOW 1").later()
    watched.at_us = MIN
    (fact,) = watched.note(LAST)
    assert (fact.asked, fact.command, fact.ends_us) == (2, "WORK 4", 5 * MIN)
    assert watched.doubted == [("SLOW 1", ""), ("WORK 4", "")]


def test_what_is_decided_again_over_the_facts_is_the_same():
    watched = in_doubt()
    watched.prints("LISTED 7")
    use = Use(opened(HERON))
    for fact in watched.facts:
        assert isinstance(fact, FACTS)
        use.note(0, fact)
    assert use.before(0).in_doubt == watched.use.before(0).in_doubt != []


def test_a_job_without_an_end_is_not_forgotten_after_a_long_time_without_a_recording():
    first = Watched()
    first.types("WORK")
    first.prints("JOB 7 WORKS")
    for hours, running, doubted in ((0.5, [("endless", "7")], []), (30, [], [("", "7")])):
        before = first.use.before(0)
        wall = read_wall(before.at) + timedelta(hours=hours)
        opening = opened(HERON, wall=wall.isoformat(), use_before=before)
        later = Watched(opening=opening)
        assert later.doubted == doubted  # also if the program is killed before it records that
        later.note(opening)
        assert (later.running, later.doubted) == (running, doubted)
        ended = later.prints("JOB 7 STOPPED")
        assert [type(fact) for fact in ended] == [kinds.ExerciserEnded if running else kinds.JobDoubtOver]
