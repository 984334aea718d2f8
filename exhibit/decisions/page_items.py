"""The items of the visitor page besides the console: what each kind of fact changes on it.

An item is a name and a plain JSON value, and remembers the number of the fact at which it last
changed. Readings are items by display and name. Nothing is decided here that the facts don't say.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from exhibit.decisions.because import Grounds
from exhibit.decisions.page_work import Printed, pieces_with, trace_with, transfers_now
from exhibit.decisions.wall_times import WallTimes
from exhibit.facts import kinds
from exhibit.facts.kinds import AnyFact, RecordingOpened, UnknownFact

LANDMARKS_KEPT = 6
DATE_FIELD = "date"
"""A field or a reading of this name is what the machine itself says the date is."""


class PageItems:
    """What the facts so far come to, item by item."""

    def __init__(self, clock: WallTimes, grounds: Grounds) -> None:
        self._clock = clock
        self._grounds = grounds
        self._seq = 0
        self._at_us = 0
        self._items: dict[str, tuple[int, Any]] = {}
        self._readings: dict[str, dict[str, tuple[int, Any]]] = {}
        self._printed = Printed()

    @property
    def seq(self) -> int:
        """The fact at which an item or a reading last may have changed."""
        return self._seq

    def see(self, seq: int, at_us: int, fact: AnyFact | UnknownFact) -> None:
        """Take in one fact. Kinds that this version doesn't know change nothing."""
        self._count_printed(seq, at_us, 0)
        shower = _SHOWERS.get(type(fact))
        if shower is not None:
            self._seq, self._at_us = seq, at_us
            shower(self, fact)

    def batch(self, after_seq: int) -> dict[str, Any]:
        """Items and readings that changed after fact `after_seq`."""
        changed: dict[str, Any] = {}
        items = {name: value for name, (seq, value) in self._items.items() if seq > after_seq}
        if items:
            changed["items"] = items
        readings: dict[str, Any] = {}
        for display, taken in self._readings.items():
            new = {name: value for name, (seq, value) in taken.items() if seq > after_seq}
            if new:
                readings[display] = new
        if readings:
            changed["readings"] = readings
        return changed

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {
            "items": {name: value for name, (_, value) in self._items.items()},
            "readings": {
                display: {name: value for name, (_, value) in taken.items()}
                for display, taken in self._readings.items()
            },
            "printing": self._printed.snapshot(),
        }

    def restore(self, kept: dict[str, Any], seq: int) -> None:
        """Go on from a snapshot; everything counts as changed at fact `seq`."""
        self._seq = seq
        self._items = {name: (seq, value) for name, value in kept["items"].items()}
        self._readings = {
            display: {name: (seq, value) for name, value in taken.items()}
            for display, taken in kept["readings"].items()
        }
        self._printed.restore(kept["printing"])

    def _set(self, name: str, value: Any) -> None:
        self._items[name] = (self._seq, value)

    def value(self, name: str) -> Any:
        item = self._items.get(name)
        return item[1] if item else None

    def _now(self) -> str:
        return self._clock.wall(self._at_us)

    def _recording_opened(self, fact: RecordingOpened) -> None:
        self._set(
            "recording",
            {
                "machine": fact.machine,
                "title": fact.title,
                "parts": fact.parts,
                "drawn": msgspec.to_builtins(fact.drawn),
                "cards": msgspec.to_builtins(fact.cards),
                "switches": msgspec.to_builtins(fact.switches),
                "now": msgspec.to_builtins(fact.now),
                "languages": fact.languages,
                "machine_is": fact.machine_is,
                "typing": fact.typing,
                "rate": fact.rate,
                "opened": self._now(),
                "line": fact.line,
                "display": {
                    "kind": fact.display.kind,
                    "rows": fact.display.rows,
                    "columns": fact.display.columns,
                },
            },
        )
        self._set("line", {"state": "not opened", "since": self._now(), "why": ""})
        self._set("session", {"state": "not started", "since": self._now(), "until": "", "why": ""})
        for name in ("closed", "script", "step", "hands_on", "trouble", "caption", "seen_caption"):
            self._set(name, None)
        self._set("landmarks", [])
        self._set("told_date", None)
        self._set("line_errors", {"parity": 0, "framing": 0, "overrun": 0, "breaks": 0})
        self._set("typing_faults", {"garbled": 0, "failed": 0, "refused": 0})
        self._set("packs", {})
        self._set("nearly_full", None)
        self._set("heard", "")
        self._set("trace", [])
        self._set("printed", [])
        self._set("disc", None)

    def _line_opened(self, fact: kinds.LineOpened | kinds.CarriedOver) -> None:
        self._set("line", {"state": "open", "since": self._now(), "why": ""})

    def _line_lost(self, fact: kinds.LineLost) -> None:
        self._set("line", {"state": "lost", "since": self._now(), "why": fact.why})

    def _line_errors(self, fact: kinds.LineErrorsCounted) -> None:
        counted = msgspec.to_builtins(fact)
        had = self.value("line_errors") or {}
        self._set("line_errors", {k: had.get(k, 0) + n for k, n in counted.items() if k != "fact"})

    def _count_typing_fault(self, name: str) -> None:
        had = self.value("typing_faults") or {}
        self._set("typing_faults", {**had, name: had.get(name, 0) + 1})

    def _script_started(self, fact: kinds.ScriptStarted) -> None:
        now = self._now()
        self._set("session", {"state": "running", "since": now, "until": "", "why": ""})
        self._set(
            "script",
            {
                "name": fact.script,
                "title": fact.title,
                "round": fact.round,
                "since": now,
                "tidying": False,
                "outcome": "",
                "ended": "",
            },
        )
        self._set("step", None)
        self._set("hands_on", None)
        self._set("trouble", None)

    def _step(self, fact: Any) -> None:
        states: dict[type, str] = {
            kinds.StepStarted: "started",
            kinds.StepOverdue: "overdue",
            kinds.StepFailed: "failed",
            kinds.StepEnded: "ended",
            kinds.StepLeftOut: "left out",
        }
        why = getattr(fact, "why", "")
        self._set("step", {"name": fact.step, "state": states[type(fact)], "since": self._now(), "why": why})
        asked = self.value("hands_on")
        goes_on = isinstance(fact, kinds.StepStarted) or getattr(fact, "then", "") in ("wait on", "ask")
        if asked and asked["step"] == fact.step and not goes_on:
            self._set("hands_on", None)

    def _late_answered(self, fact: kinds.LateAnswered) -> None:
        step = self.value("step")
        if step:
            self._set("step", {**step, "state": "started", "since": self._now()})

    def _step_matched(self, fact: kinds.StepMatched) -> None:
        self._see_date(fact.fields)

    def _tidy_up_started(self, fact: kinds.TidyUpStarted) -> None:
        script = self.value("script")
        if script:
            self._set("script", {**script, "tidying": True})
        self._set("hands_on", None)

    def _script_ended(self, fact: kinds.ScriptEnded) -> None:
        script = self.value("script")
        if script:
            ended = {"tidying": False, "outcome": fact.outcome, "ended": self._now()}
            self._set("script", {**script, **ended})
        self._set("step", None)
        self._set("hands_on", None)

    def _session_failed(self, fact: kinds.SessionFailed) -> None:
        self._set("session", {"state": "failed", "since": self._now(), "until": "", "why": fact.why})
        self._set("hands_on", None)

    def _session_resting(self, fact: kinds.SessionResting) -> None:
        until = self._clock.wall(fact.until_us) if fact.until_us else ""
        self._set("session", {"state": "resting", "since": self._now(), "until": until, "why": ""})

    def _hands_on_asked(self, fact: kinds.HandsOnAsked) -> None:
        asked = {"step": fact.step, "words": fact.words, "caution": fact.caution, "since": self._now()}
        self._set("hands_on", asked)

    def _hands_on_confirmed(self, fact: kinds.HandsOnConfirmed) -> None:
        self._grounds.keep_confirmed(self._seq, self._now(), fact)
        self._set("hands_on", None)

    def _hands_on_refused(self, fact: kinds.HandsOnRefused) -> None:
        self._set("hands_on", None)

    def _pack_mounted(self, fact: kinds.PackMounted) -> None:
        pack = {"label": fact.label, "may_be_written": fact.may_be_written, "since": self._now()}
        self._set("packs", {**(self.value("packs") or {}), fact.drive: pack})

    def _pattern_seen(self, fact: kinds.PatternSeen) -> None:
        self._see_date(fact.fields)

    def _landmark_reached(self, fact: kinds.LandmarkReached) -> None:
        self._see_date(fact.fields)
        before = [one for one in self.value("landmarks") or [] if one["name"] != fact.landmark]
        reached = [*before, {"name": fact.landmark, "at": self._now()}]
        self._set("landmarks", reached[-LANDMARKS_KEPT:])

    def _reading_taken(self, fact: kinds.ReadingTaken) -> None:
        taken: dict[str, Any] = {"at": self._now(), "frame": fact.frame}
        taken |= {"value": fact.value} if fact.table is None else {"table": fact.table}
        self._readings.setdefault(fact.display, {})[fact.name] = (self._seq, taken)
        self._see_how_busy(f"{fact.display}.{fact.name}", fact)
        if fact.name == DATE_FIELD and fact.table is None:
            self._see_date({DATE_FIELD: str(fact.value)})

    def _see_how_busy(self, name: str, fact: kinds.ReadingTaken) -> None:
        now = (self.value("recording") or {}).get("now") or {}
        at_s = round(self._at_us / 1e6, 1)
        if name in now.get("share", ()) and not isinstance(fact.value, str):
            self._set("trace", trace_with(self.value("trace") or [], at_s, fact.value))
        if name in now.get("transfers", ())[-1:]:
            self._see_transfers(now["transfers"], at_s)

    def _see_transfers(self, names: list[str], at_s: float) -> None:
        """The display's frame has been read up to the last of its transfers."""
        total = 0.0
        for name in names:
            display, _, reading = name.partition(".")
            value = self._readings.get(display, {}).get(reading, (0, {}))[1].get("value")
            if isinstance(value, (int, float)):
                total += value
        self._set("disc", transfers_now(self.value("disc"), total, at_s, self._now()))

    def heard(self, seq: int, at_us: int, characters: int) -> None:
        """The machine has sent so many characters."""
        self._count_printed(seq, at_us, characters)
        if self.value("heard") == "":
            self._seq, self._at_us = seq, at_us
            self._set("heard", self._now())

    def _count_printed(self, seq: int, at_us: int, characters: int) -> None:
        ended = self._printed.take(at_us, characters)
        if ended:
            self._seq, self._at_us = seq, at_us
            self._set("printed", pieces_with(self.value("printed") or [], ended))

    def _see_date(self, fields: dict[str, str]) -> None:
        told = fields.get(DATE_FIELD, "").strip()
        had = self.value("told_date")
        if told and (had is None or had["value"] != told):
            self._set("told_date", {"value": told, "at": self._now()})

    def _caption_shown(self, fact: kinds.CaptionShown) -> None:
        shown = {
            "id": fact.caption,
            "kind": fact.kind,
            "words": fact.words,
            "part": fact.part,
            "source": fact.source,
            "at": self._now(),
            "seq": self._seq,
            "because": msgspec.to_builtins(self._grounds.of(fact.because, self._clock.wall)),
        }
        self._set("caption", shown)
        if fact.kind != "look or listen for":
            self._set("seen_caption", shown)

    def _trouble_raised(self, fact: kinds.TroubleRaised) -> None:
        trouble = {"name": fact.trouble, "words": fact.words, "do": fact.do, "line": fact.line}
        self._set("trouble", {**trouble, "at": self._now()})

    def _nearly_full(self, fact: kinds.RecordNearlyFull) -> None:
        self._set("nearly_full", {"at": self._now()})

    def _recording_closed(self, fact: kinds.RecordingClosed) -> None:
        self._set("closed", {"at": self._now(), "why": fact.why})
        self._set("hands_on", None)


