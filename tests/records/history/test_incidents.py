"""Incidents are gathered with their like and counted by what may have brought them about."""

from __future__ import annotations

import json
from pathlib import Path

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.use_before import PartUse, UseBefore
from exhibit.folder.whole import read_folder
from exhibit.records.given_folders import indexes_of
from exhibit.records.history import counts
from exhibit.records.history.incident_lines import around, as_json_text, details, overview
from exhibit.records.history.incidents import History, history_of
from exhibit.records.history.signatures import signature, without_numbers
from exhibit.records.work.writing import write_down
from exhibit.streams.recording_writer import RecordingWriter
from exhibit.sums.statistical.basis import TooFew
from tests.records.history.days_made import H_S, a_day, opened_on, shuttle, step, trouble

EXAMPLES = Path(__file__).resolve().parents[3] / "recordings/examples"
WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
WARM = 10 * 60.0
"""Seconds after power-on."""


def history(folder: Path, since: str = "") -> History:
    (found,) = history_of(indexes_of([folder]), since=since)
    return found


@pytest.fixture(scope="module")
def two_weeks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Ten days of four hours. On the first five the disc fails three times in the first quarter of an hour.

    In between a board was swapped, and after that it failed once, late on the last day. A notice that the
    folder calls a trouble comes at noon each day, whatever runs.
    """
    folder = tmp_path_factory.mktemp("weeks")
    for day in range(10):
        facts = [trouble(f"NOTICE {day}", 3 * H_S, "notice"), *shuttle(1 * H_S, 2 * H_S)]
        if day < 5:
            facts += [trouble(f"TRACK {day}{n} CANNOT READ LOWER", WARM + n) for n in range(3)]
        if day == 9:
            facts += step("look", 1.5 * H_S - 5, 60.0, trouble("TRACK 7 CANNOT READ LOWER", 1.5 * H_S))
        a_day(folder, day, facts)
    done = kinds.WorkDone(
        at="2026-11-06T20:00:00+01:00", by="engineer 1", act="swapped", part="lower-drive", board="A12"
    )
    write_down(folder, read_folder(WHIMBREL), done, done.at)
    hot = kinds.ReadingMeasured(
        at="2026-11-02T09:30:00+01:00", by="engineer 1", what="room", value=27.4, unit="°C"
    )
    write_down(folder, read_folder(WHIMBREL), hot, hot.at)
    return folder


@pytest.fixture(scope="module")
def found(two_weeks):
    return history(two_weeks)


# -- what is alike


@pytest.mark.parametrize(
    ("line", "same"),
    [
        ("TRACK 117 SECTOR 3 CANNOT READ LOWER", "TRACK # SECTOR # CANNOT READ LOWER"),
        ("25.11 14.32 LOWER TRACK 117 READ 2 TIMES, MENDED", "# # LOWER TRACK # READ # TIMES, MENDED"),
        ("PARITY AT 3FA0 BOARD A12", "PARITY AT # BOARD A12"),
        ("BOARD A12 IN SLOT 7", "BOARD A12 IN SLOT #"),
        ("-5.03 V  AT  +12", "# V AT #"),
        ("AT 10:02:04.5 ON 2026-11-25", "AT # ON #"),
        ("DEAD LINE", "DEAD LINE"),
        ("CAFE BEEF", "CAFE BEEF"),
    ],
)
def test_numbers_are_left_out_and_what_names_a_thing_stays(line, same):
    assert without_numbers(line) == same


def test_two_troubles_of_one_name_with_other_lines_are_not_alike():
    assert signature("cannot", "CANNOT: NO DESK") != signature("cannot", "CANNOT: NO DRIVE")


def test_incidents_are_gathered_with_their_like_the_most_frequent_first(found):
    assert [(one.signature, one.times, len(one.days)) for one in found.likes] == [
        ("disc-cannot-be-read: TRACK # CANNOT READ LOWER", 16, 6),
        ("notice: NOTICE #", 10, 10),
    ]


def test_a_trouble_raised_again_within_a_minute_is_the_same_incident_once_more(tmp_path):
    first = trouble("CANNOT READ LOWER", 60)
    path = a_day(tmp_path, 0, [first, trouble("CANNOT READ LOWER", 70, repeats=3)])
    (likes,) = history(tmp_path).likes
    assert (len(likes.incidents), likes.times) == (1, 2)
    assert likes.incidents[0].recording == path.name


def test_late_steps_disc_errors_lost_lines_and_garbled_commands_are_incidents_too(tmp_path):
    garbled = kinds.TypingGarbled(command="ADD", expected="ADD", came_back="AXD", attempt=1)
    a_day(
        tmp_path,
        0,
        [
            *step("add", 60, 3, late=True),
            (kinds.DiscErrorsCounted(by="log-entry-mended", count=2, entry="LOWER TRACK 117 2 TIMES"), 100),
            (kinds.LineOpened(line="/dev/ttyS0"), 1),
            (kinds.LineLost(why="the adapter is gone"), 200),
            (garbled, 300),
        ],
    )
    found = {one.kind: one for one in history(tmp_path).likes}
    assert set(found) == {"late step", "disc errors", "line lost", "garbled"}
    assert found["late step"].signature == "late: round.add"
    assert found["disc errors"].times == 2
    assert found["disc errors"].signature == "disc errors, log-entry-mended: LOWER TRACK # # TIMES"


def test_garbled_commands_are_counted_by_command_and_by_what_became_of_the_character(tmp_path):
    def garbled(command: str, came_back: str) -> kinds.TypingGarbled:
        return kinds.TypingGarbled(command=command, expected=command, came_back=came_back, attempt=1)

    damaged = kinds.LineErrorsCounted(parity=3, framing=1)
    facts = [(garbled("ADD", "AD"), 300), (garbled("ADD", "A"), 310), (garbled("ADD", "AX"), 320)]
    a_day(tmp_path, 0, [*facts, (garbled("LEAVE", "LEV"), 330)])
    before = " ".join("\n".join(details(history(tmp_path), 1)).split())
    assert "ADD: not echoed 2 ADD: echoed as another 1 LEAVE: not echoed 1" in before
    assert "an echo can't tell. The computer counted no character that came damaged" in before
    a_day(tmp_path, 1, [(damaged, 60), (damaged, 70)])
    found = history(tmp_path)
    after = "\n".join(details(found, 1))
    assert "counted 8 that came damaged from the machine (parity 6, framing 2)" in after
    said = json.loads(as_json_text(found))
    assert said["received_damaged"] == {"parity": 6, "framing": 2, "overrun": 0, "breaks": 0}
    assert said["likes"][0]["by"]["command"][0]["name"] == "ADD: not echoed"
    day_two = history(tmp_path, since="2026-11-04")
    assert day_two.received_damaged == {}


def test_disc_errors_say_what_an_hour_is_and_why_the_sums_give_other_rates(tmp_path):
    counted = kinds.DiscErrorsCounted(by="log-entry-mended", count=2, entry="LOWER TRACK 117 2 TIMES")
    a_day(tmp_path, 0, [(counted, H_S), trouble("CANNOT READ LOWER", 2 * H_S)])
    found = history(tmp_path)
    of_kind = {one.kind: number for number, one in enumerate(found.likes, 1)}
    assert "exhibit sums errors" in "\n".join(details(found, of_kind["disc errors"]))
    assert "exhibit sums errors" not in "\n".join(details(found, of_kind["trouble"]))


def test_a_script_that_failed_and_a_recording_that_just_ends_are_incidents(tmp_path):
    failed = kinds.ScriptEnded(script="round", outcome="failed", tidy=True, why="load was not done in 8 s")
    begun = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=1)
    path = a_day(tmp_path, 0, [(begun, 50), (failed, 60)])
    whole = path.read_bytes()
    path.write_bytes(whole[: whole[:-1].rindex(b"\n") + 1])  # without recording_closed
    found = {one.kind: one for one in history(tmp_path).likes}
    assert found["script failed"].signature == "round failed: load was not done in # s"
    assert found["broken off"].incidents[0].at.startswith("2026-11-02T13:00:00")


HELD = "the lower-drive has stopped, and nothing has shown since that it was started again"


def test_a_part_that_stopped_in_a_round_is_an_incident_and_a_round_that_a_person_stopped_is_none(tmp_path):
    begun = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=1)
    by_part = kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why=HELD)
    by_person = kinds.ScriptEnded(script="round", outcome="stopped", tidy=True, why="docent 1 asked for it")
    a_day(tmp_path, 0, [(begun, 50), (by_part, 60), (begun, 70), (by_person, 80)])
    (found,) = history(tmp_path).likes
    assert (found.kind, found.signature) == ("part stopped", "part stopped: lower-drive, during round")


def test_what_makes_a_recording_doubtful_is_an_incident_too(tmp_path):
    stepped = kinds.ClockStepped(by_us=-3_600_000_000, wall="2026-11-02T08:01:40+00:00")
    missed = kinds.BytesMissed(received=12, typed=0, why="the disc was full")
    path = a_day(tmp_path, 0, [(stepped, 100), (missed, 200), (missed, 300)])
    spoilt = path.read_bytes().replace(b"full", b"fall", 1)
    path.write_bytes(spoilt)
    found = {one.kind: one.incidents[0].line for one in history(tmp_path).likes}
    assert found["clock stepped"] == "it was set by -3600 s"
    assert "its checksum is wrong" in found["damaged"]
    assert "missing: 1" in found["damaged"]
    whole = a_day(tmp_path / "whole", 0, [(missed, 200)])
    (only,) = history(whole.parent).likes
    assert (only.kind, only.incidents[0].line) == (
        "characters missed",
        "12 received, 0 typed: the disc was full",
    )


def test_a_recording_that_is_still_being_written_is_not_broken_off(tmp_path):
    writer = RecordingWriter(tmp_path, opened_on(0), reserve_bytes=0)
    assert history(tmp_path).likes == []
    writer.abandon()
    assert [one.kind for one in history(tmp_path).likes] == ["broken off"]


@pytest.mark.parametrize(
    ("example", "signature", "where"),
    [
        ("warm-disc", "disc errors, board.disc-errors", "30 to 60 min"),
        ("garbling-line", "garbled: a command came back wrong", ""),
        ("power-cut", "silent: the machine fell silent", ""),
    ],
)
def test_each_fault_planted_in_the_sample_recordings_is_found(example, signature, where, tmp_path):
    for path in (EXAMPLES / example).glob("*.exhibit"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    found = history(tmp_path)
    likes = next(one for one in found.likes if one.signature == signature)
    if where:
        ages = counts.by_age(likes, found)
        assert max(ages, key=lambda one: one.times / (one.hours or 1)).name == where
        even = counts.evenness_of(ages)
        assert even is not None
        assert not isinstance(even, TooFew)
        assert even.bunched


def test_on_the_good_day_nothing_went_wrong(tmp_path):
    for path in (EXAMPLES / "good-day").glob("*.exhibit"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    assert overview(history(tmp_path))[-1] == "Nothing went wrong in them."


# -- when they were


def test_a_silence_is_dated_at_the_last_character_and_not_when_it_was_noticed(tmp_path):
    silent = kinds.MachineSilent(heard_us=100 * 1_000_000, due_us=120 * 1_000_000, due="step")
    a_day(tmp_path, 0, [*step("add", 90, 60), *step("tidy", 160, 200), (silent, 250)])
    (likes,) = history(tmp_path).likes
    (one,) = likes.incidents
    assert one.at.startswith("2026-11-02T09:01:40")
    assert one.line == "nothing came any more, although what a step waited for was due"
    assert one.step == "round.add"


def test_a_script_that_failed_and_a_late_step_are_dated_when_they_failed_and_were_late(tmp_path):
    begun = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=1)
    failed = kinds.ScriptEnded(script="round", outcome="failed", tidy=True, why="nothing came")
    late = kinds.StepOverdue(
        script="round", step="add", waited_for=["x"], within_us=1, last_lines=[], then="stop"
    )
    start = kinds.StepStarted(script="round", step="add")
    a_day(tmp_path, 0, [(begun, 50), (start, 60), (late, 120), (failed, 200)])
    found = {one.kind: one.incidents[0] for one in history(tmp_path).likes}
    assert found["late step"].at.startswith("2026-11-02T09:02:00")
    assert found["script failed"].at.startswith("2026-11-02T09:03:20")
    assert any("nothing came" in line and line.startswith(" >") for line in around(found["script failed"]))


# -- how they are counted


def test_the_counts_by_exerciser_by_part_and_by_step_agree(tmp_path):
    silent = kinds.MachineSilent(heard_us=round(1.5 * H_S * 1e6), due_us=round(1.5 * H_S * 1e6), due="step")
    a_day(
        tmp_path,
        0,
        [*shuttle(1 * H_S, 2 * H_S), *step("look", 1.5 * H_S - 5, 600), (silent, 1.5 * H_S + 60)],
    )
    found = history(tmp_path)
    (likes,) = found.likes
    assert [one.times for one in counts.by_exerciser(likes, found)] == [1, 0]
    assert [(one.name, one.times) for one in counts.by_part(likes)] == [("lower-drive", 1)]
    assert [(one.name, one.times) for one in counts.by_step(likes, found)] == [("round.look", 1)]


def test_by_day_with_the_days_on_which_nothing_happened(found):
    days = counts.by_day(found.likes[0], found)
    assert [one.times for one in days] == [3, 3, 3, 3, 3, 0, 0, 0, 0, 1]
    assert all(one.hours == pytest.approx(4.0) for one in days)


def test_by_hours_since_power_on_with_the_hours_that_there_were(found):
    ages = {one.name: one for one in counts.by_age(found.likes[0], found)}
    assert (ages["0 to 15 min"].times, ages["0 to 15 min"].hours) == (15, pytest.approx(2.5))
    assert (ages["1 to 2 h"].times, ages["1 to 2 h"].hours) == (1, pytest.approx(10.0))
    assert "4 to 8 h" not in ages
    warm = counts.rate_of(ages["0 to 15 min"])
    assert warm is not None
    assert not isinstance(warm, TooFew)
    # 15 in 2.5 h: exact Poisson limits 8.395 and 24.74 for 15 (references.md 8; scipy as second computation).
    assert (warm.lower, warm.upper) == (
        pytest.approx(8.395 / 2.5, rel=1e-3),
        pytest.approx(24.74 / 2.5, rel=1e-3),
    )


def test_that_it_happens_while_the_machine_warms_up_is_said_and_of_what_comes_at_noon_is_not(found):
    warming, noon = (counts.evenness_of(counts.by_age(one, found)) for one in found.likes)
    assert warming is not None
    assert not isinstance(warming, TooFew)
    assert warming.bunched
    ages = [one for one in counts.by_age(found.likes[1], found) if one.times]
    assert [one.name for one in ages] == ["2 to 4 h"]
    assert noon is not None


def test_by_step_with_how_often_the_step_ran(found):
    steps = counts.by_step(found.likes[0], found)
    assert [(one.name, one.times, one.runs) for one in steps] == [("no step", 15, None), ("round.look", 1, 1)]


def test_with_and_without_an_exerciser(found):
    running, resting = counts.by_exerciser(found.likes[0], found)
    assert (running.times, running.hours) == (1, pytest.approx(10.0))
    assert (resting.times, resting.hours) == (15, pytest.approx(30.0))


def test_by_temperature_only_where_somebody_measured(found):
    assert {one.name: one.times for one in counts.by_temperature(found.likes[0])} == {
        "26 to 28 °C": 3,
        "not known": 13,
    }


def test_before_and_after_a_piece_of_work(found):
    (visit,) = counts.by_work(found.likes[0], found)
    assert (visit.before.times, visit.before.hours) == (15, pytest.approx(20.0))
    assert (visit.after.times, visit.after.hours) == (1, pytest.approx(20.0))
    compared = counts.comparison_of(visit.before, visit.after)
    assert compared is not None
    assert not isinstance(compared, TooFew)
    # Binomial(16, 1/2): twice the chance of at most 1 is 2 * 17 / 65536.
    assert compared.chance == pytest.approx(2 * 17 / 65536)
    (noon,) = counts.by_work(found.likes[1], found)
    same = counts.comparison_of(noon.before, noon.after)
    assert same is not None
    assert not isinstance(same, TooFew)
    assert not same.differs


def test_work_of_one_visit_is_not_told_apart(tmp_path, two_weeks):
    for day in range(2):
        a_day(tmp_path, day, [trouble("CANNOT READ LOWER", 60)])
    for minutes, board in ((0, "A12"), (20, "A13")):
        at = f"2026-11-02T20:{minutes:02}:00+01:00"
        done = kinds.WorkDone(at=at, by="engineer 1", act="swapped", part="lower-drive", board=board)
        write_down(tmp_path, read_folder(WHIMBREL), done, at)
    found = history(tmp_path)
    (visit,) = counts.by_work(found.likes[0], found)
    assert [one.board for one in visit.work] == ["A12", "A13"]


def test_hours_that_no_recording_tells_are_not_invented(tmp_path):
    a_day(tmp_path, 0, [trouble("CANNOT READ LOWER", 60)], marked=False)
    found = history(tmp_path)
    assert found.hours.hours == 0
    assert [one.name for one in counts.by_age(found.likes[0], found)] == [counts.UNKNOWN]
    assert "no rates by its hours" in "\n".join(details(found, 1))


def test_how_long_it_has_been_on_counts_from_power_on_to_power_off(tmp_path):
    a_day(tmp_path, 0, [])
    whole = history(tmp_path).hours
    assert whole.age_s("2026-11-02T11:00:00+01:00") == pytest.approx(2 * H_S)
    assert whole.age_s("2026-11-02T14:00:00+01:00") is None


def test_a_machine_left_on_while_a_new_recording_begins_is_as_old_as_it_is(tmp_path):
    """As after midnight: the first one ends without the part stopping, and the next says that it is on."""
    first = RecordingWriter(tmp_path, opened_on(0), reserve_bytes=0)
    first.append(kinds.PartStarted(part="lower-drive", by="opening.start-lower"), 0)
    first.close("a new day", round(2 * H_S * 1e6))
    on = PartUse(running_since=["a person"], since="2026-11-02T09:00:00+01:00")
    before = UseBefore(at="2026-11-02T11:00:00+01:00", parts={"lower-drive": on})
    opened = msgspec.structs.replace(opened_on(0), wall="2026-11-02T11:00:30+01:00", use_before=before)
    second = RecordingWriter(tmp_path, opened, reserve_bytes=0)
    second.append(trouble("CANNOT READ LOWER", 0)[0], round(1 * H_S * 1e6))
    second.close("the day is over", round(2 * H_S * 1e6))
    found = history(tmp_path)
    (incident,) = found.likes[0].incidents
    assert incident.on_s == pytest.approx(3 * H_S + 30)
    assert found.hours.age_s("2026-11-02T12:00:30+01:00") == pytest.approx(3 * H_S + 30)
    assert sum(found.hours.by_age_h()) == pytest.approx(found.hours.hours)
    assert found.hours.hours == pytest.approx(4 + 30 / 3600)


def test_what_was_before_a_date_is_left_out(two_weeks):
    later = history(two_weeks, "2026-11-08")
    assert [one.times for one in later.likes] == [4, 1]
    assert later.hours.hours == pytest.approx(16.0)


# -- what is printed


def test_the_overview_has_a_line_for_each(found):
    lines = overview(found)
    assert lines[0] == "whimbrel (simulated): 10 recordings, 10 days, 40.0 h with the machine on"
    assert lines[2].split()[:5] == ["1", "16", "6", "2026-11-02", "2026-11-11"]


def test_details_say_the_rate_what_differs_and_where_to_look(found):
    said = "\n".join(details(found, 1))
    assert "0 to 15 min     15 in 2.50 h: 6 an hour, 3.36 to 9.9 with 95 % confidence" in said
    assert "lower-drive, A12: swapped (engineer 1)" in said
    assert "They differ by more than chance: p = 0.00052." in said
    assert "--fact" in said


def test_of_a_single_incident_there_are_no_needless_tables_and_its_line_keeps_its_numbers(tmp_path):
    a_day(tmp_path, 0, [trouble("XOFF FOR 60 S", 60)])
    found = history(tmp_path)
    said = "\n".join([*overview(found), *details(found, 1)])
    assert "1 recording, 1 day," in said
    assert "disc-cannot-be-read: XOFF FOR 60 S" in said
    assert "#" not in said
    assert "temperature" not in said
    assert "p = " not in said
    assert "nothing computed" not in said


def test_an_incident_is_shown_with_what_came_before_and_after(found):
    last = found.likes[0].incidents[-1]
    lines = around(last)
    marked = [line for line in lines if line.startswith(" >")]
    assert len(marked) == 1
    assert "TRACK 7 CANNOT READ LOWER" in marked[0]
    place = lines.index(marked[0])
    assert "The step look of round began" in lines[place - 1]
    assert "The step look of round was done" in lines[place + 1]


def test_json_has_the_counts_and_each_incident(found):
    said = json.loads(as_json_text(found))
    first = said["likes"][0]
    assert first["times"] == 16
    assert len(first["incidents"]) == 16
    assert first["work"][0]["chance"] == pytest.approx(2 * 17 / 65536)
    assert [one["times"] for one in first["by"]["exerciser"]] == [1, 15]


def test_without_scipy_there_are_counts_and_no_limits(found, monkeypatch):
    from exhibit.sums.statistical import library, rates

    def none() -> None:
        raise library.missing("scipy")

    monkeypatch.setattr(rates, "distributions", none)
    said = "\n".join(details(found, 1))
    assert "15 in 2.50 h" in said
    assert "an hour" not in said
    assert "needs scipy" in said
