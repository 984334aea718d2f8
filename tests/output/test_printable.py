"""What can't be seen is escaped, and what can be read stays as it is."""

from __future__ import annotations

import sys
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.output.printable import printable, without_controls

ESCAPED = {
    "\x1b[2J": r"\x1b[2J",
    "\x1b]0;title\x07": r"\x1b]0;title\x07",
    "one\ntwo\r\x85\u2028\u2029": r"one\ntwo\r\x85\u2028\u2029",
    "\t\x00\x7f\x9b31m": r"\t\x00\x7f\x9b31m",
    "\u202egnihtyna\u202c": r"\u202egnihtyna\u202c",
    "\u2066\u2069\u200e\u200f\u061c": r"\u2066\u2069\u200e\u200f\u061c",
    "a\u200bb\u200c\u200d\u2060\ufeff\u00ad": r"a\u200bb\u200c\u200d\u2060\ufeff\xad",
    "\u115f\u3164\u034f\U000e0001\U000e0101": r"\u115f\u3164\u034f\U000e0001\U000e0101",
    "\udc9b[2J": r"\udc9b[2J",
    "\ue000\U0010fffd\uffff\u0378": r"\ue000\U0010fffd\uffff\u0378",
}
READABLE = ["ä ö ü ß", "שלום", "漢字かな", "مرحبا", "Ελλάδα", "हिन्दी", "⚠️ ☎", "e\u0301"]
READABLE += ["12\u00a0345\u202f678", "a\u3000b", r"\d+\n"]


@pytest.mark.parametrize("text", ESCAPED, ids=ascii)
def test_it_is_escaped(text: str) -> None:
    assert printable(text) == ESCAPED[text]


@pytest.mark.parametrize("text", READABLE, ids=ascii)
def test_it_stays(text: str) -> None:
    assert printable(text) == text


def test_of_all_characters_none_that_is_a_control_a_format_private_or_no_character_comes_out() -> None:
    out = printable("".join(map(chr, range(sys.maxunicode + 1))))
    kinds = {unicodedata.category(character) for character in set(out)}
    assert kinds & {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"} == set()
    assert kinds >= {"Lu", "Ll", "Lo", "Mn", "Nd", "Po", "Sc", "So", "Zs"}


@given(st.text(st.characters()))
def test_escaping_again_changes_nothing_and_text_that_can_be_read_is_never_lost(text: str) -> None:
    once = printable(text)
    assert printable(once) == once
    letters = [character for character in text if character.isalnum() and character.isprintable()]
    assert [character for character in once if character in letters][: len(letters)] or not letters


def test_a_file_keeps_the_marks_that_languages_need_but_no_controls() -> None:
    assert without_controls("می\u200cخواهم \x1b[2J\x9b\n") == "می\u200cخواهم \\x1b[2J\\x9b\\n"
