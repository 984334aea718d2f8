"""Facts about finding out where the console stands, and about going home from there."""

from __future__ import annotations

from typing import Literal

from exhibit.facts.fact import Fact


class LastRecordingRead(Fact, frozen=True, kw_only=True):
    """What the recording before this one left open at the machine was read. Empty where it left nothing."""

    recording: str
    """Its file's name; empty when there is none of a machine that was typed at."""
    closed: bool
    """Whether it was ended in good order."""
    may_lack: bool
    """Whether its last second may lack: it broke off, and the computer was started anew since."""
    line_lost: bool
    half_typed: str
    """What was typed behind the last RETURN or cancel key, a `*` for each character of a secret."""
    unanswered: str
    """The command whose RETURN was typed, and not answered with a new line."""
    question: str
    """The prompt that asked something and was not answered."""
    display: str
    """The status display that stood."""
    script: str
    """The script that was not ended, or whose tidy-up could not be done."""
    step: str
    """The step that had been started last in it."""
    returned: bool
    """Whether that step had typed a RETURN, and what it waited for had not come."""
    numbers: dict[str, dict[str, str]]
    """By step: what the machine gave that the script's tidy-up names, and that wasn't put away yet."""
    put_away: list[str]
    """The steps that had put something away by such a number."""


class PlaceSought(Fact, frozen=True, kw_only=True):
    """It was begun to find out where the console stands; nothing is typed while the machine prints."""

    why: str
    vouched: bool = False
    """A person has looked, and says that it is safe to go on."""


class KeySent(Fact, frozen=True, kw_only=True):
    """A harmless key was typed that lets the machine show where it is."""

    key: Literal["nudge", "cancel"]
    why: str


class PlaceRecognised(Fact, frozen=True, kw_only=True):
    """It was found out where the console stands."""

    place: str
    """A landmark of the machine's folder; `silent` where nothing is to be heard."""
    line: str
    """What stood there."""


class ScriptLeftOut(Fact, frozen=True, kw_only=True):
    """A script was not needed: the machine was already where it leads."""

    script: str
    why: str


class PersonAsked(Fact, frozen=True, kw_only=True):
    """It isn't known how to go on from here: a person was asked to look."""

    why: str
    rows: list[str]
    """What stood on the display, from the top, without the empty rows at its end."""


class SessionCleared(Fact, frozen=True, kw_only=True):
    """A person has looked after a failure, and said that it may go on."""

    by: str


class LineUnreadable(Fact, frozen=True, kw_only=True):
    """What came first on a line just opened was most likely no text by the line's settings."""

    cause: Literal["speed", "parity"]
    what: str
    do: str
