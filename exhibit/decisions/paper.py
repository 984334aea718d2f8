"""A printing terminal: what is struck on paper stays there. The same interface as a screen."""

from collections.abc import Iterable, Mapping
from typing import Any

from exhibit.decisions.rendition import CursorPlace, Row
from exhibit.decisions.wire import Item
from exhibit.facts.display import FormFeed


class Paper:
    """The last keep_rows rows of an endless sheet.

    Rows are numbered from the first ever printed; first_row is the number of rows()[0].
    sheet_starts() gives the numbers of the kept rows before which a new sheet begins.
    """

    def __init__(
        self,
        columns: int,
        *,
        keep_rows: int = 200,
        wrap: bool = True,
        tab_columns: int = 8,
        form_feed: FormFeed = "new sheet",
        answers: Mapping[str, bytes] | None = None,
    ) -> None:
        self.unknown_sequences = 0
        self.bells = 0
        self.first_row = 0

    def apply(self, items: Iterable[Item]) -> None:
        """Prints the items, in order. Sequences are counted and do nothing."""
        raise NotImplementedError

    def rows(self) -> list[Row]:
        """The kept rows, oldest first."""
        raise NotImplementedError

    def text_rows(self) -> list[str]:
        """The kept rows as bare text; where characters lie on each other, the last one."""
        raise NotImplementedError

    def overstrikes(self, number: int) -> dict[int, str]:
        """Column -> all characters struck there, in order, where more than one shows in that row."""
        raise NotImplementedError

    def sheet_starts(self) -> list[int]:
        """Numbers of the kept rows that begin a new sheet."""
        raise NotImplementedError

    @property
    def cursor(self) -> CursorPlace:
        """Where the next character will be struck."""
        raise NotImplementedError

    def take_dirty(self) -> set[int]:
        """Row numbers (rows()[number - first_row]) that changed since the last call."""
        raise NotImplementedError

    def take_answers(self) -> list[bytes]:
        """Answers to the machine's queries since the last call, oldest first."""
        raise NotImplementedError

    def snapshot(self) -> dict[str, Any]:
        """The whole state as plain JSON values."""
        raise NotImplementedError

    def restore(self, kept: dict[str, Any]) -> None:
        """Takes on a state that snapshot() of paper of the same width gave."""
        raise NotImplementedError
