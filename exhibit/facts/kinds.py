"""Every kind of fact, in one place.

A fact is in the past tense and means one thing. All that happens is a fact in a recording; every
page, export and sum reads those facts and nothing else. A kind's name on disc is its class name in
lower case with underscores (`BytesReceived` is `bytes_received`).

Bytes are kept as text in which each character stands for the byte of the same number (ISO/IEC
8859-1), so that a recording can be read by eye. Times named `_us` are microseconds on the
recording's own clock, which starts at 0 when the recording is opened and runs at its `rate`.
"""

from __future__ import annotations

import re
from typing import Literal, get_args

import msgspec

from exhibit.facts.display import Display

Words = dict[str, str]
"""The same words in each language, by language tag (BCP 47): {"en": "...", "de": "..."}."""

Outcome = Literal["done", "failed", "stopped"]
CaptionKind = Literal["seen", "look or listen for", "background"]


def _name_on_disc(class_name: str) -> str:
    return re.sub(r"(?<!^)(?=[A-Z])", "_", class_name).lower()


class Fact(msgspec.Struct, frozen=True, kw_only=True, tag_field="fact", tag=_name_on_disc):
    """Something that happened."""


class RecordingOpened(Fact, frozen=True, kw_only=True):
    """The first fact of every recording: what is needed to read and to show the rest."""

    format: int
    how_to_read: str
    software: str
    machine: str
    title: Words
    parts: dict[str, Words]
    """The parts that a caption may point at: id to name."""
    languages: dict[str, str]
    """Language tag to the language's own name for itself, in the order of the folder."""
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


class LineOpened(Fact, frozen=True, kw_only=True):
    """The line to the machine was opened."""

    line: str


class LineLost(Fact, frozen=True, kw_only=True):
    """The line to the machine went away; it is being tried again."""

    why: str


class LineErrorsCounted(Fact, frozen=True, kw_only=True):
    """Damaged characters since the last such fact, by kind."""

    parity: int = 0
    framing: int = 0
    overrun: int = 0
    breaks: int = 0


class BytesReceived(Fact, frozen=True, kw_only=True):
    """A piece of what the machine sent. The fact's own time is that of the last byte."""

    bytes: str
    first_us: int


class BytesWithheld(Fact, frozen=True, kw_only=True):
    """Bytes were received that might hold a secret; only their number is kept."""

    count: int
    why: str


class BytesTyped(Fact, frozen=True, kw_only=True):
    """Bytes went to the machine. Of a secret only the number is kept, and `bytes` is empty."""

    bytes: str
    count: int
    by: str
    secret: bool = False


class TypingFailed(Fact, frozen=True, kw_only=True):
    """The line didn't take the byte that was just recorded as typed: it may or may not have gone."""

    why: str


class TypingRefused(Fact, frozen=True, kw_only=True):
    """A command was not typed."""

    command: str
    why: str


class TypingGarbled(Fact, frozen=True, kw_only=True):
    """A command came back wrong, so it was cancelled instead of being sent."""

    command: str
    expected: str
    came_back: str
    attempt: int


class TypingConfirmed(Fact, frozen=True, kw_only=True):
    """A command came back right and the machine took its RETURN with a new line."""

    command: str
    attempts: int


class PatternSeen(Fact, frozen=True, kw_only=True):
    """A line that we know was printed in full."""

    pattern: str
    line: str
    fields: dict[str, str] = {}


class LandmarkReached(Fact, frozen=True, kw_only=True):
    """A prompt or a status display that we know stands on the console and has settled."""

    landmark: str
    line: str
    fields: dict[str, str] = {}


class InterruptionSeen(Fact, frozen=True, kw_only=True):
    """A broadcast came in the middle of other output and was lifted out of it."""

    interruption: str
    text: str


class ReadingTaken(Fact, frozen=True, kw_only=True):
    """A value was read off a status display when its frame had ended; a table comes as rows."""

    display: str
    frame: int
    """Counts the frames read off this display since the recording was opened, from 1."""
    name: str
    value: int | float | str = ""
    table: list[dict[str, str]] | None = None


class ScriptStarted(Fact, frozen=True, kw_only=True):
    """A script was started; `round` counts from 1 and is 0 outside the rounds."""

    script: str
    title: Words
    by: str
    round: int = 0


class StepStarted(Fact, frozen=True, kw_only=True):
    """A step of the script was started."""

    script: str
    step: str
    tidying: bool = False


class StepMatched(Fact, frozen=True, kw_only=True):
    """What the step waited for came."""

    script: str
    step: str
    name: str
    """The prompt, pattern or display that came."""
    line: str
    fields: dict[str, str] = {}


class StepLeftOut(Fact, frozen=True, kw_only=True):
    """The step had nothing to do: the job that it would stop was never started."""

    script: str
    step: str
    why: str


