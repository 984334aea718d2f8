"""Reads the plots and loads of machine.toml: what is printed that the page can show as a picture."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from exhibit.facts.visitor_words import TIME, AcrossIs, DrawnAs
from exhibit.folder.reading.languages import Beside, read_beside
from exhibit.folder.reading.tables import LocatedTexts, Table
from exhibit.folder.reading.values import ValueMistake

PLOTS: Final = "plots"
LOADS: Final = "loads"
NONE: Final = "none"
OWN_WORDS: Final = ("title", "across", "up", "job")
"""The words of a plot besides those of its marks."""
_DRAWN: Final[tuple[DrawnAs, ...]] = ("line", "water")
_ACROSS_IS: Final[tuple[AcrossIs, ...]] = ("number", "hours.minutes")
_RANGE: Final = re.compile(r"(-?[0-9]{1,9}(?:\.[0-9]{1,6})?) to (-?[0-9]{1,9}(?:\.[0-9]{1,6})?)")
_MOST_MARKS: Final = 60
"""More lines than that across a chart are a grey area."""


@dataclass
class PlotDraft:
    """A plot as read, and its table, to which mistakes are added later."""

    table: Table
    begins: str = ""
    job: str = ""
    called: str = ""
    part: str = ""
    ended: LocatedTexts = field(default_factory=list)
    stopped: LocatedTexts = field(default_factory=list)
    worked: str = ""
    points_across: str = TIME
    points_up: str = ""
    across_is: AcrossIs = "number"
    marks: LocatedTexts = field(default_factory=list)
    marks_across: str = ""
    marks_up: str = ""
    across: tuple[float, float, float] = (0.0, 1.0, 1.0)
    """From, to, and how far apart the marks are."""
    up: tuple[float, float, float] = (0.0, 1.0, 1.0)
    drawn_as: DrawnAs = "line"

    def wanted_words(self) -> list[str]:
        """Return the names of its words: its own, and those of its marks."""
        return [*OWN_WORDS, *(name for name, _ in self.marks)]


@dataclass
class LoadDraft:
    """A load as read, and its table."""

    table: Table
    begins: str = ""
    mark: str = "."
    ends: str = ""
    part: str = ""
    from_part: str = ""


@dataclass
class VisitorsDraft:
    """What machine.toml says about pictures of the machine's work."""

    plots: dict[str, PlotDraft] = field(default_factory=dict)
    loads: dict[str, LoadDraft] = field(default_factory=dict)


def range_of(text: str) -> tuple[float, float]:
    """Return the two numbers of a range such as "0 to 24". Raises ValueMistake."""
    found = _RANGE.fullmatch(text)
    if found is None:
        raise ValueMistake(f'"{text}" is not a range', '"0 to 24", two numbers with "to" between them')
    low, high = float(found[1]), float(found[2])
    if low >= high:
        raise ValueMistake(f'"{text}" ends before it begins', f'"{found[2]} to {found[1]}"')
    return low, high


def read_visitors(root: Table, part: str | None, beside: list[Beside]) -> VisitorsDraft:
    """Read [plots.NAME] and [loads.NAME]. Adds mistakes to the tables.

    part: what they are about if they don't say. Words that stand there go to `beside`.
    """
    draft = VisitorsDraft()
    for name, table in root.named_tables(PLOTS, optional=True):
        draft.plots[name] = _read_plot(name, table, part, beside)
    for name, table in root.named_tables(LOADS, optional=True):
        load = draft.loads[name] = LoadDraft(table)
        read_beside(table, name, {"words": LOADS}, beside)
        load.begins = table.text("begins", "LOADING FROM")
        load.mark = table.text("mark", ".", default=".")
        load.ends = table.text("ends", "LOADED", default=NONE)
        load.ends = "" if load.ends == NONE else load.ends
        load.part = table.name("part", "processor", default=part)
        load.from_part = table.name("from", "upper-drive")
        if len(load.mark) > 1:
            what = "mark is what is printed for one piece, a single character"
            table.wrong("mark", what, f'mark = "{load.mark[0]}"')
        table.close()
    return draft


def _read_plot(name: str, table: Table, part: str | None, beside: list[Beside]) -> PlotDraft:
    plot = PlotDraft(table)
    # `across` and `up` are ranges here, so the words of a folder of one language have longer names.
    keys = {"title": "title", "across_words": "across", "up_words": "up", "job_words": "job"}
    for key, word in keys.items():
        read_beside(table, word, {key: f"{PLOTS}.{name}"}, beside)
    plot.begins = table.name("begins", "tides-begun")
    plot.job = table.name("job", "job", default=NONE)
    plot.job = "" if plot.job == NONE else plot.job
    plot.called = table.text("called", "TIDES")
    plot.part = table.name("part", "processor", default=part)
    plot.ended = table.texts("ended", '["tides-ended"]', at_least_one=True)
    plot.stopped = table.texts("stopped", '["tides-stopped"]', default=[])
    plot.worked = table.text("worked", "hours-worked.hours", default=NONE)
    plot.worked = "" if plot.worked == NONE else plot.worked
    plot.points_across = table.text("points_across", "hour-row.hours", default=TIME)
    plot.points_up = table.text("points_up", "metre-row.metres")
    plot.across_is = table.choice("across_is", _ACROSS_IS, default="number")
    plot.marks = table.texts("marks", '["high-water"]', default=[])
    needs = None if plot.marks else NONE
    plot.marks_across = table.name("marks_across", "time", default=needs)
    plot.marks_up = table.name("marks_up", "metres", default=needs)
    plot.across = _read_range(table, "across", "0 to 24", "6")
    plot.up = _read_range(table, "up", "0 to 6", "1")
    plot.drawn_as = table.choice("drawn_as", _DRAWN, default="line")
    table.close()
    return plot


def _read_range(table: Table, key: str, example: str, every_example: str) -> tuple[float, float, float]:
    low, high = table.read(key, example, (0.0, 1.0), range_of)
    every = table.number(f"{key}_every", every_example)
    if table.is_sure(key, f"{key}_every") and not (high - low) / _MOST_MARKS <= every <= high - low:
        what = f"{every:g} doesn't divide {key} into marks that people can tell apart"
        table.wrong(f"{key}_every", what, f"{key}_every = {max(1, round((high - low) / 4))}")
    return low, high, every
