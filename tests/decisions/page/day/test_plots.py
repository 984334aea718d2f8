"""Plots: what is printed becomes points, never ahead of it, and what came garbled is a gap."""

from __future__ import annotations

import pytest

from exhibit.decisions.page.day.printed_numbers import hours_in, number_in
from exhibit.facts import kinds
from tests.decisions.page.day.work import (
    AGAIN,
    LOST,
    SILENT,
    after,
    began,
    caption,
    line,
    reading,
    rows,
    started,
    with_plot,
)

pytestmark = pytest.mark.pure

EIGHT = "00 01 02 03 04 05 06 07"
HEIGHTS = "0.63 0.84 1.55 2.59 3.74 4.74 5.33 5.30"


def points(items):
    return [[x, y] for x, y, _ in items["plots"]["tide"]["points"]]


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("06.27", 6.45),
        ("00", 0.0),
        ("18.55", 18 + 55 / 60),
        ("6:30", 6.5),
        ("06.72", None),
        ("0?.27", None),
        ("", None),
    ],
)
def test_a_time_is_hours_and_minutes_and_not_a_decimal_number(text, hours):
    assert hours_in(text) == (None if hours is None else pytest.approx(hours))


@pytest.mark.parametrize("text", ["0..3", "0.6?", "O.63", ".63", "0.63.", "", "1e9", "0x1", "0,63", "٣"])
def test_what_isnt_clearly_a_number_is_none(text):
    assert number_in(text) is None


def test_a_plot_begins_with_its_job_and_has_no_points_before_any_is_printed():
    items = after(began())
    plot = items["plots"]["tide"]
    assert (plot["job"], plot["worked"], plot["points"], plot["done"], plot["until"]) == (
        "3",
        None,
        [],
        False,
        "",
    )
    assert plot["seq"] == 3


def test_before_its_job_began_nothing_is_plotted():
    assert after(line("hours-worked", hours="3"), *rows(EIGHT, HEIGHTS))["plots"] == {}


def test_the_hours_worked_are_those_printed_last():
    plot = after(began(), line("hours-worked", hours="3"), line("hours-worked", hours="6"))["plots"]["tide"]
    assert (plot["worked"], plot["worked_seq"], plot["points"]) == (6.0, 5, [])


def test_garbled_hours_leave_those_before_them():
    plot = after(began(), line("hours-worked", hours="3"), line("hours-worked", hours="?6"))["plots"]["tide"]
    assert plot["worked"] == 3.0


def test_a_row_of_hours_and_one_of_heights_are_points_with_the_number_of_their_fact():
    plot = after(began(), *rows("00 01", "0.63 0.84"))["plots"]["tide"]
    assert plot["points"] == [[0.0, 0.63, 5], [1.0, 0.84, 5]]


def test_hours_alone_are_no_points_yet():
    assert points(after(began(), line("hour-row", hours=EIGHT))) == []


def test_a_garbled_height_is_a_gap():
    assert points(after(began(), *rows("00 01 02", "0.63 0.?4 1.55"))) == [
        [0.0, 0.63],
        [1.0, None],
        [2.0, 1.55],
    ]


def test_if_there_are_fewer_heights_than_hours_nobody_knows_which_belong_together():
    assert points(after(began(), *rows("00 01 02", "0.63 1.55"))) == [[0.0, None], [1.0, None], [2.0, None]]


def test_a_garbled_hour_leaves_a_gap_between_its_neighbours():
    assert points(after(began(), *rows("00 0? 02", "0.63 0.84 1.55"))) == [
        [0.0, 0.63],
        [1.0, None],
        [2.0, 1.55],
    ]


def test_no_line_is_drawn_across_a_row_of_heights_that_was_lost():
    lost = line("hour-row", hours="02 03")
    found = points(after(began(), *rows("00 01", "1 2"), lost, *rows("04 05", "5 6")))
    assert found == [[0.0, 1.0], [1.0, 2.0], [2.0, None], [3.0, None], [4.0, 5.0], [5.0, 6.0]]


def test_no_line_is_drawn_across_a_row_of_hours_that_was_lost():
    lost = line("metre-row", metres="3 4")
    found = points(after(began(), *rows("00 01", "1 2"), lost, *rows("04 05", "5 6")))
    assert found == [[0.0, 1.0], [1.0, 2.0], [2.5, None], [4.0, 5.0], [5.0, 6.0]]


def test_no_line_is_drawn_across_two_rows_that_were_lost_both():
    found = points(after(began(), *rows("00 01", "1 2"), *rows("04 05", "5 6")))
    assert found == [[0.0, 1.0], [1.0, 2.0], [2.5, None], [4.0, 5.0], [5.0, 6.0]]


def test_rows_that_follow_each_other_have_no_gap():
    assert points(after(began(), *rows("00 01", "1 2"), *rows("02 03", "3 4"))) == [
        [0, 1],
        [1, 2],
        [2, 3],
        [3, 4],
    ]


def test_heights_of_the_last_hours_that_never_came_are_gaps_once_the_job_has_ended():
    found = after(
        began(), *rows("00 01", "1 2"), line("hour-row", hours="02 03"), line("followed-ended", job="3")
    )
    assert points(found) == [[0.0, 1.0], [1.0, 2.0], [2.0, None], [3.0, None]]


def test_a_table_that_is_printed_again_changes_nothing_and_fills_what_was_garbled():
    found = after(began(), *rows("00 01", "1 ?"), *rows("00 01", "9 2"))
    assert points(found) == [[0.0, 1.0], [1.0, 2.0]]


