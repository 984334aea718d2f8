"""The visitor page's picture of a recording: a pure fold of its facts.

    view = View()
    view.apply(entry)              # for each entry, in order
    view.batch(after_seq)          # what changed after that fact; batch(0) is the whole picture

Every item remembers the fact at which it last changed. So a page that asks seldom gets each item once, as it
is now, however many facts lie between: nothing queues up for a slow page. Live and replay fold the same
facts and so show the same picture.

Everything here comes from the recording: the words of captions are those that were shown then, and times are
those at which things happened, by the museum's computer.
"""

from __future__ import annotations

from typing import Any

import msgspec

from exhibit.decisions.page.asleep import ASLEEP
from exhibit.decisions.page.badge import RecordedState
from exhibit.decisions.page.because import Grounds
from exhibit.decisions.page.cable import Cable
from exhibit.decisions.page.console_view import NOWHERE, ConsoleView, Follow, Place
from exhibit.decisions.page.items import PageItems
from exhibit.decisions.page.may_run import IN_DOUBT, MAY_RUN, may_run
from exhibit.decisions.page.silent import SILENT
from exhibit.facts import kinds
from exhibit.facts.kinds import (
    BytesReceived,
    CarriedOver,
    ClockStepped,
    Entry,
    Heartbeat,
    RecordingOpened,
)
from exhibit.facts.use_before import DayBefore
from exhibit.facts.wall_times import WallTimes

VIEW_VERSION = "visitor page 12"
"""The form of snapshot(): keyframes of another form are not used."""


