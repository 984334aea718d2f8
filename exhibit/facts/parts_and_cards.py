"""What visitors can look at and read beside the captions: the row of parts, and the background cards."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

PartShape = Literal["cabinet", "drive", "desk", "chest"]
PartState = Literal["working", "being restored", "kept for spares", "not said"]
"""What visitors read about the state of a part: nothing at all for "not said"."""


class PartDrawn(msgspec.Struct, frozen=True, kw_only=True):
    """How a part is drawn in the row of cabinets, and what is known about it."""

    shape: PartShape
    cabinet: str
    """Parts of the same cabinet are drawn one above the other, the first at the top."""
    width_cm: int
    height_cm: int
    state: PartState
    joins: list[str]
    """The parts to which a cable leads."""
    share: str = ""
    """The reading (DISPLAY.READING) that says how busy it is, as a percentage; empty if there is none."""
    transfers: str = ""
    """The reading (DISPLAY.READING) that counts its transfers; empty if there is none."""


class NowReadings(msgspec.Struct, frozen=True, kw_only=True):
    """The readings that say how busy the machine is, each as DISPLAY.READING; an empty list for none."""

    share: list[str] = []
    """How busy the processor is, as a percentage."""
    transfers: list[str] = []
    """The number of disc transfers so far; the sum of them is that of all discs."""
    errors: list[str] = []
    """The number of disc errors so far."""
    jobs: list[str] = []
    """Tables with a row for each job."""
    job_name: str = "name"
    """The column of those tables that names the program."""


class Switches(msgspec.Struct, frozen=True, kw_only=True):
    """The switches on the machine's front, for visitors to try on the page, where they control nothing."""

    count: int = 0
    """0 if the machine has none that are set to start it."""
    group: int = 3
    """How many neighbouring switches make one digit."""
    start: str = ""
    """How to set them to start the machine: one digit for each group."""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A short background text, as a museum wrote it. If it has the name of a part, it is about that part."""

    name: str
    title: Words
    text: Words
    """Paragraphs, with a blank line between them. A line "- name: value" states a figure."""
    source: Words
    """The written source on which it is based."""
