"""Numbers are written as people write them, and stay the numbers that the machine gave."""

from __future__ import annotations

import re

import pytest
from babel.localedata import locale_identifiers

from exhibit.decisions.story.spoken_numbers import number_in_language


# The Unicode Consortium's CLDR, as its charts show the marks of these languages.
@pytest.mark.parametrize(
    ("text", "tag", "written"),
    [
        ("65536", "en", "65,536"),
        ("65536", "de", "65.536"),
        ("65536", "de-CH", "65’536"),
        ("1234567.5", "de-CH", "1’234’567.5"),
        ("-1234567", "de-CH", "-1’234’567"),
        ("65536", "he", "65,536"),
        ("2.31", "en", "2.31"),
        ("2.31", "de", "2,31"),
        ("2.310", "de", "2,310"),
        ("-1234567.50", "de", "-1.234.567,50"),
        ("+7", "en", "7"),
        ("87", "de", "87"),
    ],
)
def test_a_number_has_the_marks_of_its_language_and_all_its_figures(text, tag, written):
    assert number_in_language(text, tag) == written


def test_in_every_language_the_same_mark_stands_at_each_thousand():
    tags = [identifier.replace("_", "-") for identifier in locale_identifiers()]
    grouped = re.compile(r"-1(\D)234(?:\1)567\D50")
    assert len(tags) > 500
    assert [tag for tag in tags if not grouped.fullmatch(number_in_language("-1234567.50", tag))] == []


@pytest.mark.parametrize("text", ["LOWER", "25.11.1998", "1e5", "", "12 MINUTES"])
def test_what_is_no_number_stays_as_it_is(text):
    assert number_in_language(text, "de") == text


def test_a_language_that_nobody_knows_gets_the_machines_own_figures():
    assert number_in_language("65536", "xx") == "65536"
    assert number_in_language("65536", "not a tag") == "65536"
