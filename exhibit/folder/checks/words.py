"""Finds placeholders that were never replaced by real words, and words that were never translated."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from exhibit.folder.reading.languages import DO, SITE, TROUBLES, LanguageDraft
from exhibit.folder.reading.tables import Table

_PLACEHOLDER: Final = re.compile(
    r"\W*|\W*(?:to ?do|tbd|tba|to be (?:written|decided|added|done)|fill (?:this )?in|fix ?me|n/?a|none"
    r"|unknown|change ?me|placeholder|example|x{2,9}|lorem ipsum\b.*|insert\b.*\bhere)\W*",
    re.IGNORECASE | re.DOTALL,
)
_LEAST_WORDS: Final = 2
_SHORT_WORDS: Final = 4
"""Texts of fewer words can be the same in two languages."""


def check_words(languages: list[LanguageDraft]) -> None:
    """Add a mistake for each placeholder, and advice on texts that are the same in two languages."""
    for language in languages:
        for table, name, text in _all_words(language):
            if text and _PLACEHOLDER.fullmatch(text):
                table.wrong(
                    name,
                    f'"{text}" is a placeholder for words that nobody has written yet',
                    "the words that people should read there",
                )
        _check_site(language)
    for number, language in enumerate(languages):
        for other in languages[:number]:
            _compare(language, other)


def _check_site(language: LanguageDraft) -> None:
    site = language.table.table("site")
    key_of: dict[str, str] = {}
    for name, text in language.site.items():
        if not text or _PLACEHOLDER.fullmatch(text):
            continue
        if len(text.split()) < _LEAST_WORDS:
            what = f'"{text}" is not enough for somebody who needs it in an emergency'
            site.wrong(name, what, f'{name} = "{SITE[name]}"')
        elif text in key_of:
            what = f"{name} says the same as {key_of[text]}"
            site.wrong(name, what, f'{name} = "{SITE[name]}"')
        key_of.setdefault(text, name)


def _compare(language: LanguageDraft, other: LanguageDraft) -> None:
    words = {(table.path, name): text for table, name, text in _all_words(other)}
    for table, name, text in _all_words(language):
        if len(text.split()) >= _SHORT_WORDS and words.get((table.path, name)) == text:
            table.advise(
                name,
                f"these words are the same as in {other.table.file}",
                f"their translation into {language.name or 'this language'}",
            )


def _all_words(language: LanguageDraft) -> Iterator[tuple[Table, str, str]]:
    """Yield each text that people are shown, with its table and its name."""
    yield language.table.table("machine"), "title", language.title
    site = language.table.table("site")
    yield from ((site, name, text) for name, text in language.site.items())
    for section, words in language.words.items():
        yield from ((*language.where(section, name), text) for name, text in words.items())
    for name, (words_of, do) in language.troubles.items():
        one = language.beside.get((TROUBLES, name))
        table = language.sections[TROUBLES].table(name, optional=True) if one is None else one.table
        yield table, "words", words_of
        yield table, DO, do
