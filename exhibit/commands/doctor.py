"""The command `exhibit doctor`."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from exhibit.commands.options import FOLDER, recordings_by_default
from exhibit.output.terminal import put


@click.command(short_help="Says what is wrong with this computer, and which command mends it.")
@click.argument("folder", type=FOLDER, required=False)
@click.option("--line", default="", help="The serial line to look at; if not given, the service's.")
def doctor(folder: Path | None, line: str) -> None:
    """Looks at this computer, the machine's FOLDER and the serial port, and says what is wrong.

    For each thing that is wrong it says what that means, and the command that mends it. It changes nothing,
    and never opens the port. With sudo it sees more. The exit status is 1 if there is something to do.
    """
    from exhibit.doctor.computer import Computer
    from exhibit.doctor.looking import Examination

    examination = Examination(Computer(), folder, line, recordings_by_default())
    for said in examination.lines():
        put(said)
    sys.exit(bool(examination.wrong))
