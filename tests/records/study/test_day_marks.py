"""The marks of a day's line are what the facts say, each at its time."""

from __future__ import annotations

from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.records.study.day_marks import MarkMaker, Marks
from tests.decisions.heron import S, machine, opened

WALL = "2026-11-25T12:00:00.000+01:00"


def marks_of(*facts: tuple[float, kinds.AnyFact], end_s: float = 100) -> Marks:
    entries = [Entry(1, 0, opened(machine()))]
    entries += [Entry(seq, round(at_s * S), fact) for seq, (at_s, fact) in enumerate(facts, 2)]
    return MarkMaker().take_all(entries, round(end_s * S))


def started(step: str) -> kinds.StepStarted:
    return kinds.StepStarted(script="round", step=step)


def test_a_step_runs_from_its_start_to_its_end_and_says_how_it_ended() -> None:
    late = kinds.StepOverdue(script="round", step="b", waited_for=["X"], within_us=S, last_lines=["HELLO"])
    marks = marks_of(
        (1, started("a")),
        (3, kinds.StepEnded(script="round", step="a")),
        (4, started("b")),
        (9, late),
        (10, kinds.StepFailed(script="round", step="b", why="late")),
        (11, started("c")),
    )
    assert [[a // S, b // S, step, state] for a, b, _, step, state, _, _ in marks.steps] == [
        [1, 3, "a", "done"],
        [4, 10, "b", "failed"],
        [11, 100, "c", "running"],
    ]
    assert [(us // S, what) for us, _, what, _ in marks.troubles] == [
        (9, "step b was late"),
        (10, "step b failed"),
    ]


def test_a_step_that_was_done_after_all_stays_marked_as_late() -> None:
    late = kinds.StepOverdue(script="round", step="a", waited_for=["X"], within_us=S, last_lines=[])
    marks = marks_of((1, started("a")), (5, late), (6, kinds.StepEnded(script="round", step="a")))
    assert [state for _, _, _, _, state, _, _ in marks.steps] == ["late"]


def test_a_hands_on_step_runs_from_asked_to_answered_with_who_answered() -> None:
    asked = kinds.HandsOnAsked(script="opening", step="key", words={}, caution={})
    marks = marks_of((2, asked), (30, kinds.HandsOnConfirmed(step="key", by="docent 1")))
    assert marks.hands == [[2 * S, 30 * S, "opening", "key", "done", "docent 1", 2]]


def test_a_frame_of_a_status_display_is_one_mark_with_the_number_of_its_values() -> None:
    reading = kinds.ReadingTaken(display="board", frame=1, name="load", value=4)
    marks = marks_of((5, reading), (5, reading), (7, reading))
    assert [(us // S, display, count) for us, _, display, count in marks.readings] == [
        (5, "board", 2),
        (7, "board", 1),
    ]


def test_a_lost_line_lasts_until_it_is_open_again_or_the_recording_ends() -> None:
    lost, again = kinds.LineLost(why="unplugged"), kinds.LineOpened(line="/dev/x")
    marks = marks_of((5, lost), (9, again), (20, lost))
    assert [(a // S, b // S) for a, b, _, _ in marks.lost] == [(5, 9), (20, 100)]


def test_what_people_did_is_marked_with_their_numbers() -> None:
    note = kinds.NoteMade(kind="note", by="docent 2", digest="ab" * 32)
    marks = marks_of((5, kinds.KeyboardTaken(by="engineer")), (6, note))
    assert marks.acts == [[5 * S, 2, "took the keyboard", "engineer"]]
    assert marks.notes == [[6 * S, 3, "note", "docent 2", "ab" * 32]]


def test_a_set_clock_gives_another_time_from_then_on_and_a_wrong_one_is_left_out() -> None:
    marks = marks_of(
        (5, kinds.ClockStepped(by_us=S, wall=WALL)), (6, kinds.ClockStepped(by_us=S, wall="never"))
    )
    assert [us // S for us, _ in marks.wall] == [0, 5]
    assert marks.wall[1][1] == WALL
