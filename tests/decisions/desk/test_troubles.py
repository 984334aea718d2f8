"""Troubles: told once, and what became of each."""

import msgspec

from exhibit.decisions.desk.troubles import MOST_SHOWN
from exhibit.facts import kinds
from tests.decisions.desk.made_day import Told, prints, trouble
from tests.decisions.heron import S

BEAT = kinds.Heartbeat(wall="2026-11-25T09:00:00+00:00")
SEEN = kinds.TroubleSeen(raised=3, by="docent 1")
OVER = kinds.TroubleOver(raised=3, by="docent 1")


def states(told: Told) -> list[str]:
    return [one["state"] for one in told["troubles"]]


def test_a_trouble_needs_somebody_and_brings_the_lines_before_it():
    told = Told(prints("READY:\r\nDRIVE LEFT FAILED\r\n"))
    told.tell(trouble())
    [one] = told["troubles"]
    assert one["state"] == "needs you"
    assert one["lines"] == ["READY:", "DRIVE LEFT FAILED"]
    assert one["caution"]
    assert one["raised"] == 4


def test_the_same_trouble_again_is_told_once():
    told = Told(trouble(), trouble(), trouble())
    [one] = told["troubles"]
    assert (one["times"], one["raised"]) == (3, 3)
    assert told.tell(kinds.TroubleSeen(raised=5, by="docent 1"))["troubles"][0]["state"] == "seen"
    assert states(told.tell(trouble())) == ["seen"]


def test_after_it_was_over_it_is_a_new_one():
    assert states(Told(trouble(), OVER, trouble())) == ["needs you", "over"]


def test_another_trouble_is_another():
    assert states(Told(trouble(), SEEN, trouble("warm"))) == ["needs you", "seen"]


def test_what_is_set_aside_needs_somebody_again_when_its_time_is_up():
    aside = kinds.TroubleSetAside(raised=3, by="docent 1", why="the engineer comes", until_us=60 * S)
    told = Told(trouble(), aside)
    assert states(told) == ["set aside"]
    assert told["troubles"][0]["until"] == "2026-11-25T09:01:00.000+00:00"
    assert told["troubles"][0]["why"] == "the engineer comes"
    assert states(told.tell(BEAT, after_s=30)) == ["set aside"]
    assert states(told.tell(BEAT, after_s=30)) == ["needs you"]


def test_what_is_over_stays_in_the_list_for_ten_minutes():
    told = Told(trouble(), OVER)
    assert states(told.tell(BEAT, after_s=599)) == ["over"]
    assert states(told.tell(BEAT, after_s=2)) == []


def test_whoever_clears_a_failure_has_seen_what_led_to_it():
    assert states(Told(trouble(), kinds.SessionCleared(by="docent 1"))) == ["seen"]


def test_the_list_is_short_and_begins_with_what_needs_somebody():
    told = Told(trouble(), SEEN, *(trouble(f"n{n}") for n in range(12)))
    assert len(told["troubles"]) == MOST_SHOWN
    assert set(states(told)) == {"needs you"}
    assert told["troubles"][0]["name"] == "n11"


def test_one_of_an_earlier_recording_keeps_its_first_time_and_its_own_line():
    told = Told(prints("READY:\r\n"))
    told.tell(msgspec.structs.replace(trouble(), since="2026-11-24T16:40:00.000+00:00"))
    [one] = told["troubles"]
    assert (one["since"], one["state"]) == ("2026-11-24T16:40:00.000+00:00", "needs you")
    assert one["lines"] == [trouble().line]
    assert told["done_today"]["troubles"] == 0
