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
        "switch": "the {places} switch",
        "lamp": "the {places} lamp",
        "in group": "{which} of group {group}",
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
        "switch": "der {places} Schalter",
        "lamp": "die {places} Lampe",
        "in group": "{which} der Gruppe {group}",
        "and": " und ",
    },
}
_PLACES: Final[dict[str, tuple[str, ...]]] = {
    "en": ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"),
    "de": ("erste", "zweite", "dritte", "vierte", "fünfte", "sechste", "siebte", "achte"),
}
"""The places in a group as words, so that none can be read as how many; beyond them, figures."""


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
        which = _listed([f"{number}" for number, bit in enumerate(groups, 1) if bit == "1"], said["and"])
    else:
        one = said["lamp" if lit else "switch"]
        each = []
        for number, bits in enumerate(groups, 1):
            up = [_place(place, tag) for place, bit in enumerate(bits, 1) if bit == "1"]
            if up:
                these = one.format(places=_listed(up, said["and"]))
                each.append(said["in group"].format(which=these, group=number))
        which = "; ".join(each)
    return said["lit" if lit else "up"].format(which=which)


def in_languages(act: PanelAct, tags: list[str]) -> Words:
    """The act and where each switch then stands, by language tag."""
    return {tag: f"{what_to_do(act, tag)} {in_words(act, tag)}".strip() for tag in tags}


def _place(number: int, tag: str) -> str:
    words = _PLACES.get(tag.split("-")[0], _PLACES["en"])
    return words[number - 1] if number <= len(words) else f"{number}."


def _listed(places: list[str], and_: str) -> str:
    *first, last = places
    return f"{', '.join(first)}{and_}{last}" if first else last