_SHOWERS: dict[type, Callable[[PageItems, Any], None]] = {
    kinds.RecordingOpened: PageItems._recording_opened,
    kinds.LineOpened: PageItems._line_opened,
    kinds.CarriedOver: PageItems._line_opened,
    kinds.LineLost: PageItems._line_lost,
    kinds.LineErrorsCounted: PageItems._line_errors,
    kinds.TypingGarbled: lambda items, _: items._count_typing_fault("garbled"),
    kinds.TypingFailed: lambda items, _: items._count_typing_fault("failed"),
    kinds.TypingRefused: lambda items, _: items._count_typing_fault("refused"),
    kinds.PatternSeen: PageItems._pattern_seen,
    kinds.LandmarkReached: PageItems._landmark_reached,
    kinds.ReadingTaken: PageItems._reading_taken,
    kinds.ScriptStarted: PageItems._script_started,
    kinds.StepStarted: PageItems._step,
    kinds.StepMatched: PageItems._step_matched,
    kinds.StepLeftOut: PageItems._step,
    kinds.StepOverdue: PageItems._step,
    kinds.LateAnswered: PageItems._late_answered,
    kinds.StepFailed: PageItems._step,
    kinds.StepEnded: PageItems._step,
    kinds.TidyUpStarted: PageItems._tidy_up_started,
    kinds.ScriptEnded: PageItems._script_ended,
    kinds.SessionFailed: PageItems._session_failed,
    kinds.SessionResting: PageItems._session_resting,
    kinds.HandsOnAsked: PageItems._hands_on_asked,
    kinds.HandsOnConfirmed: PageItems._hands_on_confirmed,
    kinds.HandsOnRefused: PageItems._hands_on_refused,
    kinds.PackMounted: PageItems._pack_mounted,
    kinds.CaptionShown: PageItems._caption_shown,
    kinds.TroubleRaised: PageItems._trouble_raised,
    kinds.RecordNearlyFull: PageItems._nearly_full,
    kinds.RecordingClosed: PageItems._recording_closed,
}
