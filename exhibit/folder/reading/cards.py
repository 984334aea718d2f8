"""Reads the cards in background/LANGUAGE/NAME.md: short texts that the museum writes and replaces.

Of Markdown, a card has a title (# ...), paragraphs, figures (- name: value) and, at its end, its source
(> ...). Nothing else has a meaning: a card is shown as text, never as markup.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

from exhibit.facts.parts_and_cards import Card
from exhibit.folder.reading.mistakes import Mistake, decoded

FOLDER: Final = "background"
NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
"""Can begin with a digit, so that the names put the cards in order."""
LONGEST_TITLE: Final = 60
"""Characters: one or two lines on a phone."""
MOST_WORDS: Final = 120
"""Words on one card; a panel on a wall has 100 to 130 (docs/folder.md names the source)."""


def read_cards(files: Mapping[str, bytes], languages: list[str], mistakes: list[Mistake]) -> tuple[Card, ...]:
    """Return the cards in the order of their file names; adds to `mistakes`.

    A language can have no cards at all, and then those of another language are shown; one that has some
    needs all of them.
    """
    by_language: dict[str, dict[str, tuple[str, str, str]]] = {}
    unknown: set[str] = set()
    for file, content in files.items():
        _, tag, base = file.split("/")
        name = base.removesuffix(".md")
        wrong = _Reporter(file, mistakes)
        if tag not in languages:
            # An unknown language is one mistake, however many cards its folder contains.
            if tag not in unknown:
                write = f"a file captions/{tag}.toml, or delete the folder {FOLDER}/{tag}"
                wrong(1, f'no language has the tag "{tag}"', write)
            unknown.add(tag)
        elif not NAME.fullmatch(name):
            write = "a name of small letters, digits and hyphens"
            wrong(1, f'"{name}" can\'t be the name of a card', write)
        else:
            text = decoded(file, content)
            if isinstance(text, Mistake):
                mistakes.append(text)
            by_language.setdefault(tag, {})[name] = (
                ("", "", "") if isinstance(text, Mistake) else _read_card(text, wrong)
            )
    names = {name: None for cards in by_language.values() for name in cards}
    for tag, cards in by_language.items():
        for name in names:
            if name not in cards:
                file = f"{FOLDER}/{tag}/{name}.md"
                what = "this card is missing here, but another language has it"
                mistakes.append(Mistake(file, 1, what, "a translation of the card"))
    order = [tag for tag in languages if tag in by_language]
    return tuple(
        Card(
            name=name,
            title={tag: by_language[tag][name][0] for tag in order if name in by_language[tag]},
            text={tag: by_language[tag][name][1] for tag in order if name in by_language[tag]},
            source={tag: by_language[tag][name][2] for tag in order if name in by_language[tag]},
        )
        for name in sorted(names)
    )


class _Reporter:
    """Adds mistakes in one file."""

    def __init__(self, file: str, mistakes: list[Mistake]) -> None:
        self._file, self._mistakes = file, mistakes

    def __call__(self, line: int, what: str, write_instead: str) -> None:
        self._mistakes.append(Mistake(self._file, line, what, write_instead))


def _read_card(content: str, wrong: _Reporter) -> tuple[str, str, str]:
    """Return title, text and source."""
    lines = content.splitlines()
    title, source = "", ""
    paragraphs: list[list[str]] = [[]]
    for number, raw in enumerate(lines, 1):
        line = raw.strip()
        if not all(c.isprintable() for c in line):
            wrong(number, "a character here can't be shown", "plain text")
        elif line.startswith("#"):
            if title or line[:2] != "# ":
                wrong(number, "a card has exactly one title, at the top", "# The title")
            title = title or line.lstrip("# ")
        elif line.startswith(">"):
            source = f"{source} {line.lstrip('> ')}".strip()
        elif source and line:
            wrong(number, "no text can follow the source", "this text above the line that begins with >")
        elif line.startswith("- "):
            if ":" not in line:
                wrong(number, "a figure needs a name, a colon and a value", "- Word length: 24 bits")
            paragraphs += [[line], []]
        elif line:
            paragraphs[-1].append(line)
        else:
            paragraphs.append([])
    text = "\n\n".join(" ".join(paragraph) for paragraph in paragraphs if paragraph)
    words = len(text.split())
    if not title:
        wrong(1, "the card has no title", "# The title, as its first line")
    elif len(title) > LONGEST_TITLE:
        wrong(1, f"the title has {len(title)} characters", f"a title of at most {LONGEST_TITLE}")
    if not text:
        wrong(1, "the card has no text", "a few short sentences")
    elif words > MOST_WORDS:
        what = f"the card has {words} words, and nobody who stands reads so many"
        wrong(1, what, f"a text of at most {MOST_WORDS} words")
    if not source:
        wrong(len(lines) or 1, "the card names no source", "> Where this is written, as the last line")
    return title, text, source
