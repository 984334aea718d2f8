"""A screen of rows and columns, driven by the items of wire. pyte lies behind it."""

from collections.abc import Iterable, Mapping
from typing import Any

from exhibit.decisions.rendition import CursorPlace, Row
from exhibit.decisions.wire import Item
from exhibit.facts.display import FormFeed


class Screen:
    """What a visitor would see on the glass.

    It types nothing: a query from the machine is answered only if `answers` names it, and then the
    answer waits in take_answers() for someone who may type. Keys: "attributes" (CSI c), "status"
    (CSI 5 n), "cursor" (CSI 6 n, its %d;%d become row and column from 1), "enquiry" (ENQ).

    first_row is 0 always: take_dirty() and rows() count alike (on paper they need not).
    unknown_sequences counts complete sequences without a meaning here; they change nothing.
    """

    first_row = 0

    def __init__(
        self,
        rows: int,
        columns: int,
        *,
        wrap: bool = True,
        tab_columns: int = 8,
        form_feed: FormFeed = "line feed",
        answers: Mapping[str, bytes] | None = None,
    ) -> None:
        self.unknown_sequences = 0
        self.bells = 0

    def apply(self, items: Iterable[Item]) -> None:
        """Lets the items act on the screen, in order. It never raises for what a machine sends."""
        raise NotImplementedError

    def rows(self) -> list[Row]:
        """All rows from the top. Unchanged rows are the same objects as last time."""
        raise NotImplementedError

    def text_rows(self) -> list[str]:
        """All rows from the top as bare text, trailing blanks left out."""
        raise NotImplementedError

    @property
    def cursor(self) -> CursorPlace:
        """Where the cursor stands; past the last column it is reported in the last column."""
        raise NotImplementedError

    def take_dirty(self) -> set[int]:
        """Row numbers (rows()[number - first_row]) that may have changed since the last call."""
        raise NotImplementedError

    def take_answers(self) -> list[bytes]:
        """Answers to the machine's queries since the last call, oldest first."""
        raise NotImplementedError

    def snapshot(self) -> dict[str, Any]:
        """The whole state as plain JSON values: any further input acts as if there had been no break."""
        raise NotImplementedError

    def restore(self, kept: dict[str, Any]) -> None:
        """Takes on a state that snapshot() of a screen of the same size gave."""
        raise NotImplementedError
