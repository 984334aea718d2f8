"""Days of the Heron that have come to each phase, in virtual time and in memory."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import msgspec

from exhibit.decisions.session.day_left import DayLeft
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.use_before import UseBefore
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import AT_REST, S, folder, hands_on, machine, opened, pause, script

MIN = 60 * S
OPENING = script("opening", hands_on("key"))
ROUND = script("round", pause("look", 30 * S))
CLOSING = script("closing", hands_on("lock"))
HERON = folder(OPENING, ROUND, CLOSING, rest_us=60 * S)
LANDMARKS = machine(typing={"nudge": b"\r"}, landmarks={"signed-out": ("ready",)})
FINDS_HOME = msgspec.structs.replace(
    folder(OPENING, ROUND, CLOSING, machine=LANDMARKS, rest_us=60 * S), way_home=AT_REST
)


def day(described: Any = HERON, wall: str = "2026-11-25T09:00:00+00:00", **changes: Any) -> Driver:
    """A day before its opening. The line is open."""
    driver = unconnected(described, wall, **changes)
    driver.open_line()
    return driver


def unconnected(
    described: Any = HERON,
    wall: str = "2026-11-25T09:00:00+00:00",
    used: UseBefore | None = None,
    **changes: Any,
) -> Driver:
    first = opened(described.machine, wall=wall, use_before=used)
    described = msgspec.structs.replace(described, **changes)
    return Driver(decider_for(described, first, ByTheDay()), opened_as=first)


def phases(driver: Driver) -> list[str]:
    return [fact.phase for fact in driver.facts(kinds.DayTurned)]


def phase(driver: Driver) -> str:
    return phases(driver)[-1]


def ran(driver: Driver) -> list[str]:
    started = driver.facts(kinds.ScriptStarted)
    return [f"{fact.script} {fact.round}" if fact.round else fact.script for fact in started]


def refused(driver: Driver) -> list[str]:
    return [fact.why for fact in driver.facts(kinds.RequestRefused)]


def resting(driver: Driver | None = None) -> Driver:
    """The first round is done, and the machine rests."""
    driver = in_round(driver)
    driver.passes("step")
    return driver


def in_round(driver: Driver | None = None) -> Driver:
    driver = driver or day()
    driver.asks("open")
    driver.asks("confirm", "key")
    return driver


def then(driver: Driver, *requests: str) -> Driver:
    for request in requests:
        driver.asks(request, "lock" if request == "confirm" else "", minutes=10 * (request == "quiet"))
    return driver


def opening() -> Driver:
    return then(day(), "open")


def nobody_there() -> Driver:
    driver = resting(day(presence_us=MIN))
    driver.passes("rest")
    return driver


IN_PHASE: dict[str, Callable[[], Driver]] = {
    "before opening": day,
    "opening": opening,
    "rounds": resting,
    "away": lambda: then(resting(), "away"),
    "quiet": lambda: then(resting(), "quiet"),
    "nobody there": nobody_there,
    "stopped": lambda: then(resting(), "stop"),
    "closing": lambda: then(resting(), "close"),
    "over": lambda: then(resting(), "close", "confirm"),
}
"""By phase: makes a day that has come to it, between two scripts where that can be."""


def left_by(driver: Driver, described: Any = HERON) -> kinds.LastRecordingRead:
    """What the recording of this day says to the next one, if the bridge is killed now."""
    left, kept = LeftOpen(described), DayLeft()
    for entry in driver.entries:
        left.take(entry.fact)
        kept.take(entry)
    return msgspec.structs.replace(left.as_fact("the last"), day=kept.kept)


def restarted(
    driver: Driver, described: Any = HERON, after_us: int = 10 * S, date: str = "", **changes: Any
) -> Driver:
    """Another bridge at the same machine, so long after this one was killed. The line is open."""
    first = driver.entries[0].fact
    assert isinstance(first, kinds.RecordingOpened)
    wall = (read_wall(first.wall) + timedelta(microseconds=driver.now_us + after_us)).isoformat()
    another = unconnected(described, f"{date or wall[:10]}{wall[10:]}", **changes)
    another.note(left_by(driver, described))
    another.open_line()
    another.note(kinds.Heartbeat(wall=another.entries[0].fact.wall))  # type: ignore[union-attr]
    return another


def next_day(driver: Driver, described: Any = HERON, used: UseBefore | None = None) -> Driver:
    """The recording of the next date, as if this day had come to its phase just before midnight."""
    carried = driver.decider.carry_over(driver.now_us)
    assert carried is not None
    assert carried.day is not None
    later = {"at": "2026-11-25T23:59:58+00:00", "seen": "2026-11-25T23:59:00+00:00"}
    until = "2026-11-26T00:09:00+00:00" if carried.day.until else ""
    kept = msgspec.structs.replace(carried.day, until=until, **later)
    another = unconnected(described, "2026-11-26T00:00:05+00:00", used)
    another.note(msgspec.structs.replace(carried, day=kept))
    return another
