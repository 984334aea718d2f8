"""Takes each fact into the items of this package, in the order in which they need one another."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

import msgspec

from exhibit.decisions.display.wire import Item
from exhibit.decisions.page.console_view import TakenPiece
from exhibit.decisions.page.day import album, plots, scene, steps
from exhibit.decisions.page.day.day_so_far import DAY, DaySoFar
from exhibit.decisions.page.day.loading import Loading
from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds
from exhibit.facts.use_before import DayBefore

"""The name of the item."""
_FREQUENT: Final = frozenset(
    {kinds.BytesTyped, kinds.SecretTyped, kinds.TypedByHand, kinds.DeadlineArmed, kinds.DeadlinePassed}
)
"""Kinds that change nothing here themselves; a fact of another kind soon follows."""
_OF_THE_DAY: Final = frozenset(
    {
        kinds.Heartbeat,  # by which midnight is noticed
        kinds.ScriptStarted,
        kinds.ScriptEnded,
        kinds.ScriptRefused,
        kinds.SessionResting,
        kinds.SessionFailed,
        kinds.PartStarted,
        kinds.ReadingTaken,
        kinds.DiscErrorsCounted,
        kinds.LineOpened,
        kinds.LineLost,
        kinds.CarriedOver,
        kinds.RecordingClosed,
    }
)


def recorded(opened: kinds.RecordingOpened) -> dict[str, Any]:
    """What the item `recording` says about them."""
    return {
        "plots": msgspec.to_builtins(opened.plots),
        "loads": msgspec.to_builtins(opened.loads),
        "chapters": msgspec.to_builtins(opened.chapters),
        "round_words": opened.round_words,
        "hours": msgspec.to_builtins(opened.hours),
    }


class Moment:
    """What is going on, what the day has brought, and how to look at it."""

    def __init__(self, items: ItemStore, rows: Callable[[], list[str]]) -> None:
        self._items = items
        self._rows = rows
        self._loading = Loading()
        self._day = DaySoFar()
        self._done: tuple[str, ...] = ()
        """The plots whose jobs were done before this fact."""

    def open(self, opened: kinds.RecordingOpened) -> None:
        """A recording begins; the item `recording` is set."""
        items = self._items
        plots.none_yet(items)
        steps.none_yet(items)
        album.none_yet(items)
        self._loading.open(items, opened)
        self._day.open(opened, items.now())
        self._set_day()
        scene.none_yet(items)

    def received(self, seq: int, at_us: int, items: Iterable[Item]) -> None:
        """The machine has sent this."""
        self._loading.take(self._items, seq, at_us, items)

    def received_together(self, items: list[Item], again: Callable[[], Iterator[TakenPiece]]) -> None:
        """The machine has sent this in several pieces; `again` gives them one by one."""
        self._loading.take_together(self._items, items, again)

    def heard(self) -> None:
        """The machine is heard again."""
        steps.show(self._items)

    def before(self) -> None:
        """The next fact is about to be taken in."""
        self._done = self._plots_done()

    def see(self, fact: Any) -> None:
        """Take in a fact, after the items about what runs now have."""
        items = self._items
        if type(fact) in _FREQUENT or items.value(DAY) is None:
            return  # in the second case the recording's first fact is missing
        plots.end_lost(items)
        self._loading.see(items, fact)
        steps.see(items, fact)
        self._see_day(fact)
        album.see(items, fact, self._rows)
        scene.see(items, fact)

    def _see_day(self, fact: Any) -> None:
        items, day = self._items, self._day
        if type(fact) not in _OF_THE_DAY and self._plots_done() == self._done:
            return
        before = day.now
        until_us = getattr(fact, "until_us", 0)
        changed = day.see(fact, items.now(), items.wall(until_us) if until_us else "")
        for name in self._plots_done():
            if name not in self._done:
                day.plot_done(name)
        if (items.value("recording") or {}).get("typing") == "nothing":
            if isinstance(fact, kinds.LineOpened | kinds.CarriedOver):
                day.watched(items.now(), begins=True)
            elif isinstance(fact, kinds.LineLost | kinds.RecordingClosed):
                day.watched(items.now(), begins=False)
        elif isinstance(fact, kinds.RecordingClosed):
            day.end(items.now())
        if changed or day.now is not before:
            self._set_day()

    def _set_day(self) -> None:
        for name, value in self._day.items().items():
            if self._items.value(name) != value:
                self._items.set(name, value)

    def _plots_done(self) -> tuple[str, ...]:
        done = [name for name, plot in (self._items.value(plots.PLOTS) or {}).items() if plot["done"]]
        return tuple(done)

    def day_before(self) -> DayBefore:
        """What the next recording of the same day is told: what still ran broke off."""
        self._day.end(self._items.now())
        return self._day.now

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values; the rest is in the items."""
        return {"loading": self._loading.snapshot()}

    def restore(self, kept: dict[str, Any], opened: kinds.RecordingOpened | None) -> None:
        """Go on from a snapshot, once the items have."""
        self._loading.restore(kept["loading"], opened)
        if opened is not None:
            self._day.use(opened)
            self._day.restore(self._items.value)
