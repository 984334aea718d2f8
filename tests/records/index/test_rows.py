"""What each table of the index says of the facts of a recording."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.facts.parts_and_cards import NowReadings
from exhibit.facts.use_before import PartUse, Running, UseBefore
from exhibit.records.index.recording_rows import ReadFile, rows_of_file
from exhibit.records.index.rows import (
    DayRow,
    ErrorsRow,
    GapRow,
    GarbledRow,
    HandsOnRow,
    JobRow,
    LineErrorsRow,
    NoteRow,
    PackRow,
    PartRow,
    ReadingRow,
    RecordingRow,
    ScriptRow,
    StepRow,
    TransfersRow,
)
from tests.decisions.heron import S
from tests.records.index.written import WALL, received, script, write


@pytest.fixture
def rows_of(tmp_path: Path):
    """The rows of a kind that a recording of these facts gives."""

    def of(row: type, *facts: tuple[float, kinds.AnyFact], **opening) -> list:
        path = write(tmp_path / "a.exhibit", *facts, **opening)
        found = [*rows_of_file("a.exhibit", path)]
        assert isinstance(found[-1], ReadFile)
        assert not found[-1].row.fault
        return [found[-1].row] if row is RecordingRow else [one for one in found if isinstance(one, row)]

    return of


def reading(at_s: float, name: str, value: float | str) -> tuple[float, kinds.ReadingTaken]:
    return at_s, kinds.ReadingTaken(display="board", frame=1, name=name, value=value)


def begun(at_s: float, ends_s: float = 0) -> tuple[float, kinds.ExerciserBegun]:
    ends_us = round(ends_s * S)
    return at_s, kinds.ExerciserBegun(exerciser="shuttle", job="1", part="drive", ends_us=ends_us)


def test_a_recording_says_how_it_began_and_ended(rows_of):
    [row] = rows_of(RecordingRow, received("A", 5), rate=2.0, practice=True)
    assert (row.machine, row.title, row.simulated, row.practice) == ("heron", "The Heron", True, True)
    assert (row.opened_at, row.ended_at[11:23]) == (WALL, "09:00:02.500")
    assert (row.closed, row.why_closed, row.length_us, row.facts) == (True, "the day is over", 5 * S, 3)
    [row] = rows_of(RecordingRow, received("A", 5), closed=False)
    assert (row.closed, row.why_closed) == (False, "")


def started_by_hand(at_s: float, part: str = "drive") -> list[tuple[float, kinds.AnyFact]]:
    """A person says that a part was started, as a step of the script `opening`."""
    return [
        (at_s, kinds.StepStarted(script="opening", step="start-it")),
        (at_s, kinds.HandsOnConfirmed(step="start-it", by="docent 1")),
        (at_s, kinds.PartStarted(part=part, by="opening.start-it")),
        (at_s, kinds.StepEnded(script="opening", step="start-it")),
    ]


def reported(at_s: float, part: str = "drive") -> tuple[float, kinds.PartStarted]:
    return at_s, kinds.PartStarted(part=part, by="drive-ready")


def test_a_part_that_a_person_starts_and_the_machine_reports_has_a_time_like_a_step_s(rows_of):
    opening = kinds.ScriptStarted(script="opening", title={"en": "Opening"}, by="docent 1", round=0)
    facts = [(4, opening), *started_by_hand(5), *started_by_hand(7, "lamp"), reported(13.5)]
    [start] = [row for row in rows_of(StepRow, *facts) if row.step == "drive ready"]
    assert (start.script, start.took_us, start.outcome) == ("opening", 8.5 * S, "done")
    assert (start.seq, start.ended_seq, start.script_seq) == (5, 11, 2)


@pytest.mark.parametrize(
    "facts",
    [
        [reported(5)],
        [*started_by_hand(5)],
        [*started_by_hand(5), (6, kinds.PartStopped(part="drive", by="drive-off")), reported(9)],
    ],
    ids=["the machine alone", "the person alone", "stopped in between"],
)
def test_without_both_words_about_one_start_there_is_no_such_time(rows_of, facts):
    assert not [row for row in rows_of(StepRow, *facts) if " " in row.step]


def test_a_step_that_was_late_typed_again_and_failed_says_so(rows_of):
    late = kinds.StepOverdue(
        script="round", step="add", waited_for=["ready"], within_us=S, last_lines=[], then="again"
    )
    [step] = rows_of(
        StepRow,
        (1, kinds.ScriptStarted(script="round", title={"en": "Round"}, by="docent 1", round=7)),
        (2, kinds.StepStarted(script="round", step="add", tidying=True)),
        (3, late),
        (4, late),
        (6, kinds.StepFailed(script="round", step="add", why="no answer")),
    )
    assert (step.outcome, step.overdue, step.typed_again, step.took_us) == ("failed", 2, True, 4 * S)
    assert (step.round, step.script_seq, step.tidying, step.why) == (7, 2, True, "no answer")
    assert (step.seq, step.ended_seq) == (3, 6)


def test_a_step_left_out_and_one_that_never_ended(rows_of):
    left_out, open_ended = rows_of(
        StepRow,
        (1, kinds.StepStarted(script="round", step="add")),
        (2, kinds.StepLeftOut(script="round", step="add", why="not needed")),
        (3, kinds.StepStarted(script="round", step="wait")),
    )
    assert (left_out.outcome, left_out.why) == ("left out", "not needed")
    assert (open_ended.outcome, open_ended.ended_seq) == ("", 0)


def test_a_script_has_its_outcome_or_none(rows_of):
    done, open_ended = rows_of(
        ScriptRow,
        *script("round", 3, 1, ("add", 2), outcome="stopped"),
        (9, kinds.ScriptStarted(script="closing", title={}, by="docent 1")),
    )
    assert (done.outcome, done.took_us, done.round, done.tidy) == ("stopped", 2 * S, 3, True)
    assert (open_ended.outcome, open_ended.ended_at) == ("", "")


@pytest.mark.parametrize("rate", [1.0, 20.0])
def test_hours_since_power_on_are_real_ones_from_the_first_part_on(rows_of, rate):
    steps = rows_of(
        StepRow,
        *script("a", 0, 1, ("before", 0)),
        (10, kinds.PartStarted(part="processor", by="x")),
        (20, kinds.PartStarted(part="drive", by="x")),
        *script("a", 0, 30, ("both", 0)),
        (40, kinds.PartStopped(part="processor", by="x")),
        *script("a", 0, 50, ("drive", 0)),
        (60, kinds.PartStopped(part="drive", by="x")),
        *script("a", 0, 70, ("off", 0)),
        rate=rate,
    )
    assert [step.on_s for step in steps] == [None, pytest.approx(20 / rate), pytest.approx(40 / rate), None]


def test_what_was_on_before_the_recording_is_carried_into_it(rows_of):
    before = UseBefore(
        at="2026-11-25T08:59:00+01:00",
        parts={"drive": PartUse(running_since=["a person"], since="2026-11-25T07:00:00+01:00", starts=1)},
        running=[Running(exerciser="shuttle", job="1", ends="2026-11-25T09:10:00+01:00")],
    )
    facts = [*script("a", 0, 60, ("add", 0)), received("A", 1200)]
    [part] = rows_of(PartRow, *facts, use_before=before)
    assert (part.part, part.carried, part.stopped, part.ran_s) == ("drive", True, False, 1200)
    [job] = rows_of(JobRow, *facts, use_before=before)
    assert (job.carried, job.ended, job.ran_s) == (True, "time", 600)
    [step] = rows_of(StepRow, *facts, use_before=before)
    assert step.on_s == 2 * 3600 + 60


def test_an_exerciser_ends_by_the_machines_word_by_its_time_or_with_the_recording(rows_of):
    ended = 50.0, kinds.ExerciserEnded(exerciser="shuttle", job="1", by="ENDED")
    said = [
        rows_of(JobRow, begun(10), ended),
        rows_of(JobRow, begun(10, ends_s=30), received("A", 90)),
        rows_of(JobRow, begun(10), received("A", 90)),
    ]
    assert [(job.ended, job.ran_s) for [job] in said] == [("machine", 40), ("time", 20), ("", 80)]


def test_errors_say_what_was_exercised_then(rows_of):
    counted = kinds.DiscErrorsCounted(by="board.errors", count=2, stands_at=5)
    while_busy, after = rows_of(
        ErrorsRow,
        begun(10),
        (20, counted),
        (30, kinds.ExerciserEnded(exerciser="shuttle", job="1", by="ENDED")),
        (40, counted),
    )
    assert (while_busy.parts, while_busy.count, while_busy.stands_at) == ("drive", 2, 5)
    assert after.parts == ""


def test_a_reading_is_a_row_for_each_run_of_equal_values(rows_of):
    rows = rows_of(
        ReadingRow,
        reading(1, "load", 7),
        reading(2, "load", 7),
        reading(3, "load", 7.5),
        reading(4, "state", "IDLE"),
    )
    assert [(row.value, row.text, row.times, row.at_us // S, row.until_us // S) for row in rows] == [
        (7, "7", 2, 1, 2),
        (7.5, "7.5", 1, 3, 3),
        (None, "IDLE", 1, 4, 4),
    ]


def test_transfers_are_what_a_reading_rose_and_all_of_it_after_it_fell(rows_of):
    facts = [reading(at_s, "transfers", value) for at_s, value in ((1, 100), (2, 130), (3, 10), (4, 15))]
    [row] = rows_of(TransfersRow, *facts, now=NowReadings(transfers=["board.transfers"]))
    assert (row.reading, row.transfers, row.date) == ("board.transfers", 30 + 10 + 5, "2026-11-25")
    assert rows_of(TransfersRow, *facts) == []


def test_each_answer_to_a_hands_on_step_is_a_row(rows_of):
    asked = kinds.HandsOnAsked(script="opening", step="key", words={"en": "Turn the key."}, caution={})
    rows = rows_of(
        HandsOnRow,
        (1, asked),
        (5, kinds.HandsOnPutOff(step="key", by="docent 1")),
        (8, kinds.HandsOnConfirmed(step="key", by="docent 2")),
        (9, asked),
    )
    assert [(row.answer, row.by, row.took_us // S, row.words) for row in rows] == [
        ("not yet", "docent 1", 4, "Turn the key."),
        ("done", "docent 2", 3, "Turn the key."),
        ("", "", 0, "Turn the key."),
    ]


def test_packs_notes_garbled_commands_and_damaged_characters(rows_of):
    facts = [
        (1, kinds.PackMounted(label="A 1", drive="drive", may_be_written=True, by="docent 1", original=True)),
        (2, kinds.PackRemoved(label="A 1", drive="drive", by="docent 1")),
        (3, kinds.NoteMade(kind="photograph", by="docent 1", digest="ab")),
        (4, kinds.TypingGarbled(command="ADD", expected="ADD", came_back="AED", attempt=1)),
        (5, kinds.LineErrorsCounted(parity=3, breaks=1)),
    ]
    mounted, removed = rows_of(PackRow, *facts)
    assert (mounted.mounted, mounted.may_be_written, mounted.original) == (True, True, True)
    assert (removed.mounted, removed.label) == (False, "A 1")
    assert [row.kind for row in rows_of(NoteRow, *facts)] == ["photograph"]
    assert [(row.command, row.came_back) for row in rows_of(GarbledRow, *facts)] == [("ADD", "AED")]
    assert [(row.parity, row.breaks) for row in rows_of(LineErrorsRow, *facts)] == [(3, 1)]


def test_gaps_say_how_long_the_line_was_lost_or_the_machine_silent(rows_of):
    rows = rows_of(
        GapRow,
        (1, kinds.LineLost(why="unplugged")),
        (5, kinds.LineOpened(line="/dev/x")),
        (6, kinds.MachineSilent(heard_us=2 * S, due_us=5 * S, due="typing")),
        (9, kinds.HeardAgain(silent_us=3)),
        (10, kinds.ClockStepped(by_us=-3_000_000, wall=WALL)),
        (11, kinds.BytesMissed(received=4, typed=0, why="the queue was full")),
        (12, kinds.LineLost(why="unplugged")),
    )
    assert [(row.kind, row.lasted_us // S) for row in rows] == [
        ("line lost", 4),
        ("machine silent", 7),
        ("clock stepped", 0),
        ("characters missed", 0),
        ("line lost", 0),
    ]


def test_a_recording_past_midnight_has_two_days(rows_of):
    first, second = rows_of(
        DayRow,
        *script("round", 1, 60, ("add", 2)),
        *script("round", 2, 3600, ("add", 2)),
        wall="2026-11-25T23:30:00+01:00",
    )
    assert (first.date, first.rounds, second.date, second.rounds_done) == ("2026-11-25", 1, "2026-11-26", 1)


def test_a_clock_that_is_set_back_takes_nothing_from_how_long_was_recorded_and_ran(rows_of):
    back = kinds.ClockStepped(by_us=-3_600_000_000, wall="2026-11-25T08:30:00+01:00")
    began, step_began, *ended = script("round", 1, 10, ("add", 100))
    [day] = rows_of(DayRow, began, step_began, (50, back), *ended, wall="2026-11-25T09:29:10+01:00")
    assert (day.recorded_s, day.script_s) == (110.0, 100.0)


def test_a_days_disc_errors_are_the_higher_count_of_two_sources(rows_of):
    errors = [kinds.DiscErrorsCounted(by=by, count=count) for by, count in (("a", 2), ("b", 1), ("a", 1))]
    garbled = kinds.TypingGarbled(command="ADD", expected="ADD", came_back="AED", attempt=1)
    [day] = rows_of(DayRow, *((at_s, fact) for at_s, fact in enumerate([*errors, garbled, garbled], 1)))
    assert (day.disc_errors, day.garbled) == (3, 2)


def test_times_follow_the_clock_when_it_is_set_and_when_summer_time_ends(rows_of):
    steps = rows_of(
        StepRow,
        (1, kinds.ClockStepped(by_us=3_600_000_000, wall="2026-11-25T10:00:01+01:00")),
        *script("a", 0, 2, ("stepped", 0)),
        (3, kinds.Heartbeat(wall="2026-11-25T09:00:03+00:00")),
        *script("a", 0, 4, ("winter", 0)),
    )
    assert [step.at for step in steps] == ["2026-11-25T10:00:02.000+01:00", "2026-11-25T09:00:04.000+00:00"]
