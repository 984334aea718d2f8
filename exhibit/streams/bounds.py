"""What a recording can say: facts beyond these bounds weren't recorded by this program at any machine.

A recording can come from a stranger, with right checksums. A number that no clock shows, a screen of a
million rows or a plot with a mark at each hair would keep whoever reads it busy for ever. The bounds are
those of a machine's folder, or wider.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any, Final

import msgspec

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import (
    AnyFact,
    BytesReceived,
    BytesTyped,
    ClockStepped,
    Entry,
    Heartbeat,
    RecordingOpened,
    TypedByHand,
    UnknownFact,
)

SLOWEST: Final = 0.01
FASTEST: Final = 10_000.0
"""Recording seconds per real second."""
MOST_AT_ONCE: Final = 64 * 1024
"""Bytes received or typed in one fact. The bridge gathers a few hundred at most."""
LARGEST_WHOLE: Final = 2**63
LARGEST: Final = 1e18
MOST_ITEMS: Final = 2_000
"""Entries of one list or table."""
LONGEST_TEXT: Final = 100_000
LONGEST_PICTURE: Final = 400_000
LATEST_US: Final = 10 * 366 * 86_400 * 1_000_000
"""Ten years by the recording's own clock. A recording is of one day; no clock is so fast."""
EARLIEST_YEAR: Final = 1900
LATEST_YEAR: Final = 2200

# Nearly every line is shorter and has no such number, so that few need a closer look.
_SHORT_BYTES: Final = 4096
_EXTREME: Final = re.compile(rb"[0-9]{18}|[0-9][eE][+-]?[0-9]{2}")
_Found = tuple[str, Any, float, float]
"""Which number it is, its value, and its bounds."""


def is_within(line: bytes, entry: Entry) -> bool:
    """Whether this entry, read from this line, can have been recorded. Doesn't judge what is unknown."""
    fact = entry.fact
    if not 0 <= entry.at_us <= LATEST_US:
        return False
    if type(fact) is BytesReceived:  # nearly all are: the same as below, without searching the line
        return len(fact.bytes) <= MOST_AT_ONCE and -LARGEST_WHOLE <= fact.first_us <= LARGEST_WHOLE
    if isinstance(fact, UnknownFact | RecordingOpened):
        return True
    if isinstance(fact, Heartbeat | ClockStepped) and not is_a_date(fact.wall):
        return False
    if len(line) <= _SHORT_BYTES and _EXTREME.search(line) is None:
        return True
    if isinstance(fact, BytesReceived | BytesTyped | TypedByHand) and len(fact.bytes) > MOST_AT_ONCE:
        return False
    return _is_usual(fact)


def check_opened(opened: RecordingOpened) -> None:
    """Raises RecordingFault if a recording's first fact says something that can't be."""
    if not is_a_date(opened.wall):
        raise _impossible("the date and time of its beginning", opened.wall[:40])
    for what, value, low, high in _numbers(opened):
        if not low <= value <= high:
            raise _impossible(what, value, f", and it must be from {low:g} to {high:g}")
    if strange := _unusual(msgspec.to_builtins(opened)):
        raise _impossible(strange, "far too large")


def is_a_date(text: str) -> bool:
    """Whether this is a date and time at which a museum can have recorded something."""
    try:
        return EARLIEST_YEAR <= read_wall(text).year <= LATEST_YEAR
    except RecordingFault:
        return False


def _numbers(opened: RecordingOpened) -> Iterator[_Found]:
    """The numbers of the first fact that say how much is to be drawn, or how fast time passes."""
    display, switches = opened.display, opened.switches
    yield "rate", opened.rate, SLOWEST, FASTEST
    yield "number of the display's rows", display.rows, 1, 200
    yield "number of the display's columns", display.columns, 1, 400
    yield "distance of the display's tab stops", display.tab_columns, 0, 400
    yield "number of the machine's switches", switches.count, 0, 48
    yield "number of switches in a group", switches.group, 1, 48
    for name, part in opened.drawn.items():
        yield f"width in cm of the part {name[:40]}", part.width_cm, 1, 2000
        yield f"height in cm of the part {name[:40]}", part.height_cm, 1, 2000
        yield f"number of openings of the part {name[:40]}", len(part.openings), 0, 6
        for opening in part.openings:
            yield f"count of an opening of the part {name[:40]}", opening.count, 0, 48
    for name, screen in opened.screens.items():
        sizes = screen.width_cm, screen.height_cm, screen.distance_cm, screen.lower_edge_cm
        yield f"smallest length in cm of the screen {name[:40]}", min(sizes), 0, 5000
        yield f"largest length in cm of the screen {name[:40]}", max(sizes), 0, 5000
        yield f"time in s of the screen {name[:40]}", screen.home_after_s, 1, 86_400
    for name, plot in opened.plots.items():
        for axis in (plot.across, plot.up):
            marks = (axis.to - axis.from_) / axis.every if axis.every > 0 else math.inf
            yield f"number of marks of the plot {name[:40]}", marks, 0, 1000


def _unusual(value: Any, name: str = "a value") -> str:
    """What in these JSON values is larger than anything that this program records; "" if nothing is."""
    if isinstance(value, str):
        most = LONGEST_PICTURE if name == "pictures" else LONGEST_TEXT
        return f"a text of {len(value)} characters in {name}" if len(value) > most else ""
    if isinstance(value, dict | list):
        if len(value) > MOST_ITEMS:
            return f"a list of {len(value)} entries in {name}"
        items = value.items() if isinstance(value, dict) else ((name, item) for item in value)
        for key, item in items:
            inside = _unusual(key) or _unusual(item, name if name in ("pictures",) else key[:40])
            if inside:
                return inside
        return ""
    if isinstance(value, int):
        return "" if -LARGEST_WHOLE <= value <= LARGEST_WHOLE else f"a whole number in {name}"
    if isinstance(value, float):
        return "" if -LARGEST <= value <= LARGEST else f"a number in {name}"
    return ""


def _is_usual(fact: AnyFact) -> bool:
    return not _unusual(msgspec.to_builtins(fact))


def _impossible(what: str, value: object, bounds: str = "") -> RecordingFault:
    said = f"{value:g}" if isinstance(value, float) else f"{value}"
    return RecordingFault(
        f"The first line of the recording can't be true: {what} is {said[:40]}{bounds}.",
        "So nothing in it can be trusted, and nothing of it is shown.",
        "Ask whoever gave you the recording for another copy.",
    )
