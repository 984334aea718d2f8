"""Reads [emergencies.NAME] of a language's file: what to do when it matters most.

A folder can replace the program's own words, or add emergencies of its own.
"""

from __future__ import annotations

from typing import Final

from exhibit.facts.fact import Words
from exhibit.facts.parts_and_cards import Emergency
from exhibit.folder.reading.panel.general_emergencies import GENERAL, NAMES
from exhibit.folder.reading.tables import Table

EMERGENCIES: Final = "emergencies"
Written = tuple[str, list[str]]
"""A title, and what to do line by line."""


def read_emergencies(tag: str, root: Table) -> dict[str, Written]:
    """Read those that are written in this language, by name. Adds mistakes to the table."""
    general = general_in(tag)
    found: dict[str, Written] = {}
    for name, table in root.named_tables(EMERGENCIES, optional=True):
        title = table.text(
            "title", "Water on the floor", default=general[name][0] if name in general else None
        )
        do = table.texts("do", '["Press the mains stop."]', at_least_one=True)
        table.close()
        found[name] = title, [text for text, _ in do]
    return found


def general_in(tag: str) -> dict[str, Written]:
    """The program's own words in this language, or in English."""
    return GENERAL.get(tag.split("-")[0], GENERAL["en"])


def has_own_words(tag: str) -> bool:
    """Whether the program speaks this language in an emergency."""
    return tag.split("-")[0] in GENERAL


def emergencies_in(written: dict[str, dict[str, Written]]) -> dict[str, Emergency]:
    """Every emergency in each language, from those written in each: the program's own words fill the rest."""
    added = dict.fromkeys(name for own in written.values() for name in own if name not in NAMES)
    found = {}
    for name in (*NAMES, *added):
        title: Words = {}
        do: dict[str, list[str]] = {}
        for tag, own in written.items():
            said = own.get(name) or general_in(tag).get(name)
            if said is not None:
                title[tag], do[tag] = said[0], list(said[1])
        found[name] = Emergency(title=title, do=do)
    return found
