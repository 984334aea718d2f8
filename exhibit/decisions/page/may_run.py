"""Which exercisers may be running, as far as a recording shows: those not seen to end, and jobs in doubt.

The page lists those that have begun only while nobody is watching the machine, but those in doubt always:
badge() picks from them. The latest time at which one ends by itself comes from its command or from the
machine's folder; nobody sees whether it then really ends.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, Final, Literal

import msgspec

from exhibit.decisions.page.item_store import HIDDEN, ItemStore
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.fact import Words

MAY_RUN: Final = f"{HIDDEN}may_run"
IN_DOUBT: Final = f"{HIDDEN}in_doubt"
"""The names of the items. Pages are told of them by the badge."""


class MayRun(msgspec.Struct, frozen=True, kw_only=True):
    """An exerciser that was not seen to end, or a job that may be one."""

    part: Words
    """The name of the part that it keeps busy."""
    job: str
    """The number that the machine gave it; empty if none."""
    until: str
    """When it ends by itself at the latest (a whole minute, rounded up); empty if it must be stopped."""
    stop_by_hand: Words
    caution: Words = {}
    doubt: Literal["", "not answered yet", "in doubt"] = ""
    """Empty if the machine reported that it has begun. Otherwise nobody knows whether it has: the machine
    still has to answer its command, or should have done so."""
    command: str = ""
    """For one in doubt: the command that asked for it; empty if nobody typed it on this line."""
    one_of: int = 1
    """For one in doubt: how many exercisers the job may be. This is one of them."""


def running_before(opened: kinds.RecordingOpened) -> list[dict[str, Any]]:
    """Those that were running when the previous recording ended, in times of this recording's clock."""
    before = opened.use_before
    if before is None:
        return []
    running = []
    for one in before.running:
        try:
            ends_us = _clock_us(one.ends, opened) if one.ends else 0
        except RecordingFault:
            ends_us = 0  # the time can't be read, so it counts until somebody stops it
        words = opened.exercisers.get(one.exerciser)
        part = words.part if words else ""
        running.append({"exerciser": one.exerciser, "job": one.job, "part": part, "ends_us": ends_us})
    return running


def doubts_before(opened: kinds.RecordingOpened) -> list[dict[str, Any]]:
    """The jobs that were in doubt when the previous recording ended, in times of this recording's clock."""
    doubts = []
    for one in opened.use_before.in_doubt if opened.use_before else ():
        try:
            ends_us = _clock_us(one.ends, opened) if one.ends else 0
        except RecordingFault:
            ends_us = 0
        doubts.append(
            {
                "asked": one.asked,
                "exercisers": one.exercisers,
                "command": one.command,
                "job": one.job,
                "ends_us": ends_us,
                "late": True,
            }
        )
    return doubts


def may_run(
    opened: kinds.RecordingOpened, running: Any, doubts: Any, wall: Callable[[int], str]
) -> tuple[MayRun, ...]:
    """The items MAY_RUN and IN_DOUBT in words; `wall` gives the date and time of a moment."""

    def until(ends_us: int) -> str:
        return _whole_minute(wall(ends_us)) if ends_us else ""

    found = []
    for one in running or ():
        words = opened.exercisers.get(one["exerciser"])
        found.append(
            MayRun(
                part=opened.parts.get(one["part"], {}),
                job=one["job"],
                until=until(one["ends_us"]),
                stop_by_hand=words.stop_by_hand if words else {},
                caution=words.caution if words else {},
            )
        )
    for one in doubts or ():
        for exerciser in one["exercisers"]:
            words = opened.exercisers.get(exerciser)
            found.append(
                MayRun(
                    part=opened.parts.get(words.part, {}) if words else {},
                    job=one["job"],
                    until=until(one["ends_us"]),
                    stop_by_hand=words.stop_by_hand if words else {},
                    caution=words.caution if words else {},
                    doubt="in doubt" if one["late"] else "not answered yet",
                    command=one["command"],
                    one_of=len(one["exercisers"]),
                )
            )
    return tuple(found)


