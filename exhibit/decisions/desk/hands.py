"""Whose hands are on the keyboard, and what is left to type after somebody has said stop."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec

from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds
from exhibit.facts.units import S_US

KEYBOARD: Final = "keyboard"
STOPPING: Final = "stopping"
"""The names of the items."""
_RUNNING: Final = "_running"
_TIDY_UPS: Final = "_tidy_ups"
_BEGUN: Final = "_begun_steps"
"""The steps of this run that were begun, but for its tidy-up; none if that is for an earlier run."""
_GAVE: Final = "_gave_in_tidy_up"
"""The steps of this tidy-up that brought what they waited for, so that a later one can name its number."""


def none_yet(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(_TIDY_UPS, msgspec.to_builtins(fact.for_docent.tidy_ups))
    items.set(_RUNNING, "")
    items.set(_BEGUN, [])
    items.set(_GAVE, [])
    items.set(KEYBOARD, None)
    items.set(STOPPING, None)


def _asked(items: ItemStore, fact: kinds.RequestMade) -> None:
    script = items.value(_RUNNING)
    if fact.request == "stop" and script and items.value(STOPPING) is None:
        items.set(STOPPING, {"state": "asked", "since": items.now(), "by": fact.by, **_left(items, script)})


def _refused(items: ItemStore, fact: kinds.RequestRefused) -> None:
    stopping = items.value(STOPPING)
    if fact.request == "stop" and stopping and stopping["state"] == "asked":
        items.set(STOPPING, None)


def _left(items: ItemStore, script: str, after: str = "") -> dict[str, Any]:
    """The steps of the tidy-up, from this one on, and how long they can take together at most.

    They are those that may follow: whether a step finds its prompt only its own turn shows.
    """
    steps: list[dict[str, Any]] = items.value(_TIDY_UPS).get(script, [])
    names = [step["name"] for step in steps]
    left = steps[names.index(after) :] if after in names else steps
    if begun := items.value(_BEGUN):
        may_be = {*begun, *items.value(_GAVE), *(step["name"] for step in left)}
        left = [step for step in left if may_be.issuperset(step["needs"])]
    within_s = sum(step["within_us"] for step in left) / S_US / items.value("_rate")
    return {"left": [step["name"] for step in left], "within_s": round(within_s)}


def _tidying(items: ItemStore, fact: kinds.TidyUpStarted) -> None:
    stopping = items.value(STOPPING)
    if stopping and stopping["state"] == "asked":
        items.set(STOPPING, {**stopping, "state": "tidying up", **_left(items, fact.script)})


def _matched(items: ItemStore, fact: kinds.StepMatched) -> None:
    if items.value(STOPPING) and fact.step not in items.value(_GAVE):
        items.set(_GAVE, [*items.value(_GAVE), fact.step])


def _step_started(items: ItemStore, fact: kinds.StepStarted) -> None:
    if not fact.tidying and fact.step not in items.value(_BEGUN):
        items.set(_BEGUN, [*items.value(_BEGUN), fact.step])
    stopping = items.value(STOPPING)
    if stopping and stopping["state"] == "tidying up" and fact.tidying:
        items.set(STOPPING, {**stopping, **_left(items, fact.script, fact.step)})


def _hands_off(items: ItemStore, fact: kinds.HandsOff) -> None:
    items.set(
        STOPPING,
        {
            "state": "hands off",
            "since": items.now(),
            "by": fact.by,
            "left": (items.value(STOPPING) or {}).get("left", []),
            "within_s": 0,
            "standing": fact.standing,
        },
    )


def _script_started(items: ItemStore, fact: kinds.ScriptStarted) -> None:
    items.set(_RUNNING, fact.script)
    items.set(_BEGUN, [])
    items.set(_GAVE, [])
    _stopped_no_longer(items, fact)


def _script_ended(items: ItemStore, _: Any) -> None:
    items.set(_RUNNING, "")
    stopping = items.value(STOPPING)
    if stopping and stopping["state"] != "hands off":
        items.set(STOPPING, None)


def _stopped_no_longer(items: ItemStore, _: Any) -> None:
    if items.value(STOPPING):
        items.set(STOPPING, None)


def _taken(items: ItemStore, fact: kinds.KeyboardTaken) -> None:
    items.set(KEYBOARD, {"who": fact.by, "since": items.now()})


def _given_back(items: ItemStore, _: Any) -> None:
    if items.value(KEYBOARD):
        items.set(KEYBOARD, None)


def _closed(items: ItemStore, fact: Any) -> None:
    items.set(_RUNNING, "")
    _stopped_no_longer(items, fact)
    _given_back(items, fact)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.RequestMade: _asked,
    kinds.RequestRefused: _refused,
    kinds.TidyUpStarted: _tidying,
    kinds.StepStarted: _step_started,
    kinds.StepMatched: _matched,
    kinds.HandsOff: _hands_off,
    kinds.ScriptStarted: _script_started,
    kinds.ScriptEnded: _script_ended,
    kinds.SessionFailed: _script_ended,
    kinds.SessionCleared: _stopped_no_longer,
    kinds.KeyboardTaken: _taken,
    kinds.KeyboardGivenBack: _given_back,
    kinds.RecordingClosed: _closed,
}
"""What each kind of fact does to the items."""
