"""Reads what an engineer wrote down: work, measured readings, and the ledger of packs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Final, TypeVar

import msgspec

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import PackEntered, ReadingMeasured, WorkDone
from exhibit.records.work.writing import WORK, Written
from exhibit.streams.recording import Damaged, RecordingFolder, read

MOST_IN_A_FILE: Final = 1_000
"""Facts of one file: more than this program would ever write into one."""

_Kept = TypeVar("_Kept", WorkDone, ReadingMeasured, PackEntered)


class WrittenDown(msgspec.Struct, frozen=True):
    """All that was written down about a machine, each kind in the order of its times."""

    work: list[WorkDone]
    measured: list[ReadingMeasured]
    packs: list[PackEntered]
    """The newest entry of each label, in the order of the labels."""
    damaged: list[Path] = []
    """The files that can't be read, or of which a part can't."""


def written_down(recordings: Iterable[Path], machine: str | None = None) -> WrittenDown:
    """What was written down beside these recordings; of one machine, or of all if it is None.

    `recordings`: files, or folders of them; for a file it is the folder in which it is. A folder's `work` is
    read, and what was copied from there to the recordings themselves. Raises RecordingFault if a folder
    can't be read; what is damaged in a file is left out.
    """
    facts: dict[bytes, Written] = {}
    damaged: list[Path] = []
    for path in _files(recordings, machine):
        try:
            for number, entry in enumerate(read(path)):
                if isinstance(entry, Damaged):
                    damaged.append(path)
                elif isinstance(entry.fact, Written) and number < MOST_IN_A_FILE and _has_time(entry.fact):
                    # A file that is there twice, because it was copied, counts once.
                    facts[path.name.encode() + msgspec.json.encode(entry.fact)] = entry.fact
        except RecordingFault:
            damaged.append(path)
    ledger = {pack.label: pack for pack in _of_kind(PackEntered, facts.values())}
    return WrittenDown(
        _of_kind(WorkDone, facts.values()),
        _of_kind(ReadingMeasured, facts.values()),
        [ledger[label] for label in sorted(ledger)],
        list(dict.fromkeys(damaged)),
    )


def _files(recordings: Iterable[Path], machine: str | None) -> Iterator[Path]:
    folders = dict.fromkeys(path if path.is_dir() else path.parent for path in recordings)
    for folder in folders:
        for place in (folder, folder / WORK):
            yield from (file.path for file in RecordingFolder(place).work(machine))


def _of_kind(kind: type[_Kept], facts: Iterable[Written]) -> list[_Kept]:
    return sorted((fact for fact in facts if isinstance(fact, kind)), key=lambda fact: read_wall(fact.at))


def _has_time(fact: Written) -> bool:
    try:
        read_wall(fact.at)
    except RecordingFault:
        return False
    return True