def past(until: str, since: str) -> bool:
    """Whether it must have ended by `since`, when somebody was still watching."""
    try:
        return bool(until and since) and read_wall(until) <= read_wall(since)
    except RecordingFault:
        return False


def _whole_minute(wall: str) -> str:
    """The time rounded up to a whole minute, since the page must not give a time too early."""
    if not wall:
        return ""
    at = datetime.fromisoformat(wall)
    whole = at.replace(second=0, microsecond=0)
    return (whole if whole == at else whole + timedelta(minutes=1)).isoformat(timespec="milliseconds")


def _clock_us(wall: str, opened: kinds.RecordingOpened) -> int:
    real_us = (read_wall(wall) - read_wall(opened.wall)) // timedelta(microseconds=1)
    return round(real_us * opened.rate) or 1  # 0 means: no end


def _same(one: dict[str, Any], fact: kinds.ExerciserBegun | kinds.ExerciserEnded) -> bool:
    return (one["exerciser"], one["job"]) == (fact.exerciser, fact.job)


def _others(items: ItemStore, fact: kinds.ExerciserBegun | kinds.ExerciserEnded) -> list[dict[str, Any]]:
    return [one for one in items.value(MAY_RUN) or [] if not _same(one, fact)]


def _doubt(fact: kinds.JobAsked | kinds.JobInDoubt) -> dict[str, Any]:
    return {
        "asked": fact.asked,
        "exercisers": fact.exercisers,
        "command": fact.command,
        "job": fact.job if isinstance(fact, kinds.JobInDoubt) else "",
        "ends_us": fact.ends_us,
        "late": isinstance(fact, kinds.JobInDoubt),
    }


def _is_doubted(one: dict[str, Any], fact: kinds.JobAsked | kinds.JobInDoubt) -> bool:
    """Whether this fact takes back that this job is running."""
    return (
        isinstance(fact, kinds.JobInDoubt)
        and fact.exercisers == [one["exerciser"]]
        and fact.job == one["job"]
    )


def _asked(items: ItemStore, fact: kinds.JobAsked | kinds.JobInDoubt) -> None:
    others = [one for one in items.value(IN_DOUBT) or [] if one["asked"] != fact.asked]
    items.set(IN_DOUBT, [*others, _doubt(fact)])
    running = items.value(MAY_RUN) or []
    certain = [one for one in running if not _is_doubted(one, fact)]
    if certain != running:
        items.set(MAY_RUN, certain)


def _listed(items: ItemStore, fact: kinds.JobListed) -> None:
    doubts = items.value(IN_DOUBT) or []
    items.set(IN_DOUBT, [{**one, "job": fact.job} if one["asked"] == fact.asked else one for one in doubts])


def _known(items: ItemStore, asked: int) -> None:
    """It is known whether this job runs."""
    doubts = items.value(IN_DOUBT) or []
    if any(one["asked"] == asked for one in doubts):
        items.set(IN_DOUBT, [one for one in doubts if one["asked"] != asked])


def _begun(items: ItemStore, fact: kinds.ExerciserBegun) -> None:
    if fact.asked:
        _known(items, fact.asked)
    begun = {"exerciser": fact.exerciser, "job": fact.job, "part": fact.part, "ends_us": fact.ends_us}
    still = [one for one in _others(items, fact) if not one["ends_us"] or one["ends_us"] > items.at_us]
    items.set(MAY_RUN, [*still, begun])


def _ended(items: ItemStore, fact: kinds.ExerciserEnded) -> None:
    items.set(MAY_RUN, _others(items, fact))


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.ExerciserBegun: _begun,
    kinds.ExerciserEnded: _ended,
    kinds.JobAsked: _asked,
    kinds.JobInDoubt: _asked,
    kinds.JobListed: _listed,
    kinds.JobDoubtOver: lambda items, fact: _known(items, fact.asked),
}
"""What each kind of fact does to the items."""
