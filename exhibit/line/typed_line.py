"""A second line that only receives, on which what a person types at the machine's own terminal is heard."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import msgspec

from exhibit.facts.errors import LineFault
from exhibit.line.events import (
    ErrorsCounted,
    LineEvent,
    Lost,
    Opened,
    Received,
    TerminalHeard,
    TerminalSilent,
    Typed,
    Unreadable,
)


def as_typed(event: LineEvent) -> LineEvent | None:
    """What an event of that line means; None if nothing: damage there doesn't damage what the machine got."""
    match event:
        case Opened(description, at_us):
            return TerminalHeard(description, at_us)
        case Lost(why, at_us):
            return TerminalSilent(why, at_us)
        case Received(data, at_us):
            return Typed(data, at_us)
        case Unreadable():
            return msgspec.structs.replace(event, at_terminal=True)
        case ErrorsCounted():
            return None
    return event


@contextmanager
def at_option(option: str) -> Iterator[None]:
    """Names this option instead of --line in what a person should do about a LineFault."""
    try:
        yield
    except LineFault as fault:
        raise type(fault)(fault.what, fault.why, fault.do.replace("--line", option)) from fault
