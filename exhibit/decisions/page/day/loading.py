"""A load, piece by piece: the marks that the machine prints behind the words that begin the line.

It is counted in the line that is being printed, so it is the same whether a script or a person began it.
When the line has ended as it should, the load is `done` and stays so until its script ends; if it broke
off, nothing is said about it any more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import Any, Final

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.wire import Item
from exhibit.decisions.page.console_view import TakenPiece
from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds

LOADING: Final = "loading"
"""The name of the item."""
_ENDS: Final = (
    kinds.ScriptEnded,
    kinds.SessionFailed,
    kinds.LineLost,
    kinds.MachineSilent,
    kinds.BytesMissed,
    kinds.RecordingClosed,
)


class Loading:
    """Follows the line that is being printed, if the folder describes any loads."""

    def __init__(self) -> None:
        self._loads: dict[str, Any] = {}
        self._line = PrintedLine()

    def open(self, items: ItemStore, opened: kinds.RecordingOpened) -> None:
        """A recording begins."""
        self._use(opened)
        items.set(LOADING, None)

    def take(self, items: ItemStore, seq: int, at_us: int, received: Iterable[Item]) -> None:
        """Take in what the machine has just sent."""
        if not self._loads:
            return
        for item in received:
            ended = self._line.take(item)
            line = self._line.text if ended is None else ended
            if line:
                items.at(seq, at_us)
                self._look(items, line, is_over=ended is not None)

    def take_together(
        self, items: ItemStore, received: list[Item], again: Callable[[], Iterator[TakenPiece]]
    ) -> None:
        """Take in what the machine has sent in several pieces, which `again` gives one by one.

        They are only looked at singly if a line in them begins as a load does, which is seldom.
        """
        line, begins = self._line, tuple(load.begins for load in self._loads.values())
        text, column = line.text, line.column
        for item in received:
            ended = line.take(item)
            if (line.text if ended is None else ended).lstrip().startswith(begins):
                break
        else:
            return
        line.text, line.column = text, column
        now = items.seq, items.at_us, items.changed_seq
        for seq, at_us, some in again():
            self.take(items, seq, at_us, some)
        # What was set meanwhile by later facts stays the last that was set.
        items.at(now[0], now[1])
        items.changed_seq = max(items.changed_seq, now[2])

    def see(self, items: ItemStore, fact: Any) -> None:
        """Take in a fact that may end what was said."""
        if isinstance(fact, _ENDS) and items.value(LOADING) is not None:
            items.set(LOADING, None)
        if isinstance(fact, kinds.LineLost | kinds.BytesMissed):
            self._line.clear()

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {"text": self._line.text, "column": self._line.column}

    def restore(self, kept: dict[str, Any], opened: kinds.RecordingOpened | None) -> None:
        """Go on from a snapshot."""
        if opened is not None:
            self._use(opened)
        self._line.text, self._line.column = kept["text"], kept["column"]

    def _use(self, opened: kinds.RecordingOpened) -> None:
        self._loads = dict(opened.loads)
        self._line = PrintedLine(opened.display.tab_columns, paper=opened.display.kind == "paper")

    def _look(self, items: ItemStore, line: str, *, is_over: bool) -> None:
        text = line.strip()
        for name, load in self._loads.items():
            if not text.startswith(load.begins):
                continue
            marks, ends = text[len(load.begins) :], True
            if load.ends:
                marks, found, _ = marks.partition(load.ends)
                ends = bool(found)
            count = marks.count(load.mark)
            loading = items.value(LOADING)
            if loading is None or loading["load"] != name or loading["done"]:
                if is_over:
                    return
                loading = {"load": name, "count": -1, "since": items.now(), "seq": items.seq, "done": False}
            if is_over and not ends:
                items.set(LOADING, None)
            elif is_over or (load.ends and ends):
                items.set(LOADING, {**loading, "count": count, "seq": items.seq, "done": True})
            elif count != loading["count"]:
                items.set(LOADING, {**loading, "count": count, "seq": items.seq})
            return
