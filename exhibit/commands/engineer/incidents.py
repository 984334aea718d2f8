"""The command `exhibit incidents`: what went wrong, gathered with its like and counted."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

import click

from exhibit.commands.engineer.finding import JSON, MACHINE, RECORDINGS, LocalTime, readable
from exhibit.output.terminal import put


@click.command(short_help="Gathers what went wrong in RECORDINGS, each with its like.")
@RECORDINGS
@click.option("--number", type=click.IntRange(1), default=None, help="All about the one of this number.")
@click.option("--like", default="", help="Only those whose line or name contains this.")
@click.option("--since", type=LocalTime(), default=None, help="From this local date on.")
@MACHINE
@JSON
def incidents(
    recordings: tuple[Path, ...],
    number: int | None,
    like: str,
    since: datetime | None,
    machine: str | None,
    as_json: bool,
) -> None:
    """Gathers what went wrong in RECORDINGS (files, or folders of them), each with its like.

    That is troubles, late steps, disc errors, silences, lost lines, garbled commands, scripts that failed and
    recordings that just end. With --number it counts one of them by day, step, command, part, hours since
    power-on, temperature and exerciser, and before and after work that `exhibit work` wrote down, with limits
    of rates.
    """
    from exhibit.records.history.incident_lines import as_json_text, details, overview
    from exhibit.records.history.incidents import history_of

    found = history_of(readable(recordings), machine, f"{since:%Y-%m-%d}" if since else "")
    for history in found:
        if like:
            wanted = like.casefold()
            history.likes = [one for one in history.likes if wanted in one.signature.casefold()]
        if as_json:
            put(as_json_text(history))
        elif number is None:
            put(*overview(history), "")
        elif number <= len(history.likes):
            put(*details(history, number), "")
    if number is not None and not as_json and not any(number <= len(one.likes) for one in found):
        put(f"There is no number {number}: `exhibit incidents` without it lists them.", to=sys.stderr)
        sys.exit(1)
