"""What `exhibit text` prints: the console of a recording line by line, with times and with what was typed.

    09:31:07.412    READY:ADD 2 3
    09:31:07.498 >  ADD 2 3 [return]                  by round.add
    09:31:08.120    SUM IS 5

A line has the time at which its first character came. What was typed has the time of its first key; it also
stands in the machine's own line if the machine echoed it. These stand in the order of the facts with which
they began. A screen that was painted instead of printed is shown as a whole when it has been quiet, at most
once a minute, and when something is typed at it.
"""

from __future__ import annotations

import sys
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from copy import copy
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final, Literal

from exhibit.decisions.console.printed import PrintedLine, moves_elsewhere
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Control, Item, Text, Wire
from exhibit.facts import kinds
from exhibit.facts.display import Display
from exhibit.facts.wall_times import WallTimes
from exhibit.output.json_lines import json_line
from exhibit.streams.recording import Damaged, read

QUIET_US: Final = 1_000_000
"""A painted screen is shown once nothing has come for this long ..."""
EACH_US: Final = 60_000_000
"""... and not again within this time."""
SECRET: Final = "\ue000"
"""Stands for a secret among typed characters; a private character, which nobody types."""
MOST_HELD: Final = 500
"""So many rows at most wait for a line that began before them and isn't over yet."""
_TYPED_COLUMNS: Final = 48
_ENDED: Final = {"failed": "failed", "stopped": "was stopped"}
_KEYS: Final = {"\r": "return", "\n": "line feed", "\x7f": "rubout", "\x1b": "escape", "\t": "tab"}


