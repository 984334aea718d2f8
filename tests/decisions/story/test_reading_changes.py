"""What a reading has just done is told once, when it was seen, and never when it can't have been seen."""

from __future__ import annotations

from typing import Any

import pytest

from exhibit.decisions.page.views import View
from exhibit.decisions.story.reading_changes import CHANGES, LONGEST_GAP_US, MOST_CHANGES
from exhibit.decisions.story.story import Story
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from tests.decisions.heron import S, caption, folder, opened, pause, script

EVERY_US = 5 * S


class Watched:
    """A story of one caption, told readings five seconds apart; and the page's view of the same facts."""

    def __init__(self, change: str, number: float = 0, for_s: int = 0, **first: Any) -> None:
        trigger = {"reading": "board.load", "change": change, "number": number, "for_us": for_s * S}
        told = caption("c", "{value}", **trigger)
        opened_fact = opened(**first)
        self._story = Story(folder(script("round", pause("look")), captions=(told,)), opened_fact)
        self.view = View()
        self.view.apply(kinds.Entry(1, 0, opened_fact))
        self._seq, self.at_us = 1, 0

    def fact(self, fact: kinds.AnyFact, after_us: int = 0) -> list[kinds.CaptionShown]:
        self._seq += 1
        self.at_us += after_us
        entry = kinds.Entry(self._seq, self.at_us, fact)
        self.view.apply(entry)
        shown = self._story.note(entry)
        for one in shown:
            self._seq += 1
            self.view.apply(kinds.Entry(self._seq, self.at_us, one))
        return shown

    def readings(self, *values: int | float | str, after_us: int = EVERY_US) -> list[str]:
        """What is told at each of these values; "" where nothing is."""
        said = []
        for value in values:
            reading = kinds.ReadingTaken(display="board", frame=1, name="load", value=value)
            said.append("".join(one.words["en"] for one in self.fact(reading, after_us)))
        return said

    def grounds(self) -> list[dict]:
        return self.view.batch(0)["items"]["caption"]["because"]


def test_a_number_is_crossed_when_the_value_comes_to_it_from_below():
    assert Watched("crosses upwards", 50).readings(49, 50, 51, 49, 60) == ["", "50", "", "", "60"]


def test_a_number_is_crossed_downwards_when_the_value_falls_below_it():
    assert Watched("crosses downwards", 50).readings(51, 50, 49, 10, 50, 20) == ["", "", "49", "", "", "20"]


def test_the_first_value_crosses_nothing():
    assert Watched("crosses upwards", 50).readings(60) == [""]
    assert Watched("crosses downwards", 50).readings(40) == [""]


def test_the_first_change_of_a_day_is_told_once():
    assert Watched("first change today").readings(1, 1, 2, 3, 1) == ["", "", "2", "", ""]


def test_the_first_time_above_a_number_is_told_once_a_day_even_at_the_first_reading():
    watched = Watched("first above today", 1000)
    assert watched.readings(1200, 900, 1000) == ["1,200", "", ""]
    watched.fact(kinds.Heartbeat(wall="2026-11-26T00:00:10.000+00:00"), EVERY_US)
    assert watched.readings(900, 1000) == ["", "1,000"]


def test_the_day_is_that_of_the_museum_and_not_of_greenwich():
    watched = Watched("first above today", 5, wall="2026-11-25T23:59:50.000+11:00")
    assert watched.readings(9, 9, 9) == ["9", "9", ""]  # five seconds before midnight, at it, after it


def test_nothing_is_the_first_of_a_day_that_has_an_earlier_recording():
    earlier = "heron-2026-11-25T07-00-00.exhibit"
    watched = Watched("first above today", 5, previous_file=earlier)
    assert watched.readings(9) == [""]
    yesterday = Watched("first above today", 5, previous_file="heron-2026-11-24T07-00-00.exhibit")
    assert yesterday.readings(9) == ["9"]


@pytest.mark.parametrize(
    ("ended", "told"), [("2026-11-24T23:59:59+00:00", "9"), ("2026-11-25T00:20:00+00:00", "")]
)
def test_nothing_is_the_first_of_a_day_into_which_the_recording_before_went_on(ended, told):
    earlier = "heron-2026-11-24T07-00-00.exhibit"
    watched = Watched("first above today", 5, previous_file=earlier, use_before=UseBefore(at=ended))
    assert watched.readings(9) == [told]


