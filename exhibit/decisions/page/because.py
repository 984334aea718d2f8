"""Says briefly what a caption rests on: "How do we know?"

A caption names the facts that it rests on by their numbers. Most are a few seconds old when it is shown,
since it may have waited for its turn. Two kinds can be older: the confirmation of a tell-tale by hours, and
the reading since which a value has stayed above a number by minutes. So this keeps the last few facts, the
last changes of each reading, and the last confirmation of each hands-on step. Of received bytes it keeps
only the piece just before each of these facts: no caption rests on other bytes.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable
from typing import Any, NamedTuple

import msgspec

from exhibit.decisions.page.console_view import NOWHERE, Place
from exhibit.decisions.story.reading_changes import LONGEST_GAP_US, MOST_CHANGES
from exhibit.facts.kinds import (
    AnyFact,
    BytesReceived,
    Entry,
    HandsOnConfirmed,
    InterruptionSeen,
    LandmarkReached,
    PackMounted,
    PatternSeen,
    ReadingTaken,
    ScriptStarted,
    StepEnded,
    StepMatched,
    StepStarted,
    TypingConfirmed,
    UnknownFact,
)

KEPT_FACTS = 64
_INVISIBLE = re.compile(r"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[ -/]*[0-~]|[\x00-\x1f\x7f]")
"""Control sequences, escape sequences and control codes (ECMA-48 s.5.2 to 5.4)."""

LONGEST_BYTES = 240
"""How many received bytes to keep: three lines of eighty."""
LONGEST_WORDS = 160
"""How many characters of a printed text to quote, from its end."""


class Ground(msgspec.Struct, frozen=True):
    """One fact that a caption rests on.

    `how` names the sentence that the page shows (web/words has it in each language). `what` is what
    the machine printed, or the name of a step or reading. `value` is a reading's value, who confirmed a step,
    or the drive that a pack is in.
    """

    seq: int
    at: str
    how: str
    what: str = ""
    value: str = ""
    number: int = 0
    """The line's number among the printed lines, from 1; 0 if it is none of them."""
    row: int = 0
    """The console's row that the line was on, from 1; 0 where it has a number."""
    line: str = ""
    """The whole line with single spaces; empty if the fact is not about a line on the console."""
    bytes: str = ""
    """For received bytes: the bytes of the line (the end of a long one), one character for each byte."""


class _Kept(NamedTuple):
    """A fact, where it was on the console, and what had been received by then."""

    entry: Entry
    place: Place
    tail: str

    @property
    def seq(self) -> int:
        return self.entry.seq


