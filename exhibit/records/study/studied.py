"""One recording that is being studied: its day's line, and how everything stood at any moment.

Seeks start from keyframes. A thread of its own makes them when the recording is opened for the first time,
and gives way whenever a page asks for something; it also finds what is damaged.
"""

from __future__ import annotations

import threading
import time
from bisect import bisect_right
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit.facts.errors import RecordingFault
from exhibit.facts.kinds import Entry, NoteMade, RecordingOpened
from exhibit.records.index.notes_words import KEPT_IN, words_of
from exhibit.records.study.day_marks import MarkMaker, Marks
from exhibit.records.study.folding import folds
from exhibit.records.study.moment import MOMENT_VERSION, MomentView
from exhibit.records.study.quick_scan import Scanned, busy_spans, read_facts, scan
from exhibit.records.study.wire_rows import Piece, pieces_of, together, wire_rows
from exhibit.records.told import LONGEST, in_english, name_of, told
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.line_chain import Damaged, Position
from exhibit.streams.recording import Tail, find_seq, read_opened

FACTS_BEFORE: Final = 6
FACTS_AFTER: Final = 10
"""How many facts besides bytes are listed before a moment, and after it."""
WIRE_BYTES_BEFORE: Final = 700
"""At least, if there are so many."""
WIRE_BEFORE: Final = 160
WIRE_AFTER: Final = 24
"""Entries of the recording."""
WIRE_ROWS_BEFORE: Final = 90
WIRE_ROWS_AFTER: Final = 24
LONGEST_WORK_S: Final = 0.2
"""A page that plays gets what was reached in this time, and asks again."""
_STEPS_ON: Final = 400
"""A moment this many entries ahead is reached by going on; a later one from a keyframe, if there is one."""
_END: Final = 2**53


