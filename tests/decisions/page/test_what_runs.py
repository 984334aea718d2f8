"""What the page says is running now: parts, the display, jobs; and that each of them is taken back."""

from __future__ import annotations

import json
from typing import Any

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.use_before import InDoubt, PartUse, Running, UseBefore
from tests.decisions.heron import S
from tests.decisions.page import runs
from tests.decisions.page.runs import (
    ALL_ON,
    AT_WORK,
    BEGUN,
    CLOSED,
    CORE,
    KEY,
    LOST,
    OPENED,
    OVER,
    PROMPT,
    SILENT,
    frame,
    items,
    started,
    stopped,
)
from tests.decisions.page.test_views import folded, merged, picture

HOMING_SILENT = kinds.PlaceRecognised(place="silent", line="")
NOBODY_KNOWS = [SILENT, LOST, CLOSED, HOMING_SILENT]
CARRIED = kinds.CarriedOver(
    line="x",
    rows=[],
    wire="",
    display="",
    printed="",
    landmark="",
    fields={},
    scripts=0,
    until_us=0,
    failed="",
)


def states(*facts: kinds.AnyFact, **first: Any) -> dict[str, str]:
    return {part: one["state"] for part, one in items(*facts, **first)["parts"].items()}


def readings(*facts: kinds.AnyFact) -> dict[str, Any]:
    taken: dict[str, Any] = runs.view(*facts).batch(0)["readings"]["board"]
    return taken


# -- parts


def test_every_part_with_marks_is_there_and_at_first_nobody_knows_of_any():
    assert states() == {"processor": "not known", "left": "not known", "right": "not known"}


def test_a_part_runs_by_the_machine_s_own_word_and_is_starting_by_a_person_s():
    assert states(started("left", "opening.start"))["left"] == "starting"
    assert states(started("left", "opening.start"), started("left"))["left"] == "runs"
    assert states(started("left"), started("left", "opening.start"))["left"] == "runs"
    assert states(started("left"), stopped("left"))["left"] == "stands"


def test_a_part_has_the_number_of_the_fact_that_says_so():
    one = items(started("left", "opening.start"), kinds.TypingHeld(), started("left"))["parts"]["left"]
    assert (one["seq"], one["since"][11:19]) == (4, "09:00:03")


def test_what_a_person_reports_twice_was_started_again():
    assert (
        states(*ALL_ON, started("left", "round.start"), started("left", "round.start"))["left"] == "starting"
    )


@pytest.mark.parametrize("fact", NOBODY_KNOWS)
def test_nobody_knows_what_runs_after(fact):
    assert set(states(*ALL_ON, fact).values()) == {"not known"}
    assert items(*ALL_ON, fact)["tested"] == {}


def test_what_was_seen_to_stop_stands_after_the_recording_was_closed():
    after = states(*ALL_ON, stopped("left"), CLOSED)
    assert (after["left"], after["right"]) == ("stands", "not known")
    assert states(*ALL_ON, stopped("left"), LOST)["left"] == "not known"


def test_after_a_silence_what_ran_runs_if_the_machine_is_where_it_was():
    assert states(*ALL_ON, PROMPT, SILENT, kinds.HeardAgain(silent_us=1), PROMPT)["left"] == "runs"
    elsewhere = kinds.LandmarkReached(landmark="start", line="START:")
    assert states(*ALL_ON, PROMPT, SILENT, elsewhere, PROMPT)["left"] == "not known"
    assert states(*ALL_ON, PROMPT, SILENT, started("processor"), PROMPT)["left"] == "not known"
    by_hand = kinds.HandsOnConfirmed(step="x", by="a docent")
    assert states(*ALL_ON, PROMPT, SILENT, by_hand, PROMPT)["left"] == "not known"


def test_after_a_lost_line_a_prompt_shows_only_that_it_computes():
    after = states(*ALL_ON, PROMPT, LOST, OPENED, PROMPT)
    assert after == {"processor": "runs", "left": "not known", "right": "not known"}


def test_a_drive_that_is_seen_to_work_runs():
    assert states(LOST, OPENED, *frame(1, transfers=7), *frame(2, transfers=7))["left"] == "not known"
    assert states(LOST, OPENED, *frame(1, transfers=7), *frame(2, transfers=9))["left"] == "runs"


def test_what_computes_and_is_started_again_makes_all_else_unknown():
    again = started("processor")
    shown = items(*AT_WORK, *frame(1), again)
    assert {part: one["state"] for part, one in shown["parts"].items()} == {
        "processor": "runs", "left": "not known", "right": "not known",
    }  # fmt: skip
    assert (shown["standing"], shown["jobs"], shown["share"]) == (None, [], {})


def test_a_drive_that_the_machine_reports_again_makes_all_else_unknown_since_the_machine_may_have_been_off():
    shown = items(*AT_WORK, *frame(1), started("left"), started("left"))
    assert {part: one["state"] for part, one in shown["parts"].items()} == {
        "processor": "not known", "left": "runs", "right": "not known",
    }  # fmt: skip
    assert (shown["standing"], shown["jobs"]) == (None, [])
    by_hand = items(*AT_WORK, *frame(1), started("left", "opening.start"), started("left", "opening.start"))
    assert by_hand["jobs"] != []


