"""Every kind of fact, in one place.

A fact is in the past tense and means one thing. Everything that happens is recorded as a fact; every
page, export and sum reads those facts and nothing else. A kind's name on disc is its class name in
lower case with underscores (`BytesReceived` is `bytes_received`).

Bytes are stored as text in which each character represents the byte of the same number (ISO/IEC
8859-1), so that people can read a recording. Times named `_us` are microseconds on the
recording's own clock, which starts at 0 when the recording is opened and runs at its `rate`.
"""

from __future__ import annotations

from typing import get_args

import msgspec

from exhibit.facts.console_facts import (
    BytesReceived,
    BytesTyped,
    BytesWithheld,
    EchoSign,
    InterruptionSeen,
    LandmarkReached,
    LineErrorsCounted,
    LineLost,
    LineOpened,
    LocalEchoFound,
    PatternSeen,
    ReadingTaken,
    SecretTyped,
    SecretWithheld,
    TroubleRaised,
    TypingConfirmed,
    TypingFailed,
    TypingGarbled,
    TypingHeld,
    TypingLetGo,
    TypingRefused,
)
from exhibit.facts.fact import CaptionKind, Fact, Outcome, Words, name_on_disc
from exhibit.facts.home_facts import (
    KeySent,
    LastRecordingRead,
    LineUnreadable,
    PersonAsked,
    PlaceRecognised,
    PlaceSought,
    ScriptLeftOut,
    SessionCleared,
)
from exhibit.facts.recording_facts import (
    CarriedOver,
    ClockStepped,
    Heartbeat,
    RecordingClosed,
    RecordingOpened,
    RecordNearlyFull,
)
from exhibit.facts.session_facts import (
    CaptionShown,
    DeadlineArmed,
    DeadlinePassed,
    HandsOnAsked,
    HandsOnConfirmed,
    HandsOnRefused,
    LateAnswer,
    LateAnswered,
    PackMounted,
    RequestMade,
    RequestRefused,
    ScriptEnded,
    ScriptStarted,
    SessionFailed,
    SessionResting,
    StepEnded,
    StepFailed,
    StepLeftOut,
    StepMatched,
    StepOverdue,
    StepStarted,
    TidyUpStarted,
    WhatThen,
)
from exhibit.facts.use_facts import (
    DiscErrorsCounted,
    ExerciserBegun,
    ExerciserEnded,
    PackRemoved,
    PartStarted,
    PartStopped,
    ScriptRefused,
)

AnyFact = (
    RecordingOpened
    | CarriedOver
    | LastRecordingRead
    | LineOpened
    | LineLost
    | LineUnreadable
    | PlaceSought
    | KeySent
    | PlaceRecognised
    | PersonAsked
    | LineErrorsCounted
    | BytesReceived
    | BytesWithheld
    | BytesTyped
    | SecretWithheld
    | SecretTyped
    | TypingFailed
    | TypingRefused
    | TypingGarbled
    | TypingConfirmed
    | LocalEchoFound
    | TypingHeld
    | TypingLetGo
    | PatternSeen
    | LandmarkReached
    | InterruptionSeen
    | ReadingTaken
    | ScriptRefused
    | ScriptStarted
    | StepStarted
    | StepMatched
    | StepLeftOut
    | StepOverdue
    | LateAnswered
    | StepFailed
    | StepEnded
    | TidyUpStarted
    | ScriptEnded
    | ScriptLeftOut
    | SessionFailed
    | SessionCleared
    | SessionResting
    | DeadlineArmed
    | DeadlinePassed
    | HandsOnAsked
    | HandsOnConfirmed
    | HandsOnRefused
    | PackMounted
    | PackRemoved
    | ExerciserBegun
    | ExerciserEnded
    | PartStarted
    | PartStopped
    | DiscErrorsCounted
    | CaptionShown
    | TroubleRaised
    | RequestMade
    | RequestRefused
    | ClockStepped
    | RecordNearlyFull
    | Heartbeat
    | RecordingClosed
)

ALL_KINDS: dict[str, type[Fact]] = {name_on_disc(kind.__name__): kind for kind in get_args(AnyFact)}
"""The class of each kind, by its name on disc."""


class UnknownFact(msgspec.Struct, frozen=True, kw_only=True):
    """A fact of a kind that this version doesn't know: kept unchanged, but not shown. `raw` is its JSON."""

    name: str
    raw: str


class Entry(msgspec.Struct, frozen=True):
    """A fact with its number in the recording, counted from 1, and its time."""

    seq: int
    at_us: int
    fact: AnyFact | UnknownFact


def to_text(data: bytes) -> str:
    """The text that represents these bytes in a fact."""
    return data.decode("latin-1")


def to_bytes(text: str) -> bytes:
    """The bytes that a fact's text represents."""
    return text.encode("latin-1")


__all__ = [
    "ALL_KINDS",
    "AnyFact",
    "BytesReceived",
    "BytesTyped",
    "BytesWithheld",
    "CaptionKind",
    "CaptionShown",
    "CarriedOver",
    "ClockStepped",
    "DeadlineArmed",
    "DeadlinePassed",
    "DiscErrorsCounted",
    "EchoSign",
    "Entry",
    "ExerciserBegun",
    "ExerciserEnded",
    "Fact",
    "HandsOnAsked",
    "HandsOnConfirmed",
    "HandsOnRefused",
    "Heartbeat",
    "InterruptionSeen",
    "KeySent",
    "LandmarkReached",
    "LastRecordingRead",
    "LateAnswer",
    "LateAnswered",
    "LineErrorsCounted",
    "LineLost",
    "LineOpened",
    "LineUnreadable",
    "LocalEchoFound",
    "Outcome",
    "PackMounted",
    "PackRemoved",
    "PartStarted",
    "PartStopped",
    "PatternSeen",
    "PersonAsked",
    "PlaceRecognised",
    "PlaceSought",
    "ReadingTaken",
    "RecordNearlyFull",
    "RecordingClosed",
    "RecordingOpened",
    "RequestMade",
    "RequestRefused",
    "ScriptEnded",
    "ScriptLeftOut",
    "ScriptRefused",
    "ScriptStarted",
    "SecretTyped",
    "SecretWithheld",
    "SessionCleared",
    "SessionFailed",
    "SessionResting",
    "StepEnded",
    "StepFailed",
    "StepLeftOut",
    "StepMatched",
    "StepOverdue",
    "StepStarted",
    "TidyUpStarted",
    "TroubleRaised",
    "TypingConfirmed",
    "TypingFailed",
    "TypingGarbled",
    "TypingHeld",
    "TypingLetGo",
    "TypingRefused",
    "UnknownFact",
    "WhatThen",
    "Words",
    "to_bytes",
    "to_text",
]
