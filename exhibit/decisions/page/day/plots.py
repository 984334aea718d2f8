"""Plots: charts of what a job prints, which grow as it is printed and never run ahead of it.

A plot begins with the line that begins its job, and stays until the next such job begins. While its job
goes on, `until` is empty. It is `done` once the machine says that the job has ended. If a broadcast says so,
nobody was reading what the job printed: that may be printed yet, and belongs to the plot until a line says
that the job has ended. If it was stopped, or if nobody knows any more whether it goes on (line lost,
silence), the plot stays as it was, with the time until which it grew; what it prints after that, without a
new beginning, shows that it went on.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any, Final

from exhibit.decisions.page import jobs_now
from exhibit.decisions.page.day.points import with_row
from exhibit.decisions.page.day.printed_numbers import hours_in, number_in, numbers_in
from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US
from exhibit.facts.visitor_words import TIME

PLOTS: Final = "plots"
"""The name of the item."""
_KEPT: Final = "_plots"
"""By plot: when it began, the row of places that waits for its heights, and whether nothing more is taken."""
_BEGUN: Final[dict[str, Any]] = {"row": [], "row_line": False, "gap": False, "closed": False}
MOST_POINTS: Final = 1000


def none_yet(items: ItemStore) -> None:
    """A recording begins, and no job of a plot has begun in it."""
    items.set(PLOTS, {})
    items.set(_KEPT, {})


def growing(items: ItemStore) -> list[str]:
    """The plots whose jobs go on."""
    return [name for name, plot in (items.value(PLOTS) or {}).items() if not (plot["done"] or plot["until"])]


def end_lost(items: ItemStore) -> None:
    """A plot whose job is no longer among those that run has grown until now."""
    jobs = {one["plot"] for one in items.value(jobs_now.JOBS) or []}
    for name in growing(items):
        if name not in jobs:
            _change(items, name, until=items.now())


def _specs(items: ItemStore) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    specs = (items.value("recording") or {}).get("plots") or {}
    for name, spec in specs.items():
        yield name, spec, spec["read"]


def _change(items: ItemStore, name: str, **changed: Any) -> None:
    plots = items.value(PLOTS) or {}
    items.set(PLOTS, {**plots, name: {**plots[name], **changed}})


def _kept(items: ItemStore, name: str) -> dict[str, Any]:
    kept: dict[str, Any] = (items.value(_KEPT) or {}).get(name) or {}
    return kept


def _keep(items: ItemStore, name: str, **changed: Any) -> None:
    kept = items.value(_KEPT) or {}
    items.set(_KEPT, {**kept, name: {**(kept.get(name) or {}), **changed}})


def _pattern_seen(items: ItemStore, fact: kinds.PatternSeen) -> None:
    for name, spec, read in _specs(items):
        if fact.pattern == read["begins"]:
            _begin(items, name, spec, fact)
            continue
        plot = (items.value(PLOTS) or {}).get(name)
        if plot is None or _kept(items, name)["closed"]:
            continue
        named = fact.fields.get(read["job"], "") if read["job"] else ""
        if not named or not plot["job"] or named == plot["job"]:
            _end(items, name, read, fact.pattern, closes=True)
        _take_line(items, name, spec, fact)


def _interruption_seen(items: ItemStore, fact: kinds.InterruptionSeen) -> None:
    """A broadcast has no places to read, so it must name the number or, if there is none, the program."""
    for name, spec, read in _specs(items):
        plot = (items.value(PLOTS) or {}).get(name)
        if plot is None or _kept(items, name)["closed"]:
            continue
        named = re.findall(r"[0-9]+", fact.text)
        is_it = plot["job"] in named if plot["job"] and named else spec["called"] in fact.text.split()
        if is_it:
            _end(items, name, read, fact.interruption, closes=fact.interruption in read["stopped"])


def _begin(items: ItemStore, name: str, spec: dict[str, Any], fact: kinds.PatternSeen) -> None:
    job = fact.fields.get(spec["read"]["job"], "")
    script = items.value("script") or {}
    runs = bool(script) and not script["ended"]
    plot: dict[str, Any] = {
        "job": job,
        "since": items.now(),
        "seq": items.seq,
        "worked": None,
        "worked_seq": 0,
        "points": [],
        "marks": [],
        "done": False,
        "until": "",
        "at": items.now(),
        "round": script["round"] if runs else 0,
    }
    items.set(PLOTS, {**(items.value(PLOTS) or {}), name: plot})
    _keep(items, name, **_BEGUN, began_us=items.at_us)
    jobs_now.end_of_plot(items, name)  # the end of the one before may have come garbled
    _run(items, name, spec, plot)


def _run(items: ItemStore, name: str, spec: dict[str, Any], plot: dict[str, Any]) -> None:
    """Its job is among those that run."""
    job = {"job": plot["job"], "name": spec["called"], "exerciser": "", "plot": name, "part": spec["part"]}
    begun = {"since": plot["since"], "until": "", "seq": plot["seq"]}
    jobs_now.begin(items, {**job, **begun, "doubt": False, "ends_us": 0, "asked": 0})


def _end(items: ItemStore, name: str, read: dict[str, Any], by: str, *, closes: bool) -> None:
    if by not in (*read["ended"], *read["stopped"]):
        return
    _drop_row(items, name)
    _keep(items, name, closed=closes)
    if not items.value(PLOTS)[name]["done"]:
        _change(items, name, done=by in read["ended"], until=items.now())
    jobs_now.end_of_plot(items, name)


def _goes_on(items: ItemStore, name: str, spec: dict[str, Any]) -> None:
    """It has just printed something, so its job goes on after all if that wasn't known."""
    plot = items.value(PLOTS)[name]
    if plot["until"] and not plot["done"]:
        _change(items, name, until="")
        _run(items, name, spec, items.value(PLOTS)[name])


