"""Days of the simulated machine in virtual time, one recording after another, held to the limits."""

from __future__ import annotations

import datetime

import msgspec
import pytest

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.machine.wear_rules import Limits
from exhibit.decisions.session.limits import begun_by
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from exhibit.simulator.core import Whimbrel
from tests.folder.folder_writing import ROOT

WHIMBREL = read_folder(ROOT / "scripts/whimbrel")
S = 1_000_000
MIN = 60 * S
NINE = datetime.datetime(2026, 11, 25, 9, 0, tzinfo=datetime.UTC)


def held_to(**limits: int) -> Folder:
    return msgspec.structs.replace(WHIMBREL, limits=Limits(**limits))


class Day:
    """One run, and what it told."""

    def __init__(
        self,
        described: Folder,
        rounds: int | None,
        wall: datetime.datetime = NINE,
        before: UseBefore | None = None,
    ) -> None:
        self.facts: list[tuple[int, kinds.AnyFact | kinds.UnknownFact]] = []
        keep = lambda entry: self.facts.append((entry.at_us, entry.fact))  # noqa: E731
        self.run = SimulatedRun(described, Wanted(rounds=rounds), wall, keep, before)
        self.run.run()
        self.used = self.run.use_before()

    def told(self, kind: type) -> list:
        return [fact for _, fact in self.facts if isinstance(fact, kind)]

    @property
    def scripts(self) -> list[str]:
        return [fact.script for fact in self.told(kinds.ScriptStarted)]


@pytest.fixture(scope="module")
def two_rounds() -> Day:
    return Day(WHIMBREL, 2)


def test_the_round_begins_eight_minutes_of_exercise():
    begun = begun_by(WHIMBREL.scripts["round"], WHIMBREL.machine)
    assert [(exerciser.name, us) for exerciser, us in begun] == [("shuttle", 4 * MIN), ("sums", 4 * MIN)]


def test_what_the_machine_did_is_what_was_counted(two_rounds):
    begun, ended = {}, {}
    for at_us, fact in two_rounds.facts:
        if isinstance(fact, kinds.ExerciserBegun):
            begun[fact.job] = at_us
        elif isinstance(fact, kinds.ExerciserEnded):
            ended[fact.job] = at_us
    assert len(begun) == 4
    assert begun.keys() == ended.keys()
    assert two_rounds.used.years == {"2026": sum(ended.values()) - sum(begun.values())}
    assert two_rounds.used.running == []


def test_each_drive_was_started_and_stopped_once_and_ran_in_between(two_rounds):
    for part in ("processor", "small-drive", "upper-drive", "lower-drive"):
        use = two_rounds.used.parts[part]
        told = [at for at, fact in two_rounds.facts if getattr(fact, "part", "") == part
                and isinstance(fact, kinds.PartStarted | kinds.PartStopped)]  # fmt: skip
        assert (use.starts, use.stops, use.running_since) == (1, 1, [])
        assert use.run_us == told[-1] - told[0] > 5 * MIN


def test_the_packs_are_known_when_the_day_is_over(two_rounds):
    assert {drive: pack.label for drive, pack in two_rounds.used.packs.items()} == {
        "upper-drive": "SALLOW 1",
        "lower-drive": "SALLOW 2",
    }


def test_of_a_day_with_room_for_two_rounds_the_third_is_refused_and_the_closing_runs(two_rounds):
    # The third must find room for its eight minutes beside what the first two took.
    took_us = two_rounds.used.years["2026"]
    inside = Day(held_to(day_us=took_us + 8 * MIN), 3)
    assert inside.scripts == ["opening", "round", "round", "round", "closing"]
    outside = Day(held_to(day_us=took_us + 8 * MIN - 1), 3)
    assert outside.scripts == ["opening", "round", "round", "closing"]
    assert [fact.limit for fact in outside.told(kinds.ScriptRefused)] == ["exercise in a day"]
    assert outside.run.outcome == "done"


def test_a_restart_gives_no_new_exercise(two_rounds):
    took_us = two_rounds.used.years["2026"]
    again = NINE + datetime.timedelta(hours=2)
    fits = Day(held_to(day_us=took_us + 8 * MIN), 1, again, two_rounds.used)
    assert fits.scripts == ["opening", "round", "closing"]
    does_not = Day(held_to(day_us=took_us + 8 * MIN - 1), 1, again, two_rounds.used)
    assert does_not.scripts == ["opening", "closing"]
    tomorrow = Day(held_to(day_us=took_us), 1, NINE + datetime.timedelta(days=1), two_rounds.used)
    assert tomorrow.scripts == ["opening", "round", "closing"]


def test_the_rounds_of_an_hour_wait_and_never_go_beyond_its_limit():
    day = Day(held_to(hour_us=14 * MIN), 5)
    assert day.scripts == ["opening", *["round"] * 5, "closing"]
    waits = day.told(kinds.ScriptRefused)
    assert waits
    assert {fact.limit for fact in waits} == {"exercise in an hour"}
    assert all(fact.until_us for fact in waits)
    spans = []
    for at_us, fact in day.facts:
        if isinstance(fact, kinds.ExerciserBegun):
            spans.append([fact.job, at_us, fact.ends_us])
        elif isinstance(fact, kinds.ExerciserEnded):
            next(span for span in reversed(spans) if span[0] == fact.job)[2] = at_us
    assert len(spans) == 10
    for _, from_us, to_us in spans:
        for now_us in (from_us, to_us):
            hour = [max(0, min(b, now_us) - max(a, now_us - 60 * MIN)) for _, a, b in spans]
            assert sum(hour) <= 14 * MIN


def test_the_day_of_which_half_was_before_midnight():
    late = datetime.datetime(2026, 12, 31, 23, 55, tzinfo=datetime.UTC)
    day = Day(WHIMBREL, 2, late)
    assert list(day.used.days) == ["2026-12-31", "2027-01-01"]
    assert all(use.exercised_us for use in day.used.days.values())
    assert day.used.years == {date[:4]: use.exercised_us for date, use in day.used.days.items()}


def test_disc_errors_of_the_machine_end_the_exercising(monkeypatch):
    day = Day(WHIMBREL, 1)
    assert day.told(kinds.DiscErrorsCounted) == []
    really = Whimbrel.__init__

    def with_faults(self, *args, **more) -> None:
        really(self, *args, **more)
        self.faults.disc_rate = 0.02

    monkeypatch.setattr(Whimbrel, "__init__", with_faults)
    day = Day(held_to(errors_a_day=3), 3)
    assert sum(fact.count for fact in day.told(kinds.DiscErrorsCounted)) > 3
    assert [fact.limit for fact in day.told(kinds.ScriptRefused)][:1] == ["disc errors"]
    assert day.scripts == ["opening", "round", "closing"]
