"""What ends everything that was said: silence, a lost line, the end of a recording, a machine that is off.

Whatever rests on what the machine was doing is taken back here: parts, jobs, the display, the machine's date.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from exhibit.decisions.machine.script import SILENT as SILENT_PLACE
from exhibit.decisions.page import jobs_now, parts_now, standing
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.story.ended import Ended
from exhibit.facts import kinds


class Said(msgspec.Struct, frozen=True):
    """What was said at one moment, of which each has an end."""

    display: str
    jobs: frozenset[str]
    off: bool
    anew: bool
    """The fact to come says that something was started again, and nobody saw it stop."""


def said(items: ItemStore, fact: Any = None) -> Said:
    """What is said now; `fact` is taken in next."""
    shown = items.value(standing.STANDING)
    jobs = frozenset(one["job"] for one in items.value(jobs_now.JOBS) or [] if one["job"])
    anew = isinstance(fact, kinds.PartStarted) and _is_started_anew(items, fact)
    return Said(shown["display"] if shown else "", jobs, parts_now.is_off(items), anew)


def _is_started_anew(items: ItemStore, fact: kinds.PartStarted) -> bool:
    """What computes says so itself; if that was lost on the line, the report of a drive follows it."""
    computes = fact.part in parts_now.computing_parts(items)
    return parts_now.started_again(items, fact) and (computes or not parts_now.by_a_person(fact))


def what_ended(items: ItemStore, before: Said, fact: Any) -> Ended:
    """What has ended with this fact, which the items have taken in; `before` is what was said until then."""
    after = said(items)
    off = after.off and not before.off
    if off:
        machine_stopped(items)
        after = said(items)
    stopped = isinstance(fact, kinds.PartStopped)
    reported = stopped or before.anew
    return Ended(
        displays=(before.display,) if before.display and before.display != after.display else (),
        jobs=before.jobs - after.jobs,
        part=fact.part if stopped else "",
        by=fact.by if reported else "",
        off=off or before.anew,
        # What was said of a machine that was left off is as good after the recording was closed.
        all=ends_all(fact) and not (isinstance(fact, kinds.RecordingClosed) and before.off),
    )


def ends_all(fact: Any) -> bool:
    """Whether nobody knows after this fact what the machine is doing."""
    if isinstance(fact, kinds.PlaceRecognised):
        return fact.place == SILENT_PLACE
    return isinstance(fact, kinds.MachineSilent | kinds.LineLost | kinds.RecordingClosed)


def machine_stopped(items: ItemStore) -> None:
    """The machine computes no more: no job is running, no display is showing, and it believes no date."""
    standing.put_away(items)
    jobs_now.none_known(items)
    date = items.value("machine_date")
    if date is not None and "past" not in date:
        items.set("machine_date", {**date, "past": items.now()})


def _nobody_knows(items: ItemStore, fact: Any) -> None:
    machine_stopped(items)
    parts_now.nobody_knows(items)


def _machine_silent(items: ItemStore, fact: kinds.MachineSilent) -> None:
    machine_stopped(items)
    parts_now.silent(items)


def _recording_closed(items: ItemStore, fact: kinds.RecordingClosed) -> None:
    """Nobody watches any more. What was seen to stop is still said to stand: only a person can start it."""
    machine_stopped(items)
    parts_now.nobody_knows_what_runs(items)


def _place_recognised(items: ItemStore, fact: kinds.PlaceRecognised) -> None:
    if fact.place == SILENT_PLACE:
        _nobody_knows(items, fact)


def _part_started(items: ItemStore, fact: kinds.PartStarted) -> None:
    """Something was started again, and nobody saw it stop: perhaps nothing from before goes on."""
    if _is_started_anew(items, fact):
        machine_stopped(items)
        parts_now.nobody_knows(items, but=fact.part)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.MachineSilent: _machine_silent,
    kinds.LineLost: _nobody_knows,
    kinds.RecordingClosed: _recording_closed,
    kinds.PlaceRecognised: _place_recognised,
    kinds.PartStarted: _part_started,
}
"""What each kind of fact does to the items. They come before those of parts_now."""
