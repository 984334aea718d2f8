"""The steps by hand that somebody has confirmed and that nothing has shown to be done since."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.panel.sequence import shown
from exhibit.facts import kinds

LANGUAGES: Final = "_languages"
_ASKED: Final = "_asked_by_hand"
_CONFIRMED: Final = "_confirmed_by_hand"
"""Those confirmed since a command was last typed, in order."""
_ANSWERED: Final = "_confirmed_and_answered"
"""How many of them, from the first, were followed by what a later step waited for."""


def directly_before(items: ItemStore) -> list[dict[str, Any]]:
    """Those with nothing but pauses and captions between them and now, the nearest last."""
    return [*items.value(_CONFIRMED)[items.value(_ANSWERED) :]]


def since_typed(items: ItemStore) -> list[dict[str, Any]]:
    """Those confirmed since a command was last typed, the nearest last."""
    return [*items.value(_CONFIRMED)]


def _opened(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    items.set(LANGUAGES, [*fact.languages])
    _none(items, fact)


def _none(items: ItemStore, _: Any) -> None:
    items.set(_ASKED, None)
    items.set(_CONFIRMED, [])
    items.set(_ANSWERED, 0)


def _asked(items: ItemStore, fact: kinds.HandsOnAsked) -> None:
    confirmed = items.value(_CONFIRMED)
    steps = [one["step"] for one in confirmed]
    if fact.step in steps:  # it is asked again, because the machine showed that it was done too early
        items.set(_CONFIRMED, confirmed[: steps.index(fact.step)])
        items.set(_ANSWERED, min(items.value(_ANSWERED), steps.index(fact.step)))
    by_hand = {
        "step": fact.step,
        "words": fact.words,
        "caution": fact.caution,
        "panel": shown(fact.panel, items.value(LANGUAGES)),
    }
    items.set(_ASKED, by_hand if fact.caution else None)  # without a caution it is a question about a date


def _confirmed(items: ItemStore, fact: kinds.HandsOnConfirmed) -> None:
    asked = items.value(_ASKED)
    if asked and asked["step"] == fact.step:
        items.set(_CONFIRMED, [*items.value(_CONFIRMED), {**asked, "at": items.now()}])
        items.set(_ASKED, None)


def _matched(items: ItemStore, _: kinds.StepMatched) -> None:
    items.set(_ANSWERED, len(items.value(_CONFIRMED)))


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: _opened,
    kinds.HandsOnAsked: _asked,
    kinds.HandsOnConfirmed: _confirmed,
    kinds.StepMatched: _matched,
    kinds.TypingConfirmed: _none,
    kinds.SecretTyped: _none,
    kinds.ScriptStarted: _none,
    kinds.TidyUpStarted: _none,
    kinds.ScriptEnded: _none,
}
"""What each kind of fact does to them. Comes before `doing`, which asks for them."""
