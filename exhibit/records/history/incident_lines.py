"""Incidents as lines for people, and as JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict
from typing import Any, Final

import msgspec

from exhibit.output.printable import as_unicode
from exhibit.records.excerpt.moment_words import MomentWords
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.history import counts
from exhibit.records.history.counts import Counted
from exhibit.records.history.incidents import History, Incident, Likes
from exhibit.records.work.listing import work_words
from exhibit.streams.recording import Damaged, find_seq, read
from exhibit.sums.statistical.basis import TooFew

MOST_DAYS: Final = 40
FEWEST: Final = 3
"""Fewer incidents tell nothing from chance, so nothing is computed of them."""
OTHER_RATES: Final = (
    "Hours here were recorded (by day) or had the machine on, and only what this source reported counts. "
    "`exhibit sums errors` counts hours of exercisers (two at once make two), and each day the source that "
    "reported more; so its rates can differ."
)
WHICH_WAY: Final = "Whether that was on the way to the machine or on the way back, an echo can't tell."
AROUND: Final = 8
"""How many moments before and after an incident are shown."""
_SEARCHED: Final = 400
"""So many facts before it and after it are read for that: most are single characters."""


def overview(history: History) -> list[str]:
    """A line for each signature, with its number."""
    kind = "simulated" if history.simulated else "real"
    on_h = history.hours.hours
    days = len(history.recorded_h)
    hours = f"{on_h:.1f} h with the machine on" if on_h else f"{math.fsum(history.recorded_h.values()):.1f} h"
    lines = [
        f"{history.machine} ({kind}): {_many(len(history.recordings), 'recording')}, {_days(days)}, {hours}"
    ]
    if not history.likes:
        return [*lines, "Nothing went wrong in them."]
    rows = [("", "times", "days", "first", "last", "what")]
    for number, likes in enumerate(history.likes, 1):
        first, last = likes.incidents[0], likes.incidents[-1]
        rows.append((f"{number}", f"{likes.times}", f"{len(likes.days)}", first.date, last.date, likes.title))
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[:5], widths, strict=True)]
        lines.append(f"{'  '.join(cells)}  {row[5]}".rstrip())
    return lines


def details(history: History, number: int) -> list[str]:
    """All that is known about the incidents of one signature."""
    likes = history.likes[number - 1]
    last = likes.incidents[-1]
    lines = [f"{number}. {likes.title}: {_times(likes.times)} on {_days(len(likes.days))}"]
    if last.words:
        lines.append(f"   {last.words}")
    days = counts.by_day(likes, history)
    shown = [one for one in days if one.times][-MOST_DAYS:]
    lines += ["", "By day", *_rows(shown)]
    ages = counts.by_age(likes, history)
    judged = likes.times >= FEWEST
    lines += ["", "By hours since power-on", *_rows(ages), *(_evenness(ages) if judged else [])]
    exercised = counts.by_exerciser(likes, history)
    lines += ["", "With and without an exerciser", *_rows(exercised)]
    lines += _comparison(*exercised) if judged else []
    lines += ["", "By step", *_rows(counts.by_step(likes, history))]
    if commands := counts.by_command(likes):
        lines += ["", "By command, and what became of its first wrong character", *_rows(commands)]
        lines += [f"   {WHICH_WAY} {_received_damaged(history)}"]
    lines += ["", "By part that was exercised", *_rows(counts.by_part(likes))]
    warm = counts.by_temperature(likes)
    if any(one.name != counts.UNKNOWN for one in warm):
        lines += ["", "By temperature, measured within two hours", *_rows(warm)]
        lines += ["   How long it was how warm isn't recorded, so these are no rates."]
    visits = counts.by_work(likes, history)
    lines += ["", "Before and after work"] if visits else []
    for visit in visits:
        lines += [f"   {visit.at[:16].replace('T', ' ')}  {work_words(one)}" for one in visit.work]
        lines += _rows([visit.before, visit.after])
        lines += _comparison(visit.before, visit.after) if judged else []
    if likes.kind == "disc errors" and history.hours.hours:
        lines += ["", OTHER_RATES]
    if history.hours.hours == 0:
        lines += ["", "No recording says when the machine was on, so there are no rates by its hours."]
    lines += ["", "Each of them"]
    for one in likes.incidents:
        lines.append(f"   {one.at[:19].replace('T', ' ')}  fact {one.seq} of {one.recording}: {one.line}")
    lines += ["", "The last one, with what came before and after", *around(last)]
    lines += ["", f"exhibit excerpt {last.folder / last.recording} --fact {last.seq} --to incident.html"]
    return lines


def around(incident: Incident) -> list[str]:
    """What happened before and after an incident, a line for each moment; > marks the incident."""
    path = incident.folder / incident.recording
    privacy = Privacy()
    privacy.left_out(path)
    words = MomentWords("en", privacy)
    before: list[str] = []
    after: list[str] = []
    for entry in read(path, find_seq(path, max(1, incident.seq - _SEARCHED))):
        if isinstance(entry, Damaged):
            continue
        if entry.seq > incident.seq + _SEARCHED or len(after) > AROUND:
            break
        kind, said = words.of(entry.fact)
        if entry.seq == incident.seq:
            kind, said = kind or incident.kind, said or incident.line
        if kind:
            mark = ">" if entry.seq == incident.seq else " "
            line = f" {mark} {entry.seq:>8}  {kind:<8}  {said}"
            (after if entry.seq >= incident.seq else before).append(line)
    return [*before[-AROUND:], *after]


def as_json_text(history: History) -> str:
    """A history as one line of JSON."""
    return msgspec.json.encode(
        {
            "machine": history.machine,
            "simulated": history.simulated,
            "hours_on": history.hours.hours,
            "received_damaged": history.received_damaged,
            "likes": [_as_json(likes, history) for likes in history.likes],
        }
    ).decode()


def _as_json(likes: Likes, history: History) -> dict[str, Any]:
    groups = {
        "day": counts.by_day(likes, history),
        "age": counts.by_age(likes, history),
        "exerciser": counts.by_exerciser(likes, history),
        "step": counts.by_step(likes, history),
        "command": counts.by_command(likes),
        "part": counts.by_part(likes),
        "temperature": counts.by_temperature(likes),
    }
    return {
        "signature": likes.signature,
        "kind": likes.kind,
        "times": likes.times,
        "by": {name: [_counted(one) for one in found] for name, found in groups.items()},
        "work": [
            {
                "work": visit.work,
                "before": _counted(visit.before),
                "after": _counted(visit.after),
                "chance": getattr(counts.comparison_of(visit.before, visit.after), "chance", None),
            }
            for visit in counts.by_work(likes, history)
        ],
        "incidents": [
            {**asdict(one), "folder": as_unicode(f"{one.folder}"), "recording": as_unicode(one.recording)}
            for one in likes.incidents
        ],
    }


def _counted(one: Counted) -> dict[str, Any]:
    found = counts.rate_of(one)
    limits = [found.lower, found.upper] if found is not None and not isinstance(found, TooFew) else None
    return {
        **{name: value for name, value in one._asdict().items() if value is not None},
        "per_hour_limits": limits,
    }


def _received_damaged(history: History) -> str:
    """What the computer itself counted on the way back, whatever was typed."""
    damaged = {kind: count for kind, count in history.received_damaged.items() if count}
    if not damaged:
        return (
            "The computer counted no character that came damaged from the machine; it can count them only "
            "where the line has parity or its port counts."
        )
    total, each = sum(damaged.values()), ", ".join(f"{kind} {count}" for kind, count in damaged.items())
    return f"In all, the computer counted {total} that came damaged from the machine ({each})."


def _rows(found: list[Counted]) -> list[str]:
    width = max((len(one.name) for one in found), default=0)
    return [f"   {one.name:<{width}}  {one.times:>4}{_in_what(one)}" for one in found]


def _in_what(one: Counted) -> str:
    if one.runs is not None:
        return f" in {one.runs} runs of it"
    if one.hours is None:
        return ""
    said = f" in {one.hours:.2f} h"
    found = counts.rate_of(one)
    if found is None or isinstance(found, TooFew):
        return said
    return (
        f"{said}: {found.per_hour:.3g} an hour, {found.lower:.3g} to {found.upper:.3g} with 95 % confidence"
    )


def _comparison(first: Counted, second: Counted) -> Iterator[str]:
    found = counts.comparison_of(first, second)
    if found is None:
        yield "   Whether they differ by more than chance needs scipy (exhibit[sums])."
    elif isinstance(found, TooFew):
        yield f"   {found.line}"
    else:
        verdict = "They differ by more than chance" if found.differs else "That can be chance"
        yield f"   {verdict}: p = {found.chance:.2g}. {found.basis.line}"


def _evenness(found: list[Counted]) -> Iterator[str]:
    even = counts.evenness_of(found)
    if isinstance(even, TooFew):
        yield f"   {even.line}"
    elif even is not None:
        verdict = (
            "The rate changes with the hours, more than by chance" if even.bunched else "That can be chance"
        )
        yield f"   {verdict}: p = {even.chance:.2g}. {even.basis.line}"


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _times(times: int) -> str:
    return "once" if times == 1 else f"{times} times"


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"
