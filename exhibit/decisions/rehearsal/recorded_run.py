"""One recorded run of a script: what came when, which deadlines passed, what was typed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import msgspec

from exhibit.decisions.console.status_displays import Displays
from exhibit.decisions.console.watcher import Watcher
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Wire
from exhibit.decisions.machine.description import Machine
from exhibit.facts import kinds

MOST_ENTRIES: Final = 50_000
"""How many entries without a script to take at once; the cut is then at the next heartbeat."""
_LF: Final = 10


class Typed(msgspec.Struct):
    """What was typed at a stretch: a command up to its RETURN or the cancel key, or a single key."""

    index: int
    """The index of the entry that has its first byte."""
    step: str
    tidying: bool
    text: bytes = b""
    """Empty for a secret."""


class Place(msgspec.Struct, frozen=True):
    """Where a line, or a frame of a display, begins: in which entry, and after how many of its bytes."""

    index: int
    offset: int


class RecordedRun:
    """The entries from one ScriptStarted up to the next, or entries without a script."""

    def __init__(self, entries: Sequence[kinds.Entry], *, last: bool) -> None:
        self.entries = entries
        self.breaks_off = last and not any(isinstance(e.fact, kinds.RecordingClosed) for e in entries)
        """Whether the recording was not closed in good order, so that its last decisions may be missing."""
        first = entries[0].fact
        self.started = first if isinstance(first, kinds.ScriptStarted) else None
        self.ended = any(isinstance(entry.fact, kinds.ScriptEnded) for entry in entries)
        self.due_of: dict[int, int] = {}
        """By the index of each deadline that passed: when it was due."""
        self.passed: dict[tuple[str, int], int] = {}
        """By name and due time: the index at which it passed."""
        self.armed: set[tuple[str, int]] = set()
        self.refused: set[int] = set()
        """The indexes of the requests that were refused."""
        self.typed: list[Typed] = []
        self.last_typed = -1
        """The index of the last byte that was typed; -1 if nothing was."""
        self._index()

    def at_us(self, index: int) -> int:
        """The recorded time of an entry; for an index past the end, that of the last entry."""
        return self.entries[min(index, len(self.entries) - 1)].at_us

    def typed_from(self, index: int) -> Typed | None:
        """What was typed at the stretch that this entry is part of."""
        found = [typed for typed in self.typed if typed.index <= index]
        return found[-1] if found else None

    def typed_in(self, step: str, tidying: bool, from_index: int) -> Typed | None:
        """The first stretch of typing in this step that begins at or after `from_index`."""
        for typed in self.typed:
            if (typed.step, typed.tidying) == (step, tidying) and typed.index >= from_index:
                return typed
        return None

    def confirmed(self, step: str, from_index: int) -> int | None:
        """The index at or after `from_index` where a person's word on this hands-on step was accepted."""
        for index in range(from_index, len(self.entries)):
            fact = self.entries[index].fact
            if isinstance(fact, kinds.RequestMade) and fact.step == step and index not in self.refused:
                return index
        return None

    def step_span(self, step: str, tidying: bool) -> tuple[int, int] | None:
        """The indexes of the step's start and of the entry after its end; None if it didn't run."""
        start: int | None = None
        for index, entry in enumerate(self.entries):
            match entry.fact:
                case kinds.StepStarted() as fact if start is not None:
                    return start, index
                case kinds.StepStarted() as fact if (fact.step, fact.tidying) == (step, tidying):
                    start = index
        return None if start is None else (start, len(self.entries))

    def behind_typed_in(self, span: tuple[int, int]) -> int:
        """The index after the last byte typed in this span of entries; the span's start if none was."""
        typed = [
            number + 1
            for number in range(*span)
            if isinstance(self.entries[number].fact, kinds.BytesTyped | kinds.SecretTyped)
        ]
        return typed[-1] if typed else span[0]

    def find(self, names: frozenset[str], machine: Machine, from_index: int) -> Place | None:
        """The next place where one of these names is recognised, by the machine's present description."""
        wire = Wire(
            machine.eighth_bit,
            parity=machine.line.parity,
            flow_control=machine.line.flow == "xon/xoff",
            characters=machine.display.characters,
            adds_line_feed=machine.display.line_end == "return",
        )
        screen = display_for(machine.display)
        watcher, displays = Watcher(machine), Displays(machine)
        line = before = Place(from_index, 0)

        def settled(at_us: int) -> Iterator[str]:
            due_us = watcher.settle_due_us()
            if due_us is not None and due_us <= at_us and (reached := watcher.settle(due_us)):
                yield reached.landmark
            due_us = watcher.unended_due_us()
            if due_us is not None and due_us <= at_us:
                yield from _names(watcher.settle_unended(due_us))
            due_us = displays.quiet_due_us()
            if due_us is not None and due_us <= at_us:
                yield from _names(displays.quiet(screen, due_us))

        for index in range(from_index, len(self.entries)):
            entry = self.entries[index]
            if names & set(settled(entry.at_us)):
                return line
            if isinstance(entry.fact, kinds.BytesTyped | kinds.SecretTyped):
                watcher.forget_line()
                line = Place(index + 1, 0)
            if not isinstance(entry.fact, kinds.BytesReceived):
                continue
            watcher.heard(entry.at_us)
            displays.heard(entry.at_us)
            for offset, byte in enumerate(kinds.to_bytes(entry.fact.bytes), 1):
                if byte & 0x7F == _LF:
                    before, line = line, Place(index, offset)
                for item in wire.feed(bytes((byte,))):
                    screen.apply([item])
                    if names & set(_names(watcher.take(item))):
                        return before
                    if names & set(_names(displays.take(item, screen))):
                        return Place(index, 0)
        return line if names & set(settled(self.at_us(len(self.entries)) + machine.settle_us())) else None

    def _index(self) -> None:
        due: dict[str, int] = {}
        step, tidying, going_on = "", False, False
        asked: int | None = None
        for index, entry in enumerate(self.entries):
            match entry.fact:
                case kinds.DeadlineArmed(name=name, due_us=due_us):
                    due[name] = due_us
                    self.armed.add((name, due_us))
                case kinds.DeadlinePassed(name=name) if name in due:
                    self.due_of[index] = due[name]
                    self.passed[name, due[name]] = index
                case kinds.RequestMade():
                    asked = index
                case kinds.RequestRefused() if asked is not None:
                    self.refused.add(asked)
                case kinds.StepStarted():
                    step, tidying, going_on = entry.fact.step, entry.fact.tidying, False
                case kinds.TypingConfirmed() | kinds.TypingGarbled():
                    going_on = False
                case kinds.BytesTyped() | kinds.SecretTyped() as typed:
                    self.last_typed = index
                    if not going_on:
                        self.typed.append(Typed(index, step, tidying))
                    going_on = True
                    if isinstance(typed, kinds.BytesTyped):
                        self.typed[-1].text += kinds.to_bytes(typed.bytes)


def _names(facts: Sequence[kinds.AnyFact]) -> Iterator[str]:
    for fact in facts:
        if isinstance(fact, kinds.PatternSeen):
            yield fact.pattern
        elif isinstance(fact, kinds.LandmarkReached):
            yield fact.landmark


def runs_of(entries: Iterator[kinds.Entry]) -> Iterator[RecordedRun]:
    """A recording's entries, divided where scripts were started."""
    gathered: list[kinds.Entry] = []
    for entry in entries:
        new = isinstance(entry.fact, kinds.ScriptStarted)
        quiet = gathered and not isinstance(gathered[0].fact, kinds.ScriptStarted)
        many = quiet and len(gathered) >= MOST_ENTRIES and isinstance(entry.fact, kinds.Heartbeat)
        if gathered and (new or many):
            yield RecordedRun(gathered, last=False)
            gathered = []
        gathered.append(entry)
    if gathered:
        yield RecordedRun(gathered, last=True)
