"""Days of recordings with troubles planted in them, small and exact."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from pathlib import Path

import msgspec

from exhibit.facts import kinds
from exhibit.streams.recording_writer import RecordingWriter
from tests.streams.samples import an_opening

S_US = 1_000_000
H_S = 3600.0
FIRST = datetime.fromisoformat("2026-11-02T09:00:00+01:00")
Timed = tuple[kinds.AnyFact, float]
"""A fact, and how many seconds after the beginning it is."""


def opened_on(day: int, machine: str = "whimbrel") -> kinds.RecordingOpened:
    """The first fact of the recording of a day, counted from 0."""
    opened = an_opening(machine, (FIRST + timedelta(days=day)).isoformat())
    return msgspec.structs.replace(opened, parts={"lower-drive": {"en": "the lower drive"}})


def a_day(
    folder: Path,
    day: int,
    facts: Iterable[Timed],
    machine: str = "whimbrel",
    hours: float = 4.0,
    *,
    marked: bool = True,
) -> Path:
    """A day on which the machine was on for so many hours, and these facts happened.

    Unless it is `marked`, no fact says that the machine was on.
    """
    writer = RecordingWriter(folder, opened_on(day, machine), reserve_bytes=0)
    on = (kinds.PartStarted(part="lower-drive", by="opening.start-lower"), 0.0)
    off = (kinds.PartStopped(part="lower-drive", by="closing.stop-lower"), hours * H_S)
    for fact, at_s in sorted([*([on, off] if marked else []), *facts], key=lambda one: one[1]):
        writer.append(fact, round(at_s * S_US))
    writer.close("the day is over", round(hours * H_S * S_US))
    return writer.path


def trouble(line: str, at_s: float, name: str = "disc-cannot-be-read", repeats: int = 0) -> Timed:
    """A trouble that the machine printed."""
    words = {"en": "A disc can't be read."}
    return kinds.TroubleRaised(trouble=name, line=line, words=words, do={"en": "Ask."}, repeats=repeats), at_s


def step(name: str, from_s: float, took_s: float, *between: Timed, late: bool = False) -> list[Timed]:
    """A step of the round that was done in this time; or that was late, and done all the same."""
    overdue = kinds.StepOverdue(
        script="round", step=name, waited_for=["x"], within_us=S_US, last_lines=[], then="wait on"
    )
    return [
        (kinds.StepStarted(script="round", step=name), from_s),
        *([(overdue, from_s + 1.0)] if late else []),
        *between,
        (kinds.StepEnded(script="round", step=name), from_s + took_s),
    ]


def shuttle(from_s: float, until_s: float) -> list[Timed]:
    """An exerciser that ran on the lower drive."""
    begun = kinds.ExerciserBegun(exerciser="shuttle", job="1", part="lower-drive", ends_us=0)
    ended = kinds.ExerciserEnded(exerciser="shuttle", job="1", by="job-ended")
    return [(begun, from_s), (ended, until_s)]
