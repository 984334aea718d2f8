"""What a line tells: the reader thread makes these, one after the other, and hands them over."""

from __future__ import annotations

from collections.abc import Callable
from typing import Literal

import msgspec

from exhibit.facts.errors import LineFault


class Opened(msgspec.Struct, frozen=True):
    """The line was opened, for the first time or again. What the machine sent before is not known."""

    description: str
    """Where it goes and its settings, for the record: `/dev/ttyUSB0, 9600 baud, ...`."""
    at_us: int
    opening: int
    """The number of this opening, from 1. Whoever types says by it which opening was decided upon."""
    keeps_time: bool = False
    """Whether characters take the time on it that its settings say (line_faults.keeps_time)."""


class Received(msgspec.Struct, frozen=True):
    """Bytes as they came, eighth bit and all; `at_us` is the arrival of the first of them."""

    data: bytes
    at_us: int


class Lost(msgspec.Struct, frozen=True):
    """The line went away; the reader goes on trying to open it again until it is stopped."""

    why: str
    at_us: int


class ErrorsCounted(msgspec.Struct, frozen=True):
    """Damaged characters that the serial hardware counted since the last such event.

    Only hardware counts them. A pseudo-terminal or a network line never tells of any, which
    doesn't mean that there were none.
    """

    parity: int
    framing: int
    overrun: int
    breaks: int
    at_us: int


class Unreadable(msgspec.Struct, frozen=True):
    """The first words after an opening aren't text by these settings; told once an opening.

    A guess (exhibit.decisions.console.noise). Who knows better, because the machine's eighth bit is dropped
    or is data, may leave a `cause` of parity aside; else raise `fault`, which says what to try.
    """

    cause: Literal["speed", "parity"]
    fault: LineFault
    at_us: int


class ReaderFailed(msgspec.Struct, frozen=True):
    """The thread that reads the line has ended, though nobody stopped it: nothing more is ever heard."""

    fault: LineFault


LineEvent = Opened | Received | Lost | ErrorsCounted | Unreadable | ReaderFailed
Deliver = Callable[[LineEvent], None]
