"""A machine as its folder describes it: plain data, already checked, times in microseconds."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.wear_rules import ErrorSigns, Exerciser, Marks
from exhibit.facts.display import Display
from exhibit.facts.kinds import Words
from exhibit.facts.line_settings import LineSettings
from exhibit.facts.parts_and_cards import NowReadings, PartDrawn, Switches
from exhibit.facts.visitor_words import TellTale


class Typing(msgspec.Struct, frozen=True, kw_only=True):
    """How the machine takes what is typed at it."""

    echo: Literal["full", "none"]
    folds_to: Literal["upper case", "as typed"]
    echo_within_us: int
    """How long a character's echo may take before the command counts as garbled."""
    settle_characters: int
    """A prompt has settled when nothing came for so many character times plus the adapter's latency."""
    adapter_latency_us: int
    cancel: bytes
    """The key that throws away a half-typed command."""
    return_key: bytes
    pause_after_us: int
    """Without echo: how long to wait after each character."""
    window: int
    """How many characters may be on their way unconfirmed: 1 for a machine that keeps but one."""
    show_again: bytes
    """The key that makes the machine print the half-typed line once more; empty where none does."""
    nudge: bytes = b""
    """The key that, at a prompt for commands, only makes it come again; empty where there is none."""

    def folded(self, text: str) -> str:
        """What is typed, as the machine takes and shows it."""
        return text.upper() if self.folds_to == "upper case" else text


class Prompt(msgspec.Struct, frozen=True, kw_only=True):
    """Text at which the machine waits to be typed at: it stands at the end of the output."""

    name: str
    pattern: Pattern
    kind: Literal["command", "question", "secret"]
    """A question may take a bare RETURN for an answer; a secret's answer isn't echoed."""


class LinePattern(msgspec.Struct, frozen=True, kw_only=True):
    """A whole printed line that we know."""

    name: str
    pattern: Pattern


class Interruption(msgspec.Struct, frozen=True, kw_only=True):
    """A broadcast: it starts with a line that we know. Exactly one of the other three says how it ends."""

    name: str
    starts: Pattern
    lines: int = 0
    """It takes so many lines, blank ones counted ..."""
    blank_lines: int = 0
    """... or ends with so many blank lines ..."""
    ends: Pattern | None = None
    """... or with this line."""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """A value on a status display: one number or text on one row, or a table over several."""

    name: str
    kind: Literal["number", "text", "table"]
    first_row: int
    last_row: int
    """Rows count from 1, the last included."""
    pattern: Pattern


class StatusDisplay(msgspec.Struct, frozen=True, kw_only=True):
    """A full-screen display that the machine repaints until it is stopped."""

    name: str
    title_row: int
    title: Pattern
    ends_at: tuple[int, int] | None
    """A frame has ended when the cursor comes to rest at this row and column, both from 1 ..."""
    ends_after_quiet_us: int | None
    """... or when nothing came for this long. Exactly one of the two is given."""
    readings: tuple[Reading, ...]


class Trouble(msgspec.Struct, frozen=True, kw_only=True):
    """A printed line, or a row of a status display, that means something is wrong."""

    name: str
    pattern: Pattern
    ends_script: bool
    """Whether the step that runs then fails, and its script with it."""
    blocked_for_us: int = 0
    """It isn't printed: the machine has held up what is typed (XOFF) for so long. 0 for one that is."""
    display: str = ""
    """The status display on which it stands; empty for a printed line."""
    first_row: int = 0
    last_row: int = 0
    """On a display: rows count from 1, the last included."""
    words: Words
    do: Words


class Calendar(msgspec.Struct, frozen=True, kw_only=True):
    """The years that a system on the machine can hold, and how it wants a date written."""

    name: str
    year: Literal["as it is", "stand-in", "fixed", "ask"]
    fixed_year: int
    """The year told when `year` is "fixed"; 0 otherwise."""
    earliest: int
    latest: int
    template: str
    """Text with places such as {day} and {year}; `calendar_dates.PLACES` has all."""


class Pack(msgspec.Struct, frozen=True, kw_only=True):
    """A removable disc or tape."""

    name: str
    label: str
    drive: str
    may_be_written: bool
    original: bool = False
    """Whether it is of the machine's own time, and no copy of it."""


class NeverLifted(msgspec.Struct, frozen=True, kw_only=True):
    """What is never typed but in one step of the closing, and why it is there."""

    command: str
    """One of the patterns of what is never typed, as it is written there."""
    step: str
    reason: str


class Site(msgspec.Struct, frozen=True, kw_only=True):
    """What a person who stands before the machine must know, in each language."""

    mains_stop: Words
    keyholder: Words
    rules: Words


class Machine(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that machine.toml and the languages' files say of a machine."""

    name: str
    title: Words
    line: LineSettings
    eighth_bit: Literal["parity", "drop", "data"]
    display: Display
    typing: Typing
    keys: dict[str, bytes]
    prompts: tuple[Prompt, ...]
    lines: tuple[LinePattern, ...]
    interruptions: tuple[Interruption, ...]
    displays: tuple[StatusDisplay, ...]
    troubles: tuple[Trouble, ...]
    calendars: dict[str, Calendar]
    packs: dict[str, Pack]
    parts: dict[str, Words]
    drawn: dict[str, PartDrawn] = {}
    """How the parts are drawn, in the order of their row."""
    now: NowReadings = NowReadings()
    """Which readings say how busy it is."""
    tell_tales: dict[str, TellTale] = {}
    """The lamps and sounds by which people see and hear what it is doing."""
    switches: Switches = Switches()
    """Those on its front, for visitors to try on the page."""
    exercisers: tuple[Exerciser, ...] = ()
    marks: dict[str, Marks] = {}
    """By part: how its starts and stops are told."""
    error_signs: ErrorSigns = ErrorSigns()
    never: tuple[Pattern, ...]
    never_lifted: NeverLifted | None = None
    site: Site
    languages: dict[str, str]
    """Language tag to the language's own name for itself."""
    landmarks: dict[str, tuple[str, ...]] = {}
    """States of the console that can be recognised: the prompts, displays and last lines that each has."""

    def settle_us(self, rate: float = 1.0) -> int:
        """How long the line must be quiet before a prompt counts as settled, on a clock of this rate.

        The machine's characters run with the recording's clock, however fast that is; the adapter and this
        computer, which may hold them back, do not.
        """
        characters_us = self.typing.settle_characters * self.line.char_us
        return round(characters_us + self.typing.adapter_latency_us * rate)
