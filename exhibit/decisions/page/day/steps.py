"""The script's steps as visitors are told of them: "4 of 9: it works out the tides".

They are taken back while nobody hears the machine, and come back if the script turns out to have gone on.
"""

from __future__ import annotations

from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.silent import is_silent
from exhibit.facts import kinds

STEPS: Final = "steps"
"""The name of the item."""
_KEPT: Final = "_steps"
"""The item as it would be if the machine is heard."""


def none_yet(items: ItemStore) -> None:
    """A recording begins, and no script runs in it."""
    items.set(STEPS, None)
    items.set(_KEPT, None)


def see(items: ItemStore, fact: Any) -> None:
    """Take in one fact, after the items say whether the machine is heard."""
    match fact:
        case kinds.ScriptStarted() | kinds.ScriptEnded() | kinds.SessionFailed() | kinds.RecordingClosed():
            _keep(items, None)
        case kinds.StepStarted():
            _step_started(items, fact)
    show(items)


def show(items: ItemStore) -> None:
    """Show the steps, or take them back."""
    shown = items.value(_KEPT) if is_heard(items) else None
    if shown != items.value(STEPS):
        items.set(STEPS, shown)


def is_heard(items: ItemStore) -> bool:
    """Whether the line is open and the machine isn't silent."""
    return not is_silent(items) and (items.value("line") or {}).get("state") == "open"


def chapters_of(items: ItemStore, script: str) -> list[dict[str, Any]]:
    """The chapters of this script, in order."""
    chapters: list[dict[str, Any]] = ((items.value("recording") or {}).get("chapters") or {}).get(script, [])
    return chapters


def _step_started(items: ItemStore, fact: kinds.StepStarted) -> None:
    chapters = chapters_of(items, fact.script)
    for place, chapter in enumerate(chapters, 1):
        if chapter["from_step"] == fact.step:
            _keep(
                items,
                {
                    "script": fact.script,
                    "round": (items.value("script") or {}).get("round", 0),
                    "at": place,
                    "of": len(chapters),
                    "name": chapter["name"],
                    "seq": items.seq,
                    "since": items.now(),
                },
            )


def _keep(items: ItemStore, steps: dict[str, Any] | None) -> None:
    if items.value(_KEPT) != steps:
        items.set(_KEPT, steps)
