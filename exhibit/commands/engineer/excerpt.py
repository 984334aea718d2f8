"""The command `exhibit excerpt`: a span of a recording to carry away."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import click

from exhibit.commands.docents_page.people import people_option
from exhibit.commands.engineer.written import write_text
from exhibit.commands.options import FILE, FOLDER, language_option, to_option
from exhibit.facts.errors import SetUpFault

FORMS: Final = ("html", "text", "vtt", "csv")
_SUFFIXES: Final = {".html": "html", ".htm": "html", ".txt": "text", ".vtt": "vtt", ".csv": "csv"}
_THEN: Final = "It opens in any browser, also without a network."


@click.command(short_help="Makes one file of a span of a RECORDING, to carry away.")
@click.argument("recording", type=FILE)
@click.option("--at", default="", help='The moment it is about, such as 14:32:05 or "2026-11-25 14:32:05".')
@click.option("--fact", type=click.IntRange(1), default=None, help="Instead: the number of a fact.")
@click.option("--before", default="2 min", show_default=True, help="How much before that moment.")
@click.option("--after", default="2 min", show_default=True, help="How much after it.")
@click.option("--from", "from_", default="", help="Instead: when the span begins ...")
@click.option("--until", default="", help="... and when it ends; if not given, with the recording.")
@click.option(
    "--as", "form", type=click.Choice(FORMS), default=None, help="If not given, as --to says, or HTML."
)
@click.option(
    "--names", is_flag=True, help="Write people's names, from the list of people, beside their numbers."
)
@click.option("--notes", is_flag=True, help="Write what people wrote: notes, photographs, reasons.")
@click.option(
    "--saved", type=FOLDER, default=None, help="Folder for notes; if not given, saved beside RECORDING."
)
@people_option
@language_option
@to_option
def excerpt(
    recording: Path,
    at: str,
    fact: int | None,
    before: str,
    after: str,
    from_: str,
    until: str,
    form: str | None,
    names: bool,
    notes: bool,
    saved: Path | None,
    people: Path,
    language: str | None,
    to: Path | None,
) -> None:
    """Makes one file of a span of a RECORDING: what the screen showed, what the line carried, what happened.

    As HTML it opens in any browser without a network, now and in ten years. Names of people and what they
    wrote are left out unless you ask for them.
    """
    from exhibit.commands.engineer.named import names_in
    from exhibit.desk.noting import NOTES
    from exhibit.records.excerpt.making import Wanted, excerpt_text
    from exhibit.records.excerpt.privacy import Privacy

    if sum(map(bool, (at, fact, from_ or until))) != 1:
        raise click.UsageError("Give one of --at, --fact, or --from with --until.")
    chosen = form or _SUFFIXES.get(to.suffix.lower() if to else "", "html")
    if notes and not (kept := (saved or recording.parent / "saved") / NOTES).is_dir():
        raise SetUpFault(
            f"There are no notes in {kept}.",
            "They were asked for, and would be missing.",
            "Name the folder for notes with --saved, or leave out --notes.",
        )
    privacy = Privacy(names_in(people) if names else None, kept if notes else None)
    wanted = Wanted(at=at, fact=fact, before=before, after=after, from_=from_, until=until)
    write_text(
        excerpt_text(recording, wanted, chosen, language, privacy), to, _THEN if chosen == "html" else ""
    )
