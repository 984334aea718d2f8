"""Joins what a later recording says of a trouble to the trouble itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Final

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.records.index.rows import CarriedTroubleRow, TroubleRow

SAME: Final = timedelta(seconds=2)
"""The same moment, written with and without fractions of a second."""


def with_carried(
    troubles: Sequence[TroubleRow],
    carried: Sequence[CarriedTroubleRow],
    whose: Mapping[str, tuple[str, bool]],
) -> list[TroubleRow]:
    """The troubles, with what became of them in later recordings of the same machine.

    A trouble that was raised several times before it was over is one: all of these rows are over with it.
    `whose`: by recording, its machine and whether that was simulated.
    """
    found = [*troubles]
    places: dict[str, list[tuple[int, datetime]]] = {}
    for place, one in enumerate(troubles) if carried else ():
        if (at := _moment(one.at)) is not None:
            places.setdefault(one.trouble, []).append((place, at))
    for later in carried:
        since, then = _moment(later.since), _moment(later.at)
        if since is None or then is None:
            continue
        for place, at in places.get(later.trouble, ()):
            one = found[place]
            if (
                one.recording != later.recording
                and whose.get(one.recording) == whose.get(later.recording)
                and since - SAME <= at <= then
            ):
                over = (one.over_at, one.over_how) if one.over_at else (later.over_at, later.over_how)
                found[place] = replace(
                    one,
                    seen_at=one.seen_at or later.seen_at,
                    set_aside_at=later.set_aside_at or one.set_aside_at,
                    over_at=over[0],
                    over_how=over[1],
                )
    return found


def _moment(at: str) -> datetime | None:
    try:
        return read_wall(at)
    except RecordingFault:
        return None
