"""Finds words that stand for words still to be written, and those that nobody has translated."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from exhibit.folder.reading.languages import SITE, LanguageDraft
from exhibit.folder.reading.tables import Table

_TO_BE_WRITTEN: Final = re.compile(
    r"\W*|\W*(?:to ?do|tbd|tba|to be (?:written|decided|added|done)|fill (?:this )?in|fix ?me|n/?a|none"
    r"|unknown|change ?me|placeholder|example|x{2,9}|lorem ipsum\b.*|insert\b.*\bhere)\W*",
    re.IGNORECASE | re.DOTALL,
)
_LEAST_WORDS: Final = 2
_SHORT_WORDS: Final = 4
"""So few words can be the same in two languages."""


def check_words(languages: list[LanguageDraft]) -> None:
    """Add words that are none to the mistakes, and words that are the same in two languages."""
    for language in languages:
        for table, name, text in _all_words(language):
            if text and _TO_BE_WRITTEN.fullmatch(text):
                table.wrong(
                    name,
                    f'"{text}" stands for words that are still to be written',
                    "the words that people are to read there",
                )
        _check_site(language)
    for number, language in enumerate(languages):
        for other in languages[:number]:
            _compare(language, other)


def _check_site(language: LanguageDraft) -> None:
    site = language.table.table("site")
    said: dict[str, str] = {}
    for name, text in language.site.items():
        if not text or _TO_BE_WRITTEN.fullmatch(text):
            continue
        if len(text.split()) < _LEAST_WORDS:
            what = f'"{text}" is too little for who needs it in an emergency'
            site.wrong(name, what, f'{name} = "{SITE[name]}"')
        elif text in said:
            what = f"{name} says the same as {said[text]}"
            site.wrong(name, what, f'{name} = "{SITE[name]}"')
        said.setdefault(text, name)


def _compare(language: LanguageDraft, other: LanguageDraft) -> None:
    words = {(table.path, name): text for table, name, text in _all_words(other)}
    for table, name, text in _all_words(language):
        if len(text.split()) >= _SHORT_WORDS and words.get((table.path, name)) == text:
            table.advise(
                name,
                f"these words are the same as in {other.table.file}",
                f"the same in {language.name or 'this language'}",
            )


def _all_words(language: LanguageDraft) -> Iterator[tuple[Table, str, str]]:
    """Each text that people are shown: its table, its name and the text."""
    yield language.table.table("machine"), "title", language.title
    site = language.table.table("site")
    yield from ((site, name, text) for name, text in language.site.items())
    for section, words in language.words.items():
        yield from ((language.sections[section], name, text) for name, text in words.items())
    for name, (words_of, do) in language.troubles.items():
        table = language.sections["troubles"].table(name)
        yield table, "words", words_of
        yield table, "do", do
