"""The items of the visitor page besides the console, and what each kind of fact changes in them.

An item is a name and a plain JSON value, with the number of the fact at which it last changed. Readings are
items by display and name. Everything here follows from the facts alone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any

import msgspec

from exhibit.decisions.display.wire import Item
from exhibit.decisions.page import ends, jobs_now, parts_now, shown_again, standing
from exhibit.decisions.page.asleep import ASLEEP, awake
from exhibit.decisions.page.asleep import HANDLERS as ASLEEP_HANDLERS
from exhibit.decisions.page.because import Grounds
from exhibit.decisions.page.captions_over import CaptionsOver
from exhibit.decisions.page.console_view import TakenPiece
from exhibit.decisions.page.day import plots
from exhibit.decisions.page.day.moment import Moment, recorded
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.may_run import HANDLERS as MAY_RUN_HANDLERS
from exhibit.decisions.page.may_run import IN_DOUBT, MAY_RUN, doubts_before, running_before
from exhibit.decisions.page.session_items import HANDLERS as SESSION_HANDLERS
from exhibit.decisions.page.silent import HANDLERS as SILENT_HANDLERS
from exhibit.decisions.page.silent import SILENT, is_silent, no_longer
from exhibit.decisions.page.wear import HANDLERS as WEAR_HANDLERS
from exhibit.decisions.page.wear import hours_at
from exhibit.decisions.page.work import HANDLERS as WORK_HANDLERS
from exhibit.decisions.page.work import Printed, pieces_with
from exhibit.decisions.story.ended import Ended
from exhibit.decisions.story.hints import LIVE_ONLY, Hints
from exhibit.facts import kinds
from exhibit.facts.kinds import AnyFact, RecordingOpened, UnknownFact
from exhibit.facts.use_before import DayBefore
from exhibit.facts.wall_times import WallTimes

_OF_OTHERS = (
    SESSION_HANDLERS,
    WEAR_HANDLERS,
    ASLEEP_HANDLERS,
    MAY_RUN_HANDLERS,
    SILENT_HANDLERS,
    WORK_HANDLERS,
    ends.HANDLERS,
    standing.HANDLERS,
    parts_now.HANDLERS,
    jobs_now.HANDLERS,
    plots.HANDLERS,
)
_QUIET = frozenset({kinds.DeadlineArmed, kinds.DeadlinePassed, kinds.Heartbeat})
"""Frequent kinds that change nothing here, except that time has passed."""
DATE_FIELD = "date"
"""A field or reading of this name is the date that the machine itself gives."""


class PageItems:
    """The items after the facts so far."""

    def __init__(self, clock: WallTimes, grounds: Grounds, rows: Callable[[], list[str]] = list) -> None:
        self._store = ItemStore(clock)
        self._moment = Moment(self._store, rows)
        self._grounds = grounds
        self._hints = Hints(clock)
        self._printed = Printed()
        self._over = CaptionsOver()
        self._opened: RecordingOpened | None = None
        self.follows_loads = False
        """Whether something that is loaded piece by piece is followed."""
        self.batch = self._store.batch
        self.value = self._store.value

    @property
    def seq(self) -> int:
        """The last fact at which an item or a reading may have changed."""
        return self._store.changed_seq

    def see(self, seq: int, at_us: int, fact: AnyFact | UnknownFact) -> None:
        """Take in one fact. A kind that this version doesn't know changes nothing."""
        if ended := self._printed.take(at_us, 0):
            self._have_printed(seq, at_us, ended)
        self._moment.before()
        quiet = type(fact) in _QUIET or (type(fact) in standing.TYPED and not self.value(standing.STANDING))
        if not quiet or jobs_now.is_overdue(self._store, at_us):
            self._take(seq, at_us, fact)
        self._store.at(seq, at_us)
        self._moment.see(fact)

    def _take(self, seq: int, at_us: int, fact: AnyFact | UnknownFact) -> None:
        """Take in a fact that can change something, and take back what it ends."""
        kind = type(fact)
        before = ends.said(self._store, fact)
        self._store.at(seq, at_us)
        jobs_now.end_overdue(self._store)
        for handlers in _OF_OTHERS:
            if (handler := handlers.get(kind)) is not None:
                handler(self._store, fact)
        if (own_handler := _HANDLERS.get(kind)) is not None:
            own_handler(self, fact)
        ended = ends.what_ended(self._store, before, fact)
        self._end_captions(seq, fact, ended)
        for name, value in self._hints.see(seq, at_us, fact, ended).items():
            self._store.set(name, [] if name in LIVE_ONLY and is_silent(self._store) else value)

    def _end_captions(self, seq: int, fact: AnyFact | UnknownFact, ended: Ended) -> None:
        self._over.see(seq, fact, ended)
        for name in ("caption", "seen_caption"):
            shown = self.value(name)
            if shown is not None and self._over.is_over(shown):
                self._store.set(name, None)

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        others = {
            "printing": self._printed.snapshot(),
            "hints": self._hints.snapshot(),
            "over": self._over.snapshot(),
            "moment": self._moment.snapshot(),
        }
        return {**self._store.snapshot(), **others}

    def restore(self, kept: dict[str, Any], seq: int, opened: RecordingOpened | None) -> None:
        """Go on from a snapshot; everything counts as changed at fact `seq`."""
        self._store.restore(kept, seq)
        self._hints.restore(kept["hints"], opened)
        self._printed.restore(kept["printing"])
        self._over.restore(kept["over"])
        self._moment.restore(kept["moment"], opened)
        self._opened = opened
        self.follows_loads = opened is not None and bool(opened.loads)

    @property
    def wants_each_piece(self) -> bool:
        """Whether what the machine sends must be taken in at once: something on the page waits for it."""
        return self.follows_loads and (is_silent(self._store) or self.value(ASLEEP) is not None)

    def received_together(self, items: list[Item], again: Callable[[], Iterator[TakenPiece]]) -> None:
        """The machine has sent this in several pieces; `again` gives them one by one."""
        self._moment.received_together(items, again)

    def received(self, seq: int, at_us: int, items: Iterable[Item]) -> None:
        """The machine has sent this."""
        self._moment.received(seq, at_us, items)

    def typed(
        self, seq: int, at_us: int, fact: kinds.BytesTyped, rows: Callable[[], tuple[str, str]]
    ) -> None:
        """Something was typed; `rows` gives the rows at the cursor."""
        if shown_again.may_ask(fact) or shown_again.is_awaited(self._store):
            self._store.at(seq, at_us)
            shown_again.typed(self._store, fact, rows()[1])

    def look_again(self, seq: int, at_us: int, rows: Callable[[], tuple[str, str]]) -> None:
        """The machine has sent something: perhaps a line once more."""
        if shown_again.is_awaited(self._store):
            self._store.at(seq, at_us)
            shown_again.look(self._store, *rows())

    def day_before(self) -> DayBefore:
        """What the next recording of the same day is told of it."""
        return self._moment.day_before()

    def _recording_opened(self, fact: RecordingOpened) -> None:
        self._opened = fact
        self.follows_loads = bool(fact.loads)
        self._store.set(
            "recording",
            {
                "machine": fact.machine,
                "title": fact.title,
                "parts": fact.parts,
                "drawn": msgspec.to_builtins(fact.drawn),
                "tested": fact.tested,
                "displays": fact.displays,
                "exercisers": {
                    name: {"part": one.part, "called": one.called} for name, one in fact.exercisers.items()
                },
                "screens": msgspec.to_builtins(fact.screens),
                "cards": msgspec.to_builtins(fact.cards),
                "switches": msgspec.to_builtins(fact.switches),
                "now": msgspec.to_builtins(fact.now),
                "tell_tales": msgspec.to_builtins(fact.tell_tales),
                "ahead": msgspec.to_builtins(fact.ahead),
                "glosses": fact.glosses,
                **recorded(fact),
                "languages": fact.languages,
                "second_language": fact.second_language,
                "machine_is": fact.machine_is,
                "typing": fact.typing,
                "rate": fact.rate,
                "opened": self._store.now(),
                "line": fact.line,
                "display": {
                    "kind": fact.display.kind,
                    "rows": fact.display.rows,
                    "columns": fact.display.columns,
                },
            },
        )
        self._store.set("line", {"state": "not opened", "since": self._store.now(), "why": ""})
        self._store.set(
            "session", {"state": "not started", "since": self._store.now(), "until": "", "why": ""}
        )
        for name in ("closed", "script", "step", "hands_on", "trouble", "caption", "seen_caption"):
            self._store.set(name, None)
        self._store.set("machine_date", None)
        self._store.set("line_errors", {"parity": 0, "framing": 0, "overrun": 0, "breaks": 0})
        self._store.set("typing_faults", {"garbled": 0, "failed": 0, "refused": 0})
        self._store.set("packs", {})
        self._store.set("hours", hours_at(fact, self._store.now()))
        self._store.set(MAY_RUN, running_before(fact))
        self._store.set(IN_DOUBT, doubts_before(fact))
        parts_now.not_known_yet(self._store, fact)
        jobs_now.none_known(self._store)
        standing.none_yet(self._store)
        shown_again.none_yet(self._store)
        self._store.set("refused", None)
        self._store.set("nearly_full", None)
        self._store.set("heard", "")
        self._store.set(SILENT, None)
        self._store.set(ASLEEP, None)
        self._store.set("trace", [])
        self._store.set("printed", [])
        self._store.set("disc", None)
        self._moment.open(fact)

    def _line_opened(self, fact: kinds.LineOpened | kinds.CarriedOver) -> None:
        self._store.set("line", {"state": "open", "since": self._store.now(), "why": ""})

    def _carried_over(self, fact: kinds.CarriedOver) -> None:
        self._line_opened(fact)
        if self._opened is not None:
            parts_now.carry_over(self._store, self._opened)
            jobs_now.carry_over(self._store)

    def _line_lost(self, fact: kinds.LineLost) -> None:
        self._store.set("line", {"state": "lost", "since": self._store.now(), "why": fact.why})

    def _line_errors(self, fact: kinds.LineErrorsCounted) -> None:
        counted = msgspec.to_builtins(fact)
        had = self.value("line_errors") or {}
        self._store.set("line_errors", {k: had.get(k, 0) + n for k, n in counted.items() if k != "fact"})

    def _count_typing_fault(self, name: str) -> None:
        had = self.value("typing_faults") or {}
        self._store.set("typing_faults", {**had, name: had.get(name, 0) + 1})

    def _step_matched(self, fact: kinds.StepMatched) -> None:
        self._see_date(fact.fields)

    def _hands_on_confirmed(self, fact: kinds.HandsOnConfirmed) -> None:
        self._grounds.keep_confirmed(self._store.seq, self._store.now(), fact)

    def _pack_mounted(self, fact: kinds.PackMounted) -> None:
        pack = {"label": fact.label, "may_be_written": fact.may_be_written, "since": self._store.now()}
        self._store.set("packs", {**(self.value("packs") or {}), fact.drive: pack})

    def _pattern_seen(self, fact: kinds.PatternSeen) -> None:
        self._see_date(fact.fields)

    def _landmark_reached(self, fact: kinds.LandmarkReached) -> None:
        self._see_date(fact.fields)

    def _reading_taken(self, fact: kinds.ReadingTaken) -> None:
        if fact.name == DATE_FIELD and fact.table is None:
            self._see_date({DATE_FIELD: str(fact.value)})

    def heard(self, seq: int, at_us: int, characters: int) -> None:
        """The machine has sent this many characters."""
        if ended := self._printed.take(at_us, characters):
            self._have_printed(seq, at_us, ended)
        if self.value(SILENT) is not None:
            self._store.at(seq, at_us)
            no_longer(self._store)
            self._moment.heard()
        if self.value(ASLEEP) is not None:
            self._store.at(seq, at_us)
            awake(self._store)
        if self.value("heard") == "":
            self._store.at(seq, at_us)
            self._store.set("heard", self._store.now())

    def _have_printed(self, seq: int, at_us: int, ended: list[list[int]]) -> None:
        self._store.at(seq, at_us)
        self._store.set("printed", pieces_with(self.value("printed") or [], ended))

    def _see_date(self, fields: dict[str, str]) -> None:
        date = fields.get(DATE_FIELD, "").strip()
        had = self.value("machine_date")
        if date and (had is None or "past" in had or had["value"] != date):
            self._store.set("machine_date", {"value": date, "at": self._store.now()})

    def _caption_shown(self, fact: kinds.CaptionShown) -> None:
        line = self.value("line") or {}
        if is_silent(self._store) or line.get("state") == "lost":
            return
        shown = {
            "id": fact.caption,
            "kind": fact.kind,
            "words": fact.words,
            "part": fact.part,
            "source": fact.source,
            "at": self._store.now(),
            "seq": self._store.seq,
            "display": fact.display,
            "job": fact.job,
            "ends": fact.ends,
            "trigger_seq": max(fact.because, default=self._store.seq),
            "because": msgspec.to_builtins(self._grounds.of(fact.because, self._store.wall)),
        }
        if self._over.is_over(shown):
            return  # it had to wait for its turn, and what it says is over already
        self._store.set("caption", shown)
        if fact.kind != "look or listen for":
            self._store.set("seen_caption", shown)

    def _nearly_full(self, fact: kinds.RecordNearlyFull) -> None:
        self._store.set("nearly_full", {"at": self._store.now()})


_HANDLERS: dict[type, Callable[[PageItems, Any], None]] = {
    kinds.RecordingOpened: PageItems._recording_opened,
    kinds.LineOpened: PageItems._line_opened,
    kinds.CarriedOver: PageItems._carried_over,
    kinds.LineLost: PageItems._line_lost,
    kinds.LineErrorsCounted: PageItems._line_errors,
    kinds.TypingGarbled: lambda items, _: items._count_typing_fault("garbled"),
    kinds.TypingFailed: lambda items, _: items._count_typing_fault("failed"),
    kinds.TypingRefused: lambda items, _: items._count_typing_fault("refused"),
    kinds.PatternSeen: PageItems._pattern_seen,
    kinds.LandmarkReached: PageItems._landmark_reached,
    kinds.ReadingTaken: PageItems._reading_taken,
    kinds.StepMatched: PageItems._step_matched,
    kinds.HandsOnConfirmed: PageItems._hands_on_confirmed,
    kinds.PackMounted: PageItems._pack_mounted,
    kinds.CaptionShown: PageItems._caption_shown,
    kinds.RecordNearlyFull: PageItems._nearly_full,
}