def _take_line(items: ItemStore, name: str, spec: dict[str, Any], fact: kinds.PatternSeen) -> None:
    read = spec["read"]
    if _kept(items, name)["closed"]:
        return
    line, _, place = read["worked"].partition(".")
    if line == fact.pattern:
        worked = number_in(fact.fields.get(place, "").strip())
        if worked is not None:
            _goes_on(items, name, spec)
            _change(items, name, worked=worked, worked_seq=items.seq, at=items.now())
    if fact.pattern in spec["marks"]:
        _take_mark(items, name, spec, fact)
    across, _, x_place = read["across"].partition(".")
    if fact.pattern == across:
        _drop_row(items, name)
        _keep(items, name, row=numbers_in(fact.fields.get(x_place, ""), read["across_is"]), row_line=True)
    up, _, y_place = read["up"].partition(".")
    if fact.pattern == up:
        _take_heights(items, name, spec, numbers_in(fact.fields.get(y_place, "")))


def _take_heights(items: ItemStore, name: str, spec: dict[str, Any], heights: list[float | None]) -> None:
    kept = _kept(items, name)
    if spec["read"]["across"] == TIME:
        minutes = round((items.at_us - kept["began_us"]) / MIN_US, 3)
        heights = heights if len(heights) == 1 else [None]
        _add(items, name, spec, [minutes], heights)
    elif kept["row_line"]:
        _add(items, name, spec, kept["row"], heights)
        _keep(items, name, row=[], row_line=False)
    elif items.value(PLOTS)[name]["points"]:
        _keep(items, name, gap=True)  # the row with their places was lost


def _drop_row(items: ItemStore, name: str) -> None:
    """The heights of these places never came, or came garbled."""
    kept = _kept(items, name)
    if kept["row_line"]:
        spec = items.value("recording")["plots"][name]
        _add(items, name, spec, kept["row"], [])
        _keep(items, name, row=[], row_line=False)


def _add(
    items: ItemStore, name: str, spec: dict[str, Any], xs: list[float | None], ys: list[float | None]
) -> None:
    """Add a row of points. A place beyond the chart is none that anybody meant."""
    across, plot = spec["across"], items.value(PLOTS)[name]
    inside = [x if x is not None and across["from"] <= x <= across["to"] else None for x in xs]
    if not any(x is not None for x in inside):
        _keep(items, name, gap=True)
        return
    gap = bool(_kept(items, name)["gap"])
    points = with_row(plot["points"], inside, ys, items.seq, after_gap=gap)[-MOST_POINTS:]
    if gap:
        _keep(items, name, gap=False)
    _goes_on(items, name, spec)
    _change(items, name, points=points, at=items.now())


def _take_mark(items: ItemStore, name: str, spec: dict[str, Any], fact: kinds.PatternSeen) -> None:
    read = spec["read"]
    across = fact.fields.get(read["mark_across"], "").strip()
    x = hours_in(across) if read["across_is"] == "hours.minutes" else number_in(across)
    y = number_in(fact.fields.get(read["mark_up"], "").strip())
    if x is None or y is None or not spec["across"]["from"] <= x <= spec["across"]["to"]:
        return  # it came garbled
    _goes_on(items, name, spec)
    mark = {"line": fact.pattern, "x": x, "y": y, "label": " ".join(fact.line.split()), "seq": items.seq}
    had = items.value(PLOTS)[name]["marks"]
    if not any((one["line"], one["x"]) == (mark["line"], x) for one in had):
        _change(items, name, marks=sorted([*had, mark], key=lambda one: one["x"]), at=items.now())


def _reading_taken(items: ItemStore, fact: kinds.ReadingTaken) -> None:
    if isinstance(fact.value, str):
        return
    for name, spec, read in _specs(items):
        if read["up"] == f"{fact.display}.{fact.name}" and name in growing(items):
            _take_heights(items, name, spec, [float(fact.value)])


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.PatternSeen: _pattern_seen,
    kinds.InterruptionSeen: _interruption_seen,
    kinds.ReadingTaken: _reading_taken,
}
"""What each kind of fact does to the items."""
