"""What went along the line, in rows: nothing is left out, and each thing has its name where it begins."""

from __future__ import annotations

import random

from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.records.study.wire_rows import Piece, pieces_of, together, wire_rows

CONSOLE = b"\x1b[2J\x1b[1;7mREADY\x1b[0m\r\n\x07TIDE 1234 HIGH WATER\x1b[12;40H\x1bM\x00\x7f"


def received(*data: bytes, gap_us: int = 1_000_000) -> list[Piece]:
    return [Piece(seq, seq * gap_us, "received", "", one) for seq, one in enumerate(data, 1)]


def shown(pieces: list[Piece], *, eight_bits: bool = False) -> list[tuple[str, list[list[str]]]]:
    return [(row.hex, row.parts) for row in wire_rows(pieces, eight_bits=eight_bits)]


def test_codes_stand_beside_their_bytes_by_their_names_and_text_as_text() -> None:
    assert shown(received(b"\x1b[5;10HUP\r\n\x07")) == [
        ("1B 5B 35 3B 31 30 48 55", [["CUP", "cursor position: line 5, column 10"], ["U"]]),
        ("50 0D 0A", [["P"], ["CR", "carriage return"], ["LF", "line feed"]]),
        ("07", [["BEL", "bell"]]),
    ]


def test_every_byte_is_shown_once_however_the_bytes_came() -> None:
    chance = random.Random(13)
    for _ in range(300):
        data = bytes(chance.choice([*CONSOLE, *range(256)]) for _ in range(chance.randrange(80)))
        cuts = sorted(chance.randrange(len(data) + 1) for _ in range(chance.randrange(5)))
        pieces = [data[a:b] for a, b in zip([0, *cuts], [*cuts, len(data)], strict=True)]
        for eight_bits in (False, True):
            rows = wire_rows(received(*pieces), eight_bits=eight_bits)
            assert bytes.fromhex(" ".join(row.hex for row in rows)) == data


def test_a_sequence_that_was_cut_is_named_in_both_pieces() -> None:
    assert shown(received(b"A\x1b[5", b";10HB")) == [
        ("41 1B 5B 35", [["A"], ["CUP...", "cursor position: line 5, column 10"]]),
        ("3B 31 30 48 42", [["...CUP", "cursor position: line 5, column 10"], ["B"]]),
    ]


def test_what_has_only_begun_is_said_to_have_begun() -> None:
    assert shown(received(b"A\x1b[5")) == [("41 1B 5B 35", [["A"], ["ESC", "begins here"]])]


def test_the_eighth_bit_is_no_part_of_the_character_unless_the_recording_says_so() -> None:
    assert shown(received(b"\xc1\x8d")) == [("C1 8D", [["A"], ["CR", "carriage return"]])]
    assert shown(received(b"\xc1"), eight_bits=True) == [("C1", [["\xc1"]])]


def test_typed_and_received_bytes_stand_in_the_order_in_which_they_went() -> None:
    entries = [
        Entry(4, 40, kinds.BytesTyped(bytes="A", count=1, by="round.add")),
        Entry(5, 90, kinds.BytesReceived(bytes="A", first_us=80)),
        Entry(6, 99, kinds.SecretTyped(by="opening.sign-on")),
        Entry(7, 120, kinds.TypedByHand(bytes="B", count=1)),
    ]
    rows = wire_rows(pieces_of(entries), eight_bits=False)
    assert [(row.seq, row.at_us, row.way, row.by) for row in rows] == [
        (4, 40, "typed", "round.add"),
        (5, 80, "received", ""),
        (6, 99, "typed", "opening.sign-on"),
        (7, 120, "by hand", "the person at the terminal"),
    ]
    assert rows[2].parts == [["", "a secret, not recorded"]]


def test_single_characters_that_follow_each_other_share_a_row_and_others_do_not() -> None:
    slow = [*together(received(b"A", b"B", b"C", gap_us=4_000))]
    assert [(piece.seq, piece.data) for piece in slow] == [(1, b"ABC")]
    assert len([*together(received(b"A", b"B", gap_us=200_000))]) == 2
    typed = Piece(2, 2_000, "typed", "round.add", b"B")
    assert len([*together([*received(b"A", gap_us=1_000), typed])]) == 2


def test_a_control_sequence_longer_than_a_row_stays_in_one() -> None:
    long = b"\x1b[1;2;3;4;5;6;7m"
    (before, row) = shown(received(b"AB" + long))
    assert before[0] == "41 42"
    assert bytes.fromhex(row[0]) == long
