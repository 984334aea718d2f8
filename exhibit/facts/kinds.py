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
    DueFrom,
    EchoSign,
    HeardAgain,
    InterruptionSeen,
    LandmarkReached,
    LineErrorsCounted,
    LineLost,
    LineOpened,
    LocalEchoFound,
    MachineSilent,
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
from exhibit.facts.day_facts import (
    DayKept,
    DayPhase,
    DayTurned,
    HandsOff,
    KeyboardGivenBack,
    KeyboardTaken,
    NoteKind,
    NoteMade,
    TroubleOver,
    TroubleSeen,
    TroubleSetAside,
)
from exhibit.facts.engineer.work_facts import PackEntered, ReadingMeasured, WorkAct, WorkDone
from exhibit.facts.fact import CaptionKind, Fact, Outcome, Words, name_on_disc
from exhibit.facts.home_facts import (
    KeySent,
    LastRecordingRead,
    LineReadable,
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
    FactsMissing,
    Heartbeat,
    Mended,
    RecordingClosed,
    RecordingOpened,
    RecordNearlyFull,
)
from exhibit.facts.session_facts import (
    AnsweredLate,
    CaptionShown,
    DeadlineArmed,
    DeadlinePassed,
    HandsOnAsked,
    HandsOnConfirmed,
    HandsOnPutOff,
    HandsOnRefused,
    LateAnswer,
    LateAnswered,
    PackMounted,
    PromptVouched,
    RequestMade,
    RequestRefused,
    RoundsWentOn,
    ScriptEnded,
    ScriptStarted,
    SecretRefused,
    SessionFailed,
    SessionResting,
    StepEnded,
    StepFailed,
    StepLeftOut,
    StepMatched,
    StepOverdue,
    StepStarted,
    TidyUpStarted,
    WentOnAfter,
    WhatThen,
)
from exhibit.facts.terminal_facts import (
    BytesMissed,
    OtherProgramGone,
    OtherProgramSeen,
    TerminalLost,
    TerminalOpened,
    TypedByHand,
    TypedInVain,
)
from exhibit.facts.use_before import InDoubt
from exhibit.facts.use_facts import (
    DiscErrorsCounted,
    DoubtEnd,
    ExerciserBegun,
    ExerciserEnded,
    JobAsked,
    JobDoubtOver,
    JobInDoubt,
    JobListed,
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
    | LineReadable
    | PlaceSought
    | KeySent
    | PlaceRecognised
    | PersonAsked
    | LineErrorsCounted
    | MachineSilent
    | HeardAgain
    | BytesReceived
    | BytesWithheld
    | BytesTyped
    | SecretWithheld
    | SecretTyped
    | TerminalOpened
    | TerminalLost
    | TypedByHand
    | TypedInVain
    | BytesMissed
    | OtherProgramSeen
    | OtherProgramGone
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
    | PromptVouched
    | SecretRefused
    | StepFailed
    | StepEnded
    | TidyUpStarted
    | AnsweredLate
    | ScriptEnded
    | RoundsWentOn
    | ScriptLeftOut
    | SessionFailed
    | SessionCleared
    | SessionResting
    | DeadlineArmed
    | DeadlinePassed
    | HandsOnAsked
    | HandsOnConfirmed
    | HandsOnPutOff
    | HandsOnRefused
    | PackMounted
    | PackRemoved
    | ExerciserBegun
    | ExerciserEnded
    | JobAsked
    | JobInDoubt
    | JobListed
    | JobDoubtOver
    | PartStarted
    | PartStopped
    | DiscErrorsCounted
    | CaptionShown
    | TroubleRaised
    | RequestMade
    | RequestRefused
    | DayTurned
    | HandsOff
    | KeyboardTaken
    | KeyboardGivenBack
    | TroubleSeen
    | TroubleSetAside
    | TroubleOver
    | NoteMade
    | WorkDone
    | ReadingMeasured
    | PackEntered
    | ClockStepped
    | RecordNearlyFull
    | FactsMissing
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
    "AnsweredLate",
    "AnyFact",
    "BytesMissed",
    "BytesReceived",
    "BytesTyped",
    "BytesWithheld",
    "CaptionKind",
    "CaptionShown",
    "CarriedOver",
    "ClockStepped",
    "DayKept",
    "DayPhase",
    "DayTurned",
    "DeadlineArmed",
    "DeadlinePassed",
    "DiscErrorsCounted",
    "DoubtEnd",
    "DueFrom",
    "EchoSign",
    "Entry",
    "ExerciserBegun",
    "ExerciserEnded",
    "Fact",
    "FactsMissing",
    "HandsOff",
    "HandsOnAsked",
    "HandsOnConfirmed",
    "HandsOnPutOff",
    "HandsOnRefused",
    "HeardAgain",
    "Heartbeat",
    "InDoubt",
    "InterruptionSeen",
    "JobAsked",
    "JobDoubtOver",
    "JobInDoubt",
    "JobListed",
    "KeySent",
    "KeyboardGivenBack",
    "KeyboardTaken",
    "LandmarkReached",
    "LastRecordingRead",
    "LateAnswer",
    "LateAnswered",
    "LineErrorsCounted",
    "LineLost",
    "LineOpened",
    "LineReadable",
    "LineUnreadable",
    "LocalEchoFound",
    "MachineSilent",
    "Mended",
    "NoteKind",
    "NoteMade",
    "OtherProgramGone",
    "OtherProgramSeen",
    "Outcome",
    "PackEntered",
    "PackMounted",
    "PackRemoved",
    "PartStarted",
    "PartStopped",
    "PatternSeen",
    "PersonAsked",
    "PlaceRecognised",
    "PlaceSought",
    "PromptVouched",
    "ReadingMeasured",
    "ReadingTaken",
    "RecordNearlyFull",
    "RecordingClosed",
    "RecordingOpened",
    "RequestMade",
    "RequestRefused",
    "RoundsWentOn",
    "ScriptEnded",
    "ScriptLeftOut",
    "ScriptRefused",
    "ScriptStarted",
    "SecretRefused",
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
    "TerminalLost",
    "TerminalOpened",
    "TidyUpStarted",
    "TroubleOver",
    "TroubleRaised",
    "TroubleSeen",
    "TroubleSetAside",
    "TypedByHand",
    "TypedInVain",
    "TypingConfirmed",
    "TypingFailed",
    "TypingGarbled",
    "TypingHeld",
    "TypingLetGo",
    "TypingRefused",
    "UnknownFact",
    "WentOnAfter",
    "WhatThen",
    "Words",
    "WorkAct",
    "WorkDone",
    "to_bytes",
    "to_text",
]
