"""The command `exhibit sums`: step times, disc errors, faults, use, troubles, the line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from exhibit.commands.engineer.finding import readable
from exhibit.commands.options import FOLDER
from exhibit.facts.errors import ExhibitError
from exhibit.output.terminal import put, put_text

if TYPE_CHECKING:
    from exhibit.records.reckoning.charts import Format
    from exhibit.records.reckoning.of_rows import Kind, Rows

T = TypeVar("T")


class Day(click.ParamType["date"]):
    """A local date."""

    name = "date"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Raises click.BadParameter for anything else."""
        try:
            return datetime.strptime(value, "%Y-%m-%d").date()  # noqa: DTZ007
        except ValueError:
            self.fail(f"{value!r} is no date, such as 2026-11-25.", param, ctx)


class Minutes(click.ParamType["float"]):
    """A time such as "30 min", in seconds."""

    name = "time"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """Raises click.BadParameter for anything else."""
        from exhibit.facts.units import S_US, typed_duration_us

        try:
            return float(value) if isinstance(value, float) else typed_duration_us(value) / S_US
        except (ExhibitError, ValueError) as error:
            self.fail(f"{value!r} is no time, such as 30 min. {error}", param, ctx)


def _of_recordings(command: Callable[..., None]) -> Callable[..., None]:
    """The options that every one of these commands has."""
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print JSON, with all numbers of the charts."),
        click.option("--machine", default=None, help="Only recordings of this machine."),
        click.option("--until", type=Day(), default=None, help="Before this local date."),
        click.option("--since", type=Day(), default=None, help="From this local date on."),
        click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True),
    ):
        command = option(command)
    return command


def _drawn(command: Callable[..., None]) -> Callable[..., None]:
    """The options of those that draw charts."""
    command = click.option(
        "--png", is_flag=True, help="Draw the charts as PNG; otherwise they are SVG."
    )(command)  # fmt: skip
    return click.option(
        "--charts", type=click.Path(path_type=Path), default=None, help="Draw charts into this folder."
    )(command)


def _spans(command: Callable[..., None]) -> Callable[..., None]:
    """The options of those that compare two spans."""
    command = click.option("--after", type=Day(), default=None, help="With the days from this date on.")(
        command
    )
    return click.option("--before", type=Day(), default=None, help="Compare the days before this date.")(
        command
    )


@click.group(short_help="Calculates drift, error rates, trends and use from RECORDINGS.")
def sums() -> None:
    """Calculates what changed, what errs and what wears, from RECORDINGS (files, or folders of them).

    Each result says its method, how many observations it has and what it takes for granted. Where there are
    too few, it says so and calculates nothing. It needs scipy, and for charts matplotlib: the extra
    exhibit[sums].
    """


@sums.command(short_help="Says which steps became slower or quicker.")
@_of_recordings
@_drawn
@click.option(
    "--step", "steps", multiple=True, help="Only this step, as add or round.add; repeat it for more."
)
@click.option("--all", "whole", is_flag=True, help="Print a line for each step, with a finding or not.")
def steps(
    recordings: tuple[Path, ...],
    since: date | None,
    until: date | None,
    machine: str | None,
    as_json: bool,
    charts: Path | None,
    png: bool,
    steps: tuple[str, ...],
    whole: bool,
) -> None:
    """Says which steps became slower or quicker for good, and which single runs were far off."""
    from exhibit.records.reckoning.charts import step_charts
    from exhibit.records.reckoning.step_sums import lines, step_sums

    found = step_sums(_rows(recordings, ("steps",), machine, since, until), steps)
    _print(found, lambda one: lines(one, whole=whole or bool(steps)), as_json=as_json)
    if charts is not None:
        _say_drawn(step_charts(found, charts, _format(png)))


