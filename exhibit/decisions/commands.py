"""What decisions return. Only the bridge carries commands out; it records each fact before it acts."""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.facts.kinds import AnyFact, Outcome

ECHO: Final = "echo"
"""The name of the deadline for what comes back of a command that is being typed."""
SECRET_CHARACTERS: Final = 16
"""A secret is typed in the time that this many characters take: only a longer one tells its length."""


class Type(msgspec.Struct, frozen=True, kw_only=True):
    """Put these bytes on the line, one after the other. `by` is who types; a secret is not recorded.

    Of a secret, the first byte is sent at once, and each further one `pause_us` after the one before, unless
    the machine blocks typing. The next deadline passes only when all have been sent. What remains is
    forgotten when the deadline "echo" is dropped.
    """

    data: bytes
    by: str
    secret: bool = False
    pause_us: int = 0

    def __repr__(self) -> str:
        return f"Type({'a secret' if self.secret else self.data!r}, by={self.by!r})"


class Arm(msgspec.Struct, frozen=True, kw_only=True):
    """Set a deadline, on the recording's clock. It replaces one of the same name."""

    name: str
    due_us: int


class Drop(msgspec.Struct, frozen=True, kw_only=True):
    """Forget a deadline, if it is set."""

    name: str


class Tell(msgspec.Struct, frozen=True, kw_only=True):
    """Record this fact."""

    fact: AnyFact


class End(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that a person asked for is over."""

    outcome: Outcome


class Resume(msgspec.Struct, frozen=True, kw_only=True):
    """A person has looked after a failure, so what was over continues."""


WatchCommand = Arm | Drop | Tell
"""The commands of a decider that only watches."""
Command = WatchCommand | Type | End | Resume
