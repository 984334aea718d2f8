"""What a sample tells its visitors can be read: one caption after the other, each for long enough."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from exhibit.decisions.story.caption_turns import AGAIN_AFTER_US
from exhibit.decisions.story.reading_time import SHORTEST_US, longest_reading_us
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from exhibit.web.places import recordings_folder

SAMPLES = sorted(recordings_folder().glob("*.exhibit"))
VISIT_US = 120_000_000
MOST_CHANGES = 24
"""In a visit of two minutes, five seconds each (our own choice; no figure for it is published)."""


def shown(path: Path) -> list[tuple[int, kinds.CaptionShown]]:
    """The captions of a recording, with their times."""
    entries = read_all(path).entries
    return [(e.at_us, e.fact) for e in entries if isinstance(e.fact, kinds.CaptionShown)]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_each_caption_stands_until_it_can_have_been_read(path: Path):
    captions = shown(path)
    assert len(captions) > 20
    before = ""
    for (at_us, one), (next_us, _) in pairwise(captions):
        # Of a sentence that stood there already only the figures are new.
        wanted_us = SHORTEST_US if one.caption == before else longest_reading_us(one.words.values())
        assert next_us - at_us >= wanted_us, one
        before = one.caption


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_same_words_dont_come_again_within_a_minute(path: Path):
    last: dict[tuple[str, ...], int] = {}
    for at_us, one in shown(path):
        words = tuple(one.words.values())
        assert at_us - last.get(words, -AGAIN_AFTER_US) >= AGAIN_AFTER_US
        last[words] = at_us


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_visit_of_two_minutes_sees_changes_and_not_too_many(path: Path):
    times = [at_us for at_us, _ in shown(path)]
    for begin_us in times:
        if begin_us + VISIT_US <= times[-1]:
            seen = [at_us for at_us in times if begin_us <= at_us < begin_us + VISIT_US]
            assert 10 <= len(seen) <= MOST_CHANGES
