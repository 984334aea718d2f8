"""The load of troubles on whoever is called: how many, against the published figures for operators."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta

import msgspec

from exhibit.facts.clock import read_wall
from exhibit.output.columns import in_columns
from exhibit.records.index.rows import RecordingRow, TroubleRow
from exhibit.records.reckoning.of_rows import Rows, moment
from exhibit.records.reckoning.words import number
from exhibit.sums.alarm_load import (
    ACCEPTABLE_AN_HOUR,
    MANAGEABLE_AN_HOUR,
    MOST_IN_A_PERIOD,
    AlarmLoad,
    alarm_load,
)

WANTED_DAYS = 30
"""The published figures are for so many days or more."""
METHOD = "Alarm load by ANSI/ISA-18.2-2016, clause 16 (at second hand)"


class AlarmDay(msgspec.Struct, frozen=True, kw_only=True):
    """The load of a local day's recordings."""

    date: str
    load: AlarmLoad


class AlarmSums(msgspec.Struct, frozen=True, kw_only=True):
    """The load of all recordings, one after the other, without the time between them."""

    of: str
    hours: float
    whole: AlarmLoad | None
    """None if nothing was recorded for any time."""
    days: list[AlarmDay]
    names: dict[str, int]
    """How often each trouble was raised, the most frequent first."""


def alarm_sums(rows: Rows) -> AlarmSums:
    """The load of each trouble that was raised, also of one that was raised again."""
    of_days: dict[str, list[RecordingRow]] = {}
    for row in rows.recordings:
        of_days.setdefault(row.opened_at[:10], []).append(row)
    loads = {day: _load(rows, recordings) for day, recordings in of_days.items()}
    days = [AlarmDay(date=day, load=load) for day, (load, _) in loads.items() if load is not None]
    whole, hours = _load(rows, rows.recordings)
    names = Counter(row.trouble for row in rows.troubles)
    return AlarmSums(of=rows.line, hours=hours, whole=whole, days=days, names=dict(names.most_common()))


def lines(found: AlarmSums) -> list[str]:
    """What is printed."""
    if found.whole is None:
        return [
            found.of,
            "",
            f"{METHOD}: too little data, nothing computed: nothing was recorded for any time.",
        ]
    table = [("day", "troubles", "an hour", "most in 10 min", "load")]
    shown = [*((day.date, day.load) for day in found.days), ("all", found.whole)]
    table += [
        (name, f"{load.number}", number(load.an_hour), f"{load.most_in_ten_min}", load.load)
        for name, load in shown
    ]
    said = [found.of, "", *in_columns(table, left=(0, 4)), ""]
    if found.names:
        name, times = next(iter(found.names.items()))
        said.append(f"The most frequent is {name}: {times} of {found.whole.number}.")
    said += [
        f"{METHOD}: about {ACCEPTABLE_AN_HOUR:g} an hour is very likely acceptable, {MANAGEABLE_AN_HOUR:g} "
        f"the most that is manageable, and at most {MOST_IN_A_PERIOD} in any ten minutes.",
        f"n = {found.whole.number} troubles in {number(found.hours)} recorded hours on {len(found.days)} "
        "days; assumes that each one calls somebody. The rate alone is no indicator of acceptability, says "
        "the standard itself.",
    ]
    if len(found.days) < WANTED_DAYS:
        said.append(f"The figures are meant for {WANTED_DAYS} days or more, and here are {len(found.days)}.")
    return said


def _load(rows: Rows, recordings: list[RecordingRow]) -> tuple[AlarmLoad | None, float]:
    """The load of these recordings laid end to end, and their length in hours."""
    spans = [
        (row.recording, read_wall(row.opened_at), read_wall(row.ended_at))
        for row in recordings
        if row.opened_at and row.ended_at
    ]
    of: dict[str, list[TroubleRow]] = {}
    for row in rows.troubles:
        of.setdefault(row.recording, []).append(row)
    times_s: list[float] = []
    before = timedelta()
    for name, begin, end in spans:
        length = max(end - begin, timedelta())
        times_s += [
            (before + _within(moment(row) - begin, length)).total_seconds()
            for row in of.get(name, [])
            if row.at
        ]
        before += length
    if before <= timedelta():
        return None, 0.0
    return alarm_load(times_s, before.total_seconds()), before.total_seconds() / 3600


def _within(since: timedelta, length: timedelta) -> timedelta:
    return min(max(since, timedelta()), length)
