"""Captions are broken into even lines, where the sense allows it."""

import random

import pytest

from exhibit.sums.caption_lines import LONGEST_LINE, lines_of


def test_no_line_is_too_long_and_nothing_is_lost():
    rng = random.Random(11)
    for _ in range(500):
        text = " ".join("x" * rng.randint(1, 12) for _ in range(rng.randint(1, 40)))
        lines = lines_of(text)
        assert " ".join(lines) == text
        assert max(map(len, lines)) <= LONGEST_LINE
        # No fewer lines are possible: filling each line as far as possible needs as many.
        greedy, length = 1, -1
        for word in text.split():
            length += 1 + len(word)
            if length > LONGEST_LINE:
                greedy, length = greedy + 1, len(word)
        assert len(lines) == greedy


def test_lines_are_similar_in_length():
    assert lines_of("one two three four five six seven eight nine ten") == [
        "one two three four five",
        "six seven eight nine ten",
    ]


def test_a_line_ends_with_a_sentence_if_it_can():
    assert lines_of("The list is empty: the machine has noted no fault.") == [
        "The list is empty:",
        "the machine has noted no fault.",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "The upper disc is up to speed and waits for the programs",  # article and noun
        "Everybody can see when the machine has the time for them",  # preposition and phrase
        "Die obere Platte ist auf Touren und wartet auf die Programme",
    ],
)
def test_a_line_does_not_end_with_a_word_that_belongs_to_the_next(text):
    first, _ = lines_of(text)
    assert first.split()[-1].lower() not in {
        "the",
        "to",
        "for",
        "of",
        "and",
        "has",
        "und",
        "auf",
        "die",
        "ist",
    }


def test_a_word_longer_than_a_line_has_a_line_of_its_own():
    long = "x" * (LONGEST_LINE + 1)
    assert lines_of(f"a {long} b") == ["a", long, "b"]
    assert lines_of("") == []
