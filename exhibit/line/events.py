"""The events of a line: its reader thread delivers them, one after another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import msgspec

from exhibit.facts.errors import LineFault


class Opened(msgspec.Struct, frozen=True):
    """The line was opened, for the first time or again. What the machine sent before is unknown."""

    description: str
    """Its address and settings, for the recording: `/dev/ttyUSB0, 9600 baud, ...`."""
    at_us: int
    opening: int
    """The number of this opening, counted from 1. The typist types only at the opening that it is given."""
    keeps_time: bool = False
    """Whether each character takes as long on the line as the settings say (faults.keeps_time)."""


class Received(msgspec.Struct, frozen=True):
    """Bytes as they arrived, including the eighth bit; `at_us` is when the first of them arrived."""

    data: bytes
    at_us: int


class Lost(msgspec.Struct, frozen=True):
    """The line was lost. The reader keeps trying to open it again until it is stopped."""

    why: str
    at_us: int


class ErrorsCounted(msgspec.Struct, frozen=True):
    """How many damaged characters the serial hardware counted since the last such event.

    Pseudo-terminals and network lines never report any, which doesn't mean that there were none.
    """

    parity: int
    framing: int
    overrun: int
    breaks: int
    at_us: int


class Unreadable(msgspec.Struct, frozen=True):
    """What first arrived is most likely not text at these settings. At most one event for each opening.

    If text arrives after all, `Readable` follows.

    It is a guess (exhibit.decisions.console.noise). Ignore a `cause` of parity if the machine's eighth bit is
    dropped or is data; otherwise `fault` says what to try.
    """

    cause: Literal["speed", "parity"]
    fault: LineFault
    at_us: int
    at_terminal: bool = False
    """Whether it arrived on the line on which a person's typing is heard."""


class Readable(msgspec.Struct, frozen=True):
    """Text has arrived after what `Unreadable` reported with this `cause`: that no longer holds."""

    cause: Literal["speed", "parity"]
    at_us: int


class ReaderFailed(msgspec.Struct, frozen=True):
    """The thread that reads the line has failed, so nothing more will ever be received."""

    fault: LineFault


class TerminalHeard(msgspec.Struct, frozen=True):
    """From now on what a person types at the terminal is heard. `passed`: this program passes it on."""

    description: str
    at_us: int
    passed: bool = False


class TerminalSilent(msgspec.Struct, frozen=True):
    """What a person types can't be heard any more."""

    why: str
    at_us: int


class Typed(msgspec.Struct, frozen=True):
    """A person typed these bytes at the terminal; `at_us` is when the first of them was heard."""

    data: bytes
    at_us: int


class InVain(msgspec.Struct, frozen=True):
    """A person typed so many characters while the machine's port was lost: they reached nobody."""

    count: int
    at_us: int


class NotHeard(msgspec.Struct, frozen=True):
    """So many characters were passed between machine and terminal without a copy reaching this program."""

    received: int
    typed: int
    why: str
    at_us: int


class OthersFound(msgspec.Struct, frozen=True):
    """Other programs that have the port open now; none if they have all closed it again (line.sharing)."""

    port: str
    programs: tuple[str, ...]
    at_us: int


LineEvent = (
    Opened
    | Received
    | Lost
    | ErrorsCounted
    | Unreadable
    | Readable
    | ReaderFailed
    | TerminalHeard
    | TerminalSilent
    | Typed
    | InVain
    | NotHeard
    | OthersFound
)
Deliver = Callable[[LineEvent], None]
