"""A caption stands as long as it takes to read it."""

import pytest

from exhibit.decisions.story.reading_time import longest_reading_us, reading_us, words_in


# 160 words a minute, worked out (BBC Subtitle Guidelines section 4): 12 words take 4.5 s, 20 take 7.5 s.
@pytest.mark.parametrize(("words", "us"), [(7, 2_625_000), (12, 4_500_000), (14, 5_250_000), (20, 7_500_000)])
def test_a_caption_stands_at_160_words_a_minute(words, us):
    assert reading_us(" ".join(["word"] * words)) == us


def test_no_caption_stands_for_less_than_two_seconds():
    # Captioning Key, Described and Captioned Media Program: none should stay for less than two seconds.
    assert reading_us("Two words.") == 2_000_000
    assert reading_us("") == 2_000_000
    assert reading_us(" ".join(["six"] * 5)) == 2_000_000
    assert reading_us(" ".join(["six"] * 6)) == 2_250_000


def test_long_words_take_longer():
    # Sixteen characters a second: 160 words of six characters a minute.
    assert reading_us("Gezeitenvorhersage " * 6) == 19 * 6 * 62_500


def test_no_caption_asks_for_more_than_180_words_a_minute_or_gives_less_than_0_3_s_a_word():
    # BBC Subtitle Guidelines sections 4 and 4.1.
    for words in range(1, 60):
        us = reading_us(" ".join(["a"] * words))
        assert words / (us / 60_000_000) <= 180
        assert us >= words * 300_000


def test_the_language_that_takes_longest_counts():
    assert longest_reading_us(["Short.", " ".join(["word"] * 12)]) == 4_500_000
    assert longest_reading_us([]) == 2_000_000


def test_a_dash_is_no_word_and_a_figure_is_one():
    assert words_in("It has -- oddly - 65536 places, 24-bit ones.") == [
        "It", "has", "oddly", "65536", "places,", "24-bit", "ones.",
    ]  # fmt: skip