class Studied:
    """One recording. Each method raises RecordingFault if it can't be read (any more)."""

    def __init__(self, path: Path, cache_folder: Path | None = None) -> None:
        self.path = path
        self.opened: RecordingOpened = read_opened(path)
        self._frames = Keyframes(path, lambda: MomentView(self.opened), MOMENT_VERSION, cache_folder)
        self._lock = threading.Lock()
        self._counting = threading.Lock()
        self._wanted = 0
        """How many requests wait for the lock or have it: then the thread that makes keyframes waits."""
        self._scanned: Scanned | None = None
        self._line: bytes | None = None
        self._marks: Marks | None = None
        self._view: MomentView | None = None
        self._tail: Tail | None = None
        self._ahead: deque[Entry] = deque()
        self._stream = 0
        self._checked_us = 0
        self._reached_us = 0
        self._is_checked = False
        self._damages: list[list[Any]] = []
        self._why_unread = ""
        self._closing = False
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to make keyframes."""
        if self._thread is None:
            self._thread = threading.Thread(target=self._make_keyframes, name="keyframes", daemon=True)
            self._thread.start()

    def close(self) -> None:
        """End the thread and close the file."""
        self._closing = True
        if self._thread is not None:
            self._thread.join()
        with self._lock:
            if self._tail is not None:
                self._tail.close()
                self._tail = None

    def line(self) -> bytes:
        """The day's line as JSON: what the recording is, its marks, and what is folded."""
        with self._asked():
            if self._line is None:
                self._line = msgspec.json.encode(self._made_line())
            return self._line

    def marks(self) -> Marks:
        """The marks of the day's line."""
        self.line()
        assert self._marks is not None
        return self._marks

    def of_kind(self, kind: str) -> Iterator[dict[str, Any]]:
        """The facts whose kind's name contains this, as search results. Frequent kinds aren't among them."""
        self.line()
        scanned = self._scanned
        assert scanned is not None
        wanted = {number for number, name in enumerate(scanned.names) if kind in name}
        places = (index for index, number in enumerate(scanned.kinds) if number in wanted)
        for entry in read_facts(self.path, scanned, places):
            says = told(entry.fact)
            yield {"recording": "", "seq": entry.seq, "at_us": entry.at_us, "at": "", "says": says}

    def checked(self) -> dict[str, Any]:
        """How far the recording has been read through, and what is damaged."""
        return {
            "checked_us": max(self._checked_us, self._reached_us),
            "is_checked": self._is_checked,
            "damages": self._damages,
            "why": self._why_unread,
        }

    def moment(
        self, *, seq: int | None, at_us: int | None, after: int = 0, stream: int = 0, whole: bool = True
    ) -> bytes:
        """How everything stood just after fact `seq` or at the time `at_us`, as JSON.

        `after` and `stream` are of the picture that the page has: if it can be continued, only the console's
        changes come. Without `whole`, for a page that plays, it stops after some work, short of the moment.
        """
        with self._asked():
            self._go_to(seq, at_us, time.monotonic() + (3600 if whole else LONGEST_WORK_S))
            assert self._view is not None
            view = self._view
            shown = view.shown(after if stream == self._stream and after <= view.seq else 0)
            shown["stream"] = self._stream
            shown["after"] = after if stream == self._stream else 0
            shown["because"] = self._because(shown["now"])
            shown["wire"] = self._wire(view)
            shown["facts"] = self._facts_around(view.seq)
            return msgspec.json.encode(shown)

    def facts(self, seqs: list[int]) -> list[dict[str, Any]]:
        """These facts as they are listed; those that can't be found are left out."""
        return [self._listed(entry) for entry in map(self._entry, seqs) if entry is not None]

    # -- the line

    def _made_line(self) -> dict[str, Any]:
        scanned, entries = scan(self.path)
        self._scanned = scanned
        self._marks = marks = MarkMaker().take_all(entries, scanned.end_us)
        for note in marks.notes:
            note[4] = self._words_of(note[4])
        opened = self.opened
        folded = folds(busy_spans(self.path, scanned), 0, scanned.end_us)
        return {
            "machine": opened.machine,
            "title": in_english(opened.title),
            "machine_is": opened.machine_is,
            "practice": opened.practice,
            "typing": opened.typing,
            "wall": opened.wall,
            "rate": opened.rate,
            "line": opened.line,
            "software": opened.software,
            "display": {
                "kind": opened.display.kind,
                "rows": opened.display.rows,
                "columns": opened.display.columns,
            },
            "end_us": scanned.end_us,
            "end_seq": scanned.end_seq,
            "size_bytes": scanned.size_bytes,
            "left_out": scanned.left_out,
            "folds": folded,
            "marks": marks,
        }

    # -- moments

    def _go_to(self, seq: int | None, at_us: int | None, until_s: float) -> None:
        seq_limit = _END if seq is None else seq
        us_limit = _END if at_us is None else at_us
        view = self._view
        if view is None or not self._goes_on(view, seq_limit, us_limit):
            found = self._frames.seek(
                seq=seq, at_us=None if seq is not None else us_limit, give_way=self._reading_on
            )
            self._continue_at(found.view, found.position)
            view = found.view
            if us_limit < _END:
                view.at_us = max(view.at_us, us_limit)
            return
        done = 0
        while (entry := self._next()) is not None and entry.seq <= seq_limit and entry.at_us <= us_limit:
            view.apply(self._ahead.popleft())
            done += 1
            if done % 64 == 0 and time.monotonic() > until_s:
                return
        if entry is None:
            return
        if us_limit < _END:
            view.at_us = us_limit

    def _goes_on(self, view: MomentView, seq_limit: int, us_limit: int) -> bool:
        """Whether the moment is best reached from where the view is."""
        reached = self._ahead[0].at_us if self._ahead else view.at_us
        if seq_limit < view.seq or us_limit < min(view.at_us, reached):
            return False
        if seq_limit < _END:
            return self._frames.last_before(seq=seq_limit).seq <= view.seq + _STEPS_ON
        return self._frames.last_until(at_us=us_limit).seq <= view.seq + _STEPS_ON

    def _continue_at(self, view: MomentView, position: Position) -> None:
        if self._tail is not None:
            self._tail.close()
        self._tail = Tail(self.path, position)
        self._ahead.clear()
        self._view = view
        self._stream += 1

    def _next(self) -> Entry | None:
        if not self._ahead and self._tail is not None:
            self._ahead.extend(self._tail.read_new(500))
        return self._ahead[0] if self._ahead else None

    # -- what stands around a moment

    def _because(self, now: dict[str, Any]) -> list[dict[str, Any]]:
        caption = now.get("caption")
        return self.facts(caption[6]) if caption else []

    def _wire(self, view: MomentView) -> dict[str, Any]:
        entries = self._entries_from(max(1, view.seq - WIRE_BEFORE), WIRE_BEFORE + WIRE_AFTER)
        pieces = list(pieces_of(entries))
        came = sum(piece.seq <= view.seq for piece in pieces)
        before = [*together(_last(pieces[:came], WIRE_BYTES_BEFORE))]
        after = [*together(pieces[came:])]
        rows = wire_rows([*before, *after], eight_bits=self.opened.eighth_bit == "data")
        cut = next((index for index, row in enumerate(rows) if row.seq > view.seq), len(rows))
        return {
            "before": rows[max(0, cut - WIRE_ROWS_BEFORE) : cut],
            "after": rows[cut : cut + WIRE_ROWS_AFTER],
        }

    def _entries_from(self, seq: int, count: int) -> list[Entry]:
        tail = Tail(self.path, find_seq(self.path, seq))
        try:
            return tail.read_new(count)
        finally:
            tail.close()

    def _entry(self, seq: int) -> Entry | None:
        found = self._entries_from(seq, 1)
        return found[0] if found and found[0].seq == seq else None

    def _facts_around(self, seq: int) -> list[dict[str, Any]]:
        """The facts besides bytes that came just before and after this one."""
        scanned = self._scanned
        if scanned is None:
            return []
        place = bisect_right(scanned.seqs, seq)
        around = range(max(0, place - FACTS_BEFORE), min(len(scanned.seqs), place + FACTS_AFTER))
        return [self._listed(entry) for entry in read_facts(self.path, scanned, around)]

    def _listed(self, entry: Entry) -> dict[str, Any]:
        fact = entry.fact
        says = told(fact)
        if isinstance(fact, NoteMade) and (words := self._words_of(fact.digest)):
            says = f"{says} {words}"
        return {"seq": entry.seq, "at_us": entry.at_us, "kind": name_of(fact), "says": says}

    def _words_of(self, digest: str) -> str:
        """The words of a note, if they stand beside the recording, cut if they are long; empty otherwise."""
        words = " ".join(words_of(self.path.parent / KEPT_IN, digest).split())
        return words if len(words) <= LONGEST else words[: LONGEST - 1] + "\u2026"

    # -- keyframes, and who has the lock

    def _make_keyframes(self) -> None:
        try:
            with self._lock:
                self._frames.seek(seq=_END, give_way=self._give_way)
            self._is_checked = True
        except RecordingFault as fault:
            self._why_unread = f"{fault.what} {fault.do}"
        except _Closing:
            return

    def _reading_on(self, position: Position, _: list[Damaged]) -> None:
        self._reached_us = max(self._reached_us, position.at_us)

    def _give_way(self, position: Position, damages: list[Damaged]) -> None:
        self._checked_us = max(self._checked_us, position.at_us)
        for one in damages:
            said = "the end is missing" if one.torn else one.why
            self._damages.append([position.at_us, one.offset_bytes, one.length_bytes, said])
        if self._closing:
            raise _Closing
        while self._wanted:
            self._lock.release()
            time.sleep(0.001)
            self._lock.acquire()

    @contextmanager
    def _asked(self) -> Iterator[None]:
        """A page has asked for something: it gets the lock as soon as the other thread notices."""
        with self._counting:
            self._wanted += 1
        try:
            with self._lock:
                yield
        finally:
            with self._counting:
                self._wanted -= 1


def _last(pieces: list[Piece], least_bytes: int) -> list[Piece]:
    """The last of these pieces with this many bytes in all."""
    count = size_bytes = 0
    while count < len(pieces) and size_bytes < least_bytes:
        count += 1
        size_bytes += len(pieces[-count].data)
    return pieces[len(pieces) - count :]


class _Closing(Exception):
    """The recording is no longer studied."""
