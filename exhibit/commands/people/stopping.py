"""The command `exhibit stop`: says stop to whatever types at a machine and records here."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Final

import click

from exhibit.commands.options import recordings_option
from exhibit.output.terminal import put

BY: Final = "exhibit stop"
NOT_THE_MAINS_STOP: Final = (
    "That is not the mains stop: the machine is still under power, and what turns goes on turning.",
    "If anybody is in danger, use the mains stop. The card beside the machine says where it is.",
)


@click.command(short_help="Stops the typing at a machine.")
@recordings_option
@click.option("--hands-off", is_flag=True, help="Type nothing more at all, not even what stops the jobs.")
def stop(recordings: Path, hands_off: bool) -> None:
    """Says stop to each program that types at a machine and records in the folder of recordings.

    The script ends, and then stops what it has started. With --hands-off nothing more is typed at all: what
    stands half typed stays there, jobs may go on, and somebody must look before anything goes on.
    """
    from exhibit.bridge.door_note import living_doors
    from exhibit.bridge.request_door import Request, ask
    from exhibit.facts.errors import SetUpFault

    doors = living_doors(recordings)
    if not doors:
        raise SetUpFault(
            f"No program that types at a machine records in {recordings} now, so nothing was stopped.",
            "If a machine is at work all the same, this computer can't stop it.",
            "Name the folder that the program records in (--recordings). In danger, use the mains stop.",
        )
    refused = False
    for machine, door in doors.items():
        answer = ask(door, Request(request="hands off" if hands_off else "stop", by=BY))
        if not answer.accepted:
            refused = True
            put(f"{machine}: that was not done: {answer.why}.")
        elif hands_off:
            put(f"{machine}: nothing more is typed. Jobs may go on, and a command may stand half typed.")
            put('When somebody has looked at the machine, "go on" has the program find out where it stands.')
        else:
            put(f"{machine}: the script ends. What it has started is stopped now, which is typed.")
    put("", *NOT_THE_MAINS_STOP)
    sys.exit(1 if refused else 0)
