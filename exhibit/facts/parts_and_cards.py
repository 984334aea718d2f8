"""What visitors can look at and read beside the captions: the parts in their row, and the written cards."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

PartShape = Literal["cabinet", "drive", "desk", "chest"]
PartState = Literal["working", "being restored", "kept for spares"]


class PartDrawn(msgspec.Struct, frozen=True, kw_only=True):
    """How a part is drawn in the row of cabinets, and what is known of it."""

    shape: PartShape
    cabinet: str
    """Parts of the same cabinet are drawn one over the other, the first at the top."""
    width_cm: int
    height_cm: int
    state: PartState
    joins: list[str]
    """The parts that a cable leads to."""


class NowReadings(msgspec.Struct, frozen=True, kw_only=True):
    """The readings that say how busy the machine is, each as DISPLAY.READING; an empty list: none does."""

    share: list[str] = []
    """The processor's share, in hundredths of its time."""
    transfers: list[str] = []
    """Disc transfers so far; together they are those of all discs."""
    errors: list[str] = []
    """Disc errors so far."""
    jobs: list[str] = []
    """Tables with a row for each job."""
    job_name: str = "name"
    """The column of those tables that names the program."""


class Switches(msgspec.Struct, frozen=True, kw_only=True):
    """The switches on the machine's front, for visitors to try on the page, where they reach nothing."""

    count: int = 0
    """0: the machine has none that are set to start it."""
    group: int = 3
    """So many switches stand together, and make one figure."""
    start: str = ""
    """What they are set to when the machine is started, a figure for each group."""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A short text of background, as a museum wrote it. One that is named like a part is about that part."""

    name: str
    title: Words
    text: Words
    """Paragraphs, a blank line between them; a line beginning with "- " is a figure: name, colon, value."""
    source: Words
    """Where it is written."""