class StepOverdue(Fact, frozen=True, kw_only=True):
    """The step's time was up before what it waited for came."""

    script: str
    step: str
    waited_for: list[str]
    within_us: int
    last_lines: list[str]


class StepFailed(Fact, frozen=True, kw_only=True):
    """The step could not be done."""

    script: str
    step: str
    why: str


class StepEnded(Fact, frozen=True, kw_only=True):
    """The step was done."""

    script: str
    step: str


class TidyUpStarted(Fact, frozen=True, kw_only=True):
    """The script's tidy-up was started, and why."""

    script: str
    why: str


class ScriptEnded(Fact, frozen=True, kw_only=True):
    """The script and its tidy-up are over. `tidy` is false when the tidy-up could not be done."""

    script: str
    outcome: Outcome
    tidy: bool
    why: str


class SessionFailed(Fact, frozen=True, kw_only=True):
    """Nothing more is typed until a person has looked and started afresh."""

    why: str
    last_lines: list[str]


class SessionResting(Fact, frozen=True, kw_only=True):
    """All scripts that were asked for are done, or the pause between two rounds has begun."""

    until_us: int
    """When the next round begins; 0 when nothing more is to come."""


class DeadlineArmed(Fact, frozen=True, kw_only=True):
    """A deadline was set; arming one of the same name again replaces it."""

    name: str
    due_us: int


class DeadlinePassed(Fact, frozen=True, kw_only=True):
    """A deadline passed and was still wanted."""

    name: str


class HandsOnAsked(Fact, frozen=True, kw_only=True):
    """A person was asked to do something by hand."""

    script: str
    step: str
    words: Words
    caution: Words


class HandsOnConfirmed(Fact, frozen=True, kw_only=True):
    """A person said that it is done."""

    step: str
    by: str


class HandsOnRefused(Fact, frozen=True, kw_only=True):
    """A person said that it can't be done."""

    step: str
    by: str
    why: str


class PackMounted(Fact, frozen=True, kw_only=True):
    """A person confirmed which pack is in which drive and whether it may be written."""

    label: str
    drive: str
    may_be_written: bool
    by: str


class CaptionShown(Fact, frozen=True, kw_only=True):
    """The visitors were told this."""

    caption: str
    kind: CaptionKind
    words: Words
    part: str
    because: list[int]
    """The numbers (`seq`) of the facts that the caption rests on."""
    source: Words
    """The written source of a background caption; empty for the other kinds."""


class TroubleRaised(Fact, frozen=True, kw_only=True):
    """The machine printed something that means trouble."""

    trouble: str
    line: str
    words: Words
    do: Words


class RequestMade(Fact, frozen=True, kw_only=True):
    """A person asked the bridge for something: to confirm, to refuse, or to stop typing."""

    request: Literal["confirm", "refuse", "stop"]
    by: str
    step: str = ""
    """The hands-on step that is confirmed or refused."""
    why: str = ""


class RequestRefused(Fact, frozen=True, kw_only=True):
    """What was asked for was not done."""

    request: str
    why: str


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


AnyFact = (
    RecordingOpened
    | LineOpened
    | LineLost
    | LineErrorsCounted
    | BytesReceived
    | BytesWithheld
    | BytesTyped
    | TypingFailed
    | TypingRefused
    | TypingGarbled
    | TypingConfirmed
    | PatternSeen
    | LandmarkReached
    | InterruptionSeen
    | ReadingTaken
    | ScriptStarted
    | StepStarted
    | StepMatched
    | StepLeftOut
    | StepOverdue
    | StepFailed
    | StepEnded
    | TidyUpStarted
    | ScriptEnded
    | SessionFailed
    | SessionResting
    | DeadlineArmed
    | DeadlinePassed
    | HandsOnAsked
    | HandsOnConfirmed
    | HandsOnRefused
    | PackMounted
    | CaptionShown
    | TroubleRaised
    | RequestMade
    | RequestRefused
    | ClockStepped
    | RecordNearlyFull
    | Heartbeat
    | RecordingClosed
)

ALL_KINDS: dict[str, type[Fact]] = {_name_on_disc(kind.__name__): kind for kind in get_args(AnyFact)}
"""Name on disc to class."""


class UnknownFact(msgspec.Struct, frozen=True, kw_only=True):
    """A fact of a kind that this version doesn't know: carried along, not shown."""

    name: str
    raw: str


class Entry(msgspec.Struct, frozen=True):
    """A fact in its place: its number in the recording, from 1, and its time."""

    seq: int
    at_us: int
    fact: AnyFact | UnknownFact


def to_text(data: bytes) -> str:
    """The text that stands for these bytes in a fact."""
    return data.decode("latin-1")


def to_bytes(text: str) -> bytes:
    """The bytes for which a fact's text stands."""
    return text.encode("latin-1")
