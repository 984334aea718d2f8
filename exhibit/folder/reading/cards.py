"""Reads background/LANGUAGE/NAME.md: short texts that a museum writes and replaces, a card each.

Of Markdown a card has a title (# ...), paragraphs, figures (- name: value) and at its end the source
that it rests on (> ...). Nothing else has a meaning there: what is shown is text, never markup.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from exhibit.facts.errors import SetUpFault
from exhibit.facts.parts_and_cards import Card
from exhibit.folder.reading.mistakes import Mistake

FOLDER: Final = "background"
NAME: Final = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
"""May begin with a figure, by which the cards are put in order."""
LONGEST_TITLE: Final = 60
"""Characters: one line on a phone, or two."""
MOST_WORDS: Final = 120
"""Of one card: a panel at the V&A has 100 to 130 words (references are named in docs/folder.md)."""


def read_card_files(path: Path) -> dict[str, bytes]:
    """The cards' files of a machine's folder, by their names within it. Raises SetUpFault."""
    try:
        return {
            file.relative_to(path).as_posix(): file.read_bytes()
            for file in sorted((path / FOLDER).glob("*/*.md"))
        }
    except OSError as fault:
        raise SetUpFault(
            f"{fault.filename} can't be read: {fault.strerror}.",
            "So a card of background would be missing.",
            "Make the folder and its files readable for the user who runs this program.",
        ) from fault


def read_cards(files: Mapping[str, bytes], languages: list[str], mistakes: list[Mistake]) -> tuple[Card, ...]:
    """The cards, in the order of their files' names; what is wrong is added to the mistakes.

    A language without any card is shown those of another one. One that has some needs all.
    """
    by_language: dict[str, dict[str, tuple[str, str, str]]] = {}
    unknown: set[str] = set()
    for file, content in files.items():
        _, tag, base = file.split("/")
        name = base.removesuffix(".md")
        wrong = _Complaints(file, mistakes)
        if tag not in languages:
            # A folder without its language is one mistake, however many cards lie in it.
            if tag not in unknown:
                wrong(1, f'no language has the tag "{tag}"', f"a file captions/{tag}.toml, or no such folder")
            unknown.add(tag)
        elif not NAME.fullmatch(name):
            wrong(1, f'"{name}" can\'t be the name of a card', "small letters, figures and hyphens")
        else:
            by_language.setdefault(tag, {})[name] = _read_card(content, wrong)
    names = {name: None for cards in by_language.values() for name in cards}
    for tag, cards in by_language.items():
        for name in names:
            if name not in cards:
                file = f"{FOLDER}/{tag}/{name}.md"
                mistakes.append(
                    Mistake(file, 1, "another language has this card, and this one lacks it", "a translation")
                )
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


class _Complaints:
    def __init__(self, file: str, mistakes: list[Mistake]) -> None:
        self._file, self._mistakes = file, mistakes

    def __call__(self, line: int, what: str, write_instead: str) -> None:
        self._mistakes.append(Mistake(self._file, line, what, write_instead))


def _read_card(content: bytes, wrong: _Complaints) -> tuple[str, str, str]:
    """Title, text and source."""
    try:
        lines = content.decode("utf-8").splitlines()
    except UnicodeDecodeError as fault:
        at = content.count(b"\n", 0, fault.start) + 1
        wrong(at, "a character here is not UTF-8", "the file saved as UTF-8 by your editor")
        return "", "", ""
    title, source = "", ""
    paragraphs: list[list[str]] = [[]]
    for number, raw in enumerate(lines, 1):
        line = raw.strip()
        if not all(c.isprintable() for c in line):
            wrong(number, "a character here can't be shown", "plain text")
        elif line.startswith("#"):
            if title or line[:2] != "# ":
                wrong(number, "a card has one title, at its top", "# The title")
            title = title or line.lstrip("# ")
        elif line.startswith(">"):
            source = f"{source} {line.lstrip('> ')}".strip()
        elif source and line:
            wrong(number, "the source stands at the end", "the text above the line that begins with >")
        elif line.startswith("- "):
            if ":" not in line:
                wrong(number, "a figure has a name, a colon and what it is", "- Word length: 24 bits")
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
        wrong(1, f"the title has {len(title)} characters", f"at most {LONGEST_TITLE}")
    if not text:
        wrong(1, "the card has no text", "a few short sentences")
    elif words > MOST_WORDS:
        wrong(1, f"the card has {words} words, and nobody reads so many standing", f"at most {MOST_WORDS}")
    if not source:
        wrong(len(lines) or 1, "the card names no source", "> Where it is written, as the last line")
    return title, text, source
