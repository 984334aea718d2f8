"""What is under way though no round runs as planned: finding out how the machine stands, or tidying up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.session.script_run import SCRIPT_DONE
from exhibit.facts import kinds

UNDER_WAY: Final = "under_way"
"""The name of the item: {seeks, tidies}.

`seeks`: since when it is being found out what state the console is in; "" if it isn't. `tidies`: whether what
a script has started is being stopped because it went wrong or was stopped.
"""


def none_yet(items: ItemStore, _: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(UNDER_WAY, {"seeks": "", "tidies": False})


def _set(items: ItemStore, **to: Any) -> None:
    now = items.value(UNDER_WAY)
    if {**now, **to} != now:
        items.set(UNDER_WAY, {**now, **to})


def _sought(items: ItemStore, _: kinds.PlaceSought) -> None:
    if not items.value(UNDER_WAY)["seeks"]:
        _set(items, seeks=items.now())


def _found(items: ItemStore, _: kinds.PlaceRecognised) -> None:
    _set(items, seeks="")


def _tidying(items: ItemStore, fact: kinds.TidyUpStarted) -> None:
    """A script that was done tidies up as well, and then nothing is wrong."""
    _set(items, tidies=fact.why != SCRIPT_DONE)


def _neither(items: ItemStore, _: Any) -> None:
    _set(items, seeks="", tidies=False)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.PlaceSought: _sought,
    kinds.PlaceRecognised: _found,
    kinds.TidyUpStarted: _tidying,
    kinds.ScriptStarted: _neither,
    kinds.ScriptEnded: _neither,
    kinds.PersonAsked: _neither,
    kinds.SessionFailed: _neither,
    kinds.LineLost: _neither,
    kinds.RecordingClosed: _neither,
}
"""What each kind of fact does to the item."""