class View:
    """What the visitor page shows after the facts applied so far."""

    def __init__(self) -> None:
        self.seq = 0
        self.at_us = 0
        self.opened: RecordingOpened | None = None
        self._clock = WallTimes()
        self._grounds = Grounds()
        self._items = PageItems(self._clock, self._grounds, self.text_rows)
        self._console: ConsoleView | None = None
        self._printed_seq = 0
        self._printed_us = 0
        self._cable = Cable()

    def apply(self, entry: Entry) -> None:
        """Take in the next fact."""
        self.seq = seq = entry.seq
        self.at_us = entry.at_us
        fact = entry.fact
        self._cable.take(entry)
        if type(fact) is BytesReceived:
            self._printed_seq, self._printed_us = seq, entry.at_us
            self._grounds.received(entry, fact)
            if self._console is not None:
                if self._items.wants_each_piece:
                    self._items.received(seq, entry.at_us, self._console.receive(fact.bytes, seq))
                else:
                    self._console.gather(fact.bytes, seq, entry.at_us)
                self._items.heard(seq, entry.at_us, len(fact.bytes))
                self._items.look_again(seq, entry.at_us, self._console.rows_at_cursor)
            return
        if self._console is not None and self._items.follows_loads:
            self._console.catch_up()
        if type(fact) in _GROUNDS:
            place = self._place_of(fact)
            self._grounds.keep(entry, place)
            if isinstance(fact, kinds.ReadingTaken):
                self._grounds.keep_reading(entry, fact, place)
        elif isinstance(fact, kinds.LineLost | kinds.BytesMissed):
            self._grounds.line_lost()
        elif isinstance(fact, RecordingOpened):
            self.opened = fact
            self._clock.set(fact.wall, entry.at_us, fact.rate)
            self._console = ConsoleView(fact, seq, self._follow_of(fact))
            self._grounds.text_of = self._console.text_of
        elif isinstance(fact, CarriedOver) and self._console is not None:
            self._console.carry_over(fact, seq)
        elif isinstance(fact, ClockStepped):
            self._clock.set(fact.wall, entry.at_us)
        elif isinstance(fact, Heartbeat):
            self._clock.follow_offset(fact.wall, entry.at_us)
        self._items.see(seq, entry.at_us, fact)
        if isinstance(fact, kinds.BytesTyped) and self._console is not None:
            self._items.typed(seq, entry.at_us, fact, self._console.rows_at_cursor)

    def _follow_of(self, opened: RecordingOpened) -> Follow | None:
        """What is told of gathered bytes: nothing, if no load could be in them."""
        return self._items.received_together if opened.loads else None

    def _catch_up(self) -> None:
        """Take in what was gathered, before anything that may depend on it is asked."""
        if self._console is not None:
            self._console.catch_up()

    def _place_of(self, fact: kinds.AnyFact | kinds.UnknownFact) -> Place:
        """Where on the console the line of this fact is now."""
        if self._console is None:
            return NOWHERE
        match fact:
            case kinds.PatternSeen() | kinds.StepMatched() | kinds.LandmarkReached():
                return self._console.place_of(fact.line)
            case kinds.ReadingTaken(rows=[first, *_]):
                return self._console.place_of_row(first)
        return NOWHERE

    def wall(self, at_us: int) -> str:
        """The computer's date and time at `at_us`, to the millisecond; "" while none is known."""
        return self._clock.wall(at_us)

    def recorded_state(self) -> RecordedState:
        """What the recording itself says about how current its picture is, for badge()."""
        if self.opened is None:
            return RecordedState()
        session, line = self._items.value("session"), self._items.value("line")
        state, closed = session["state"], self._items.value("closed")
        silent, asleep = self._items.value(SILENT), self._items.value(ASLEEP)
        return RecordedState(
            opened=True,
            simulated=self.opened.machine_is == "simulated",
            practice=self.opened.practice,
            watched_only=self.opened.typing == "nothing",
            rate=self.opened.rate,
            closed=closed is not None,
            failed=state == "failed",
            silent=silent is not None,
            heard_at=silent["since"] if silent else "",
            # Between two rounds the machine keeps running, and its console is mirrored live.
            resting=state == "resting" and not session["until"],
            asleep=asleep is not None,
            asleep_at=asleep["since"] if asleep else "",
            line=line["state"],
            opened_at=self._items.value("recording")["opened"],
            closed_at=closed["at"] if closed else "",
            failed_at=session["since"] if state == "failed" else "",
            resting_at=session["since"] if state == "resting" else "",
            line_at=line["since"],
            last_at=self.wall(self.at_us),
            may_run=may_run(self.opened, self._items.value(MAY_RUN), self._items.value(IN_DOUBT), self.wall),
        )

    @property
    def trouble(self) -> dict[str, Any] | None:
        """The current trouble as the page shows it; None if there is none."""
        trouble: dict[str, Any] | None = self._items.value("trouble")
        return trouble

    @property
    def items_seq(self) -> int:
        """The last fact at which something besides the console may have changed."""
        if self._items.follows_loads:
            self._catch_up()
        return self._items.seq

    def batch(self, after_seq: int, console: bool = True) -> dict[str, Any]:
        """What changed after fact `after_seq`, as plain JSON values. `after_seq=0` gives all.

        Without `console` the console's rows are left out, which leaves about a tenth.
        """
        self._catch_up()
        changed: dict[str, Any] = {"seq": self.seq, "at": self.wall(self.at_us)}
        changed |= self._items.batch(after_seq)
        if self._printed_seq > after_seq:
            changed["printed_at"] = self.wall(self._printed_us)
        if console and self._console is not None:
            rows = self._console.batch(after_seq, self.seq)
            if rows:
                changed["console"] = rows
            if pieces := self._cable.pieces(after_seq, self.at_us, self.wall):
                changed["cable"] = pieces
        return changed

    def text_rows(self) -> list[str]:
        """The console's rows as bare text; none before the recording was opened."""
        return self._console.text_rows() if self._console else []

    def day_before(self) -> DayBefore:
        """What the next recording of the same day is told of it."""
        return self._items.day_before()

    def snapshot(self) -> dict[str, Any]:
        """Everything needed to go on from here, as plain JSON values, for a keyframe."""
        self._catch_up()
        return {
            "seq": self.seq,
            "at_us": self.at_us,
            "opened": _without_pictures(self.opened) if self.opened else None,
            "printed_us": self._printed_us if self._printed_seq else None,
            "clock": self._clock.snapshot(),
            "grounds": self._grounds.snapshot(self.wall),
            "cable": self._cable.snapshot(),
            "console": self._console.snapshot() if self._console else None,
            **self._items.snapshot(),
        }

    def restore(self, snapshot: dict[str, Any]) -> None:
        """Take on the state in the snapshot. Everything then counts as changed at its last fact."""
        self.seq = seq = snapshot["seq"]
        self.at_us = snapshot["at_us"]
        self.opened = msgspec.convert(snapshot["opened"], RecordingOpened) if snapshot["opened"] else None
        self._printed_seq = 0 if snapshot["printed_us"] is None else seq
        self._printed_us = snapshot["printed_us"] or 0
        self._clock.restore(snapshot["clock"])
        self._grounds.restore(snapshot["grounds"])
        self._cable.restore(snapshot["cable"])
        self._items.restore(snapshot, seq, self.opened)
        self._console = None
        if self.opened is not None:
            self._console = ConsoleView(self.opened, seq, self._follow_of(self.opened))
            self._console.restore(snapshot["console"], seq)
            self._grounds.text_of = self._console.text_of


def _without_pictures(opened: RecordingOpened) -> Any:
    """The first fact as JSON values. A keyframe is made each minute, and none needs the pictures again."""
    return msgspec.to_builtins(msgspec.structs.replace(opened, pictures={}))


_GROUNDS = frozenset(
    {
        kinds.PatternSeen,
        kinds.LandmarkReached,
        kinds.InterruptionSeen,
        kinds.ReadingTaken,
        kinds.StepStarted,
        kinds.StepMatched,
        kinds.StepEnded,
        kinds.ScriptStarted,
        kinds.HandsOnConfirmed,
        kinds.PackMounted,
        kinds.TypingConfirmed,
    }
)