@sums.command(short_help="Gives disc errors per hour of exercise, and compares spans.")
@_of_recordings
@_drawn
@_spans
@click.option("--part", default="", help="Only hours of exercisers of this part, such as lower-drive.")
@click.option(
    "--warm",
    type=Minutes(),
    default="30 min",
    show_default=True,
    help="From when on the machine counts as warm.",
)
def errors(
    recordings: tuple[Path, ...],
    since: date | None,
    until: date | None,
    machine: str | None,
    as_json: bool,
    charts: Path | None,
    png: bool,
    before: date | None,
    after: date | None,
    part: str,
    warm: float,
) -> None:
    """Gives disc errors per exerciser-hour with exact limits: of each day, and of the machine cold and warm.

    With --before and --after it compares two spans, such as before and after a piece of work; if you give
    only one of the two dates, both spans meet there.
    """
    from exhibit.records.reckoning.charts import error_chart
    from exhibit.records.reckoning.error_sums import error_sums, lines

    rows = _rows(recordings, ("errors", "use"), machine, since, until)
    found = error_sums(rows, part=part, before=before, after=after, warm_s=warm)
    _print(found, lines, as_json=as_json)
    if charts is not None:
        _say_drawn(error_chart(found, charts, _format(png)))


@sums.command(short_help="Says whether faults come more and more often.")
@_of_recordings
@_drawn
@click.option("--trouble", "names", multiple=True, help="Only the trouble of this name; repeat it for more.")
def faults(
    recordings: tuple[Path, ...],
    since: date | None,
    until: date | None,
    machine: str | None,
    as_json: bool,
    charts: Path | None,
    png: bool,
    names: tuple[str, ...],
) -> None:
    """Says whether faults come more and more often by the hours the machine was on, and how far apart they
    are.
    """
    from exhibit.records.reckoning.charts import fault_chart
    from exhibit.records.reckoning.fault_sums import fault_sums, lines

    found = fault_sums(_rows(recordings, ("scripts", "troubles", "use"), machine, since, until), names)
    _print(found, lines, as_json=as_json)
    if charts is not None:
        _say_drawn(fault_chart(found, charts, _format(png)))


@sums.command(short_help="Adds up hours, starts and stops of parts and packs.")
@_of_recordings
@click.option(
    "--folder", type=FOLDER, default=None, help="The machine's folder, whose limits to compare with."
)
def use(
    recordings: tuple[Path, ...],
    since: date | None,
    until: date | None,
    machine: str | None,
    as_json: bool,
    folder: Path | None,
) -> None:
    """Adds up hours, starts and stops of each part and pack, and how much of the limits was used."""
    from exhibit.folder.whole import read_folder
    from exhibit.records.reckoning.wear_sums import lines, wear_sums

    described = None if folder is None else read_folder(folder)
    name = machine or (None if described is None else described.machine.name)
    rows = _rows(recordings, ("use",), name, since, until)
    _print(wear_sums(rows, None if described is None else described.limits), lines, as_json=as_json)


@sums.command(short_help="Says how often troubles call somebody.")
@_of_recordings
def alarms(
    recordings: tuple[Path, ...], since: date | None, until: date | None, machine: str | None, as_json: bool
) -> None:
    """Says how often troubles called somebody, against the published figures for operators."""
    from exhibit.records.reckoning.alarm_sums import alarm_sums, lines

    _print(alarm_sums(_rows(recordings, ("troubles",), machine, since, until)), lines, as_json=as_json)


@sums.command(short_help="Says how often commands come back wrong over the line.")
@_of_recordings
@_spans
def line(
    recordings: tuple[Path, ...],
    since: date | None,
    until: date | None,
    machine: str | None,
    as_json: bool,
    before: date | None,
    after: date | None,
) -> None:
    """Says how often typed commands came back wrong, with exact limits; --before and --after compare two
    spans.
    """
    from exhibit.records.reckoning.line_sums import line_sums, lines

    _print(
        line_sums(_rows(recordings, ("typing",), machine, since, until), before=before, after=after),
        lines,
        as_json=as_json,
    )


def _rows(
    recordings: tuple[Path, ...],
    wanted: tuple[Kind, ...],
    machine: str | None,
    since: date | None,
    until: date | None,
) -> Rows:
    from exhibit.records.reckoning.of_rows import rows_of

    return rows_of(readable(recordings), wanted, machine, since, until)


def _print(found: T, lines: Callable[[T], list[str]], *, as_json: bool) -> None:
    import msgspec

    put_text(msgspec.json.encode(found).decode()) if as_json else put(*lines(found))


def _format(png: bool) -> Format:
    return "png" if png else "svg"


def _say_drawn(paths: list[Path]) -> None:
    import sys

    put(*(f"Drawn: {path}" for path in paths) if paths else ("There was nothing to draw.",), to=sys.stderr)
