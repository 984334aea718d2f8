"""The command `exhibit report`: one page before the drive, or the object's file of a year."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import click

from exhibit.commands.docents_page.people import people_option
from exhibit.commands.engineer.finding import MACHINE, RECORDINGS, LocalTime, readable, reading
from exhibit.commands.engineer.written import PRINT_IT, write_text
from exhibit.commands.options import FOLDER, to_option
from exhibit.facts.errors import SetUpFault


@click.command(short_help="Prints what RECORDINGS say before a visit, or about a year.")
@RECORDINGS
@click.option("--since", type=LocalTime(), default=None, help="The day of your last visit.")
@click.option(
    "--year", type=click.IntRange(1900, 2200), default=None, help="Instead: the object's file of a year."
)
@click.option("--folder", type=FOLDER, default=None, help="The machine's folder: limits, and what to bring.")
@click.option(
    "--names", is_flag=True, help="Write people's names, from the list of people, beside their numbers."
)
@click.option("--notes", is_flag=True, help="Write what the notes say.")
@click.option(
    "--saved", type=FOLDER, default=None, help="Folder for notes; if not given, saved in RECORDINGS."
)
@MACHINE
@people_option
@to_option
def report(
    recordings: tuple[Path, ...],
    since: datetime | None,
    year: int | None,
    folder: Path | None,
    names: bool,
    notes: bool,
    saved: Path | None,
    machine: str | None,
    people: Path,
    to: Path | None,
) -> None:
    """Prints one page to read before the drive, as an HTML file for A4.

    What got slower since that day, what erred, hours, notes, what to bring as the troubles of the machine's
    folder say (`bring`), and open questions. With --year it is all about a year, for the object's file.
    """
    from exhibit.commands.engineer.named import names_in
    from exhibit.desk.noting import NOTES
    from exhibit.folder.whole import read_folder
    from exhibit.records.excerpt.privacy import Privacy
    from exhibit.records.history.report import report as report_of
    from exhibit.records.history.report import year_report
    from exhibit.records.history.visit import visit_of

    if (since is None) == (year is None):
        raise click.UsageError("Give the day of your last visit with --since, or a year with --year.")
    beside = recordings[0] if recordings[0].is_dir() else recordings[0].parent
    kept = (saved or beside / "saved") / NOTES
    if notes and not kept.is_dir():
        raise SetUpFault(
            f"There are no notes in {kept}.",
            "They were asked for, and would be missing.",
            "Name the folder for notes with --saved, or leave out --notes.",
        )
    described = read_folder(folder) if folder is not None else None
    privacy = Privacy(names_in(people) if names else None, kept if notes else None)
    began = since.date() if since is not None else date(year or 1, 1, 1)
    until = date(year + 1, 1, 1) if year is not None else None
    for _ in readable(recordings):
        pass  # what can't be read is named before anything is said about the rest
    visit = visit_of(recordings, began, machine, described, until, reading())
    if year is not None:
        write_text(year_report(visit, privacy), to, PRINT_IT)
    else:
        write_text(report_of(visit, privacy, with_folder=described is not None), to, PRINT_IT)
