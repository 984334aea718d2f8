"""What people can look at and read beside the captions: drawn parts, switches, screens, background cards."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

PartShape = Literal["cabinet", "drive", "desk", "terminal", "printer", "chest", "tape"]
PartState = Literal["working", "being restored", "kept for spares", "not said"]
"""What visitors read about the state of a part: nothing at all for "not said"."""
Base = Literal["binary", "octal", "hex"]
OpeningKind = Literal["disc", "packs", "gauge", "core", "screen", "paper", "tape", "lamps", "switches"]
"""What can be seen in a part: a disc or a pile of discs, a level, a core store, what a console shows ..."""


class Opening(msgspec.Struct, frozen=True, kw_only=True):
    """A place on the front of a drawn part in which something can be seen."""

    kind: OpeningKind
    real: bool = True
    """False if the machine has no such opening, and it is cut into the drawing to show what is inside."""
    count: int = 0
    """How many lamps or switches there are; 0 for as many as look right."""


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
    plate: str = ""
    """The name that is engraved on it; empty if none is drawn."""
    openings: list[Opening] = []
    """What can be seen on its front, from the top down."""
    picture: str = ""
    """The museum's own picture of it, by its name in the recording's `pictures`; empty for our drawing."""
    share: str = ""
    """The reading, as DISPLAY.READING, that says how busy this part is, in per cent; empty if none does."""
    transfers: str = ""
    """The reading, as DISPLAY.READING, that counts this part's disc transfers; empty if none does."""


class Screen(msgspec.Struct, frozen=True, kw_only=True):
    """A screen on which the museum shows the visitors' page. A page asks for its layout by its name."""

    layout: Literal["landscape", "portrait"]
    width_cm: float
    height_cm: float
    """The size of the picture area."""
    distance_cm: float
    """From the screen to the eyes of those who read it."""
    lower_edge_cm: float
    """From the floor to the lower edge of the picture area."""
    touch: bool = False
    """Whether people can touch it."""
    home_after_s: float = 240.0
    """After how long without a touch it shows what it showed at first, in the first language."""


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
    """How many neighbouring switches stand together."""
    start: str = ""
    """How to set them to start the machine, in digits of `base`."""
    base: Base = "octal"
    """How their value is written: in octal and hex, each group makes one digit; in binary, each switch."""


class PanelAct(msgspec.Struct, frozen=True, kw_only=True):
    """One act at the machine's front, or what its lamps must show after the acts before."""

    act: Literal["set", "press", "lamps"]
    name: str = ""
    """What is engraved beside the key or the row of lamps; empty for the switches."""
    value: str = ""
    """What the switches are set to or the lamps must show, in digits; empty for a key."""
    positions: str = ""
    """The same for each switch or lamp from the left: 1 is up or lit, 0 is down or dark, a space is a gap."""
    by_switch: bool = False
    """Whether each switch or lamp makes a digit of its own (binary); otherwise each group makes one."""


class Emergency(msgspec.Struct, frozen=True, kw_only=True):
    """What to do when it matters most."""

    title: Words
    do: dict[str, list[str]]
    """Line by line, the most urgent first, by language tag."""


class Card(msgspec.Struct, frozen=True, kw_only=True):
    """A short background text, as a museum wrote it. If it has the name of a part, it is about that part."""

    name: str
    title: Words
    text: Words
    """Paragraphs, with a blank line between them. A line "- name: value" states a figure."""
    source: Words
    """The written source on which it is based."""
