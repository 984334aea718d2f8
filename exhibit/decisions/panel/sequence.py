"""The acts of a hands-on step as a page or a card shows them, one after the other."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

from exhibit.decisions.panel.drawing import drawn
from exhibit.decisions.panel.sentences import in_words, what_to_do
from exhibit.facts.parts_and_cards import PanelAct

_PLACE: Final = re.compile(r"\{ *([a-z]+) *\}")


def shown(acts: Sequence[PanelAct], tags: Sequence[str]) -> list[dict[str, Any]]:
    """Each act as JSON values: `act`, `value`, and by language tag `words`, `where`, `svg`.

    `where` says which are up or lit; it and `svg` are empty for a key that is pressed.
    """
    return [
        {
            "act": act.act,
            "value": act.value,
            "words": {tag: what_to_do(act, tag) for tag in tags},
            "where": {tag: in_words(act, tag) for tag in tags},
            "svg": {tag: drawn(act, tag) for tag in tags},
        }
        for act in acts
    ]


def filled(words: str, acts: Sequence[PanelAct], tag: str) -> str:
    """The words of a step with its places filled from the first act that can fill each."""
    return _PLACE.sub(lambda place: fillings(acts, tag).get(place[1], place[0]), words)


def fillings(acts: Sequence[PanelAct], tag: str) -> dict[str, str]:
    """What the places of a step's words stand for, by their names; only those that these acts can fill."""
    found: dict[str, str] = {}
    for act in acts:
        if act.act == "press":
            found.setdefault("key", act.name)
        elif act.act == "set":
            found.setdefault("value", act.value)
            found.setdefault("up", in_words(act, tag))
        else:
            found.setdefault("lamps", act.value)
    return found
