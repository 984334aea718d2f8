"""What of the closing is still to do: its steps by hand that nobody confirmed, and where it can go on."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import msgspec

from exhibit.decisions.machine.script import CLOSING, HOME
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.session.day_phase import NOT_KNOWN_AFTER, closing_goes_on_at
from exhibit.facts import kinds

CLOSING_LEFT: Final = "closing_left"
"""The name of the item: {steps: [{name, words, caution}], typed, goes_on_at}.

`typed`: whether all was typed that comes before its last steps. `goes_on_at`: the step at which it goes on if
it is broken off, with nothing typed for that; "" if it begins with its first step then.
"""
_LAST: Final = "_last_by_hand"
_TYPES: Final = "_closing_types"
_STOPS: Final = "_stops_by_step"
_ALL: Final = "_closing_by_hand"
_CONFIRMED: Final = "_confirmed_in_closing"
_ASKED: Final = "_asked_in_closing"
_BEGUN_AGAIN: Final = "_begun_again"
"""Whether a script has begun that may open the machine again: it has with the first of what is done."""
_DOES: Final = (kinds.HandsOnConfirmed, kinds.StepMatched, kinds.TypedByHand, kinds.PartStarted)
"""What does something at the machine. Finding out how it stands types as well, and opens nothing."""
_BY_DAY: Final = "_closed_by_day"
"""Whether the day is being closed, as the facts of the day have it: scripts run without a day don't go on."""


def none_yet(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    """A recording begins. What was confirmed before it isn't known."""
    said = fact.for_docent
    items.set(_ALL, msgspec.to_builtins(said.closing))
    items.set(_TYPES, said.closing_types)
    items.set(_LAST, said.last_by_hand)
    items.set(_STOPS, said.parts)
    items.set(_CONFIRMED, [])
    items.set(_ASKED, "")
    items.set(_BY_DAY, False)
    items.set(_BEGUN_AGAIN, False)
    items.set(CLOSING_LEFT, {"steps": items.value(_ALL), "typed": not said.closing_types, "goes_on_at": ""})


def _change(items: ItemStore, **to: Any) -> None:
    left = items.value(CLOSING_LEFT)
    if any(left[name] != value for name, value in to.items()):
        items.set(CLOSING_LEFT, {**left, **to})


def _confirm(items: ItemStore, confirmed: list[str]) -> None:
    items.set(_CONFIRMED, confirmed)
    _change(items, steps=[step for step in items.value(_ALL) if step["name"] not in confirmed])


def _without(items: ItemStore, *steps: str) -> None:
    confirmed = items.value(_CONFIRMED)
    if not set(steps).isdisjoint(confirmed):
        _confirm(items, [step for step in confirmed if step not in steps])


def _open_again(items: ItemStore, fact: Any) -> None:
    """After a script's start the machine is open again with the first thing done, and not before."""
    if isinstance(fact, kinds.ScriptStarted):
        items.set(_BEGUN_AGAIN, fact.script not in (CLOSING, HOME))
    elif items.value(_BEGUN_AGAIN) and isinstance(fact, _DOES):
        items.set(_BEGUN_AGAIN, False)
        _confirm(items, [])
        _change(items, typed=not items.value(_TYPES))


def follow(items: ItemStore, fact: Any) -> None:
    """Takes the next fact of one of the kinds in HANDLERS."""
    _open_again(items, fact)
    match fact:
        case kinds.StepStarted(script=script, step=step, tidying=False):
            items.set(_ASKED, step if script == CLOSING else "")
            if script == CLOSING and step in items.value(_LAST):
                _change(items, typed=True)
        case kinds.HandsOnAsked(script=script, step=step) if script == CLOSING:
            _without(items, step)  # asked for once more, so it isn't done
        case kinds.HandsOnConfirmed(step=step) if step == items.value(_ASKED):
            _confirm(items, [*items.value(_CONFIRMED), step])
        case kinds.PartStarted(part=part):
            stops = items.value(_STOPS)
            _without(
                items, *(step for step in items.value(_CONFIRMED) if stops.get(f"closing.{step}") == part)
            )
        case kinds.DayTurned(phase=phase):
            items.set(_BY_DAY, phase == "closing" or (phase == "stopped" and items.value(_BY_DAY)))
    at = closing_goes_on_at(items.value(CLOSING_LEFT)["goes_on_at"], fact, items.value(_LAST))
    _change(items, goes_on_at=at if items.value(_BY_DAY) else "")


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    **dict.fromkeys(
        (
            kinds.ScriptStarted,
            kinds.StepStarted,
            kinds.ScriptEnded,
            kinds.HandsOnAsked,
            kinds.HandsOnConfirmed,
            kinds.StepMatched,
            *NOT_KNOWN_AFTER,
        ),
        follow,
    ),
}
"""What each kind of fact does to the item."""
