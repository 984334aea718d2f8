"""Counts incidents that are alike: by day, step, part, hours since power-on, temperature, exerciser, work.

Where the hours are known in which one can have happened, the rate has exact Poisson limits. Elsewhere
there is a count and no rate.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import WorkDone
from exhibit.records.history.incidents import History, Incident, Likes
from exhibit.records.history.machine_hours import AGES_H, age_group, seconds
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.rates import Bunching, Comparison, Rate, bunching, compare, rate

TEMPERATURE_STEP_C: Final = 2
SAME_VISIT_H: Final = 0.1
"""Work between which the machine was on for less than this is one visit: what of it helped can't be told."""
UNKNOWN: Final = "not known"
NONE_KNOWN: Final = "none known to run"
"""No exerciser; one whose end nobody saw may still have run."""


class Counted(NamedTuple):
    """How many there were of some kind, in how many hours; `hours` is None where that isn't known."""

    name: str
    times: int
    hours: float | None = None
    runs: int | None = None
    """Of a step: how often it ran."""


class Visit(NamedTuple):
    """Work that was done at one time, and what changed with it."""

    at: str
    work: list[WorkDone]
    before: Counted
    after: Counted


def by_day(likes: Likes, history: History) -> list[Counted]:
    """On which days, of those on which something was recorded."""
    days = sorted({*history.recorded_h, *likes.days})
    times = _times(likes, lambda one: one.date)
    return [Counted(day, times.get(day, 0), history.recorded_h.get(day, 0.0)) for day in days]


def by_step(likes: Likes, history: History) -> list[Counted]:
    """In which steps, the most frequent first."""
    times = _times(likes, lambda one: one.step or "no step")
    return [Counted(name, count, runs=history.runs.get(name)) for name, count in _most_first(times)]


def by_command(likes: Likes) -> list[Counted]:
    """Which commands came back wrong, and what became of the first wrong character."""
    times = _times(likes, lambda one: f"{one.command}: {one.wrong}" if one.command else "")
    return [Counted(name, count) for name, count in _most_first(times) if name]


def by_part(likes: Likes) -> list[Counted]:
    """Which parts an exerciser kept busy then."""
    times = _times(likes, lambda one: one.parts or NONE_KNOWN)
    return [Counted(name, count) for name, count in _most_first(times)]


def by_age(likes: Likes, history: History) -> list[Counted]:
    """After how many hours since power-on, with the hours for which the machine was on for so long."""
    groups = [0] * (len(AGES_H) - 1)
    unknown = 0
    for one in likes.incidents:
        if one.on_s is None:
            unknown += one.count
        else:
            groups[age_group(one.on_s)] += one.count
    hours = history.hours.by_age_h()
    found = [
        Counted(_age_name(place), times, hours[place])
        for place, times in enumerate(groups)
        if times or hours[place] > 0
    ]
    return [*found, *([Counted(UNKNOWN, unknown)] if unknown else [])]


def by_temperature(likes: Likes) -> list[Counted]:
    """At which measured temperature, in steps of two degrees."""

    def name(one: Incident) -> str:
        if one.temperature_c is None:
            return UNKNOWN
        low = int(one.temperature_c // TEMPERATURE_STEP_C) * TEMPERATURE_STEP_C
        return f"{low} to {low + TEMPERATURE_STEP_C} °C"

    return [Counted(band, count) for band, count in sorted(_times(likes, name).items())]


def by_exerciser(likes: Likes, history: History) -> list[Counted]:
    """With an exerciser running and without one."""
    running_h = history.hours.exercised_h()
    running = sum(one.count for one in likes.incidents if one.exercised)
    rest_h = max(0.0, history.hours.hours - running_h)
    return [
        Counted("an exerciser known to run", running, running_h),
        Counted(NONE_KNOWN, likes.times - running, rest_h),
    ]


def by_work(likes: Likes, history: History) -> list[Visit]:
    """Before and after each visit: from the visit before it, and until the one after it."""
    visits: list[tuple[float, list[WorkDone]]] = []
    for one in history.work:
        moment = seconds(one.at)
        if moment is None:
            continue
        if visits and history.hours.between_h(visits[-1][0], moment) < SAME_VISIT_H:
            visits[-1][1].append(one)
        else:
            visits.append((moment, [one]))
    limits = [float("-inf"), *(moment for moment, _ in visits), float("inf")]
    return [
        Visit(
            work[0].at,
            work,
            _between(likes, history, limits[place], moment, "before"),
            _between(likes, history, moment, limits[place + 2], "after"),
        )
        for place, (moment, work) in enumerate(visits)
    ]


def rate_of(counted: Counted) -> Rate | TooFew | None:
    """The rate with its limits; None where the hours aren't known, or scipy isn't installed."""
    if counted.hours is None:
        return None
    try:
        return rate(counted.times, counted.hours)
    except SetUpFault:
        return None


def comparison_of(first: Counted, second: Counted) -> Comparison | TooFew | None:
    """Whether the two rates differ by more than chance; None as for `rate_of`."""
    if first.hours is None or second.hours is None:
        return None
    try:
        return compare((first.times, second.times), (first.hours, second.hours))
    except SetUpFault:
        return None


def evenness_of(counted: list[Counted]) -> Bunching | TooFew | None:
    """Whether the rates of several groups differ by more than chance; None as for `rate_of`."""
    known = [one for one in counted if one.hours]
    try:
        return bunching([one.times for one in known], [one.hours or 0.0 for one in known])
    except SetUpFault:
        return None


def _between(likes: Likes, history: History, from_s: float, until_s: float, name: str) -> Counted:
    times = sum(one.count for one in _within(likes, from_s, until_s))
    return Counted(name, times, history.hours.between_h(from_s, until_s))


def _within(likes: Likes, from_s: float, until_s: float) -> Iterator[Incident]:
    for one in likes.incidents:
        moment = seconds(one.at)
        if moment is not None and from_s <= moment < until_s:
            yield one


def _times(likes: Likes, name: Callable[[Incident], str]) -> dict[str, int]:
    found: dict[str, int] = {}
    for one in likes.incidents:
        found[name(one)] = found.get(name(one), 0) + one.count
    return found


def _most_first(times: dict[str, int]) -> list[tuple[str, int]]:
    return sorted(times.items(), key=lambda one: (-one[1], one[0]))


def _age_name(place: int) -> str:
    low, high = AGES_H[place], AGES_H[place + 1]
    if high == float("inf"):
        return f"after {low:g} h"
    if high <= 1:
        return f"{low * 60:g} to {high * 60:g} min"
    return f"{low:g} to {high:g} h"
