"""What to do at the switches and keys, in words: for people who don't see the drawing, and beside it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from exhibit.facts.fact import Words
from exhibit.facts.parts_and_cards import PanelAct

_SENTENCES: Final[dict[str, dict[str, str]]] = {
    "en": {
        "set": "Set the switches to {value}.",
        "press": "Press {name}.",
        "lamps": "The lamps must now show {value}.",
        "named lamps": "The lamps {name} must now show {value}.",
        "up": "Up, counted from the left: {which}. Down: all the others.",
        "all up": "Up: all of them.",
        "all down": "Down: all of them.",
        "lit": "Lit, counted from the left: {which}. Dark: all the others.",
        "all lit": "Lit: all of them.",
        "all dark": "Dark: all of them.",
        "one": "{places} of group {group}",
        "and": " and ",
    },
    "de": {
        "set": "Stellen Sie die Schalter auf {value}.",
        "press": "Drücken Sie {name}.",
        "lamps": "Die Lampen müssen jetzt {value} zeigen.",
        "named lamps": "Die Lampen {name} müssen jetzt {value} zeigen.",
        "up": "Nach oben, von links gezählt: {which}. Nach unten: alle anderen.",
        "all up": "Nach oben: alle.",
        "all down": "Nach unten: alle.",
        "lit": "Hell, von links gezählt: {which}. Dunkel: alle anderen.",
        "all lit": "Hell: alle.",
        "all dark": "Dunkel: alle.",
        "one": "{places} der Gruppe {group}",
        "and": " und ",
    },
}


def says(tag: str) -> Mapping[str, str]:
    """The sentences in the language of this tag, or in English if there are none."""
    return _SENTENCES.get(tag.split("-")[0], _SENTENCES["en"])


def what_to_do(act: PanelAct, tag: str) -> str:
    """The act as a sentence."""
    sentence = "named lamps" if act.act == "lamps" and act.name else act.act
    return says(tag)[sentence].format(name=act.name, value=act.value)


def in_words(act: PanelAct, tag: str) -> str:
    """Which switches are up or which lamps are lit; "" for a key."""
    if not act.positions:
        return ""
    said, lit = says(tag), act.act == "lamps"
    if "0" not in act.positions:
        return said["all lit" if lit else "all up"]
    if "1" not in act.positions:
        return said["all dark" if lit else "all down"]
    groups = act.positions.split()
    if all(len(bits) == 1 for bits in groups):
        which = _listed([number for number, bit in enumerate(groups, 1) if bit == "1"], said["and"])
    else:
        each = [
            said["one"].format(places=_listed(up, said["and"]), group=number)
            for number, bits in enumerate(groups, 1)
            if (up := [place for place, bit in enumerate(bits, 1) if bit == "1"])
        ]
        which = "; ".join(each)
    return said["lit" if lit else "up"].format(which=which)


def in_languages(act: PanelAct, tags: list[str]) -> Words:
    """The act and where each switch then stands, by language tag."""
    return {tag: f"{what_to_do(act, tag)} {in_words(act, tag)}".strip() for tag in tags}


def _listed(numbers: list[int], and_: str) -> str:
    *first, last = (f"{number}" for number in numbers)
    return f"{', '.join(first)}{and_}{last}" if first else last
