"""The docent's picture of a recording: the visitors', and what a docent has to do and has done.

    view = DeskView()
    view.apply(entry)              # for each entry, in order
    view.batch(after_seq)          # what changed after that fact, with the items below among its items

Items besides the visitors':

    today       {phase, since, until, by, why, next: [{what, at}], resumes, hands, begun, looked}: what
                the day has come to and what comes next; what goes on after a stop; the closing's steps by
                hand, and whether it has begun; when what holds the rounds was last looked at again
    at_step     the step that the program is at: {script, name, since, until, again}; null if none runs
    under_way   {seeks, tidies}: since when it is being found out how the machine stands; whether a script
                that went wrong is being tidied up
    doing       the one thing that waits for a person; null if nothing does
    closing_left  what of the closing is still to do by hand, and where it can go on
    troubles    [{raised, name, words, do, caution, lines, state, since, until, ...}], the most urgent first
    keyboard    {who, since}; null unless a person has it
    stopping    {state, left, within_s, ...}; null unless somebody has said stop
    done_today  what the day comes to, in numbers
    practice    what is said of a practice that is over, sentence by sentence; null otherwise
    for_docent  what the machine's folder says to a docent
"""

from __future__ import annotations

from typing import Any

import msgspec

from exhibit.decisions.desk import (
    at_a_glance,
    closing_left,
    doing,
    done_before,
    hands,
    practised,
    today,
    troubles,
    under_way,
)
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.views import View
from exhibit.facts import kinds

_HANDLERS = (
    done_before.HANDLERS,
    doing.HANDLERS,
    troubles.HANDLERS,
    hands.HANDLERS,
    today.HANDLERS,
    practised.HANDLERS,
    closing_left.HANDLERS,
    under_way.HANDLERS,
)
_FREQUENT = frozenset({kinds.BytesReceived, kinds.BytesTyped, kinds.SecretTyped, kinds.DeadlinePassed})
"""Kinds that change nothing in what the visitors' picture counts; a fact of another kind soon follows."""


class DeskView(View):
    """What the docent's page shows after the facts applied so far."""

    def __init__(self) -> None:
        super().__init__()
        self._desk = ItemStore(self._clock)

    def apply(self, entry: kinds.Entry) -> None:
        """Take in the next fact."""
        super().apply(entry)
        fact, kind = entry.fact, type(entry.fact)
        if self.opened is None:
            return
        items = self._desk
        items.at(entry.seq, entry.at_us)
        if isinstance(fact, kinds.RecordingOpened):
            items.set("_rate", fact.rate)
            items.set("for_docent", _said_to_docents(fact))
        for handlers in _HANDLERS:
            if (handler := handlers.get(kind)) is not None:
                handler(items, fact)
        if isinstance(fact, kinds.TroubleRaised):
            troubles.raised(items, fact, self.text_rows())
        if kind not in _FREQUENT:
            troubles.time_passed(items)
            day, sums = self._items.value("day"), self._items.value("sums")
            today.take_visitors(items, day, sums, items.now())

    @property
    def items_seq(self) -> int:
        """The last fact at which something besides the console may have changed."""
        return max(super().items_seq, self._desk.changed_seq)

    def batch(self, after_seq: int, console: bool = True) -> dict[str, Any]:
        """As View.batch, with the docent's items too."""
        changed = super().batch(after_seq, console)
        if items := self._desk.batch(after_seq).get("items"):
            changed["items"] = {**changed.get("items", {}), **items}
        return changed

    def at_a_glance(self) -> dict[str, Any] | None:
        """How the day stands, in short; None before a recording has begun."""
        if self.opened is None:
            return None
        return at_a_glance.at_a_glance(self._items.value, self._desk.value)

    def snapshot(self) -> dict[str, Any]:
        """As View.snapshot."""
        return {**super().snapshot(), "desk": self._desk.snapshot()}

    def restore(self, snapshot: dict[str, Any]) -> None:
        """As View.restore."""
        super().restore(snapshot)
        self._desk.restore(snapshot["desk"], self.seq)


def _said_to_docents(fact: kinds.RecordingOpened) -> dict[str, Any]:
    said: dict[str, Any] = msgspec.to_builtins(fact.for_docent)
    emergencies = msgspec.to_builtins(fact.emergencies)
    shown = {name: said[name] for name in ("mains_stop", "keyholder", "two_people")}
    hands = {script: len(steps) for script, steps in fact.for_docent.by_hand.items()}
    return {**shown, "steps_by_hand": hands, "emergencies": emergencies}
