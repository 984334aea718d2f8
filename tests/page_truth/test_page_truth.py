"""Whole days, disturbed, at every fact of which what the page says is held against what the machine is doing.

What no program can know isn't counted against it: a machine without power prints nothing, so until something
is due from it and doesn't come, it may as well be thinking. While a job is followed, that can be its whole
time. Nor does any fact say that TIDEBOOK has forgotten the date when it was stopped: it goes with the key.
"""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.machine.script import Folder, Trigger
from exhibit.decisions.page import jobs_now, parts_now, standing
from exhibit.decisions.page.captions_over import CaptionsOver
from exhibit.decisions.story.hints import Hints
from tests.page_truth.by_hand import DayByHand
from tests.page_truth.day import KINDS, Day, Disturbance, disturbance, whimbrel
from tests.sampling import how_sampled, sample

DAYS = range(1, 10 * len(KINDS) + 1)
CHOSEN = sample(DAYS, len(KINDS), lambda number: [disturbance(number).kind])


def played(number: int) -> Day:
    disturbed = disturbance(number)
    return (DayByHand if disturbed.kind == "watched" else Day)(disturbed, chance=number)


def too_long(day: Day) -> list[str]:
    """What was untrue for longer than twice the time within which the machine answers."""
    most_us = 2 * day.judge.within_us
    return [f"{one.statement} for {one.for_us / 1e6} s" for one in day.judge.untrue if one.for_us > most_us]


@pytest.mark.trial(name="page-truth", seed=f"1 to {len(DAYS)}")
@pytest.mark.parametrize("number", CHOSEN)
def test_no_statement_of_the_page_is_untrue_for_longer_than_twice_answer_within(number: int):
    day = played(number)
    assert too_long(day) == [], (day.disturbed, how_sampled())


def test_each_kind_of_disturbance_comes_in_these_days():
    assert {disturbance(number).kind for number in CHOSEN} == set(KINDS)


@pytest.fixture(scope="module")
def plain() -> Day:
    return Day(Disturbance("nothing"))


def test_in_a_plain_day_every_kind_of_statement_is_made(plain: Day):
    said = " | ".join(sorted(plain.judge.statements))
    for what in (
        "processor runs", "lower-drive starting", "lower-drive stands", "job 1 runs", "job 3 runs",
        "the board stands", "share of processor", "transfers of lower-drive", "board.load is as read",
        "it believes the date", "processor tested", "caption shuttle-begun: its job",
        "tell-tale lamps-flicker: busy", "plot tide is worked", "tidebook is loaded",
    ):  # fmt: skip
        assert what in said, what


def test_a_plain_day_is_untrue_for_no_more_than_a_second_but_for_the_date(plain: Day):
    longest = [one for one in plain.judge.untrue if one.for_us > 1_000_000]
    assert [one.statement for one in longest if one.statement != "it believes the date"] == []


# -- the judge finds a page that takes nothing back


def found(kind: str, at_s: float, for_s: float = 0.0) -> str:
    return "; ".join(too_long(Day(Disturbance(kind, at_s, for_s))))


def test_a_share_that_is_not_taken_back_is_found(monkeypatch):
    monkeypatch.setattr(standing, "put_away", lambda items: None)
    wrong = found("nothing", 0)
    assert "share of processor" in wrong
    assert "the board stands" in wrong
    assert "board.load is as read" in wrong


def test_jobs_and_parts_that_are_not_taken_back_are_found(monkeypatch):
    monkeypatch.setattr(jobs_now, "none_known", lambda items: None)
    monkeypatch.setattr(parts_now, "nobody_knows", lambda items, but="": None)
    wrong = found("power cut", 125)
    for what in ("job 1 runs", "job 2 runs", "lower-drive runs"):
        assert what in wrong


def sparing() -> Folder:
    """The folder with so few captions that none takes another's place, and lamps that only their job ends."""
    machine = whimbrel().machine
    lamps = machine.tell_tales["lamps-flicker"]
    ends = ["closing.turn-the-key-off"]
    lamps = msgspec.structs.replace(lamps, begins=["sums-begun"], ends=ends, at_most_us=10**10)
    told = msgspec.structs.replace(machine, tell_tales={"lamps-flicker": lamps})
    few = [one for one in whimbrel().captions if one.name == "board-shown" or one.trigger == Trigger()]
    return msgspec.structs.replace(whimbrel(), machine=told, captions=tuple(few))


def test_captions_and_tell_tales_that_are_not_taken_back_are_found(monkeypatch):
    assert too_long(Day(Disturbance("nothing"), folder=sparing())) == []
    monkeypatch.setattr(CaptionsOver, "is_over", lambda self, shown: False)
    monkeypatch.setattr(Hints, "_end", lambda self, ended: None)
    wrong = "; ".join(too_long(Day(Disturbance("nothing"), folder=sparing())))
    assert "caption board-shown: its display" in wrong
    assert "lamps-flicker: busy" in wrong
