"""How the typing of a command, or a step, ended: returned together with the commands to carry out."""

from __future__ import annotations

import enum
from collections.abc import Sequence

import msgspec

from exhibit.decisions.commands import Command


class TypingEnd(enum.Enum):
    """How the typing of a command ended, unless it failed."""

    CONFIRMED = "the machine took the command"
    CANCELLED = "the command came back wrong, and is typed again when its prompt is showing"


class Done(msgspec.Struct, frozen=True):
    """The step was done."""


class Skipped(msgspec.Struct, frozen=True):
    """The step was left out."""

    why: str


class Failed(msgspec.Struct, frozen=True):
    """The command, or the step, has failed for good."""

    why: str
    may_be_answered: bool = False
    """The whole command and RETURN were typed, so that only the answer may be late."""


class Back(msgspec.Struct, frozen=True):
    """A step before this one must be done again first: the last one, or the one of this number."""

    to: int | None = None


class Keyed(msgspec.Struct, frozen=True):
    """The commands that typing calls for now, and how it ended with them; None: it continues."""

    commands: Sequence[Command]
    end: TypingEnd | Failed | None = None


class Stepped(msgspec.Struct, frozen=True):
    """The commands that a step calls for now, and how it ended with them; None: it continues."""

    commands: Sequence[Command]
    end: Done | Skipped | Failed | Back | None = None

    def after(self, *earlier: Command) -> Stepped:
        """The same, with other commands first."""
        return Stepped((*earlier, *self.commands), self.end)