def test_a_tested_store_is_shown_until_its_part_is_stopped():
    assert items(*ALL_ON)["tested"] == {"processor": {"seq": 3, "at": "2026-11-25T09:00:02.000+00:00"}}
    assert items(*ALL_ON, stopped("left"))["tested"] != {}
    assert items(*ALL_ON, stopped("processor"))["tested"] == {}


# -- the display


def test_a_display_stands_from_its_first_frame():
    shown = items(*ALL_ON, *frame(1), *frame(2))["standing"]
    assert (shown["display"], shown["seq"], shown["frames"], shown["frame_seq"]) == ("board", 6, 2, 11)


PUT_AWAY = [KEY, PROMPT, OPENED, kinds.TypedByHand(bytes=" ", count=1), kinds.SecretTyped(by="x")]


@pytest.mark.parametrize("fact", [*PUT_AWAY, kinds.BytesMissed(received=5, typed=0, why="x"), *NOBODY_KNOWS])
def test_what_was_read_off_a_display_is_past_once_that_is_over(fact):
    before, after = items(*ALL_ON, *frame(1)), items(*ALL_ON, *frame(1), fact)
    assert before["share"]["processor"]["value"] == 40
    assert before["transfers"]["left"]["total"] == 100
    assert (after["standing"], after["share"], after["transfers"]) == (None, {}, {})
    assert "past" not in readings(*ALL_ON, *frame(1))["load"]
    past = readings(*ALL_ON, *frame(1), fact)["load"]
    assert (past["value"], past["past"][11:19]) == (40, "09:00:08")


@pytest.mark.parametrize("part", ["processor", "all of them"])
def test_a_machine_that_is_off_shows_no_display_and_runs_no_job(part):
    stops = [stopped("processor")] if part == "processor" else [*map(stopped, ("left", "right", "processor"))]
    first = {} if part == "processor" else {"drawn": {}}
    shown = items(*AT_WORK, *frame(1), *stops, **first)
    assert (shown["standing"], shown["jobs"]) == (None, [])
    assert items(*AT_WORK, *frame(1), *stops[:-1], **first)["standing"] is not None


def test_a_display_that_is_painted_again_after_a_key_stands_again():
    shown = items(*frame(1), KEY, *frame(2))
    assert shown["standing"]["frames"] == 1
    assert shown["share"]["processor"]["value"] == 40


def test_a_reading_that_the_newest_frame_lacks_is_past():
    shown = items(*frame(1), *frame(2, load=None))
    assert shown["share"] == {}
    assert shown["transfers"]["left"]["total"] == 100
    taken = readings(*frame(1), *frame(2, load=None))
    assert "past" in taken["load"]
    assert "past" not in taken["left-transfers"]


def test_transfers_a_minute_are_counted_from_frame_to_frame_while_the_display_stands():
    assert items(*frame(1, transfers=100))["transfers"]["left"]["per_min"] is None
    assert items(*frame(1, transfers=100), *frame(2, transfers=110))["transfers"]["left"]["per_min"] == 200
    put_away = items(*frame(1, transfers=100), KEY, *frame(2, transfers=110))
    assert put_away["transfers"]["left"]["per_min"] is None


def test_in_an_older_recording_a_display_is_known_by_its_readings():
    assert items(*frame(1), displays=[])["standing"]["display"] == "board"
    assert items(*frame(1), PROMPT, displays=[])["standing"] is None


# -- the machine's date


@pytest.mark.parametrize("fact", [*NOBODY_KNOWS, stopped("processor"), started("processor")])
def test_the_machine_s_date_is_past_once_it_is_off_or_started_anew(fact):
    date = kinds.PatternSeen(pattern="date", line="", fields={"date": "1.1.1975"})
    assert "past" not in items(*ALL_ON, date)["machine_date"]
    assert "past" in items(*ALL_ON, date, fact)["machine_date"]
    assert "past" not in items(*ALL_ON, date, fact, date)["machine_date"]


# -- jobs


def jobs(*facts: kinds.AnyFact, **first: Any) -> list[tuple[str, str, str]]:
    return [(one["job"], one["name"], one["part"]) for one in items(*facts, **first)["jobs"]]


def test_a_job_runs_from_its_beginning_to_its_end():
    assert jobs(*AT_WORK) == [("1", "WORK", "left")]
    assert jobs(*AT_WORK, OVER) == []
    (job,) = items(*AT_WORK)["jobs"]
    assert (job["seq"], job["until"][11:19], job["exerciser"], job["plot"]) == (8, "09:04:00", "work", "")


@pytest.mark.parametrize("fact", NOBODY_KNOWS)
def test_no_job_is_said_to_run_after(fact):
    assert jobs(*AT_WORK, fact) == []


