"""No single sequence may take long, whatever it asks for: here the calls that it makes are counted.

How long they take is measured in tests/benchmarks/bench_screen.py, and never decides a test.
"""

import json
import sys
from types import FrameType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.decisions.display import controls as screen_controls
from exhibit.decisions.display.paper import Paper
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Csi, Wire

MOST_CALLS = 500
"""Calls that a sequence may make on a screen of 24 x 80. Repeating a character makes the most, 347."""

HOSTILE_PARAMS = [(9999,), (0,), (9999, 9999), (1, 9999), (9999,) * 32, (38, 5) * 16, (-1,) * 32]


def _calls_of(screen: Screen, item: Csi) -> int:
    calls = 0

    def count(frame: FrameType, event: str, argument: object) -> None:
        nonlocal calls
        calls += event in ("call", "c_call")

    sys.setprofile(count)
    try:
        screen.apply([item])
    finally:
        sys.setprofile(None)
    return calls


def _full_screen() -> Screen:
    screen = Screen(24, 80)
    screen.apply(Wire("drop").feed(b"\x1b[7m" + b"x" * 1919 + b"\x1b[12;40Hy"))
    return screen


@pytest.mark.parametrize("key", sorted(screen_controls.SEQUENCES))
@pytest.mark.parametrize("params", HOSTILE_PARAMS, ids=lambda params: f"{len(params)}x{params[0]}")
def test_no_sequence_does_more_work_than_the_screen_has_places(key: str, params: tuple[int, ...]) -> None:
    private = "?" if key[0] == "?" else ""
    item = Csi(key[-1], params, private, key[len(private) : -1])
    screen = _full_screen()
    assert _calls_of(screen, item) < MOST_CALLS
    assert len(json.dumps(screen.snapshot())) < 10_000


@pytest.mark.parametrize("sequence", [b"\x1b[2J", b"\x1b[H\x1b[J", b"\x1b[24;80H\x1b[1J"])
def test_rows_that_were_erased_hold_nothing_to_paint(sequence: bytes) -> None:
    screen = _full_screen()
    screen.apply(Wire("drop").feed(sequence))
    buffer = screen._glass.buffer
    assert [number for number in range(1, 23) if len(buffer[number])] == []
    assert screen.text_rows() == [""] * 24


def test_repeating_9999_times_ends_where_9999_characters_end() -> None:
    repeated, written = Screen(7, 13), Screen(7, 13)
    repeated.apply(Wire("drop").feed(b"a\x1b[2;5r\x1b[3;3Hab\x1b[9999b"))
    written.apply(Wire("drop").feed(b"a\x1b[2;5r\x1b[3;3Hab" + b"b" * 9999))
    assert repeated.rows() == written.rows()
    assert repeated.cursor == written.cursor


@pytest.mark.parametrize(
    "piece", [b"\x1b[" + b"1;" * 50_000, b"\x1b[" + b"9" * 100_000, b"\x1b" + b"(" * 99_999]
)
def test_an_endless_sequence_is_not_kept(piece: bytes) -> None:
    wire = Wire("drop")
    assert wire.feed(piece) == []
    assert len(json.dumps(wire.snapshot())) < 500


@pytest.mark.parametrize("opener", [b"\x1bP", b"\x1b]", b"\x1b_", b"\x1b^", b"\x1bX"])
def test_an_endless_string_gives_the_console_back(opener: bytes) -> None:
    wire = Wire("drop")
    items = wire.feed(opener + b"s" * 100_000)
    assert sum(len(getattr(item, "text", "")) for item in items) == 100_000 - wire.longest_string_bytes


@given(st.binary(max_size=400))
def test_no_bytes_at_all_make_a_display_raise(stream: bytes) -> None:
    items = Wire("data").feed(stream)
    for display in (Screen(5, 7), Paper(7, keep_rows=5)):
        display.apply(items)
        assert len(display.text_rows()) <= 5
        row, column, _ = display.cursor
        assert 0 <= row < 5
        assert 0 <= column < 7


def test_modes_that_nobody_knows_are_not_kept() -> None:
    screen = Screen(24, 80)
    before = screen.snapshot()
    for number in range(2000):
        if number not in (6, 7, 25, 47, 1047, 1048, 1049):
            screen.apply([Csi("h", (number,), "?")])
    assert screen.snapshot()["modes"] == before["modes"]
    assert screen.unknown_sequences > 1900
