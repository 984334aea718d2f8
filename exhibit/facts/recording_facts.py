"""Facts about the recording itself."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.display import Display
from exhibit.facts.fact import Fact, Words
from exhibit.facts.parts_and_cards import Card, NowReadings, PartDrawn, Switches
from exhibit.facts.telling import Ahead, ExerciserWords, TellTale
from exhibit.facts.use_before import UseBefore


class RecordingOpened(Fact, frozen=True, kw_only=True):
    """The first fact of every recording: what is needed to read and to show the rest."""

    format: int
    how_to_read: str
    software: str
    machine: str
    title: Words
    parts: dict[str, Words]
    """The parts that a caption may point at: id to name."""
    drawn: dict[str, PartDrawn] = {}
    """How each part is drawn in the row of cabinets, in the row's order."""
    now: NowReadings = NowReadings()
    """Which readings say how busy the machine is."""
    switches: Switches = Switches()
    """The switches that visitors may try on the page."""
    cards: list[Card] = []
    """The cards of background, as they were when the recording was opened."""
    tell_tales: dict[str, TellTale] = {}
    """The lamps and sounds by which people see and hear what the machine is doing, by name."""
    ahead: dict[str, Ahead] = {}
    """What visitors are told beforehand, by name."""
    glosses: dict[str, Words] = {}
    """What stands beside a prompt, line or display on the mirrored console, by its name."""
    exercisers: dict[str, ExerciserWords] = {}
    """What is said of each exerciser when it may be running and nobody can see it, by its name."""
    languages: dict[str, str]
    """Language tag to the language's own name for itself, in the order of the folder."""
    second_language: str = ""
    """The tag of the language that stands beneath the first where no visitor has chosen; empty for none."""
    machine_is: Literal["real", "simulated"]
    typing: Literal["scripts", "nothing"]
    """`nothing` when the machine is only watched."""
    rate: float
    """Recording seconds per real second: 1 for a real machine."""
    wall: str
    """The computer's date and time when the recording's clock stood at 0 (RFC 3339, with offset)."""
    line: str
    eighth_bit: Literal["parity", "drop", "data"]
    parity: Literal["none", "even", "odd"]
    display: Display
    digests: dict[str, str]
    """SHA-256 of each file of the machine's folder, by its name within the folder."""
    previous_file: str
    previous_crc: str
    """The name and the last checksum of the recording before this one; empty when there is none."""
    boot: str = ""
    """A name of the computer's run, from its start to its stop; empty where it isn't known."""
    use_before: UseBefore | None = None
    """What was used before this recording, as far as it was recorded; null where nothing was counted."""


class CarriedOver(Fact, frozen=True, kw_only=True):
    """This recording goes on where the one before it ended, at rest: what stood there then."""

    line: str
    """Where the open line goes."""
    rows: list[str]
    """What stood on the display, row by row from the top."""
    wire: str
    """What stood between the line and the display, in a form of the software's own (JSON)."""
    display: str
    """The display, in a form of the software's own (JSON). One that can't be read leaves a blank display."""
    printed: str
    """The line that was being printed."""
    landmark: str
    """The prompt that stood settled at its end; empty when none did."""
    fields: dict[str, str]
    scripts: int
    """How many of the scripts that were asked for have been started."""
    until_us: int
    """When the rest between two rounds is over, by this recording's clock; 0 outside of one."""
    failed: str
    """Why nothing more is typed until a person has looked; empty otherwise."""
    keeps_time: bool = False
    """Whether characters take the time on the line that its settings say, as far as can be known."""


class ClockStepped(Fact, frozen=True, kw_only=True):
    """The computer's date and time jumped against its steady clock."""

    by_us: int
    wall: str


class RecordNearlyFull(Fact, frozen=True, kw_only=True):
    """The disc is full: the reserve is being used to tidy up, then nothing more is typed."""

    left_bytes: int


class Heartbeat(Fact, frozen=True, kw_only=True):
    """The bridge is alive."""

    wall: str


class RecordingClosed(Fact, frozen=True, kw_only=True):
    """The recording was ended in good order."""

    why: str
