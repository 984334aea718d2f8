"""Which troubles a recording leaves behind, so that neither midnight nor a restart makes them look mended."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import msgspec

from exhibit.facts import kinds
from exhibit.facts.clock import write_wall
from exhibit.facts.use_before import TroubleLeft


class TroublesLeft:
    """The troubles that aren't over after the facts taken so far: each kind once, however often it came.

    Who has seen one is kept. That it was set aside is not: with a new recording it needs somebody again.
    """

    def __init__(self) -> None:
        self._open: dict[str, TroubleLeft] = {}
        self._names: dict[int, str] = {}
        """The trouble that each fact raised."""

    @property
    def left(self) -> list[TroubleLeft]:
        """Those that aren't over, in the order in which they were first raised."""
        return list(self._open.values())

    def take(self, entry: kinds.Entry, wall_at: Callable[[int], datetime.datetime]) -> None:
        """Takes the next fact. `wall_at` gives the date and time at a time of its recording's clock."""
        fact, seq = entry.fact, entry.seq
        match fact:
            case kinds.RecordingOpened(use_before=before) if before is not None:
                self._open = {one.trouble: one for one in before.troubles}
            case kinds.TroubleRaised(trouble=name):
                self._names[seq] = name
                if not (fact.since and name in self._open):
                    first = self._open.get(name)
                    since = first.since if first else fact.since or write_wall(wall_at(entry.at_us))
                    # Whoever saw it hasn't seen that it came again, unless just before.
                    seen_by = first.seen_by if first and fact.repeats else ""
                    self._open[name] = TroubleLeft(trouble=name, line=fact.line, since=since, seen_by=seen_by)
            case kinds.TroubleSeen(raised=raised, by=by):
                name = self._names.get(raised, "")
                if name in self._open:
                    self._open[name] = msgspec.structs.replace(self._open[name], seen_by=by)
            case kinds.TroubleOver(raised=raised):
                self._open.pop(self._names.get(raised, ""), None)
