"""Finds patterns with characters that the machine doesn't print."""

from __future__ import annotations

from typing import get_args

from exhibit.decisions.display.characters import is_printed, shown_for
from exhibit.decisions.machine.filling import PLACE
from exhibit.facts.display import CharacterSet
from exhibit.folder.checks.patterns import named_patterns
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.values import PRINTED_ANYWHERE


def check_characters(machine: MachineDraft) -> None:
    """Add a mistake for each pattern that is never printed, because the character set lacks a character."""
    name = machine.display.characters
    for path, pattern in named_patterns(machine):
        text = PLACE.sub("", pattern.text)
        strange = next((c for c in text if not (is_printed(c, name) or c in PRINTED_ANYWHERE)), "")
        if not strange:
            continue
        what = f'"{pattern.text}" is never printed: this console\'s characters, "{name}", have no "{strange}"'
        shown = strange.translate(shown_for(name))
        if shown != strange:
            write = f'"{pattern.text.replace(strange, shown)}", since that code is printed as "{shown}"'
        else:
            others = (other for other in get_args(CharacterSet) if is_printed(strange, other))
            named = ", ".join(f'"{other}"' for other in others)
            write = f"the line as the machine prints it, or, as characters in [display], one of: {named}"
        machine.table.wrong(path, what, write)
