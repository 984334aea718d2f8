"""How typing, or a step, ended. This is returned with the commands that it ordered on the way."""

from __future__ import annotations

import enum
from collections.abc import Sequence

import msgspec

from exhibit.decisions.commands import Command


class TypingEnd(enum.Enum):
    """How the typing of a command ended, unless it failed."""

    CONFIRMED = "the machine took the command"
    CANCELLED = "the command came back wrong, and is typed again when its prompt stands"


class Done(msgspec.Struct, frozen=True):
    """The step was done."""


class Skipped(msgspec.Struct, frozen=True):
    """The step was left out."""

    why: str


class Failed(msgspec.Struct, frozen=True):
    """The command, or the step, has failed for good."""

    why: str


class Keyed(msgspec.Struct, frozen=True):
    """What is ordered while a command is typed, and how its typing ended with that; None: it goes on."""

    commands: Sequence[Command]
    end: TypingEnd | Failed | None = None


class Stepped(msgspec.Struct, frozen=True):
    """What a step orders, and how the step ended with that; None: it goes on."""

    commands: Sequence[Command]
    end: Done | Skipped | Failed | None = None

    def after(self, *earlier: Command) -> Stepped:
        """The same, with other commands before it."""
        return Stepped((*earlier, *self.commands), self.end)
