"""A caption of a reading is read with its number and its time; impossible and unknown keys are found."""

from __future__ import annotations

import pytest

from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import ROOT, mistakes_in

pytestmark = pytest.mark.pure

WHIMBREL = {
    path.relative_to(ROOT / "scripts/whimbrel").as_posix(): path.read_bytes()
    for path in (ROOT / "scripts/whimbrel").rglob("*.toml")
}
WAS = b'change = "stays above"\nnumber = 90\nfor = "5 s"'


def with_change(text: str) -> dict[str, bytes]:
    assert WHIMBREL["story.toml"].count(WAS) == 1
    return {**WHIMBREL, "story.toml": WHIMBREL["story.toml"].replace(WAS, text.encode())}


def said(text: str) -> list[str]:
    return [f"{mistake.what} / {mistake.write_instead}" for mistake in mistakes_in(with_change(text))]


@pytest.mark.parametrize(
    ("text", "number", "for_us"),
    [
        ('change = "crosses upwards"\nnumber = 2.5', 2.5, 0),
        ('change = "first change today"', 0, 0),
        ('change = "stays unchanged"\nfor = "5 min"', 0, 300_000_000),
        ('change = "stays below"\nnumber = -3\nfor = "1 s"', -3, 1_000_000),
    ],
)
def test_a_change_is_read_with_its_number_and_its_time(text, number, for_us):
    folder = folder_from(with_change(text), "whimbrel")
    trigger = next(c.trigger for c in folder.captions if c.name == "processor-busy-on")
    assert (trigger.number, trigger.for_us) == (number, for_us)
    assert f'"{trigger.change}"' in text


def test_a_change_must_have_the_keys_that_it_needs_and_no_others():
    assert said('change = "stays above"\nnumber = 90') == ['this [[caption]] lacks for / for = "30 s"']
    assert len(said('change = "rises"\nnumber = 90')) == 1
    assert len(said('change = "changes"\nfor = "5 s"')) == 1


def test_an_unknown_change_is_one_mistake():
    (mistake,) = said('change = "stays abowe"\nnumber = 90\nfor = "5 s"')
    assert 'change = "stays above"' in mistake


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('change = "stays unchanged"\nfor = "301 s"', "stayed for longer than 5 min"),
        ('change = "crosses upwards"\nnumber = "90"', "must be a whole number"),
        ('change = "crosses upwards"\nnumber = 1e300', "not a number that a machine would show"),
        ('change = "crosses upwards"\nnumber = nan', "not a number that a machine would show"),
    ],
)
def test_an_impossible_number_or_time_is_found(text, words):
    (mistake,) = said(text)
    assert words in mistake


def test_words_can_mark_a_field_as_a_number_but_not_invent_one():
    english = WHIMBREL["captions/en.toml"].replace(
        b"All {words: number} places", b"All {word: number} places"
    )
    (mistake,) = mistakes_in({**WHIMBREL, "captions/en.toml": english})
    assert "no field {word}" in mistake.what
