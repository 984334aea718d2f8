"""A machine as its folder describes it: plain, checked data; times are in microseconds."""

from __future__ import annotations

from typing import Final, Literal

import msgspec

from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.wear_rules import ErrorSigns, Exerciser, Marks
from exhibit.facts.console_facts import SafeToLeave, WhomToCall
from exhibit.facts.display import Display
from exhibit.facts.kinds import Words
from exhibit.facts.line_settings import LineSettings
from exhibit.facts.parts_and_cards import NowReadings, PartDrawn, Switches
from exhibit.facts.units import S_US
from exhibit.facts.visitor_words import Load, Plot, TellTale

ANSWER_WITHIN_US: Final = 5 * S_US


class Typing(msgspec.Struct, frozen=True, kw_only=True):
    """How the machine takes and echoes what is typed."""

    echo: Literal["full", "none"]
    folds_to: Literal["upper case", "as typed"]
    echo_within_us: int
    """How long a character's echo can take before the command counts as garbled."""
    settle_characters: int
    """A prompt has settled after this many character times of quiet plus the adapter's latency."""
    adapter_latency_us: int
    cancel: bytes
    """The key that throws away a half-typed command; empty if there is none."""
    after_cancel: Literal["prompt", "nothing"] = "prompt"
    """What the machine prints after the cancel key: its prompt again, or nothing that would show it."""
    return_key: bytes
    pause_after_us: int
    """Without echo: how long to wait after each character."""
    window: int
    """How many characters can lack their echo at a time: 1 for a machine that buffers only one."""
    show_again: bytes
    """The key that makes the machine print the half-typed line again; empty if there is none."""
    nudge: bytes = b""
    """The key that, typed at a command prompt, only makes the machine print it again; empty if none does."""
    answer_within_us: int = ANSWER_WITHIN_US
    """How long after something was due from the machine nobody says so. Then it counts as silent."""

    def folded(self, text: str) -> str:
        """The text as the machine takes and shows it."""
        if self.folds_to == "as typed":
            return text
        # No capital letter on a console takes two places: ß has none.
        return "".join(capital if len(capital := letter.upper()) == 1 else letter for letter in text)


class Prompt(msgspec.Struct, frozen=True, kw_only=True):
    """Text at the end of the output, after which the machine waits for something to be typed."""

    name: str
    pattern: Pattern
    kind: Literal["command", "question", "secret"]
    """A question can take a bare RETURN for an answer; the answer to a secret prompt isn't echoed."""


class LinePattern(msgspec.Struct, frozen=True, kw_only=True):
    """A whole printed line that the folder names."""

    name: str
    pattern: Pattern
    below: str = ""
    """Not empty: it is a row of a table, and counts only below this heading, one of the other lines."""


class Interruption(msgspec.Struct, frozen=True, kw_only=True):
    """A broadcast in the middle of other output. It starts with a known line; one of the other three says how
    it ends."""

    name: str
    starts: Pattern
    lines: int = 0
    """It has this many lines, including blank ones ..."""
    blank_lines: int = 0
    """... or ends with this many blank lines ..."""
    ends: Pattern | None = None
    """... or with this line."""


class Reading(msgspec.Struct, frozen=True, kw_only=True):
    """A value on a status display: one number or text on one row, or a table over several."""

    name: str
    kind: Literal["number", "text", "table"]
    first_row: int
    last_row: int
    """Rows count from 1; the last is included."""
    pattern: Pattern


class StatusDisplay(msgspec.Struct, frozen=True, kw_only=True):
    """A full-screen display that the machine repaints until it is stopped."""

    name: str
    title_row: int
    title: Pattern
    ends_at: tuple[int, int] | None
    """A frame ends when the cursor is moved to this row and column, both from 1 ..."""
    ends_after_quiet_us: int | None
    """... or when the line has been quiet for this long. Exactly one of the two is given."""
    readings: tuple[Reading, ...]
    paint_again: bytes = b""
    """The key after which the machine paints it anew; empty if there is none."""


class Trouble(msgspec.Struct, frozen=True, kw_only=True):
    """A printed line, or a row of a status display, that means something is wrong."""

    name: str
    pattern: Pattern
    ends_script: bool
    """Whether the running step then fails, and its script with it."""
    blocked_for_us: int = 0
    """Not 0: the trouble isn't printed, but is an XOFF that has blocked typing for this long."""
    display: str = ""
    """The status display that shows it; empty for a printed line."""
    first_row: int = 0
    last_row: int = 0
    """On a display: rows count from 1; the last is included."""
    words: Words
    do: Words
    caution: Words = {}
    safe_to_leave: SafeToLeave = "unknown"
    """Whether the machine can be left alone meanwhile."""
    call: WhomToCall = "keyholder"
    over_when: tuple[str, ...] = ()
    """The prompts, lines, displays and interruptions that show that it is over."""
    bring: tuple[str, ...] = ()
    """What an engineer should bring who comes because of it: spares, instruments, sheets."""


