"""Whatever bytes a machine sends, wire and display take them, and cutting them anywhere changes nothing."""

from __future__ import annotations

import json
from typing import Any, get_args

from exhibit.decisions.display.choice import AnyDisplay, display_for
from exhibit.decisions.display.wire import EighthBit, ParityKind, Wire
from exhibit.facts.display import CharacterSet, Display, DisplayKind, FormFeed
from tests.fuzz.choices import Choices, pieces

SIZES = ((24, 80), (5, 7), (1, 1), (2, 132), (50, 132))
TABS = (8, 0, 3, 200)
MOST_FOR_A_PLACE = 60
"""Bytes of JSON that one place of a display may take in a keyframe."""
OUTSIDE = 2_000
"""Bytes of JSON for everything else in it."""

CAPTURED = (
    b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 1\x1b[24;1H",
    b"\x1b[?1049h\x1b[22;0;0t\x1b[1;24r\x1b(B\x1b[m\x1b[4l\x1b[?7h\x1b[39;49m\x1b[?1h\x1b=\x1b[H\x1b[2J",
    b"READY: GO\r\nJOB 4 BEGUN: TIDES\r\n_\bA\x0c\x0b\t=\b-\x1b#8\x1b[5b\x1b7\x1b[4h..\x1b8\x1bD\x1bM\x1bE",
    b"\x1bPdevice\x1b\\\x1b]0;title\x07\x0e`abc\x0f\x1b(0lqk\x1b(B\x1b[1;7m\x1b[3@\x1b[2P\x1b[4X\x1b[2L\x1b[M",
    b"\xc3\xa4\xe2\x94\x80\xff\x80\x9b\x13\x11\x1b[\x1b[?\x18\x1a\x00\x7f\x1b[99999999999;;:<m",
)  # fmt: skip


def seeds() -> list[bytes]:
    """Inputs to begin with."""
    settings = (bytes(8), bytes((2, 0, 1, 13, 1, 1, 0, 0)), bytes((0, 1, 0, 4, 0, 0, 1, 1, 2, 0)))
    return [setting + stream for setting in settings for stream in CAPTURED]


def one(data: bytes) -> None:
    """Feeds a display whole, byte by byte and in pieces, from settings that the first bytes choose."""
    given = Choices(data)
    eighth_bit: EighthBit = given.one_of(get_args(EighthBit))
    parity: ParityKind = given.one_of(get_args(ParityKind))
    flow_control = given.below(2) == 1
    characters: CharacterSet = given.one_of(get_args(CharacterSet))
    rows, columns = given.one_of(SIZES)
    kind: DisplayKind = given.one_of(get_args(DisplayKind))
    form_feed: FormFeed = given.one_of(get_args(FormFeed))
    display = Display(
        kind=kind,
        rows=rows,
        columns=columns,
        wrap=given.below(2) == 0,
        tab_columns=given.one_of(TABS),
        form_feed=form_feed,
        characters=characters,
        line_end=given.one_of(("line feed", "return")),
    )
    size = 2 + given.below(30)
    stream = given.rest()

    def wire() -> Wire:
        return Wire(
            eighth_bit,
            parity=parity,
            flow_control=flow_control,
            longest_string_bytes=30 if rows < 10 else 1024,
            characters=characters,
            adds_line_feed=display.line_end == "return",
        )

    whole = _shown(display, wire(), [stream])
    assert whole == _shown(display, wire(), pieces(stream, 1)), "it depends on being fed byte by byte"
    assert whole == _shown(display, wire(), pieces(stream, size)), "it depends on how the bytes are cut"
    first, second = stream[: len(stream) // 2], stream[len(stream) // 2 :]
    assert whole == _shown_from_keyframe(display, wire(), wire(), first, second), "a keyframe lost something"


def _shown(display: Display, wire: Wire, feed: list[bytes]) -> tuple[Any, ...]:
    screen = display_for(display)
    for piece in feed:
        items = wire.feed(piece)
        assert len(items) <= 2 * len(piece) + 2
        screen.apply(items)
        _is_sound(screen, display)
    return _state(screen, wire, display)


def _shown_from_keyframe(display: Display, before: Wire, wire: Wire, *halves: bytes) -> tuple[Any, ...]:
    first, screen = display_for(display), display_for(display)
    first.apply(before.feed(halves[0]))
    wire.restore(json.loads(json.dumps(before.snapshot())))
    screen.restore(json.loads(json.dumps(first.snapshot())))
    screen.apply(wire.feed(halves[1]))
    return _state(screen, wire, display)


def _is_sound(screen: AnyDisplay, display: Display) -> None:
    row, column, _ = screen.cursor
    assert 0 <= row < display.rows
    assert 0 <= column < display.columns


def _state(screen: AnyDisplay, wire: Wire, display: Display) -> tuple[Any, ...]:
    rows = screen.rows()
    assert len(rows) <= display.rows
    assert all(len(row) <= display.columns for row in screen.text_rows())
    kept = json.dumps(screen.snapshot())
    assert len(kept) <= OUTSIDE + MOST_FOR_A_PLACE * display.rows * (display.columns + 2), "it keeps too much"
    kept_wire = wire.snapshot()
    assert len(json.dumps(kept_wire)) < OUTSIDE
    return rows, screen.text_rows(), screen.cursor, json.loads(kept), kept_wire
