"""What people have stumbled over in pyte, each shown by pyte itself and then met by wire and screen.

Faults of single operations are in test_screen_reasons.
"""

import copy
import pickle
import unicodedata

import pyte
import pytest
from wcwidth import wcwidth

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.screen import LINE_DRAWING, Screen
from exhibit.decisions.display.wire import Text, Wire, with_parity
from tests.decisions.display.oracles.feeds import feeds
from tests.decisions.display.oracles.pyte_itself import by_pyte, by_us

CHUNKED = (b"ab\x11cd ef", b"ab\x1b[3;4Acd", b"ab\x1b[1;2Hcd\x1b[?1Aef")


@pytest.mark.parametrize("stream", CHUNKED)
def test_how_bytes_are_cut_changes_what_pyte_shows_and_not_what_we_show(stream: bytes) -> None:
    pieces = feeds(stream)
    assert by_pyte(pieces["whole"]) != by_pyte(pieces["byte by byte"])
    assert by_us(pieces["whole"]) == by_us(pieces["byte by byte"]) == by_us(pieces["with trailing bytes"])


RAISES = {
    "\x1b[1;2A": "TypeError",
    "\x1b[1;2L": "TypeError",
    "\x1b[1;2;3H": "TypeError",
    "\x1b[1;2;3r": "TypeError",
    "\x1b[1;2g": "TypeError",
    "\x1b[?1A": "TypeError",
    "\x1b[?6n": "TypeError",
    "\x1b[?r": "TypeError",
    "\x1b[4K": "UnboundLocalError",
    "\x1b[4J": "UnboundLocalError",
    "\x1b[?6h\x1b[2d": "AssertionError",
    "\x1b[?6h\x1b[6n": "AssertionError",
}


@pytest.mark.parametrize("sequence", RAISES)
def test_what_makes_pyte_raise_and_lose_the_rest_costs_us_nothing(sequence: str) -> None:
    stream = f"{sequence}\x1b[HX".encode()
    assert by_pyte([stream]) == [RAISES[sequence]]
    assert by_us([stream]) == ["X"]


def test_a_digit_beyond_ascii_makes_pyte_raise_and_never_gets_into_our_sequences() -> None:
    stream = b"\x1b[\xb2AX"
    assert by_pyte([stream]) == ["ValueError"]
    screen = Screen(2, 10)
    screen.apply(Wire("data").feed(stream))
    assert screen.text_rows() == [f"{SUBSTITUTE_MARK}AX", ""]


def test_pyte_in_utf8_ignores_a_line_drawing_set() -> None:
    assert by_pyte([b"\x1b(0q"], utf8=True) == ["q"]
    assert by_us([b"\x1b(0q"]) == ["\u2500"]


def test_pyte_takes_an_escape_with_parity_for_an_eight_bit_introducer() -> None:
    stream = bytes(with_parity(byte, "odd") for byte in b"ab\x1bMX")
    assert stream[2] == 0x9B
    assert by_pyte([stream]) != by_pyte([b"ab\x1bMX"])
    wire, screen = Wire("parity", parity="odd"), Screen(24, 80)
    screen.apply(wire.feed(stream))
    assert (screen.text_rows()[:2], wire.parity_faults) == (["  X", "ab"], 0)


def test_an_address_older_than_ecma_48_is_printed_but_does_not_pass_unnoticed() -> None:
    """ESC Y row column, of terminals that we don't imitate."""
    assert by_pyte([b'\x1bY#"X']) == ['#"X']
    screen = Screen(2, 10)
    screen.apply(Wire("drop").feed(b'\x1bY#"X'))
    assert (screen.text_rows()[0], screen.unknown_sequences) == ('#"X', 1)


def test_pyte_can_be_neither_copied_nor_pickled_so_we_keep_a_screen_in_our_own_words() -> None:
    pytes = pyte.Screen(80, 24)
    stream = pyte.ByteStream(pytes)
    with pytest.raises(TypeError, match="generator"):
        copy.deepcopy(stream)
    with pytest.raises((AttributeError, TypeError, pickle.PicklingError)):
        pickle.dumps(pytes)
    assert Screen(24, 80).snapshot() == Screen(24, 80).snapshot()


@pytest.mark.parametrize("sequence", ["\x1b[?3h", "\x1b[?3l", "\x1b[8;30;100t", "\x1b[4;600;800t"])
def test_no_sequence_changes_the_size_of_a_screen(sequence: str) -> None:
    screen = Screen(24, 80)
    screen.apply(Wire("drop").feed(f"abc{sequence}\x1b[99;999HX".encode()))
    assert screen.snapshot()["size"] == [24, 80]
    assert (screen.text_rows()[0], screen.text_rows()[23]) == ("abc", " " * 79 + "X")


def test_no_query_is_answered(monkeypatch: pytest.MonkeyPatch) -> None:
    answers: list[str] = []
    monkeypatch.setattr(pyte.Screen, "write_process_input", lambda screen, data: answers.append(data))
    screen = Screen(24, 80)
    screen.apply(Wire("drop").feed(b"\x1b[c\x1b[0c\x1b[>c\x1b[5n\x1b[6n\x1b[?6n\x1bZ\x05"))
    assert answers == []
    pyte.Stream(pyte.Screen(80, 24)).feed("\x1b[c\x1b[6n")
    assert len(answers) == 2


def test_no_character_that_reaches_a_screen_is_wide_or_combining() -> None:
    wires = [Wire(eighth_bit) for eighth_bit in ("data", "drop", "parity") for _ in range(256)]
    items = [item for number, wire in enumerate(wires) for item in wire.feed(bytes([number % 256]))]
    shown = {character for item in items if isinstance(item, Text) for character in item.text}
    assert len(shown) == 96  # ASCII and the substitute mark
    for character in shown | set(LINE_DRAWING):
        assert (wcwidth(character), unicodedata.combining(character)) == (1, 0), character


def test_what_programs_send_cannot_make_a_screen_grow() -> None:
    """pyte keeps every cursor that is saved and every mode that is named."""
    stream = b"\x1b7" * 500 + b"".join(b"\x1b[?%dh" % number for number in range(2000, 2500))
    pytes = pyte.Screen(80, 24)
    pyte.ByteStream(pytes).feed(stream)
    assert (len(pytes.savepoints), len(pytes.mode) > 500) == (500, True)
    screen = Screen(24, 80)
    before = len(pickle.dumps(screen.snapshot()))
    screen.apply(Wire("drop").feed(stream))
    assert (screen._glass.savepoints, len(screen._glass.mode) < 10) == ([], True)
    assert len(pickle.dumps(screen.snapshot())) < before + 10
