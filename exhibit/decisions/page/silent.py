"""What the page no longer says while the machine is silent.

A caption from before says what the machine is doing, and nobody knows that any more. It is withdrawn, and
does not come back when something is heard: the machine may have just been switched on again. Captions
that were given while nothing was heard are never shown.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.machine.script import SILENT as SILENT_PLACE
from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds

SILENT: Final = "silent"
"""The item: since when nothing has been heard, and what was due; None while the machine isn't silent."""


def is_silent(items: ItemStore) -> bool:
    """Whether the page now says that nothing is heard."""
    return items.value(SILENT) is not None


def no_longer(items: ItemStore) -> None:
    """Something was heard, or somebody is at the machine."""
    if is_silent(items):
        items.set(SILENT, None)


def _withdraw_captions(items: ItemStore) -> None:
    for name in ("caption", "seen_caption"):
        if items.value(name) is not None:
            items.set(name, None)


def _machine_silent(items: ItemStore, fact: kinds.MachineSilent) -> None:
    since = items.wall(fact.heard_us) if fact.heard_us else ""
    items.set(SILENT, {"since": since, "due": fact.due, "at": items.now()})
    _withdraw_captions(items)


def _place_recognised(items: ItemStore, fact: kinds.PlaceRecognised) -> None:
    if fact.place == SILENT_PLACE:
        _withdraw_captions(items)


def _over(items: ItemStore, fact: Any) -> None:
    no_longer(items)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.MachineSilent: _machine_silent,
    kinds.PlaceRecognised: _place_recognised,
    kinds.BytesWithheld: _over,
    kinds.HeardAgain: _over,
    kinds.HandsOnConfirmed: _over,
    kinds.LineOpened: _over,
    kinds.LineLost: _over,
}
"""What each kind of fact does to the items."""