def test_a_place_beyond_the_chart_is_none():
    assert points(after(began(), *rows("00 71 02", "1 2 3"))) == [[0.0, 1.0], [1.0, None], [2.0, 3.0]]


def test_one_line_can_be_one_point():
    first = with_plot(across="hour-row.hours", up="hour-row.metres", across_is="number")
    one = [line("hour-row", hours="1", metres="2.5"), line("hour-row", hours="2", metres="3")]
    assert points(after(began(), *one, first=first)) == [[1.0, 2.5], [2.0, 3.0]]


def test_a_reading_is_plotted_over_the_minutes_since_its_job_began_and_only_while_it_goes_on():
    first = with_plot(across="time", up="board.load")
    taken = [reading("load", 50), 59.9, reading("load", 60)]
    job = [began(), 59.9, *taken, line("followed-ended", job="3")]
    found = points(after(*taken, *job, *taken, first=first))
    assert found == [[1.0, 50.0], [pytest.approx(2.0), 60.0]]


def test_high_and_low_water_are_marks_at_their_time():
    water = line("high-water", "HIGH WATER  06.27  5.40", time="06.27", metres="5.40")
    garbled = line("low-water", time="12.?4", metres="0.42")
    plot = after(began(), water, garbled, water)["plots"]["tide"]
    assert plot["marks"] == [
        {"line": "high-water", "x": 6.45, "y": 5.4, "label": "HIGH WATER 06.27 5.40", "seq": 4}
    ]


# -- the end ---------------------------------------------------------------------------------------


def test_the_job_of_a_plot_is_among_those_that_run_until_it_has_ended():
    assert [(one["job"], one["name"], one["plot"], one["part"]) for one in after(began())["jobs"]] == [
        ("3", "TIDES", "tide", "processor")
    ]
    done = after(began(), line("followed-ended", job="3"))
    assert done["jobs"] == []
    assert done["plots"]["tide"]["done"]
    assert done["plots"]["tide"]["until"]


def test_the_end_of_another_job_ends_nothing():
    other = kinds.InterruptionSeen(interruption="job-ended", text="== JOB 1 SHUTTLE ENDED ==")
    assert not after(began(), line("followed-ended", job="1"), other)["plots"]["tide"]["done"]


def test_a_broadcast_can_say_that_it_has_ended():
    first = with_plot(ended=["job-ended"])
    own = kinds.InterruptionSeen(interruption="job-ended", text="== JOB 3 TIDES ENDED ==")
    assert after(began(), own, first=first)["plots"]["tide"]["done"]


IN_THE_BACKGROUND = kinds.InterruptionSeen(interruption="job-ended", text="== JOB 3 TIDES ENDED: 24 HOURS ==")


def test_what_a_job_that_ended_in_the_background_printed_is_plotted_when_it_is_called_back():
    ended = after(began(), IN_THE_BACKGROUND)
    assert (ended["plots"]["tide"]["done"], ended["jobs"], points(ended)) == (True, [], [])
    items = after(began(), IN_THE_BACKGROUND, *rows("00 01", "1 2"))
    assert points(items) == [[0.0, 1.0], [1.0, 2.0]]
    assert items["jobs"] == []
    assert items["plots"]["tide"]["done"]
    assert items["plots"]["tide"]["until"] == ended["plots"]["tide"]["until"]


def test_what_a_called_back_job_printed_is_a_result():
    items = after(20, started("round", 1), 20, began(), IN_THE_BACKGROUND, *rows("00 01", "1 2"), caption())
    assert (items["scene"]["name"], items["scene"]["plot"]) == ("result", "tide")


def test_once_it_was_called_back_and_a_line_says_it_ended_nothing_more_belongs_to_it():
    over = line("followed-ended", job="3")
    items = after(began(), IN_THE_BACKGROUND, *rows("00", "1"), over, *rows("01", "2"))
    assert points(items) == [[0.0, 1.0]]


def test_the_next_job_ends_the_one_whose_end_was_missed():
    assert [one["job"] for one in after(began("3"), began("7"))["jobs"]] == ["7"]


def test_a_line_without_a_number_ends_the_job_of_a_plot():
    assert after(began("3"), began("7"), line("core-sound"))["jobs"] == []


@pytest.mark.parametrize("what", [line("tides-stopped", job="3"), LOST, SILENT, line("core-sound")])
def test_a_plot_that_was_stopped_stays_as_it_was_and_grows_no_more(what):
    items = after(began(), *rows("00 01", "1 2"), what)
    plot = items["plots"]["tide"]
    assert points(items) == [[0.0, 1.0], [1.0, 2.0]]
    assert not plot["done"]
    assert plot["until"]
    assert items["jobs"] == []


def test_after_a_silence_what_it_prints_shows_that_it_went_on():
    items = after(began(), *rows("00 01", "1 2"), SILENT, AGAIN, *rows("02 03", "3 4"))
    assert points(items) == [[0, 1], [1, 2], [2, 3], [3, 4]]
    assert items["plots"]["tide"]["until"] == ""
    assert [one["job"] for one in items["jobs"]] == ["3"]


def test_what_is_printed_after_it_was_stopped_belongs_to_no_plot():
    items = after(began(), *rows("00", "1"), line("tides-stopped", job="3"), *rows("01", "2"))
    assert points(items) == [[0.0, 1.0]]


def test_the_next_job_begins_a_plot_of_its_own():
    items = after(began(), *rows("00", "1"), line("followed-ended", job="3"), began("7"))
    assert points(items) == []
    assert (items["plots"]["tide"]["job"], items["plots"]["tide"]["done"]) == ("7", False)
