"""The commands that look into recordings: find, show, days."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from exhibit.commands.options import FILE
from exhibit.output.terminal import is_watched, put

if TYPE_CHECKING:
    from exhibit.records.index.asking import Index
    from exhibit.records.index.reading_files import Reading

RECORDINGS = click.argument("recordings", type=click.Path(path_type=Path), nargs=-1, required=True)
JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON, an object on each line.")
MACHINE = click.option("--machine", default=None, help="Only recordings of this machine.")
PRACTICE = click.option("--practice", is_flag=True, help="Also recordings of somebody practising.")


class LocalTime(click.ParamType[datetime]):
    """A local date and time, or a date."""

    name = "time"

    def convert(self, value: str, param: click.Parameter | None, ctx: click.Context | None) -> datetime:
        """Raises click.BadParameter for anything else."""
        try:
            return datetime.fromisoformat(value)
        except ValueError:
            self.fail(f'{value!r} is no date and time, such as "2026-11-25 14:30".', param, ctx)


@click.command(short_help="Finds lines and events in RECORDINGS.")
@RECORDINGS
@click.option("--text", default="", help="What the line contains; capitals don't matter.")
@click.option("--pattern", default="", help="A regular expression (of Python) that the line matches.")
@click.option(
    "--kind",
    "kinds",
    multiple=True,
    help="printed, typed, screen, or a kind of fact, such as trouble_raised; repeat it for more.",
)
@click.option("--step", default="", help="The step that ran then, as add or round.add.")
@click.option("--since", type=LocalTime(), default=None, help="From this local date and time on.")
@click.option("--until", type=LocalTime(), default=None, help="Before this local date and time.")
@click.option("--most", type=click.IntRange(1), default=None, help="At most so many from each folder.")
@click.option("--notes", is_flag=True, help="Also look into what people's notes say.")
@MACHINE
@PRACTICE
@JSON
def find(
    recordings: tuple[Path, ...],
    text: str,
    pattern: str,
    kinds: tuple[str, ...],
    step: str,
    since: datetime | None,
    until: datetime | None,
    most: int | None,
    notes: bool,
    machine: str | None,
    practice: bool,
    as_json: bool,
) -> None:
    """Finds lines of the console, captions and events in RECORDINGS (files, or folders of them).

    Each line that it prints begins with what `exhibit show` needs to show that moment. The first time it
    reads all the recordings of a folder and keeps an index of them there; then only what is new.

    The exit status is 1 if nothing was found.
    """
    from exhibit.records.finding import Wanted, found_in

    wanted = Wanted(
        text=text,
        pattern=_pattern(pattern),
        kinds=_kinds(kinds),
        step=step,
        since=since,
        until=until,
        most=most or 0,
        notes=notes,
        machine=machine,
        practice=practice,
    )
    if not wanted.says_something:
        raise click.UsageError("Say what to find: --text, --pattern, --kind, --step, --since or --until.")
    count = 0
    for index in readable(recordings):
        for line in found_in(index, wanted, as_json=as_json):
            put(line)
            count += 1
    if not count:
        put("Nothing was found.", to=sys.stderr)
    sys.exit(not count)


@click.command(short_help="Shows the screen and what ran at a moment of a RECORDING.")
@click.argument("recording", type=FILE)
@click.option("--at", "at", default="", help='The museum\'s time: 14:32:05, or "2026-11-25 14:32:05".')
@click.option("--fact", type=click.IntRange(1), default=None, help="The number of a fact, as find prints it.")
@click.option("--language", default="", help="Language tag of captions, such as de.")
@JSON
def show(recording: Path, at: str, fact: int | None, language: str, as_json: bool) -> None:
    """Shows how it was at a moment of a RECORDING: the screen, the step, the caption and why, readings.

    Give the moment with --at or --fact.
    """
    from exhibit.records.moment import moment_at
    from exhibit.records.moment_words import moment_as_json, moment_lines

    if bool(at) == (fact is not None):
        raise click.UsageError("Give the moment with --at or with --fact.")
    moment = moment_at(recording, seq=fact, local=at)
    put(*([moment_as_json(moment)] if as_json else moment_lines(moment, language)))


@click.command(short_help="Prints a line for each day of RECORDINGS.")
@RECORDINGS
@click.option("--since", type=LocalTime(), default=None, help="From this local date on.")
@click.option("--until", type=LocalTime(), default=None, help="Before this local date.")
@MACHINE
@PRACTICE
@JSON
def days(
    recordings: tuple[Path, ...],
    since: datetime | None,
    until: datetime | None,
    machine: str | None,
    practice: bool,
    as_json: bool,
) -> None:
    """Prints a line for each local day of RECORDINGS (files, or folders of them).

    Rounds done and failed, troubles, hours recorded and hours of scripts, steps by hand, notes. The first
    time it reads all the recordings of a folder and keeps an index of them there; then only what is new.
    """
    from exhibit.records.days import OfDay, Whose, day_table, days_as_json, days_more

    found = []
    more: dict[Whose, OfDay] = {}
    for index in readable(recordings):
        found += index.days(machine, practice=practice)
        more |= days_more(index, machine, practice=practice)
    found = [
        day
        for day in found
        if (since is None or day.date >= f"{since:%Y-%m-%d}")
        and (until is None or day.date < f"{until:%Y-%m-%d}")
    ]
    for line in days_as_json(found) if as_json else day_table(found, more):
        put(line)


def reading() -> Reading:
    """Says on the terminal how far it has come, while the index reads recordings."""

    def say(name: str, place: int, count: int) -> None:
        if is_watched() and place % max(1, count // 10) == 0:
            put(f"Reading for the index, this once: {place} of {count}, {name}", to=sys.stderr)

    return say


def readable(recordings: Iterable[Path]) -> Iterator[Index]:
    """The indexes of these recordings. The files from which nothing could be read are named on the way."""
    from exhibit.records.given_folders import indexes_of

    for index in indexes_of(list(recordings), reading()):
        for row in index.recordings(unreadable=True):
            if row.fault:
                put(f"Left out: {index.folder / row.recording}. {row.fault}", to=sys.stderr)
        yield index


def _pattern(pattern: str) -> str:
    try:
        re.compile(pattern)
    except re.error as error:
        said = f"{pattern!r} is no regular expression: {error}."
        raise click.BadParameter(said, param_hint="--pattern") from error
    return pattern


def _kinds(kinds: tuple[str, ...]) -> tuple[str, ...]:
    from exhibit.records.finding import KINDS

    names = tuple(kind.replace("-", "_") for kind in kinds)
    for name in names:
        if name not in KINDS:
            raise click.BadParameter(
                f"{name} is no kind of line or fact. There are: {', '.join(KINDS)}.", param_hint="--kind"
            )
    return names
