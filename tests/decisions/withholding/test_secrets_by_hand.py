"""Four letters in a row of a known secret that a person types at the machine are never recorded."""

import random

import pytest

from exhibit.decisions.display.characters import codes_of
from exhibit.decisions.withholding.secret_search import SecretsByHand
from exhibit.facts import kinds
from tests.sampling import SEED

WORD = "".join(random.Random(SEED).choice("BCDFGHJKLMNPQRSTVWXZ") for _ in range(9))


def kept(text: str, *, by: int, secrets=(WORD,)) -> str:
    """What is recorded of this typing, in pieces of so many characters; a dot for each that is withheld."""
    search = SecretsByHand(secrets)
    shown = ""
    for start in range(0, len(text), by):
        piece = text[start : start + by]
        for fact in search.take(kinds.TypedByHand(bytes=piece, count=len(piece))):
            shown += "." * fact.count if fact.secret else fact.bytes
    return shown


@pytest.mark.parametrize("by", [1, 2, 100])
@pytest.mark.parametrize("typed", [WORD, WORD.lower(), f"ECHO {WORD}", f"{WORD[:6]}"])
def test_a_secret_typed_at_the_wrong_place_is_withheld(typed, by):
    shown = kept(f"{typed}\rTIME\r", by=by)
    assert not any(WORD[start : start + 4] in shown.upper() for start in range(len(WORD) - 3))
    assert shown.endswith("\rTIME\r")


def test_other_lines_are_recorded_as_they_are_typed():
    assert kept(f"LIST {WORD[:3]}\r", by=1) == f"LIST {WORD[:3]}\r"
    assert kept(f"{WORD}\r", by=1, secrets=()) == f"{WORD}\r"


def test_what_is_withheld_already_stays_so():
    hidden = kinds.TypedByHand(bytes="", count=3, secret=True)
    assert SecretsByHand((WORD,)).take(hidden) == [hidden]


NATIONAL = [
    ("german", "BÄRENHÖHLE"),
    ("latin-1", "Größenwahn"),
    ("utf-8", "ÄÖÜß€ÄÖÜ"),
    ("utf-8", "Ñandúñandú"),
    ("utf-8", "DÍNDÍN"),
]


@pytest.mark.parametrize(("characters", "word"), NATIONAL)
@pytest.mark.parametrize("change", [str, str.lower])
def test_a_secret_with_letters_of_its_country_is_withheld_too(characters, word, change):
    sent = codes_of(change(word), characters)
    search = SecretsByHand((word,), characters)
    facts = [one for byte in sent for one in search.take(kinds.TypedByHand(bytes=chr(byte), count=1))]
    assert [one.secret for one in facts] == [False] * 3 + [True] * (len(sent) - 3)
    assert search.take(kinds.TypedByHand(bytes="\r", count=1)) == [kinds.TypedByHand(bytes="\r", count=1)]
