"""Facts about the recording itself."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.day_facts import DayKept
from exhibit.facts.display import Display
from exhibit.facts.docent_words import ForDocent
from exhibit.facts.fact import Fact, Words
from exhibit.facts.parts_and_cards import Card, Emergency, NowReadings, PartDrawn, Screen, Switches
from exhibit.facts.use_before import DayBefore, UseBefore
from exhibit.facts.visitor_words import Ahead, Chapter, ExerciserWords, Hours, Load, Plot, TellTale


class Mended(msgspec.Struct, frozen=True, kw_only=True):
    """Which damaged recording this one was made from, of all that could be read of it."""

    file: str
    """Its name."""
    digest: str
    """SHA-256 of that file, in hexadecimal; if it was compressed, of what it was before."""
    last_crc: str
    """Its last checksum, which the recording after it names."""


class RecordingOpened(Fact, frozen=True, kw_only=True):
    """The first fact of every recording: what is needed to read and show the rest."""

    format: int
    how_to_read: str
    software: str
    machine: str
    title: Words
    parts: dict[str, Words]
    """The parts that a caption can point at: the name of each, by its id."""
    drawn: dict[str, PartDrawn] = {}
    """How each part is drawn in the row of cabinets, in the order of the row."""
    pictures: dict[str, str] = {}
    """The museum's own pictures of parts: an SVG as its text, a photograph (JPEG) as base64. A name is
    `.svg` or `.jpg` after the first 32 figures of the SHA-256 of this content (before the base64)."""
    tested: dict[str, list[str]] = {}
    """By part, the names of the lines that say that its store was tested and is in order."""
    screens: dict[str, Screen] = {}
    """The screens on which the museum shows the page, by name."""
    marked: list[str] = []
    """The parts of which the folder says what shows that they were started or stopped."""
    displays: list[str] = []
    """The names of the status displays: which of the landmarks are no prompts."""
    now: NowReadings = NowReadings()
    """Which readings say how busy the machine is."""
    switches: Switches = Switches()
    """The switches that visitors can try on the page."""
    cards: list[Card] = []
    """The background cards as they were when the recording was opened."""
    tell_tales: dict[str, TellTale] = {}
    """The lamps and sounds that show people what the machine is doing, by name."""
    ahead: dict[str, Ahead] = {}
    """The announcements of what comes next, by name."""
    glosses: dict[str, Words] = {}
    """A few words shown beside a prompt, line or display on the mirrored console, by its name."""
    exercisers: dict[str, ExerciserWords] = {}
    """What the page says about each exerciser that may be running while nobody can see it, by its name."""
    plots: dict[str, Plot] = {}
    """The charts of what jobs of the machine print, by name."""
    loads: dict[str, Load] = {}
    """The lines that are printed piece by piece while something is loaded, by name."""
    chapters: dict[str, list[Chapter]] = {}
    """By script: what its steps are to visitors, in order."""
    round_words: Words = {}
    """What a round does."""
    emergencies: dict[str, Emergency] = {}
    """What to do in each emergency, by name, for the docent's page; it is never shown to visitors."""
    hours: Hours | None = None
    """When the museum is open; null if its folder doesn't say."""
    languages: dict[str, str]
    """Each language's own name for itself, by its tag, in the order of the folder."""
    second_language: str = ""
    """The tag of the language shown beneath the first until a visitor chooses; empty for none."""
    machine_is: Literal["real", "simulated"]
    typing: Literal["scripts", "nothing"]
    """`nothing` if the machine is only watched."""
    rate: float
    """Recording seconds per real second: 1 for a real machine."""
    wall: str
    """The computer's date and time when the recording's clock was at 0 (RFC 3339, with offset)."""
    line: str
    eighth_bit: Literal["parity", "drop", "data"]
    parity: Literal["none", "even", "odd"]
    display: Display
    digests: dict[str, str]
    """SHA-256 of each file of the machine's folder, by its name within the folder."""
    previous_file: str
    previous_crc: str
    """The last checksum of the recording before this one, which `previous_file` names. Both are empty if
    there is none."""
    for_docent: ForDocent = ForDocent()
    """What the docent's page says besides what happens."""
    boot: str = ""
    """A name for the time since the computer was started; another after each restart. Empty if unknown."""
    use_before: UseBefore | None = None
    """How much was used before this recording, as far as it was recorded; null if nothing was counted."""
    today: DayBefore = DayBefore()
    """What earlier recordings say about the day on which this one was opened."""
    practice: bool = False
    """Whether somebody practised: nothing was typed at the machine itself, but at a simulated one."""
    work: bool = False
    """Whether this file only holds what an engineer wrote down, and nothing from the console."""
    mended: Mended | None = None
    """The damaged recording that this one stands in for; null if it is as it was written."""


class FactsMissing(Fact, frozen=True, kw_only=True):
    """Facts that stood here in a damaged recording could not be read when it was mended.

    It has the number of the last of them, so the numbers before it are left out.
    """

    count: int
    """How many are missing, this number included; at the end of a recording, how many at least."""
    why: str
    at_bytes: int
    """Where the damage begins in the damaged recording, counted from 0."""
    length_bytes: int
    until_us: int
    """The time of the next fact that could be read; 0 if there was none."""


class CarriedOver(Fact, frozen=True, kw_only=True):
    """This recording continues where the one before it ended, with the machine at rest in this state."""

    line: str
    """The name of the connection."""
    rows: list[str]
    """What was on the display, row by row from the top."""
    wire: str
    """What had arrived of an unfinished control sequence, in a form of the software's own (JSON)."""
    display: str
    """The display, in a form of the software's own (JSON). If it can't be read, the display is blank."""
    printed: str
    """The line that was being printed."""
    landmark: str
    """The settled prompt that was showing at the end of it; empty if there was none."""
    fields: dict[str, str]
    scripts: int
    """How many of the scripts that were asked for had been started."""
    until_us: int
    """When the rest between two rounds will be over, by this recording's clock; 0 outside such a rest."""
    failed: str
    """Why nothing more may be typed until a person has looked; empty if typing is allowed."""
    keeps_time: bool = False
    """Whether each character is known to take as long on the line as the settings say."""
    day: DayKept | None = None
    """How the day stood; null if the scripts aren't run by the day."""


class ClockStepped(Fact, frozen=True, kw_only=True):
    """The computer's date and time jumped, as measured against its steady clock."""

    by_us: int
    wall: str


class RecordNearlyFull(Fact, frozen=True, kw_only=True):
    """The disc is full. The reserve is used to tidy up; after that nothing more is typed."""

    left_bytes: int


class Heartbeat(Fact, frozen=True, kw_only=True):
    """The bridge is alive."""

    wall: str


class RecordingClosed(Fact, frozen=True, kw_only=True):
    """The recording was closed properly."""

    why: str
