"""Which exercisers may still be running, as far as a recording tells: those whose end nobody has seen.

The page says so only while nobody can see it: badge() picks from them. When one ends by itself is what its
command or the machine's folder says, at the latest; whether it then has ended, nobody has seen.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, Final

import msgspec

from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.fact import Words

MAY_RUN: Final = "may_run"


class MayRun(msgspec.Struct, frozen=True, kw_only=True):
    """An exerciser whose end nobody has seen."""

    part: Words
    """The name of the part that it keeps busy."""
    job: str
    """The number that the machine gave it; empty where there is none."""
    until: str
    """When it ends by itself at the latest (a whole minute, rounded up); empty: when it is stopped."""
    stop_by_hand: Words


def carried_on(opened: kinds.RecordingOpened) -> list[dict[str, Any]]:
    """Those that ran when the recording before this one ended, by this recording's clock."""
    before = opened.use_before
    if before is None:
        return []
    running = []
    for one in before.running:
        try:
            ends_us = _clock_us(one.ends, opened) if one.ends else 0
        except RecordingFault:
            ends_us = 0  # nobody can tell when: then it counts until somebody stops it
        words = opened.exercisers.get(one.exerciser)
        part = words.part if words else ""
        running.append({"exerciser": one.exerciser, "job": one.job, "part": part, "ends_us": ends_us})
    return running


def may_run(opened: kinds.RecordingOpened, running: Any, wall: Callable[[int], str]) -> tuple[MayRun, ...]:
    """What the item MAY_RUN comes to, in words; `wall` gives the date and time of a moment."""
    may_run_now = []
    for one in running or ():
        words = opened.exercisers.get(one["exerciser"])
        may_run_now.append(
            MayRun(
                part=opened.parts.get(one["part"], {}),
                job=one["job"],
                until=_whole_minute(wall(one["ends_us"])) if one["ends_us"] else "",
                stop_by_hand=words.stop_by_hand if words else {},
            )
        )
    return tuple(may_run_now)


def past(until: str, since: str) -> bool:
    """Whether it had to have ended already at `since`, when somebody could still see."""
    try:
        return bool(until and since) and read_wall(until) <= read_wall(since)
    except RecordingFault:
        return False


def _whole_minute(wall: str) -> str:
    """The first whole minute that isn't earlier: what is told must not be too soon."""
    if not wall:
        return ""
    at = datetime.fromisoformat(wall)
    whole = at.replace(second=0, microsecond=0)
    return (whole if whole == at else whole + timedelta(minutes=1)).isoformat(timespec="milliseconds")


def _clock_us(wall: str, opened: kinds.RecordingOpened) -> int:
    real_us = (read_wall(wall) - read_wall(opened.wall)) // timedelta(microseconds=1)
    return round(real_us * opened.rate) or 1  # 0 stands for: no end


def _same(one: dict[str, Any], fact: kinds.ExerciserBegun | kinds.ExerciserEnded) -> bool:
    return (one["exerciser"], one["job"]) == (fact.exerciser, fact.job)


def _others(items: ItemStore, fact: kinds.ExerciserBegun | kinds.ExerciserEnded) -> list[dict[str, Any]]:
    return [one for one in items.value(MAY_RUN) or [] if not _same(one, fact)]


def _begun(items: ItemStore, fact: kinds.ExerciserBegun) -> None:
    begun = {"exerciser": fact.exerciser, "job": fact.job, "part": fact.part, "ends_us": fact.ends_us}
    still = [one for one in _others(items, fact) if not one["ends_us"] or one["ends_us"] > items.at_us]
    items.set(MAY_RUN, [*still, begun])


def _ended(items: ItemStore, fact: kinds.ExerciserEnded) -> None:
    items.set(MAY_RUN, _others(items, fact))


SHOWERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.ExerciserBegun: _begun,
    kinds.ExerciserEnded: _ended,
}
"""What each kind of fact does to the items."""
