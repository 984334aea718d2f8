"""Writes down work, measured readings and packs: a small recording for each time, in a folder of its own."""

from __future__ import annotations

from pathlib import Path
from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.first_fact import first_fact
from exhibit.decisions.machine.script import Folder
from exhibit.facts.display import Display
from exhibit.facts.docent_words import ForDocent
from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import PackEntered, ReadingMeasured, RecordingOpened, WorkDone
from exhibit.facts.parts_and_cards import NowReadings, Switches
from exhibit.streams.bounds import is_a_date
from exhibit.streams.recording import RecordingFolder, RecordingWriter

WORK: Final = "work"
"""The folder of what was written down, within that of the recordings."""
LONGEST: Final = 200
"""Characters of one text; what is longer belongs into a note."""
MOST_LISTED: Final = 50

Written = WorkDone | ReadingMeasured | PackEntered


def write_down(recordings: Path, folder: Folder, fact: Written, wall: str) -> Path:
    """Append this fact beside the recordings of a machine, in a new file. Returns where.

    `folder` describes the machine, and `wall` is the date and time now (RFC 3339). Raises SetUpFault if it
    says something that can't be, and RecordingFault if it can't be written.
    """
    check(folder, fact)
    writer = RecordingWriter(recordings / WORK, _opened(recordings, folder, wall), reserve_bytes=0)
    try:
        writer.append(fact, 0)
    except BaseException:
        # What isn't whole isn't kept: nobody has to wonder later whether it was written down.
        writer.abandon()
        writer.path.unlink(missing_ok=True)
        raise
    writer.close("it was written down", 0)
    return writer.path


def _opened(recordings: Path, folder: Folder, wall: str) -> RecordingOpened:
    """The first fact: which machine it was, and nothing that only a page of its console needs."""
    newest = RecordingFolder(recordings).newest(folder.machine.name)
    machine_is: Literal["real", "simulated"] = newest.machine_is if newest else "real"
    opened = first_fact(folder, wall=wall, machine_is=machine_is, typing="nothing")
    return msgspec.structs.replace(
        opened,
        work=True,
        line="",
        drawn={},
        pictures={},
        tested={},
        screens={},
        marked=[],
        displays=[],
        now=NowReadings(),
        switches=Switches(),
        cards=[],
        tell_tales={},
        ahead={},
        glosses={},
        exercisers={},
        plots={},
        loads={},
        chapters={},
        round_words={},
        emergencies={},
        hours=None,
        display=Display(),
        for_docent=ForDocent(),
    )


def check(folder: Folder, fact: Written) -> None:
    """Raises SetUpFault if this says what no museum would want to find in its record."""
    machine = folder.machine
    if not is_a_date(fact.at):
        raise _wrong(f"{fact.at!r} is not a date and time", "Write it as 2026-11-25T14:30:00+01:00.")
    part = "" if isinstance(fact, PackEntered) else fact.part
    if (part or isinstance(fact, WorkDone)) and part not in machine.parts:
        raise _wrong(
            f"{machine.name} has no part {part!r}",
            f"Its parts are: {', '.join(machine.parts)}.",
        )
    for name, value in msgspec.structs.asdict(fact).items():
        texts = value if isinstance(value, list) else [value]
        if len(texts) > MOST_LISTED:
            raise _wrong(f"{len(texts)} entries under {name} are too many", f"Give at most {MOST_LISTED}.")
        for text in texts:
            if isinstance(text, str) and len(text) > LONGEST:
                raise _wrong(
                    f"The text under {name} has {len(text)} characters",
                    f"Give at most {LONGEST}, and write the rest as a note.",
                )
            if isinstance(text, str) and not text.isprintable():
                raise _wrong(f"The text under {name} has characters that can't be printed", "Take them out.")


def _wrong(what: str, do: str) -> SetUpFault:
    return SetUpFault(f"{what}.", "Nothing was written down, since it stays in the record for good.", do)