def test_a_job_that_must_have_ended_by_itself_runs_no_longer():
    assert jobs(BEGUN, *[PROMPT] * 238) == [("1", "WORK", "left")]
    assert jobs(BEGUN, *[PROMPT] * 239) == []


def test_a_job_in_doubt_has_no_number_and_says_so_until_it_is_known():
    doubt = kinds.JobInDoubt(asked=1, exercisers=["work"], command="W", by="x", why="cut off", job="7")
    (job,) = items(*ALL_ON, doubt)["jobs"]
    assert (job["job"], job["name"], job["doubt"]) == ("", "WORK", True)
    assert jobs(*ALL_ON, doubt, kinds.JobDoubtOver(asked=1, how="a person", by="x")) == []
    begun = kinds.ExerciserBegun(exerciser="work", job="7", part="left", ends_us=0, asked=1)
    assert jobs(*ALL_ON, doubt, begun) == [("7", "WORK", "left")]


# -- a run that continues


BEFORE = UseBefore(
    at="2026-11-25T09:00:00+00:00",
    parts={
        "left": PartUse(running_since=["the machine"], since="2026-11-25T08:00:00.000+00:00"),
        "processor": PartUse(running_since=["a person"], since="2026-11-25T08:30:00.000+00:00"),
        "right": PartUse(starts=1, stops=1),
    },
    running=[Running(exerciser="work", job="3", ends="")],
    in_doubt=[InDoubt(asked=1, exercisers=["work"], command="W", by="x", why="cut off")],
)


def test_a_run_that_continues_goes_on_with_what_ran_and_another_one_knows_nothing():
    on = states(CARRIED, use_before=BEFORE)
    assert on == {"processor": "starting", "left": "runs", "right": "stands"}
    assert items(CARRIED, use_before=BEFORE)["parts"]["left"]["since"] == "2026-11-25T08:00:00.000+00:00"
    assert jobs(CARRIED, use_before=BEFORE) == [("3", "WORK", "left"), ("", "WORK", "left")]
    assert set(states(OPENED, use_before=BEFORE).values()) == {"not known"}
    assert jobs(OPENED, use_before=BEFORE) == []


# -- live, late, reloaded and sought


DAY = runs.entries(
    OPENED, *AT_WORK, CORE, *frame(1), *frame(2, load=None), KEY, PROMPT, runs.caption(part="left"),
    OVER, BEGUN, *frame(3), SILENT, kinds.HeardAgain(silent_us=1), PROMPT, *frame(4),
    *frame(5, transfers=120),
    runs.caption(display="board"), KEY, LOST, OPENED, PROMPT, BEGUN, runs.caption(job="1"), OVER,
    *frame(6), stopped("left"), stopped("processor"), runs.caption(part="processor"), CLOSED,
)  # fmt: skip


def test_what_runs_is_the_same_live_late_reloaded_and_sought():
    running, page, has = View(), dict[str, Any](), 0
    for number, entry in enumerate(DAY, 1):
        running.apply(entry)
        batch = running.batch(has)
        merged(page, batch)
        has = batch["seq"]
        assert page == picture(running) == picture(folded(DAY[:number])), entry
        restored = View()
        restored.restore(json.loads(json.dumps(running.snapshot())))
        assert picture(restored) == picture(running), entry
        for later in DAY[number:]:
            restored.apply(later)
        assert picture(restored) == picture(folded(DAY)), entry


def test_what_the_page_only_keeps_for_itself_is_not_sent():
    assert [name for name in items(*AT_WORK, SILENT) if name.startswith("_")] == []


# -- the cable


def test_the_cable_carries_what_was_just_received_and_typed_and_no_secret():
    received = kinds.BytesReceived(bytes="READY", first_us=0)
    typed = kinds.BytesTyped(bytes="G", count=1, by="x")
    secret = kinds.BytesTyped(bytes="", count=8, by="x", secret=True)
    seen = View()
    for seq, fact in enumerate(
        [runs.entries()[0].fact, received, typed, secret, kinds.SecretTyped(by="x")], 1
    ):
        seen.apply(kinds.Entry(seq, seq * S // 10, fact))
    pieces = [(one["seq"], one["way"], one["count"], one["text"]) for one in seen.batch(0)["cable"]]
    assert pieces == [(2, "received", 5, ""), (3, "typed", 1, "G"), (4, "typed", 1, ""), (5, "typed", 1, "")]
    assert [one["seq"] for one in seen.batch(3)["cable"]] == [4, 5]
    seen.apply(kinds.Entry(6, 5 * S // 10 + 2 * S + 1, kinds.TypingHeld()))
    assert "cable" not in seen.batch(0)


def test_the_cable_has_at_most_eight_pieces_and_only_with_the_console():
    seen = View()
    received = kinds.BytesReceived(bytes="X", first_us=0)
    for seq, fact in enumerate([runs.entries()[0].fact, *[received] * 20], 1):
        seen.apply(kinds.Entry(seq, seq, fact))
    assert [one["seq"] for one in seen.batch(0)["cable"]] == list(range(14, 22))
    assert "cable" not in seen.batch(0, console=False)
