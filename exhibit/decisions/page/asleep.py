"""Since when the whole machine has stood still, as far as we saw: each part that ran has been stopped.

Whoever starts a part, a script or the line, or anything that the machine sends, ends it. What ran before the
program knew of it can't be known, so a machine counts as asleep only if at least one part was seen to stop.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import HIDDEN, ItemStore
from exhibit.facts import kinds

ASLEEP: Final = f"{HIDDEN}asleep"
"""The item: since when; None if it isn't so. Pages are told of it by the badge."""


def awake(items: ItemStore) -> None:
    """Something has happened at the machine."""
    if items.value(ASLEEP) is not None:
        items.set(ASLEEP, None)


def _part_stopped(items: ItemStore, _: kinds.PartStopped) -> None:
    hours = items.value("hours") or {}
    if not any(part["since"] for part in hours.values()):
        items.set(ASLEEP, {"since": items.now()})


def _awake(items: ItemStore, _: Any) -> None:
    awake(items)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.PartStopped: _part_stopped,
    kinds.PartStarted: _awake,
    kinds.ScriptStarted: _awake,
    kinds.LineOpened: _awake,
}
"""What each kind of fact does to the item. They come after those that count the hours of each part."""
