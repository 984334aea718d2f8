"""Folders of several days of small recordings, each continuing the one before."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from exhibit.facts.kinds import AnyFact, NoteMade, SessionFailed, TroubleRaised
from exhibit.streams.recording import RecordingWriter
from tests.streams.samples import an_opening, some_facts

TROUBLE = TroubleRaised(
    trouble="disc-error",
    line="DISC ERROR 04",
    words={},
    do={},
    caution={},
    safe_to_leave="unknown",
    call="engineer",
)
FAILED = SessionFailed(why="no prompt came", last_lines=[])


def note(digest: str, kind: str = "note", by: str = "docent 1") -> NoteMade:
    return NoteMade(kind=kind, by=by, digest=digest)


def a_day(folder: Path, date: str, facts: Sequence[AnyFact] = (), count: int = 200) -> Path:
    """A closed recording of this day."""
    writer = RecordingWriter(folder, an_opening(wall=f"{date}T09:30:00+01:00"), reserve_bytes=4096)
    at_us = 0
    for fact, at_us in some_facts(count):
        writer.append(fact, at_us)
    for fact in facts:
        writer.append(fact, at_us)
    writer.close("the test is over", at_us)
    return writer.path