RowKind = Literal["heading", "printed", "screen", "typed", "said", "damaged"]


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the transcript: what the machine printed or painted, what was typed, or what happened.

    `seq` and `at_us` are those of the fact with which it began.
    """

    kind: RowKind
    seq: int
    at_us: int
    text: str
    """Of a painted screen: its lines."""
    by: str = ""
    """Who typed it."""
    at: str = ""
    """The date and time (RFC 3339, with milliseconds) by the clock as it was then; "" if unknown."""


def transcript(path: Path) -> Iterator[str]:
    """The lines of the transcript of a recording. Raises RecordingFault if the file is no recording."""
    for line in Transcript().lines(read(path)):
        # A recording from a stranger mustn't move the cursor of the terminal on which this is read.
        yield "".join(character if character.isprintable() else "\ufffd" for character in line)


def transcript_as_json(path: Path) -> Iterator[str]:
    """A JSON object for each row of the transcript of a recording. Raises RecordingFault likewise."""
    made = Transcript()
    for row in made.rows(read(path)):
        if row.kind != "heading":
            shown = {"seq": row.seq, "at": row.at, "at_us": row.at_us, "kind": row.kind}
            yield json_line({**shown, "by": row.by, "text": row.text})


def key_words(character: str) -> str:
    """A typed character as a person reads it: a key that prints nothing by its name."""
    if character == SECRET:
        return "[a secret]"
    if character in _KEYS:
        return f" [{_KEYS[character]}]"
    if character < " ":
        return f" [control {chr(ord(character) + 64)}]"
    return character


class Transcript:
    """Turns the entries of one recording into rows, in constant time for each."""

    def __init__(self) -> None:
        self._clock = self._clock_before = WallTimes()
        self._stepped_us = 0
        """When the clock was set last, and what it was before."""
        self._wire = Wire("drop")
        self._display = display_for(Display())
        self._line = PrintedLine()
        self._seq = self._at_us = 0
        self._line_from: tuple[int, int] | None = None
        """Where the line being printed began: the number of the fact, and the time of its first character."""
        self._typed = ""
        self._typed_from = (0, 0)
        self._typed_by = ""
        self._by = ""
        """The script and step that are running."""
        self._painting = False
        """The cursor is on a screen that was painted, not printed."""
        self._unshown = False
        """Something was painted on it since it was last shown here."""
        self._shown_us: int | None = None
        self._heard = (0, 0)
        self._printed_us = 0
        """When a character was printed last."""

    def lines(self, entries: Iterable[kinds.Entry | Damaged]) -> Iterator[str]:
        """The transcript of these entries as text, from the first one of a recording on."""
        for row in self.rows(entries):
            yield from self.as_text(row)

    def rows(self, entries: Iterable[kinds.Entry | Damaged]) -> Iterator[Row]:
        """The transcript of these entries, from the first one of a recording on, in the facts' order."""
        held: list[Row] = []
        for entry in entries:
            new = [replace(row, at=self._wall(row.at_us)) for row in self.take(entry)]
            if not new:
                continue
            held = sorted([*held, *new], key=lambda row: row.seq)
            # What is still being printed or typed stands before what began after it.
            open_from = self._open_from() if len(held) < MOST_HELD else sys.maxsize
            ready = bisect_right(held, open_from, key=lambda row: row.seq)
            yield from held[:ready]
            del held[:ready]
        ended = [replace(row, at=self._wall(row.at_us)) for row in self.end()]
        yield from sorted([*held, *ended], key=lambda row: row.seq)

    def _wall(self, at_us: int) -> str:
        return (self._clock_before if at_us < self._stepped_us else self._clock).wall(at_us)

    def take(self, entry: kinds.Entry | Damaged) -> Iterator[Row]:
        """The rows that the next entry completes."""
        if isinstance(entry, Damaged):
            if not entry.torn:
                yield from self.end()
                yield Row("damaged", self._seq, self._at_us, "A part of the recording can't be read here.")
            return
        self._at_us, self._seq = entry.at_us, entry.seq
        yield from self._take(entry)

    def end(self) -> Iterator[Row]:
        """What is still to be shown, before something else begins, or at the end."""
        yield from self._end_typed()
        yield from self._end_line()
        yield from self._screen((self._seq, self._at_us), often=True)
        self._painting = False

    def _open_from(self) -> int:
        """The number of the fact with which the line or the typing that isn't over yet began."""
        line_from = sys.maxsize if self._line_from is None else self._line_from[0]
        return min(line_from, self._typed_from[0] if self._typed else sys.maxsize)

    def as_text(self, row: Row) -> Iterator[str]:
        """The lines of text of a row."""
        time = row.at[11:23] or f"{'':12}"
        match row.kind:
            case "heading":
                yield row.text
            case "damaged":
                yield f"---  {row.text}"
            case "printed":
                yield f"{time}    {row.text}".rstrip()
            case "typed":
                typed = f"{time} >  {row.text}"
                yield f"{typed.rstrip():<{16 + _TYPED_COLUMNS}}  by {row.by}"
            case "said":
                yield f"{time} -  {row.text}"
            case "screen":
                yield f"{time} -  The screen:"
                yield from (f"{'':16}| {line}".rstrip() for line in row.text.split("\n"))

    def _take(self, entry: kinds.Entry) -> Iterator[Row]:
        at_us, fact = entry.at_us, entry.fact
        if at_us - self._heard[1] >= QUIET_US:
            yield from self._screen(self._heard, often=False)
        match fact:
            case kinds.BytesReceived(bytes=text, first_us=first_us):
                yield from self._received(kinds.to_bytes(text), first_us)
                self._heard = entry.seq, at_us
            case kinds.BytesTyped():
                yield from self._take_typed(fact, at_us)
            case kinds.SecretTyped(by=by):
                yield from self._take_typed(kinds.BytesTyped(bytes="", count=0, by=by, secret=True), at_us)
            case kinds.TypedByHand():
                yield from self._typed_by_hand(fact, at_us)
            case kinds.BytesWithheld() | kinds.SecretWithheld():
                yield from self._end_typed()
                yield self._said(at_us, "Characters came here that may contain a secret, and were withheld.")
            case kinds.BytesMissed(why=why):
                yield from self.end()
                yield self._said(at_us, f"Characters were passed on here without being recorded: {why}.")
            case kinds.StepStarted(script=script, step=step):
                self._by = f"{script}.{step}"
            case kinds.ScriptEnded(script=script, outcome=outcome, why=why):
                self._by = ""
                if outcome != "done":
                    yield from self._noted(at_us, f"The script {script} {_ENDED[outcome]}: {why}")
            case kinds.RecordingOpened():
                yield from self._open(fact, at_us)
            case kinds.CarriedOver():
                self._line.text, self._line.column = fact.printed, len(fact.printed)
            case kinds.ClockStepped(wall=wall):
                self._clock_before, self._stepped_us = copy(self._clock), at_us
                self._clock.set(wall, at_us)
            case kinds.Heartbeat(wall=wall):
                self._clock.follow_offset(wall, at_us)
            case kinds.LineOpened():
                yield from self.end()
                yield self._said(at_us, "The line to the machine was opened.")
            case kinds.LineLost(why=why):
                yield from self.end()
                yield self._said(at_us, f"The line to the machine was lost: {why}")
            case kinds.MachineSilent():
                # What it was printing goes no further: it stands here, and not after what happened since.
                yield from self.end()
                yield self._said(at_us, "Nothing came from the machine any more, although something was due.")
            case kinds.HeardAgain(silent_us=silent_us):
                yield from self._noted(at_us, f"The machine was heard again, after {silent_us / 1e6:.0f} s.")
            case kinds.TypingHeld():
                if at_us - self._printed_us >= QUIET_US:
                    yield from self._end_line()
                yield from self._noted(at_us, "The machine asked for nothing to be typed (XOFF).")
            case kinds.TypingLetGo(held_us=held_us):
                yield from self._noted(at_us, f"Typing could go on, after {held_us / 1e6:.1f} s.")
            case kinds.StepOverdue(script=script, step=step, within_us=within_us):
                limit = f"{within_us / 1_000_000:g} s"
                yield from self._noted(at_us, f"The step {script}.{step} was not done within {limit}.")
            case kinds.SessionFailed(why=why):
                yield from self._noted(at_us, f"The scripts stopped, and a person was asked to look: {why}")
            case kinds.OtherProgramSeen(port=port, programs=programs):
                yield from self._noted(at_us, f"Another program had {port} open: {', '.join(programs)}.")

    def _noted(self, at_us: int, what: str) -> Iterator[Row]:
        """What the program did or noticed. It doesn't end the line that the machine is printing."""
        yield from self._end_typed()
        yield self._said(at_us, what)

    def _open(self, opened: kinds.RecordingOpened, at_us: int) -> Iterator[Row]:
        self._clock.set(opened.wall, at_us, opened.rate)
        display = opened.display
        self._wire = Wire(
            opened.eighth_bit,
            parity=opened.parity,
            characters=display.characters,
            adds_line_feed=display.line_end == "return",
        )
        self._display = display_for(display)
        self._line = PrintedLine(display.tab_columns, paper=display.kind == "paper")
        times = "A line's time is that of its first character."
        said = [f"The console of {opened.machine}, from {opened.wall}. {times}"]
        if opened.machine_is == "simulated":
            said.append("The machine was simulated.")
        if opened.rate != 1:
            said.append(
                f"Its clock ran {opened.rate:g} times as fast as real time; these are the computer's times."
            )
        for line in (*said, ""):
            yield Row("heading", self._seq, at_us, line)

    # -- what the machine sent

    def _received(self, data: bytes, first_us: int) -> Iterator[Row]:
        for item in self._wire.feed(data):
            self._display.apply([item])
            if moves_elsewhere(item):
                yield from self._end_line()
                self._painting = True
            if self._painting and not _begins_a_line(item):
                self._unshown = True
                continue
            if self._painting:
                yield from self._screen((self._seq, first_us), often=True)
                self._painting = False
            yield from self._printed(item, first_us)

    def _printed(self, item: Item, at_us: int) -> Iterator[Row]:
        if isinstance(item, Text):
            self._printed_us = at_us
            self._line_from = self._line_from or (self._seq, at_us)
        text = self._line.take(item)
        if text is None:
            return
        began, self._line_from = self._line_from or (self._seq, at_us), None
        yield from self._end_typed()
        yield Row("printed", *began, text.rstrip())

    def _end_line(self) -> Iterator[Row]:
        """The line being printed goes no further."""
        text, began = self._line.text, self._line_from
        self._line.clear()
        self._line_from = None
        if text.strip():
            yield Row("printed", *(began or (self._seq, 0)), text.rstrip())

    def _screen(self, at: tuple[int, int], *, often: bool) -> Iterator[Row]:
        """The painted screen, unless nothing is new on it or it was shown a short time ago."""
        if not self._unshown:
            return
        if not often and self._shown_us is not None and at[1] - self._shown_us < EACH_US:
            return
        self._shown_us, self._unshown = at[1], False
        rows = [row.rstrip() for row in self._display.text_rows()]
        while rows and not rows[-1]:
            rows.pop()
        yield Row("screen", *at, "\n".join(rows))

    # -- what was typed

    def _take_typed(self, fact: kinds.BytesTyped, at_us: int) -> Iterator[Row]:
        by = self._by or fact.by
        if self._typed and by != self._typed_by:
            yield from self._end_typed()
        if not self._typed:
            yield from self._screen((self._seq, at_us), often=True)
        if not self._typed:
            self._typed_from, self._typed_by = (self._seq, at_us), by
        if not fact.secret:
            self._typed += fact.bytes
        elif not self._typed.endswith(SECRET):
            self._typed += SECRET
        last = self._typed[-1:]  # empty, where a stranger's recording says that nothing was typed
        if last and (last < " " or last == "\x7f"):
            yield from self._end_typed()

    def _typed_by_hand(self, fact: kinds.TypedByHand, at_us: int) -> Iterator[Row]:
        if fact.secret:
            secret = kinds.BytesTyped(bytes="", count=0, by=fact.by, secret=True)
            yield from self._take_typed(secret, at_us)
        for character in fact.bytes:
            yield from self._take_typed(kinds.BytesTyped(bytes=character, count=1, by=fact.by), at_us)

    def _end_typed(self) -> Iterator[Row]:
        typed, self._typed = self._typed, ""
        if typed:
            shown = "".join(map(key_words, typed))
            yield Row("typed", *self._typed_from, shown, self._typed_by)

    # -- what happened

    def _said(self, at_us: int, what: str) -> Row:
        return Row("said", self._seq, at_us, what)


def _begins_a_line(item: Item) -> bool:
    """Whether a screen that was painted is printed on again from here: its cursor starts a new line."""
    return isinstance(item, Control) and item.code == 10
