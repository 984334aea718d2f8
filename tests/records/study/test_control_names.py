"""Control codes and sequences have the names of ECMA-48, 5th edition."""

from __future__ import annotations

import pytest

from exhibit.records.study.control_names import C0, escape_name, sequence_name

# ECMA-48 (June 1991), s.8.3, with the section beside each: function, final byte as column/row.
FROM_THE_STANDARD = [
    ("CUP", 0x48),  # 8.3.21, 04/08
    ("ED", 0x4A),  # 8.3.39, 04/10
    ("EL", 0x4B),  # 8.3.41, 04/11
    ("ECH", 0x58),  # 8.3.38, 05/08
    ("ICH", 0x40),  # 8.3.64, 04/00
    ("DCH", 0x50),  # 8.3.26, 05/00
    ("IL", 0x4C),  # 8.3.67, 04/12
    ("DL", 0x4D),  # 8.3.32, 04/13
    ("SGR", 0x6D),  # 8.3.117, 06/13
    ("CUU", 0x41),  # 8.3.22, 04/01
    ("CUD", 0x42),  # 8.3.19, 04/02
    ("CUF", 0x43),  # 8.3.20, 04/03
    ("CUB", 0x44),  # 8.3.18, 04/04
    ("SM", 0x68),  # 8.3.125, 06/08
]


@pytest.mark.parametrize(("acronym", "final"), FROM_THE_STANDARD)
def test_a_control_sequence_has_the_standard_s_acronym(acronym: str, final: int) -> None:
    assert sequence_name("", "", chr(final))[0] == acronym


def test_every_code_below_blank_has_a_name_and_none_has_two() -> None:
    assert set(C0) == {*range(32), 127}
    assert len({acronym for acronym, _ in C0.values()}) == len(C0)
    # s.8.2: the codes that a console of the time used, by column and row.
    assert [C0[code][0] for code in (0x07, 0x08, 0x09, 0x0A, 0x0B, 0x0C, 0x0D, 0x18, 0x1B)] == [
        "BEL", "BS", "HT", "LF", "VT", "FF", "CR", "CAN", "ESC",
    ]  # fmt: skip


def test_where_the_cursor_goes_is_said_and_what_is_left_out_is_1() -> None:
    # s.8.3.21: default values 1;1.
    assert sequence_name("5;10", "", "H") == ("CUP", "cursor position: line 5, column 10")
    assert sequence_name("", "", "H") == ("CUP", "cursor position: line 1, column 1")
    assert sequence_name(";7", "", "H") == ("CUP", "cursor position: line 1, column 7")


def test_what_is_erased_and_how_characters_look_is_said() -> None:
    assert sequence_name("2", "", "J") == ("ED", "erase in page: all of it")
    assert sequence_name("1", "", "K") == ("EL", "erase in line: from its start")
    assert sequence_name("1;7", "", "m") == ("SGR", "select graphic rendition: bold, negative")
    assert sequence_name("", "", "m") == ("SGR", "select graphic rendition: plain")


def test_what_the_standard_leaves_to_private_use_gets_no_name_of_ours() -> None:
    # s.5.4 d: finals 07/00 to 07/14; s.5.4.1: a parameter string that begins with 03/12 to 03/15.
    assert sequence_name("1;24", "", "r") == ("CSI", "for private use: 1;24r")
    assert sequence_name("?25", "", "h") == ("SM", "for private use: ?25")
    assert escape_name("", "7") == ("ESC", "for private use")


def test_sequences_after_escape_have_their_names() -> None:
    assert escape_name("", "M") == ("RI", "reverse line feed")
    assert escape_name("", "c") == ("RIS", "reset to initial state")
    assert escape_name("(", "B")[0] == "ESC"


@pytest.mark.parametrize("params", ["9" * 60, ";" * 40, "1:2;3", "-1"])
def test_strange_parameters_are_shown_as_they_came(params: str) -> None:
    for final in "HJKmA":
        assert sequence_name(params, "", final)[0] in ("CUP", "ED", "EL", "SGR", "CUU")