class Grounds:
    """Keeps the facts that captions can rest on, a bounded number of them."""

    def __init__(self) -> None:
        self.text_of: Callable[[str], str] = str
        """Turns received bytes, as a fact has them, into the text that the console shows."""
        self._last: deque[_Kept | Ground] = deque(maxlen=KEPT_FACTS)
        self._confirmed: dict[str, Ground] = {}
        self._changed: dict[str, deque[_Kept | Ground]] = {}
        self._read: dict[str, tuple[int, str]] = {}
        """When each reading was last taken, and its value."""
        self._tail = ""
        """The bytes received last."""

    def received(self, entry: Entry, fact: BytesReceived) -> None:
        """Keep received bytes."""
        self._tail = (self._tail + fact.bytes)[-LONGEST_BYTES:]
        kept = _Kept(entry, NOWHERE, self._tail)
        if self._last and _is_received(self._last[-1]):
            self._last[-1] = kept
        else:
            self._last.append(kept)

    def keep(self, entry: Entry, place: Place = NOWHERE) -> None:
        """Keep a fact that a caption can rest on, and where it is on the console."""
        self._last.append(_Kept(entry, place, ""))

    def keep_reading(self, entry: Entry, fact: ReadingTaken, place: Place) -> None:
        """Keep a reading that differs from the last one, or follows it after too long a gap."""
        if fact.table is not None:
            return
        name, value = f"{fact.display}.{fact.name}", str(fact.value)
        at_us, before = self._read.get(name, (entry.at_us, ""))
        if value != before or entry.at_us - at_us > LONGEST_GAP_US:
            self._changed.setdefault(name, deque(maxlen=MOST_CHANGES)).append(_Kept(entry, place, ""))
        self._read[name] = entry.at_us, value

    def line_lost(self) -> None:
        """Nobody sees readings while the line is lost, so the next one counts as a change."""
        self._read.clear()
        self._tail = ""

    def keep_confirmed(self, seq: int, at: str, fact: HandsOnConfirmed) -> None:
        """Keep a person's confirmation, however old it gets."""
        self._confirmed[fact.step] = Ground(seq, at, "confirmed", fact.step, fact.by)

    def of(self, because: list[int], wall_of: Callable[[int], str]) -> list[Ground]:
        """The grounds that these facts are; one that is no longer kept has its number only."""
        kept = {ground.seq: ground for ground in self._confirmed.values()}
        for facts in (*self._changed.values(), self._last):
            kept |= {one.seq: self._as_ground(one, wall_of) for one in facts if one.seq in because}
        return [kept.get(seq, Ground(seq, "", "fact")) for seq in because]

    def snapshot(self, wall_of: Callable[[int], str]) -> dict[str, Any]:
        """All that is kept, as plain JSON values."""
        return {
            "last": msgspec.to_builtins([self._as_ground(one, wall_of) for one in self._last]),
            "changed": {
                name: msgspec.to_builtins([self._as_ground(one, wall_of) for one in facts])
                for name, facts in self._changed.items()
            },
            "tail": self._tail,
            "read": {name: list(read) for name, read in self._read.items()},
            "confirmed": msgspec.to_builtins(self._confirmed),
        }

    def restore(self, kept: dict[str, Any]) -> None:
        """Go on from a snapshot."""
        self._last.clear()
        self._last.extend(msgspec.convert(kept["last"], list[Ground]))
        self._changed = {
            name: deque(msgspec.convert(facts, list[Ground]), maxlen=MOST_CHANGES)
            for name, facts in kept["changed"].items()
        }
        self._read = {name: (at_us, value) for name, (at_us, value) in kept["read"].items()}
        self._tail = kept["tail"]
        self._confirmed = msgspec.convert(kept["confirmed"], dict[str, Ground])

    def _as_ground(self, kept: _Kept | Ground, wall_of: Callable[[int], str]) -> Ground:
        if isinstance(kept, Ground):
            return kept
        entry, place = kept.entry, kept.place
        if isinstance(entry.fact, BytesReceived):
            ground = Ground(
                entry.seq, wall_of(entry.at_us), "received", quoted(self.text_of(entry.fact.bytes))
            )
        else:
            ground = ground_of(entry.seq, wall_of(entry.at_us), entry.fact)
        return msgspec.structs.replace(
            ground, number=place.number, row=place.row, line=place.line, bytes=_last_line(kept.tail)
        )


def _is_received(kept: _Kept | Ground) -> bool:
    return kept.how == "received" if isinstance(kept, Ground) else isinstance(kept.entry.fact, BytesReceived)


def _last_line(tail: str) -> str:
    """The bytes from the start of the last line that is not empty."""
    return tail[tail.rstrip("\r\n ").rfind("\n") + 1 :]


def ground_of(seq: int, at: str, fact: AnyFact | UnknownFact) -> Ground:
    """One fact, not one of received bytes, in a form that a visitor can understand."""
    match fact:
        case PatternSeen() | StepMatched():
            return Ground(seq, at, "printed", quoted(fact.line))
        case LandmarkReached():
            return Ground(seq, at, "showing", quoted(fact.line) or fact.landmark)
        case ReadingTaken():
            value = f"{len(fact.table)}" if fact.table is not None else f"{fact.value}"
            return Ground(seq, at, "rows" if fact.table is not None else "reading", fact.name, value)
        case InterruptionSeen():
            return Ground(seq, at, "printed", quoted(fact.text))
        case TypingConfirmed():
            return Ground(seq, at, "typed", quoted(fact.command))
        case StepStarted():
            return Ground(seq, at, "step started", fact.step)
        case StepEnded():
            return Ground(seq, at, "step ended", fact.step)
        case ScriptStarted():
            return Ground(seq, at, "script started", fact.script)
        case HandsOnConfirmed():
            return Ground(seq, at, "confirmed", fact.step, fact.by)
        case PackMounted():
            return Ground(seq, at, "pack", fact.label, fact.drive)
        case _:
            return Ground(seq, at, "fact")


def quoted(text: str) -> str:
    """The visible part of this text, the end of a long one: without control sequences and control codes."""
    visible = _INVISIBLE.sub(" ", text)
    return " ".join(visible.split())[-LONGEST_WORDS:]
