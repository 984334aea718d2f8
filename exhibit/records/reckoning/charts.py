"""The charts of the sums, as SVG or PNG, drawn by matplotlib from the numbers that are printed.

They can be read without colour: lines differ in their strokes, and what signals has a mark of its own. Text
stays text in an SVG, and the same numbers give the same file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal

from exhibit.facts.errors import SetUpFault
from exhibit.records.reckoning.error_sums import ErrorSums
from exhibit.records.reckoning.fault_sums import FaultSums
from exhibit.records.reckoning.step_sums import StepSum, StepSums
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import Individuals
from exhibit.sums.statistical.drift import Drift
from exhibit.sums.statistical.library import missing
from exhibit.sums.statistical.power_law import PowerLaw
from exhibit.sums.statistical.rates import Rate

Format = Literal["svg", "png"]
Draw = Callable[[Any], None]
INK = "#222222"
"""Everything is drawn in it."""
_MOST_LABELS = 12
_LONGEST_NAME = 100
_STYLE: dict[Any, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "exhibit",
    "font.size": 11,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "grid.alpha": 0.3,
    "lines.color": INK,
    # A dollar in a stranger's name is a dollar.
    "text.parse_math": False,
}


def step_charts(found: StepSums, to: Path, kind: Format) -> list[Path]:
    """A chart for each step that changed or had runs far off, or for each if only a few were asked for."""
    few = len(found.steps) <= 3
    shown = [one for one in found.steps if few or one.changed or one.far_off]
    drawn = [one for one in shown if isinstance(one.single, Individuals)]
    paths: list[Path] = []
    for one in drawn:
        name = _file_name(f"step-{one.name}")
        # Two names can differ only in what a file's name doesn't show.
        taken = sum(path.name.startswith(f"{name}.") for path in paths)
        paths.append(_write(to, f"{name}-{len(paths) + 1}" if taken else name, kind, 3, _step(one)))
    return paths


def error_chart(found: ErrorSums, to: Path, kind: Format) -> list[Path]:
    """The errors an hour of each day, with their limits; none if no exerciser ran."""
    if isinstance(found.whole, TooFew):
        return []
    return [_write(to, "disc-errors", kind, 1, _errors(found, found.whole))]


def fault_chart(found: FaultSums, to: Path, kind: Format) -> list[Path]:
    """How many faults there had been by how many hours; none if there was none."""
    return [_write(to, "faults", kind, 1, _faults(found))] if found.faults else []


def _step(one: StepSum) -> Draw:
    def draw(axes: Any) -> None:
        single, times = one.single, [run.took_s for run in one.runs]
        assert isinstance(single, Individuals)
        places = range(len(times))
        above, below, lowest = axes
        above.plot(places, times, "o-", markersize=4, linewidth=0.8, label="each run")
        above.axhline(single.centre, color=INK, linewidth=1, label="mean")
        above.axhline(single.upper, linestyle="--", color=INK, linewidth=1, label="3 deviations")
        above.axhline(single.lower, linestyle="--", color=INK, linewidth=1)
        if single.outside:
            outside = [times[place] for place in single.outside]
            above.plot(single.outside, outside, "s", markersize=10, fillstyle="none", label="outside")
        above.set_ylabel("seconds")
        above.set_title(f"{one.name[:_LONGEST_NAME]}: {single.basis.line}", fontsize=9, loc="left", wrap=True)
        _key(above)
        _dates(above, [run.at[:10] for run in one.runs], label=False)
        if isinstance(one.drift, Drift):
            found = one.drift
            below.plot(places, found.cusum.high, "^-", markersize=4, linewidth=0.8, label="CUSUM, slower")
            below.plot(places, found.cusum.low, "v:", markersize=4, linewidth=0.8, label="CUSUM, quicker")
            below.axhline(found.cusum.limit, linestyle="--", color=INK, linewidth=1, label="limit")
            if found.change is not None:
                below.axvline(
                    found.change.began - 0.5, linestyle="-.", linewidth=1, label="most likely began"
                )
            below.set_title(found.basis.line, fontsize=9, loc="left", wrap=True)
            _key(below)
            lowest.plot(places, found.ewma.means, "o-", markersize=4, linewidth=0.8, label="EWMA")
            lowest.plot(places, found.ewma.upper, "--", linewidth=1, label="limits")
            lowest.plot(places, found.ewma.lower, "--", linewidth=1)
            _key(lowest)
        else:
            below.text(0.02, 0.5, one.drift.line, transform=below.transAxes)
        for panel in (below, lowest):
            panel.set_ylabel("deviations")
            _dates(panel, [run.at[:10] for run in one.runs], label=panel is lowest)

    return draw


def _errors(found: ErrorSums, whole: Rate) -> Draw:
    def draw(axes: Any) -> None:
        (above,) = axes
        days = [day for day in found.days if isinstance(day.rate, Rate)]
        rates = [day.rate for day in found.days if isinstance(day.rate, Rate)]
        values = [rate.per_hour for rate in rates]
        off = [
            [rate.per_hour - rate.lower for rate in rates],
            [rate.upper - rate.per_hour for rate in rates],
        ]
        above.errorbar(range(len(days)), values, yerr=off, fmt="o", capsize=4, linewidth=1, label="a day")
        above.axhline(whole.per_hour, color=INK, linewidth=1, label="all days")
        above.axhline(
            whole.lower, linestyle="--", color=INK, linewidth=1, label=f"{whole.confidence:.0%} limits of all"
        )
        above.axhline(whole.upper, linestyle="--", color=INK, linewidth=1)
        above.set_ylabel("errors per exerciser-hour")
        above.set_ylim(bottom=0)
        above.set_title(f"Disc errors: {whole.basis.line}", fontsize=9, loc="left", wrap=True)
        _key(above)
        _dates(above, [day.date for day in days])

    return draw


def _faults(found: FaultSums) -> Draw:
    def draw(axes: Any) -> None:
        (above,) = axes
        ages = [fault.age_h for fault in found.faults]
        above.step([0, *ages, max(found.on_h, ages[-1])], [*range(len(ages) + 1), len(ages)], where="post",
                   linewidth=1, label="faults so far")  # fmt: skip
        law = found.power_law
        if isinstance(law, PowerLaw):
            end = max(found.on_h, ages[-1])
            at = [end * place / 100 for place in range(1, 101)]
            above.plot(at, [law.a * age**law.b for age in at], "--", linewidth=1, label="power law")
        above.set_xlabel("hours for which the machine was on")
        above.set_ylabel("faults")
        basis = law.basis.line if isinstance(law, PowerLaw) else law.line
        above.set_title(f"Faults: {basis}", fontsize=9, loc="left", wrap=True)
        _key(above)

    return draw


def _key(axes: Any) -> None:
    axes.legend(fontsize=8, loc="upper left", bbox_to_anchor=(1.0, 1.0), frameon=False)


def _dates(axes: Any, dates: Sequence[str], *, label: bool = True) -> None:
    """A few of the dates below their places."""
    step = max(1, -(-len(dates) // _MOST_LABELS))
    places = range(0, len(dates), step)
    axes.set_xticks(list(places), [dates[place] for place in places] if label else [""] * len(places))
    axes.tick_params(axis="x", labelrotation=30)


def _file_name(name: str) -> str:
    """The name with nothing but small letters, digits, dots and hyphens, and short enough for any disc."""
    return re.sub(r"[^a-z0-9.-]", "-", name.lower())[:_LONGEST_NAME]


def _write(to: Path, name: str, kind: Format, panels: int, draw: Draw) -> Path:
    """Draws a figure into a folder. Raises SetUpFault without matplotlib, and if it can't be written."""
    try:
        import matplotlib
        from matplotlib.figure import Figure
    except ImportError as fault:
        raise missing("matplotlib") from fault
    path = to / f"{name}.{kind}"
    with matplotlib.rc_context(_STYLE):
        figure = Figure(figsize=(10, 3.2 + 2.8 * (panels - 1)), layout="constrained")
        axes = figure.subplots(panels, 1, squeeze=False)[:, 0]
        for one in axes:
            one.set_prop_cycle(color=[INK])
        draw(axes)
        metadata: dict[str, Any] = {"Date": None} if kind == "svg" else {}
        try:
            to.mkdir(parents=True, exist_ok=True)
            figure.savefig(path, format=kind, dpi=110, metadata=metadata)
        except OSError as fault:
            raise SetUpFault(
                f"{path} can't be written: {fault.strerror or fault}.",
                "The numbers were printed, but their chart is missing.",
                "Give a folder in which you can write with --charts.",
            ) from fault
    return path
