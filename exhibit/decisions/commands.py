"""What decisions order. Only the bridge carries it out, and writes the fact before the act."""

from __future__ import annotations

import msgspec

from exhibit.facts.kinds import AnyFact, Outcome


class Type(msgspec.Struct, frozen=True, kw_only=True):
    """Put these bytes on the line, one after the other."""

    data: bytes
    by: str
    secret: bool = False


class Arm(msgspec.Struct, frozen=True, kw_only=True):
    """Set a deadline; one of the same name is replaced."""

    name: str
    due_us: int


class Drop(msgspec.Struct, frozen=True, kw_only=True):
    """Forget a deadline, if it is set."""

    name: str


class Tell(msgspec.Struct, frozen=True, kw_only=True):
    """Record this fact."""

    fact: AnyFact


class End(msgspec.Struct, frozen=True, kw_only=True):
    """All that was asked for is over."""

    outcome: Outcome


class Resume(msgspec.Struct, frozen=True, kw_only=True):
    """What was over goes on: a person has looked after a failure."""


WatchCommand = Arm | Drop | Tell
"""What a decider can order that only watches."""
Command = WatchCommand | Type | End | Resume
