"""The script's steps as visitors are told of them: "4 of 9: it works out the tides".

A chapter is announced together with the first caption that tells of it, so that the two agree. It doesn't
wait where no caption of an earlier chapter is showing, nor longer than eight seconds of the visitor's time.

They are taken back while nobody hears the machine, and come back if the script turns out to have gone on.
"""

from __future__ import annotations

from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.silent import is_silent
from exhibit.facts import kinds
from exhibit.facts.units import S_US

STEPS: Final = "steps"
"""The name of the item."""
_KEPT: Final = "_steps"
"""The item as it would be if the machine is heard, whether it has been announced or waits."""
_ANNOUNCED: Final = "_steps_announced"
"""The item as it would be without the chapter that waits to be announced."""
WAITS_US: Final = 8 * S_US
BETWEEN_CAPTIONS_US: Final = S_US // 2
"""A caption that was withdrawn may be followed at once by another about the same chapter."""


def none_yet(items: ItemStore) -> None:
    """A recording begins, and no script runs in it."""
    for name in (STEPS, _KEPT, _ANNOUNCED):
        items.set(name, None)


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
    kept = items.value(_KEPT)
    if kept != items.value(_ANNOUNCED) and _may_be_announced(items, kept):
        items.set(_ANNOUNCED, kept)
    announced = items.value(_ANNOUNCED) if is_heard(items) else None
    shown = {key: value for key, value in announced.items() if key != "since_us"} if announced else None
    if shown != items.value(STEPS):
        items.set(STEPS, shown)


def _may_be_announced(items: ItemStore, kept: dict[str, Any] | None) -> bool:
    """Whether no caption still tells of the chapter before, nor is about to."""
    announced, caption = items.value(_ANNOUNCED), items.value("caption")
    if kept is None or (announced is None and caption is None):
        return True
    if caption is not None and caption["trigger_seq"] >= kept["seq"]:
        return True
    waits_us = WAITS_US if caption is not None else BETWEEN_CAPTIONS_US
    rate = (items.value("recording") or {}).get("rate", 1.0)
    return bool(items.at_us - kept["since_us"] >= waits_us * rate)


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
                    "since_us": items.at_us,
                },
            )


def _keep(items: ItemStore, steps: dict[str, Any] | None) -> None:
    if items.value(_KEPT) != steps:
        items.set(_KEPT, steps)
