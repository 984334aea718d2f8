"""Lines that the machine showed again because a script asked it to, before RETURN.

The page folds such a line with its first showing, and says once a day why it was shown again. That we asked
is not taken on trust: a script typed a single control character, and then the machine printed, on the next
line, exactly what had been on the line before.

    again.typed(items, fact, row)            # BytesTyped; the row that the cursor was on
    if again.is_awaited(items): again.look(items, above, row)   # after each piece that was received
"""

from __future__ import annotations

from typing import Any, Final

from exhibit.decisions.page.item_store import HIDDEN, ItemStore
from exhibit.facts import kinds

SHOWN_AGAIN: Final = "shown_again"
"""The name of the item: the last such lines, each with its first showing."""
_AWAITED: Final = f"{HIDDEN}awaited_again"
_TOLD_ON: Final = f"{HIDDEN}told_again_on"
MOST_LINES: Final = 8
_SHORTEST: Final = 4
_SCRIPT: Final = "script "
_MOVE: Final = "\r\n\b\t"
"""Control characters that end a line or move within it: no machine shows a line again for them."""


def none_yet(items: ItemStore) -> None:
    """A recording begins."""
    items.set(SHOWN_AGAIN, [])
    items.set(_AWAITED, "")
    items.set(_TOLD_ON, "")


def may_ask(fact: kinds.BytesTyped) -> bool:
    """Whether this may ask the machine to show its line again."""
    single = len(fact.bytes) == 1 and fact.bytes < " " and fact.bytes not in _MOVE
    return single and not fact.secret and fact.by.startswith(_SCRIPT)


def typed(items: ItemStore, fact: kinds.BytesTyped, row: str) -> None:
    """Something was typed while the cursor was on this row."""
    awaited = row.rstrip() if may_ask(fact) and len(row.strip()) >= _SHORTEST else ""
    if awaited != (items.value(_AWAITED) or ""):
        items.set(_AWAITED, awaited)


def is_awaited(items: ItemStore) -> bool:
    """Whether a line may be about to be shown again."""
    return bool(items.value(_AWAITED))


def look(items: ItemStore, above: str, row: str) -> None:
    """The cursor is on this row now, and the other is above it."""
    line: str = items.value(_AWAITED)
    if row.rstrip() != line or not above.startswith(line):
        return
    today = items.now()[: len("2026-11-29")]
    first_today = items.value(_TOLD_ON) != today
    shown: dict[str, Any] = {"first": above.rstrip(), "line": line, "seq": items.seq, "told": first_today}
    items.set(SHOWN_AGAIN, [*(items.value(SHOWN_AGAIN) or []), shown][-MOST_LINES:])
    items.set(_AWAITED, "")
    if first_today:
        items.set(_TOLD_ON, today)