class Calendar(msgspec.Struct, frozen=True, kw_only=True):
    """The years that a system on the machine can handle, and how it wants a date written."""

    name: str
    year: Literal["as it is", "stand-in", "fixed", "ask"]
    fixed_year: int
    """The year to type if `year` is "fixed"; 0 otherwise."""
    earliest: int
    latest: int
    template: str
    """Text with places such as {day} and {year}; `calendars.PLACES` lists them all."""


class Pack(msgspec.Struct, frozen=True, kw_only=True):
    """A removable disc or tape."""

    name: str
    label: str
    drive: str
    may_be_written: bool
    original: bool = False
    """Whether it dates from the machine's own time and is not a copy."""


class NeverLifted(msgspec.Struct, frozen=True, kw_only=True):
    """A pattern of `never` that one step of the closing may type all the same, and why."""

    command: str
    """The pattern, exactly as it is written in `never`."""
    step: str
    reason: str


class Site(msgspec.Struct, frozen=True, kw_only=True):
    """What a person in front of the machine must know, in each language."""

    mains_stop: Words
    keyholder: Words
    rules: Words
    two_people: Words = {}
    """Who else must be there, and when."""
    risk_assessment: Words = {}
    """Which one holds for the machine, and where it is kept."""
    fire_watch: Words = {}
    """Who looks in after the machine was switched off."""


class Silence(msgspec.Struct, frozen=True, kw_only=True):
    """A landmark at which the machine sends nothing."""

    landmark: str
    wake: bytes = b""
    """The key after which the machine shows what it is at; empty: nothing that is typed brings an answer."""


class Machine(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that machine.toml and the files of its languages say about a machine."""

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
    """How the page draws the parts, from left to right."""
    tested: dict[str, list[str]] = {}
    """By part, the lines that say that its store was tested and is in order."""
    now: NowReadings = NowReadings()
    """Which readings say how busy it is."""
    tell_tales: dict[str, TellTale] = {}
    """The lamps and sounds that show what it is doing."""
    plots: dict[str, Plot] = {}
    """The charts of what its jobs print."""
    loads: dict[str, Load] = {}
    """The lines that it prints piece by piece while it loads something."""
    switches: Switches = Switches()
    """The switches on its front, for visitors to try on the page."""
    exercisers: tuple[Exerciser, ...] = ()
    marks: dict[str, Marks] = {}
    """By part: the signs of its starts and stops."""
    error_signs: ErrorSigns = ErrorSigns()
    never: tuple[Pattern, ...]
    never_lifted: NeverLifted | None = None
    site: Site
    plug: Words = {}
    """Which plug of the machine's own terminal goes where, if its folder says so."""
    languages: dict[str, str]
    """Language tag to the language's own name for itself."""
    landmarks: dict[str, tuple[str, ...]] = {}
    """States of the console that can be recognised: the prompts, displays and last lines of each."""
    silences: tuple[Silence, ...] = ()
    """The landmarks that a silence can mean: at most one with a key that wakes the machine, one without."""
    typing_at: dict[str, Typing] = {}
    """By landmark: how the machine takes what is typed there, if it isn't as `typing` says."""

    def typing_for(self, name: str) -> Typing:
        """How the machine takes what is typed at this prompt, line or display, or anywhere for ""."""
        if not self.typing_at or not name:
            return self.typing
        landmark = next((landmark for landmark, names in self.landmarks.items() if name in names), "")
        return self.typing_at.get(landmark, self.typing)

    @property
    def typings(self) -> tuple[Typing, ...]:
        """All the ways in which the machine takes what is typed, the usual one first."""
        return (self.typing, *self.typing_at.values())

    @property
    def limits_xoff(self) -> bool:
        """Whether the folder says how long the machine may block typing. If not, it may for hours."""
        return any(trouble.blocked_for_us for trouble in self.troubles)

    @property
    def longest_echo_us(self) -> int:
        """The longest time that an echo can take anywhere."""
        return max(typing.echo_within_us for typing in self.typings)

    def settle_us(self, rate: float = 1.0) -> int:
        """How long the line must be quiet before a prompt counts as settled, on a clock of this rate.

        Characters take the same time on the recording's clock at any rate. The delays of the adapter and of
        this computer are in real time, so they count for more on a faster clock.
        """
        characters_us = self.typing.settle_characters * self.line.char_us
        return round(characters_us + self.typing.adapter_latency_us * rate)
