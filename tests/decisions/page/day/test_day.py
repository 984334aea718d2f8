"""The day: what ran when, what it comes to, what comes next; earlier recordings of the same day count."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.use_before import DayBefore
from tests.decisions.page.day.work import (
    LOST,
    after,
    began,
    ended,
    fold,
    line,
    opened,
    reading,
    started,
    told,
)

pytestmark = pytest.mark.pure

STARTED = kinds.PartStarted(part="processor", by="core-sound")


def day(*steps, **changed):
    items = after(*steps, **changed)
    return {**items["day"], "sums": items["sums"]}


def spans(found):
    return [(one["kind"], one["from"][11:19], one["until"][11:19], one["outcome"]) for one in found["spans"]]


def test_each_script_is_a_span_which_is_open_while_it_runs():
    found = day(started("opening"), 60, ended("opening"), started("round", 1), 30)
    assert spans(found) == [
        ("opening", "09:12:00", "09:13:00", "done"),
        ("round", "09:13:00", "", ""),
    ]


@pytest.mark.parametrize("outcome", ["failed", "stopped"])
def test_a_round_counts_only_if_it_was_done(outcome):
    assert day(started("round", 1), ended("round"))["sums"]["rounds"] == 1
    found = day(started("round", 1), ended("round", outcome))
    assert (found["sums"]["rounds"], spans(found)[0][3]) == (0, outcome)


def test_other_scripts_and_the_closing_have_their_kind():
    assert [one[0] for one in spans(day(started("packs"), ended("packs"), started("closing")))] == [
        "other",
        "closing",
    ]


def test_a_machine_that_is_only_watched_was_watched_while_the_line_was_open():
    first = opened(typing="nothing")
    assert [(one[0], bool(one[2])) for one in spans(day(60, first=first))] == [("watched", False)]
    again = day(60, LOST, 60, kinds.LineOpened(line="x"), first=first)
    assert [(one[0], bool(one[2])) for one in spans(again)] == [("watched", True), ("watched", False)]


def test_it_was_woken_when_its_first_part_was_started():
    found = day(5, STARTED, 60, kinds.PartStarted(part="small-drive", by="small-ready"))
    assert found["woken"][11:19] == "09:12:05"


def test_that_it_was_woken_rests_on_what_the_machine_shows_and_the_time_on_who_did_it():
    """Whoever taps "Done" may have mistaken another lamp for it."""
    tap = kinds.PartStarted(part="processor", by="opening.turn-the-key")
    assert day(5, tap, 60)["woken"] == ""
    assert day(5, tap, 60, started("opening"), ended("opening", "stopped"))["woken"] == ""
    for shown in (STARTED, reading("disc-errors", 0), ended("opening")):
        assert day(5, tap, 60, shown)["woken"][11:19] == "09:12:05"


def test_plots_count_when_their_job_is_done():
    done = line("followed-ended", job="3")
    assert day(began(), done, began(), line("tides-stopped", job="3"))["sums"]["plots"] == {"tide": 1}


def test_transfers_of_today_are_unknown_until_a_display_shows_them():
    assert day(STARTED)["sums"]["transfers"] is None


def test_transfers_are_added_up_over_the_drives():
    taken = [reading("lower-transfers", 100), reading("upper-transfers", 5), reading("lower-transfers", 130)]
    assert day(STARTED, *taken)["sums"]["transfers"] == 135


def test_of_a_machine_that_ran_before_only_what_was_seen_counts():
    assert day(reading("lower-transfers", 9000), reading("lower-transfers", 9030))["sums"]["transfers"] == 30


def test_a_counter_that_began_again_counts_from_nothing():
    taken = [reading("lower-transfers", 100), started("opening"), reading("lower-transfers", 120)]
    assert day(STARTED, *taken)["sums"]["transfers"] == 220


def test_errors_that_display_and_log_both_report_count_once():
    log = kinds.DiscErrorsCounted(by="log-entry-mended", count=1, entry="an entry")
    assert day(kinds.DiscErrorsCounted(by="board.disc-errors", count=2), log)["sums"]["errors"] == 2
    assert day(reading("disc-errors", 0))["sums"]["errors"] == 0
    assert day()["sums"]["errors"] is None


def test_it_is_known_when_the_machine_last_showed_its_errors():
    assert day()["sums"]["errors_at"] == ""
    assert day(reading("disc-errors", 0), 600)["sums"]["errors_at"][11:16] == "09:12"
    anew = kinds.DiscErrorsCounted(by="board.disc-errors", count=0)
    assert day(reading("disc-errors", 0), 600, anew)["sums"]["errors_at"][11:16] == "09:12"
    assert (
        day(reading("disc-errors", 0), 600, reading("disc-errors", 2), 300)["sums"]["errors_at"][11:16]
        == "09:22"
    )


# -- what comes next -------------------------------------------------------------------------------


def test_between_two_rounds_the_next_one_comes_at_its_time_and_is_promised_no_longer_than_it_is_meant():
    rest = kinds.SessionResting(until_us=90_000_000)
    assert day(rest)["next"] == {"what": "round", "at": "2026-11-25T09:13:30.000+00:00"}
    for over in (
        started("round", 2),
        LOST,
        kinds.SessionFailed(why="no", last_lines=[]),
        kinds.SessionResting(until_us=0),
    ):
        assert day(rest, over)["next"] is None


def test_when_no_round_may_begin_any_more_the_closing_comes():
    refused = kinds.ScriptRefused(script="round", limit="last round", why="it is late")
    assert day(refused)["next"] == {"what": "closing", "at": ""}


def test_a_round_that_has_to_wait_begins_when_it_may():
    refused = kinds.ScriptRefused(
        script="round", limit="exercise in an hour", why="rest", until_us=60_000_000
    )
    assert day(refused)["next"]["at"][11:19] == "09:13:00"


# -- over several recordings -----------------------------------------------------------------------


def before(*steps, **changed):
    return fold(told(*steps, **changed)).day_before()


def test_the_next_recording_of_the_day_begins_with_what_was_before_it():
    had = before(STARTED, reading("lower-transfers", 100), started("round", 1), ended("round"))
    again = opened(today=had, wall="2026-11-25T11:00:00.000+00:00")
    found = day(reading("lower-transfers", 130), started("round", 1), ended("round"), first=again)
    assert (found["sums"]["rounds"], found["sums"]["transfers"]) == (2, 130)
    assert found["woken"] == had.woken
    assert len(found["spans"]) == 2


def test_a_reading_changes_the_sums_and_not_the_days_line():
    steps = (STARTED, reading("lower-transfers", 100), reading("lower-transfers", 130))
    entries = told(*steps)
    batch = fold(entries).batch(entries[-2].seq)["items"]
    assert batch["sums"]["transfers"] == 130
    assert "day" not in batch
    assert not any(name.startswith("_") for name in batch)


def test_what_nobody_saw_end_broke_off():
    (span,) = before(started("round", 1), 60).spans
    assert (span.outcome, span.until[11:19]) == ("broken off", "09:12:00")


def test_on_another_day_nothing_is_taken_over():
    had = before(started("round", 1), ended("round"))
    found = day(first=opened(today=had, wall="2026-11-26T09:00:00.000+00:00"))
    assert (found["spans"], found["sums"]["rounds"], found["date"]) == ([], 0, "2026-11-26")


def test_at_midnight_the_day_begins_empty():
    night = opened(wall="2026-11-25T23:59:00.000+00:00")
    found = day(started("round", 1), ended("round"), 60, started("closing"), first=night)
    assert [one[0] for one in spans(found)] == ["closing"]
    assert (found["date"], found["sums"]["rounds"]) == ("2026-11-26", 0)


def test_the_day_is_the_museum_s_own_and_not_that_of_utc():
    assert day(first=opened(wall="2026-11-26T00:30:00.000+01:00"))["date"] == "2026-11-26"


def test_an_older_recording_says_nothing_about_the_day():
    assert opened().today == DayBefore()
    assert msgspec.convert({}, DayBefore) == DayBefore()
