"""The commands for years of many machines: export, years."""

from __future__ import annotations

from pathlib import Path

import click

from exhibit.commands.engineer.finding import JSON, PRACTICE, RECORDINGS, readable
from exhibit.commands.options import FOLDER
from exhibit.output.terminal import put

SUMS = ("machines", "errors", "steps", "slower", "troubles", "parts")


@click.command(short_help="Writes what RECORDINGS say as tables (Parquet).")
@RECORDINGS
@click.option("--to", type=FOLDER, required=True, help="Folder for the tables.")
@PRACTICE
def export(recordings: tuple[Path, ...], to: Path, practice: bool) -> None:
    """Writes what RECORDINGS (files, or folders of them) say as tables, in Parquet files.

    There is a table for recordings, days, scripts, steps, troubles, readings and so on, and in each a file
    for a machine and a month, which replaces the one that was there: give all recordings of a month together.
    No note's words and no person's name are in them. It needs exhibit[years].
    """
    from exhibit.records.years.writing import export as exported

    written = exported(readable(recordings), to, practice=practice)
    for table, rows in written.items():
        put(f"{rows:>9}  {table}")
    put(f"These rows are in {to}. Add them up with: exhibit years {to}")


@click.command(short_help="Adds up years of many machines from a FOLDER of tables.")
@click.argument("folder", type=FOLDER)
@click.option(
    "--about", type=click.Choice(SUMS), default="machines", show_default=True, help="What to add up."
)
@JSON
def years(folder: Path, about: str, as_json: bool) -> None:
    """Adds up years of many machines from the FOLDER of tables that `exhibit export` has written.

    \b
    machines  for each machine and year: days, hours, rounds, what failed, troubles
    errors    disc errors per hour of an exerciser, for each machine and month
    steps     how long each step took, for each machine and year
    slower    which steps take longer in the last 30 days than before
    troubles  how often each came, on how many days, how long after power-on
    parts     hours, starts and stops of each part, for each machine and year

    The tables are read from the disc, however large they are. It needs exhibit[years].
    """
    from exhibit.records.years.asking import ask, table_lines
    from exhibit.records.years.asking import json_lines as as_lines

    names, rows = ask(folder, about)
    put(*(as_lines(names, rows) if as_json else table_lines(about, names, rows)))
