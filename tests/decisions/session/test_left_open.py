"""What a recording leaves open: half a command, a RETURN, a question, jobs, a script."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.machine.script import HOME
from exhibit.decisions.session.left_open import BY, NOTHING, LeftOpen
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from tests.decisions.heron import S, command, folder, hands_on, machine, opened, pause, press, script
from tests.decisions.session import test_limits

ROUND = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    command("also", "begin sums", "begun"),
    press("look", "space", "ready"),
    tidy_up=(
        command("end-shuttle", "end {begin.job}", "stopped"),
        command("end-sums", "end {also.job}", "stopped"),
        command("clear-shuttle", "clear {begin.job}", "stopped"),
    ),
)
WORK = folder(ROUND)


def left_by(*facts: kinds.AnyFact) -> kinds.LastRecordingRead:
    left = LeftOpen(WORK)
    for fact in facts:
        left.take(fact)
    return left.as_fact("last")


def typed(text: str, secret: bool = False) -> list[kinds.AnyFact]:
    return [
        kinds.BytesTyped(bytes="" if secret else one, count=1, by="script round", secret=secret)
        for one in text
    ]


def stands(name: str) -> kinds.LandmarkReached:
    return kinds.LandmarkReached(landmark=name, line="")


def begun(step: str, job: str = "1") -> list[kinds.AnyFact]:
    return [
        kinds.StepStarted(script="round", step=step),
        *typed("BEGIN\r"),
        kinds.TypingConfirmed(command="BEGIN", attempts=1),
        kinds.StepMatched(script="round", step=step, name="begun", line="", fields={"job": job}),
        kinds.StepEnded(script="round", step=step),
    ]


def test_the_key_that_shows_a_line_again_is_no_part_of_the_command():
    looking = folder(ROUND, machine=machine(typing={"show_again": b"\x0e"}))
    left = LeftOpen(looking)
    for fact in typed("GO\x0e"):
        left.take(fact)
    assert left.as_fact("last").half_typed == "GO"
    for fact in typed("\r"):
        left.take(fact)
    assert left.as_fact("last").unanswered == "GO"


STARTED = kinds.ScriptStarted(script="round", title={}, by="a person", round=1)


def test_a_recording_without_anything_leaves_nothing_but_was_not_closed():
    assert left_by() == kinds.LastRecordingRead(**{
        **{name: getattr(NOTHING, name) for name in NOTHING.__struct_fields__},
        "recording": "last",
        "closed": False,
    })  # fmt: skip
    assert left_by(kinds.RecordingClosed(why="")).closed


@pytest.mark.parametrize(
    ("facts", "half", "unanswered"),
    [
        (typed("BEG"), "BEG", ""),
        (typed("WREN", secret=True), "****", ""),
        ([kinds.SecretTyped(by="script round")], "****", ""),
        ([kinds.SecretTyped(by="script round")] * 2, "****", ""),
        ([*[kinds.SecretTyped(by="script round")] * 2, *typed("\r")], "", "****"),
        (typed("BEGIN\r"), "", "BEGIN"),
        ([*typed("BEGIN\r"), kinds.TypingConfirmed(command="BEGIN", attempts=1)], "", ""),
        # Whether the cancel key arrived is only known when something stands behind it.
        (typed("BEG\x18"), "BEG", ""),
        ([*typed("BEG\x18"), stands("ready")], "", ""),
        ([*typed("BEGIN\r\x18"), stands("ready")], "", ""),
        # Another system may have printed its prompt anew over what is still half typed.
        ([*typed("BEG"), stands("ready")], "BEG", ""),
        # A key that puts a display away is no beginning of a command.
        ([stands("board"), *typed(" ")], "", ""),
        (typed(" "), " ", ""),
    ],
)
def test_what_is_half_typed_is_told_until_it_is_known_to_be_gone(facts, half, unanswered):
    left = left_by(*facts)
    assert (left.half_typed, left.unanswered) == (half, unanswered)


def test_a_question_is_open_until_return_or_something_else_stands():
    assert left_by(stands("sure")).question == "sure"
    assert left_by(stands("word")).question == "word"  # a secret is asked for
    assert left_by(stands("sure"), *typed("YES")).question == "sure"
    assert left_by(stands("sure"), *typed("YES\r")).question == ""
    assert left_by(stands("sure"), stands("ready")).question == ""
    assert left_by(stands("ready")).question == ""


def test_the_display_that_stands_is_told():
    assert left_by(stands("board")).display == "board"
    assert left_by(stands("board"), stands("ready")).display == ""


def test_numbers_are_kept_until_every_step_that_names_them_is_done():
    facts = [STARTED, *begun("begin", "1"), *begun("also", "2")]
    assert left_by(*facts).numbers == {"begin": {"job": "1"}, "also": {"job": "2"}}
    facts += [
        kinds.StepEnded(script="round", step="end-shuttle"),
        kinds.StepEnded(script="round", step="end-sums"),
    ]
    left = left_by(*facts)
    assert left.numbers == {"begin": {"job": "1"}}
    assert left.put_away == ["end-shuttle", "end-sums"]
    assert left_by(*facts, kinds.StepEnded(script="round", step="clear-shuttle")).numbers == {}


def test_a_step_that_was_only_left_out_has_put_nothing_away():
    left_out = kinds.StepLeftOut(script="round", step="end-sums", why="the console is at word")
    assert left_by(STARTED, *begun("also"), left_out).numbers == {"also": {"job": "1"}}


def test_a_script_is_open_until_it_has_ended_tidily():
    ended = {"script": "round", "outcome": "failed", "why": ""}
    facts = [STARTED, *begun("begin")]
    assert left_by(*facts).script == "round"
    assert left_by(*facts, kinds.ScriptEnded(**ended, tidy=False)).numbers == {"begin": {"job": "1"}}
    left = left_by(*facts, kinds.ScriptEnded(**ended, tidy=True))
    assert (left.script, left.step, left.numbers) == ("", "", {})


def test_a_script_that_is_done_is_not_open_even_if_a_job_of_an_earlier_pass_is_in_doubt():
    ended = kinds.ScriptEnded(script="round", outcome="done", tidy=False, why="a job may be running")
    left = left_by(STARTED, *begun("begin"), ended)
    assert (left.script, left.step, left.numbers) == ("", "", {})


def test_the_way_home_and_a_tidy_up_after_an_earlier_run_forget_no_number():
    facts = [STARTED, *begun("begin")]
    for name, by in ((HOME, BY), ("round", BY)):
        again = kinds.ScriptStarted(script=name, title={}, by=by)
        assert left_by(*facts, again).numbers == {"begin": {"job": "1"}}
    assert left_by(*facts, STARTED).numbers == {}


def test_a_return_whose_answer_never_came_is_told_with_its_step_also_when_the_tidy_up_had_begun():
    facts = [STARTED, kinds.StepStarted(script="round", step="begin"), *typed("BEGIN\r")]
    left = left_by(*facts, kinds.StepStarted(script="round", step="end-shuttle", tidying=True))
    assert (left.step, left.returned) == ("begin", True)
    assert not left_by(STARTED, *begun("begin")).returned
    assert not left_by(STARTED, kinds.StepStarted(script="round", step="begin"), *typed("BEG")).returned


def test_what_the_recording_before_left_open_goes_on_to_the_next():
    first = left_by(STARTED, *begun("begin"), stands("sure"))
    second = left_by(first, kinds.RecordingClosed(why=""))
    assert (second.script, second.numbers, second.question) == ("round", {"begin": {"job": "1"}}, "sure")
    assert second.closed


def test_what_may_lack_is_told_on_until_the_console_was_seen_to_be_clear():
    first = msgspec.structs.replace(left_by(STARTED), may_lack=True)
    assert left_by(first, kinds.RecordingClosed(why="")).may_lack
    assert left_by(first, stands("ready"), kinds.RecordingClosed(why="")).may_lack
    assert not left_by(first, *typed("\x18"), stands("ready"), kinds.RecordingClosed(why="")).may_lack
    assert not left_by().may_lack


def test_a_lost_line_is_told_until_it_comes_back():
    assert left_by(kinds.LineLost(why="")).line_lost
    assert not left_by(kinds.LineLost(why=""), kinds.LineOpened(line="")).line_lost


# -- a question that nobody has seen

ASKING = folder(
    script(
        "opening",
        hands_on("start"),
        pause("look"),
        command("day", "{date: tall}", "sure", at="sure"),
        command("yes", "yes", "ready", at="sure"),
        command("list", "list", "ended"),
        pause("read"),
        command("go", "go", "begun"),
        tidy_up=(press("stop", "cancel", "ready", at=""), command("sign", "sign", "word")),
    )
)


def possible(*facts: kinds.AnyFact) -> bool:
    left = LeftOpen(ASKING)
    for fact in facts:
        left.take(fact)
    return left.question_possible


def at_step(step: str, tidying: bool = False) -> kinds.StepStarted:
    return kinds.StepStarted(script="opening", step=step, tidying=tidying)


OPENING = kinds.ScriptStarted(script="opening", title={}, by="a person")


@pytest.mark.parametrize(
    ("step", "before_return", "after_return"),
    [
        ("start", True, True),  # what a person does may bring the question that is answered next
        ("look", True, True),
        ("day", True, True),
        ("yes", True, False),
        ("list", False, False),
        ("read", False, False),
        ("go", False, False),
        ("sign", False, True),  # a secret is asked for
    ],
)
def test_a_question_may_stand_unseen_where_the_script_had_come_to_one(step, before_return, after_return):
    assert possible(OPENING, at_step(step)) == before_return
    assert possible(OPENING, at_step(step), *typed("X\r")) == after_return


def test_it_may_not_when_nothing_was_under_way():
    assert not possible()
    assert not possible(OPENING)
    ended = kinds.ScriptEnded(script="opening", outcome="failed", tidy=True, why="")
    assert not possible(OPENING, at_step("day"), ended)


def test_it_may_as_the_last_recording_tells():
    left = msgspec.structs.replace(NOTHING, script="opening", step="sign", returned=True)
    assert possible(left)
    assert not possible(msgspec.structs.replace(left, returned=False))


def by_hand(text: str, secret: bool = False) -> kinds.TypedByHand:
    return kinds.TypedByHand(bytes="" if secret else text, count=len(text), secret=secret)


@pytest.mark.parametrize(
    ("facts", "half_typed", "unanswered"),
    [
        ([by_hand("GO")], "GO", ""),
        ([by_hand("G"), by_hand("\xcf")], "GO", ""),
        ([by_hand("GO\rST")], "ST", "GO"),
        ([by_hand("GO\r")], "", "GO"),
        ([by_hand("GO\r"), stands("ready")], "", ""),
        ([by_hand("GO\r"), stands("ready"), by_hand("ST")], "ST", ""),
        ([by_hand("GO"), stands("ready")], "GO", ""),
        ([by_hand("GO\x18"), stands("ready")], "", ""),
        ([by_hand("WREN", secret=True)], "****", ""),
    ],
)
def test_what_a_person_left_on_the_console_is_known(facts, half_typed, unanswered):
    left = left_by(*facts)
    assert (left.half_typed, left.unanswered) == (half_typed, unanswered)


def test_a_person_at_the_terminal_changes_nothing_of_the_script_that_broke_off():
    before = left_by(*begun("begin"), kinds.StepStarted(script="round", step="also"))
    left = LeftOpen(WORK)
    for fact in (*begun("begin"), kinds.StepStarted(script="round", step="also")):
        left.take(fact)
    for fact in (by_hand("GO\r"), kinds.RecordingClosed(why=""), stands("ready")):
        left.take_by_hand(fact)
    assert left.as_fact("last") == msgspec.structs.replace(before, prompt="ready")


def test_typing_that_was_missed_may_have_left_half_a_command():
    left = LeftOpen(WORK)
    left.take_by_hand(kinds.BytesMissed(received=0, typed=1, why="it was away"))
    assert left.half_possible
    assert not left.half_known


def test_what_a_person_left_before_midnight_comes_with_its_prompt_and_its_doubt():
    left = LeftOpen(WORK)
    before = msgspec.structs.replace(NOTHING, half_typed="GO", prompt="desk", may_lack=True)
    left.take_by_hand(before)
    assert (left.now.prompt, left.as_fact("last").may_lack) == ("desk", True)
    left.take_by_hand(msgspec.structs.replace(before, may_lack=False))
    assert left.as_fact("last").may_lack


# -- jobs


WORKING = folder(
    script(
        "round",
        command("go", "work 4", "working"),
        command("again", "work 2", "working"),
        tidy_up=(command("end", "end {go.job}", "stopped"), command("end-2", "end {again.job}", "stopped")),
    ),
    machine=test_limits.HERON,
)


def jobs_left(*facts: kinds.AnyFact) -> kinds.LastRecordingRead:
    left = LeftOpen(WORKING)
    for fact in (STARTED, *facts):
        left.take(fact)
    return left.as_fact("last")


def doubted(left: kinds.LastRecordingRead) -> list[tuple[str, str]]:
    return [(job.command, job.job) for job in left.in_doubt]


def asked(command: str, number: int) -> kinds.JobAsked:
    return kinds.JobAsked(
        asked=number, exercisers=["work"], command=command, by="script round", ends_us=240 * S
    )


def worked(step: str, job: str, number: int) -> list[kinds.AnyFact]:
    return [
        kinds.StepStarted(script="round", step=step),
        *typed("WORK 4\r"),
        asked("WORK 4", number),
        kinds.StepMatched(script="round", step=step, name="working", line="", fields={"job": job}),
        kinds.ExerciserBegun(exerciser="work", job=job, part="left", ends_us=1, asked=number),
        kinds.StepEnded(script="round", step=step),
    ]


def test_after_a_kill_at_return_the_job_that_was_being_begun_is_the_one_in_doubt():
    """Whether or not the recording had come to say that it was asked for."""
    before = [*worked("go", "7", 1), kinds.StepStarted(script="round", step="again")]
    for last in (typed("WORK 2\r"), [*typed("WORK 2\r"), asked("WORK 2", 2)]):
        left = jobs_left(*before, *last)
        assert doubted(left) == [("WORK 2", "")]
        assert left.in_doubt[0].why
        assert left.numbers == {"go": {"job": "7"}}
    assert doubted(jobs_left(*before, *typed("WORK 2"))) == []
    assert doubted(jobs_left(*before, *typed("TIME\r"))) == []


def test_a_job_whose_line_came_is_not_in_doubt_but_its_number_is_kept():
    left = jobs_left(*worked("go", "7", 1))
    assert (doubted(left), left.numbers) == ([], {"go": {"job": "7"}})


@pytest.mark.parametrize(
    ("before", "in_doubt"),
    [([], []), (typed("WORK 2\r"), [("WORK 2", "")]), ([asked("WORK 2", 1)], [("WORK 2", "")])],
)
def test_a_command_that_a_person_typed_at_the_terminal_is_no_job_that_a_script_asked_for(before, in_doubt):
    """What becomes of it is never recorded, so it would be in doubt for good."""
    assert doubted(jobs_left(*before, by_hand("WORK 4\r"))) == in_doubt
    left = LeftOpen(WORKING)
    for fact in (STARTED, *before):
        left.take(fact)
    left.take_by_hand(by_hand("WORK 4\r"))
    assert doubted(left.as_fact("last")) == in_doubt


def test_a_number_whose_end_was_printed_by_another_command_is_not_left_open():
    facts = [*worked("go", "7", 1), *worked("again", "8", 2)]
    end = kinds.ExerciserEnded(exerciser="work", job="7", by="stopped")
    assert jobs_left(*facts).numbers == {"go": {"job": "7"}, "again": {"job": "8"}}
    assert jobs_left(*facts, end).numbers == {"again": {"job": "8"}}
    other = kinds.ExerciserEnded(exerciser="writer", job="7", by="stopped")
    assert jobs_left(*facts, other).numbers == {"go": {"job": "7"}, "again": {"job": "8"}}


def test_a_doubt_outlives_scripts_and_recordings_and_ends_only_when_it_is_known():
    doubt = kinds.JobInDoubt(asked=1, exercisers=["work"], command="WORK 4", by="script round", why="late")
    ended = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    facts = [
        doubt,
        ended,
        STARTED,
        *worked("go", "7", 2),
        kinds.LineLost(why=""),
        kinds.RecordingClosed(why=""),
    ]
    left = jobs_left(*facts)
    assert doubted(left) == [("WORK 4", "")]
    assert doubted(jobs_left(left, ended)) == [("WORK 4", "")]
    over = kinds.JobDoubtOver(asked=1, how="a person", by="a docent")
    assert doubted(jobs_left(*facts, over)) == doubted(jobs_left(left, over)) == []
    listed = kinds.JobListed(asked=1, job="3", by="board.jobs")
    assert doubted(jobs_left(left, listed)) == [("WORK 4", "3")]


def test_what_an_only_watching_run_found_out_meanwhile_counts():
    """The first fact says what is in doubt after all recordings, also those that nothing was typed in."""
    doubt = kinds.JobInDoubt(asked=1, exercisers=["work"], command="WORK 4", by="script round", why="late")
    left = jobs_left(doubt)
    first = opened(use_before=UseBefore(at="2026-11-25T09:00:00+00:00"))
    assert doubted(jobs_left(first, left)) == []
    assert doubted(jobs_left(left)) == [("WORK 4", "")]


def test_a_second_kill_right_after_the_start_forgets_nothing_either():
    left = jobs_left(*typed("WORK 4\r"))
    first = opened(use_before=UseBefore(at="2026-11-25T09:00:00+00:00"))
    assert doubted(jobs_left(first, left)) == [("WORK 4", "")]
    told = kinds.JobInDoubt(asked=1, exercisers=["work"], command="WORK 4", by="script round", why="cut")
    assert doubted(jobs_left(first, left, told)) == [("WORK 4", "")]
