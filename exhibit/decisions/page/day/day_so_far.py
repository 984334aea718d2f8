"""The museum's local day as a line: what ran when, and what it comes to.

    day = DaySoFar()
    day.open(fact, wall)          # RecordingOpened: what earlier recordings of this day say
    day.see(fact, wall)           # each further fact, with its date and time

A new local day begins empty, even in the middle of a recording; a script that is running then began on the
day before, and is not part of the new one.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.facts.use_before import DayBefore, DaySpan, SpanKind

_SCRIPTS: Final[dict[str, SpanKind]] = {"opening": "opening", "closing": "closing"}
_BROKEN_OFF: Final = "broken off"
_CLOSING_NEXT: Final = ("last round", "closing time", "closed today")
_ERRORS: Final = "errors by "
DAY: Final = "day"
SUMS: Final = "sums"
_COUNTS: Final = "_day_counts"
MOST_SPANS: Final = 400


class _Next(msgspec.Struct, frozen=True):
    what: str
    at: str


class DaySoFar:
    """Folds facts; `now` is the day so far, and `coming` what comes next, as far as that is known."""

    def __init__(self) -> None:
        self.now = DayBefore()
        self.coming: _Next | None = None
        self._transfers: list[str] = []
        self._errors: list[str] = []
        self._plots: dict[str, list[str]] = {}

    def open(self, fact: kinds.RecordingOpened, wall: str) -> None:
        """A recording begins."""
        self.use(fact)
        same = fact.today.date == wall[:10]
        self.now = fact.today if same else DayBefore(date=wall[:10])
        self.coming = None

    def use(self, fact: kinds.RecordingOpened) -> None:
        """Use the readings of this recording."""
        self._transfers, self._errors = fact.now.transfers, fact.now.errors

    def see(self, fact: Any, wall: str, until: str = "") -> bool:
        """Take in one fact, and `until`, the time that it names. Returns whether anything has changed."""
        before, coming = self.now, self.coming
        if wall and wall[:10] != self.now.date:
            self.now = DayBefore(date=wall[:10])
        match fact:
            case kinds.ScriptStarted():
                self._end_spans(wall)
                self._begin(_kind(fact), wall)
                if fact.script == "opening":
                    self._counted_anew()
            case kinds.ScriptEnded():
                self._script_ended(fact, wall)
            case kinds.PartStarted():
                self._started(fact, wall)
            case kinds.SessionResting():
                self.coming = _Next("round", until) if fact.until_us else self.coming
            case kinds.ScriptRefused():
                self._refused(fact, until)
            case kinds.ReadingTaken():
                self._shows_that_it_woke()
                self._reading(fact, wall)
            case kinds.DiscErrorsCounted():
                self._disc_errors(fact, wall)
        if isinstance(
            fact, kinds.ScriptStarted | kinds.SessionFailed | kinds.LineLost | kinds.RecordingClosed
        ) or (isinstance(fact, kinds.SessionResting) and not fact.until_us):
            self.coming = None
        return self.now is not before or self.coming != coming

    def watched(self, wall: str, *, begins: bool) -> None:
        """The machine, which is only watched, begins to be heard, or is heard no longer."""
        self._end_spans(wall, "done")
        if begins:
            self._begin("watched", wall)

    def plot_done(self, plot: str) -> None:
        """The job of a plot was done."""
        plots = self.now.sums.plots
        self._sum(plots={**plots, plot: plots.get(plot, 0) + 1})

    def end(self, wall: str) -> None:
        """Nobody sees more of this recording: what still ran broke off."""
        self._end_spans(wall)

    def items(self) -> dict[str, Any]:
        """The items of the page. The sums change often and the day's line seldom, so they are apart."""
        day: dict[str, Any] = msgspec.to_builtins(self.now)
        sums, counts = day.pop("sums"), day.pop("counts")
        return {DAY: {**day, "next": msgspec.to_builtins(self.coming)}, SUMS: sums, _COUNTS: counts}

    def restore(self, value: Callable[[str], Any]) -> None:
        """Go on from the items."""
        day = dict(value(DAY))
        coming = day.pop("next")
        self.now = msgspec.convert({**day, "sums": value(SUMS), "counts": value(_COUNTS)}, DayBefore)
        self.coming = _Next(**coming) if coming else None

    def _change(self, **changed: Any) -> None:
        self.now = msgspec.structs.replace(self.now, **changed)

    def _sum(self, **changed: Any) -> None:
        self._change(sums=msgspec.structs.replace(self.now.sums, **changed))

    def _begin(self, kind: SpanKind, wall: str) -> None:
        self._change(spans=[*self.now.spans, DaySpan(kind=kind, from_=wall)][-MOST_SPANS:])

    def _end_spans(self, wall: str, outcome: str = _BROKEN_OFF) -> None:
        if any(not span.until for span in self.now.spans):
            self._change(
                spans=[
                    span if span.until else msgspec.structs.replace(span, until=wall, outcome=outcome)
                    for span in self.now.spans
                ]
            )

    def _script_ended(self, fact: kinds.ScriptEnded, wall: str) -> None:
        running = [span for span in self.now.spans if not span.until]
        self._end_spans(wall, fact.outcome)
        if fact.outcome == "done":
            self._shows_that_it_woke()
        if fact.outcome == "done" and any(span.kind == "round" for span in running):
            self._sum(rounds=self.now.sums.rounds + 1)

    def _refused(self, fact: kinds.ScriptRefused, until: str) -> None:
        if fact.until_us:
            self.coming = _Next("round", until) if fact.script == "round" else self.coming
        elif fact.limit in _CLOSING_NEXT:
            self.coming = _Next("closing", "")

    def _counted_anew(self) -> None:
        """The machine is started afresh, so it counts its transfers from nothing."""
        self._change(counts={**self.now.counts, **dict.fromkeys(self._transfers, 0.0)})

    def _started(self, fact: kinds.PartStarted, wall: str) -> None:
        """A person said so, or the machine: only what it says itself shows that it was woken."""
        if self.now.woken:
            return
        if not self.now.said_woken:
            self._change(said_woken=wall)
        if "." not in fact.by:
            self._shows_that_it_woke()

    def _shows_that_it_woke(self) -> None:
        if self.now.said_woken and not self.now.woken:
            self._change(woken=self.now.said_woken)

    def _errors_looked_at(self, wall: str) -> None:
        if wall[:16] != self.now.sums.errors_at[:16]:
            self._sum(errors_at=wall)

    def _disc_errors(self, fact: kinds.DiscErrorsCounted, wall: str) -> None:
        """Readings and error logs report the same errors, so the higher count is theirs."""
        counts, source = self.now.counts, f"{_ERRORS}{'log' if fact.entry else fact.by}"
        self._change(counts={**counts, source: counts.get(source, 0) + fact.count})
        self._sum(errors=round(max(n for name, n in self.now.counts.items() if name.startswith(_ERRORS))))
        if fact.count:  # otherwise the machine has begun to count anew, and shows nothing
            self._errors_looked_at(wall)

    def _reading(self, fact: kinds.ReadingTaken, wall: str) -> None:
        if isinstance(fact.value, str):
            return
        name = f"{fact.display}.{fact.name}"
        if name in self._errors:
            if self.now.sums.errors is None:
                self._sum(errors=0)
            self._errors_looked_at(wall)
        if name in self._transfers:
            value, last = float(fact.value), self.now.counts.get(name)
            # What was counted before anybody looked is of today only if the machine was started today.
            more = value if last is None and self.now.woken else 0.0
            if last is not None:
                more = value - last if value >= last else value
            self._change(counts={**self.now.counts, name: value})
            self._sum(transfers=(self.now.sums.transfers or 0) + round(more))


def _kind(fact: kinds.ScriptStarted) -> SpanKind:
    return "round" if fact.round else _SCRIPTS.get(fact.script, "other")
