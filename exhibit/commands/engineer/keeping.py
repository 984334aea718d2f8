"""The commands that keep recordings: verify, mend."""

from __future__ import annotations

from pathlib import Path

import click

from exhibit.commands.options import FILE
from exhibit.output.terminal import put

RECORDINGS = click.Path(path_type=Path)


@click.command(short_help="Says whether RECORDINGS are as they were written.")
@click.argument("recordings", type=RECORDINGS, nargs=-1, required=True)
def verify(recordings: tuple[Path, ...]) -> None:
    """Says whether RECORDINGS (files, or folders of them) are as they were written.

    It checks each line's checksum, number and time, and whether each file continues the one before it. Below
    a damaged file it says at which byte, and which facts are missing. The exit status is then 2.
    """
    from exhibit.records.keeping.verifying import verify as verified

    found = verified(recordings)
    put(*found.lines)
    found.refuse()


@click.command(short_help="Saves what is readable of a damaged RECORDING.")
@click.argument("recording", type=FILE)
@click.option("--to", type=FILE, default=None, help="New file; if not given, in the folder mended beside it.")
def mend(recording: Path, to: Path | None) -> None:
    """Saves what is readable of a damaged RECORDING in a new file, which says what is missing.

    The old file stays as it is. A line is put right only where its checksum, or that of the line after it,
    shows how it was. The numbers of facts stay, so that captions still name the facts that they rest on.
    """
    from exhibit.records.keeping.mending import mend as mended

    outcome = mended(recording, to)
    put(*outcome.put_right)
    for gap in outcome.gaps:
        put(gap.said)
    put(f"{outcome.to} has {outcome.facts:,} facts of {recording.name}, and passes `exhibit verify`.")
