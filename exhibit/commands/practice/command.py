"""The command `exhibit practice` itself."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

import click

from exhibit.commands.options import FOLDER, recordings_by_default

PORT: Final = 8002
MISTAKES: Final = ("early", "pack", "power", "job")


def practice_by_default() -> Path:
    """The folder for recordings of practice, beside that of the real ones."""
    return recordings_by_default().parent / "practice"


@click.command(short_help="Practises a docent's day at a simulated machine.")
@click.argument("folder", type=FOLDER)
@click.option(
    "--mistake",
    type=click.Choice(MISTAKES),
    default=None,
    help="What goes wrong: START is pressed too early, a pack's switch, the power, or a job that hangs.",
)
@click.option(
    "--recordings", type=FOLDER, default=practice_by_default, help="Folder for recordings of practice."
)
@click.option(
    "--port",
    type=click.IntRange(0, 65535),
    default=PORT,
    show_default=True,
    help="The docent's page's TCP port for practice, on this computer alone.",
)
@click.option("--speed", type=float, default=1.0, hidden=True)
def practice(folder: Path, mistake: str | None, recordings: Path, port: int, speed: float) -> None:
    """Practises a docent's day at the simulated machine of FOLDER; nothing is typed at the real one.

    Open the day on the docent's page and answer what it asks: the opening, a round, the closing. At the end
    it says how it went. The hands are the program's own: it does at the simulated front what you say is done.
    """
    from exhibit.commands.practice.practising import practise
    from exhibit.folder.whole import read_folder
    from exhibit.streams.pacing import checked_speed

    checked_speed(speed)
    sys.exit(practise(folder, read_folder(folder), recordings, mistake, port, speed))