def test_the_first_recording_of_all_has_seen_its_day():
    wall = opened().wall
    assert Watched("first above today", 5, use_before=UseBefore(at=wall)).readings(9) == ["9"]


def test_nothing_is_the_first_of_a_day_to_which_the_clock_was_set():
    """A computer without a battery clock begins with a date of long ago, and is told the right one later."""
    watched = Watched("first above today", 5, wall="1970-01-01T00:00:09.000+00:00")
    assert watched.readings(9, 1) == ["9", ""]
    watched.fact(kinds.ClockStepped(by_us=1, wall="2026-11-25T10:00:00.000+00:00"))
    assert watched.readings(9) == [""]
    watched.fact(kinds.Heartbeat(wall="2026-11-26T00:00:10.000+00:00"))
    assert watched.readings(9) == ["9"]


def test_a_clock_that_is_put_right_by_some_minutes_changes_no_day():
    watched = Watched("first above today", 5)
    watched.fact(kinds.ClockStepped(by_us=60 * S, wall="2026-11-25T10:01:00.000+00:00"))
    assert watched.readings(9) == ["9"]


def test_nothing_is_the_first_of_a_day_on_which_the_line_was_lost():
    watched = Watched("first above today", 5)
    watched.fact(kinds.LineLost(why="unplugged"))
    assert watched.readings(9) == [""]


def test_a_value_that_stays_is_told_once_until_it_has_changed():
    watched = Watched("stays unchanged", for_s=10)
    assert watched.readings(7, 7, 7, 7, 8, 8, 8) == ["", "", "7", "", "", "", "8"]


def test_a_value_that_stays_above_a_number_may_change_meanwhile():
    assert Watched("stays above", 50, 10).readings(60, 50, 70, 71, 49, 80, 81, 82) == [
        *("", "", "70", "", "", "", "", "82")
    ]


def test_a_value_that_stays_below_a_number():
    assert Watched("stays below", 50, 10).readings(50, 49, 48, 47) == ["", "", "", "47"]


@pytest.mark.parametrize(("gap_us", "told"), [(LONGEST_GAP_US, "7"), (LONGEST_GAP_US + 1, "")])
def test_a_stay_with_a_gap_in_it_was_not_seen(gap_us, told):
    assert Watched("stays unchanged", for_s=60).readings(7, 7, after_us=gap_us) == ["", told]


def test_a_stay_is_not_told_across_a_lost_line():
    watched = Watched("stays unchanged", for_s=10)
    watched.readings(7, 7)
    watched.fact(kinds.LineLost(why="unplugged"))
    assert watched.readings(7, 7, 7) == ["", "", "7"]


def test_texts_change_and_stay_but_are_never_above_anything():
    assert Watched("changes").readings("A", "B") == ["", "B"]
    assert Watched("stays unchanged", for_s=5).readings("A", "A") == ["", "A"]
    for change in set(CHANGES) - {"changes", "stays unchanged", "first change today"}:
        assert Watched(change, 0, 5).readings("A", "B", "C") == ["", "", ""], change


@pytest.mark.parametrize("changes", [2, MOST_CHANGES - 1])
def test_a_stay_rests_on_the_reading_with_which_it_began_and_the_page_can_show_it(changes):
    """Also when so many others came between that the page keeps their last ones only."""
    watched = Watched("stays above", 50, for_s=changes)
    watched.readings(10)
    for number in range(changes):
        for name in ("one", "two", "three"):
            watched.fact(kinds.ReadingTaken(display="board", frame=1, name=name, value=number))
        said = watched.readings(60 + number, after_us=S)
    assert said == [""]
    assert watched.readings(60 + changes - 1, after_us=S) == [f"{60 + changes - 1}"]
    grounds = watched.grounds()
    assert [(one["how"], one["value"]) for one in grounds] == [
        ("reading", "60"),
        ("reading", f"{59 + changes}"),
    ]
    again = View()
    again.restore(watched.view.snapshot())
    assert again.batch(0)["items"]["caption"]["because"] == grounds


def test_a_stay_with_more_changes_than_the_page_keeps_is_not_told():
    watched = Watched("stays above", 50, for_s=MOST_CHANGES + 2)
    assert set(watched.readings(*range(60, 60 + MOST_CHANGES + 10), after_us=S)) == {""}
