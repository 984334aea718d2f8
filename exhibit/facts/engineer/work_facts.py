"""What an engineer writes down about the machine, while the bridge may be writing the day's recording.

Each has the date and time at which it was so, which is often hours before it was written down.
"""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import Fact

WorkAct = Literal["cleaned", "swapped", "adjusted", "repaired", "lubricated", "replaced", "inspected"]
"""What was done: "swapped" puts in one that was there already, "replaced" a new one."""


class WorkDone(Fact, frozen=True, kw_only=True):
    """An engineer said what was done to the machine."""

    at: str
    """When it was done, by that computer's date and time (RFC 3339)."""
    by: str
    act: WorkAct
    part: str
    board: str = ""
    """The board or component, as its drawing calls it; empty if it was the part as a whole."""
    came_from: str = ""
    """The slot or the donor machine that the board came from; empty if it is the same one as before."""
    drawing: str = ""
    """The sheet of the drawings on which it stands."""
    photographs: list[str] = []
    """SHA-256 of the file of each, in hexadecimal."""
    note: str = ""
    """SHA-256 of a file with what else was written; empty if nothing was."""


class ReadingMeasured(Fact, frozen=True, kw_only=True):
    """A person measured something with an instrument of their own."""

    at: str
    """When it was measured, by that computer's date and time (RFC 3339)."""
    by: str
    what: str
    """What it is, such as "+5 V at the backplane"; it is compared with others of exactly this name."""
    value: float
    unit: str
    """Such as V, °C, % or h."""
    part: str = ""
    """The part at which it was measured; empty for the room."""
    note: str = ""
    """SHA-256 of a file with what else was written; empty if nothing was."""


class PackEntered(Fact, frozen=True, kw_only=True):
    """A pack's entry in the ledger of packs. It takes the place of an earlier one with the same label."""

    at: str
    """When it was so, by that computer's date and time (RFC 3339)."""
    by: str
    label: str
    holds: str = ""
    """What is on it."""
    original: bool = False
    """Whether it dates from the machine's own time and isn't a copy."""
    copy_of: str = ""
    """The label of the pack or the name of the image of which it is a copy."""
    copies: list[str] = []
    """The copies of it: labels of packs, or names of images."""
    verified: str = ""
    """The date on which its copies were last found the same as it; empty if they never were."""
    hours: float | None = None
    """How many hours it has run in all; null if nobody knows."""
    errors: int | None = None
    """How many errors it had when it was last read throughout; null if nobody knows."""
    kept: str = ""
    """Where it is kept."""
    note: str = ""
    """SHA-256 of a file with what else was written; empty if nothing was."""
