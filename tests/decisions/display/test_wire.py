"""What the wire makes of bytes. Forms of sequences: ECMA-48, 5th ed., s.5.4 and 5.6."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.wire import (
    HIGHEST_PARAM,
    MOST_PARAMS,
    STRING_TERMINATOR,
    Control,
    Csi,
    Escape,
    FlowGo,
    FlowStop,
    Item,
    Text,
    Wire,
)

CR, LF, CAN, SUB, XON, XOFF = 0x0D, 0x0A, 0x18, 0x1A, 0x11, 0x13

SNIPPETS = st.sampled_from(
    [b"\x1b", b"\x1b[", b"\x1b]", b"\x1bP", b"\x1b\\", b"[", b";", b"12", b"?", b":", b" ", b"!", b"m", b"H"]
    + [bytes([code]) for code in (0, 7, 8, 10, 13, 0x11, 0x13, 0x18, 0x1A, 0x7F, 0x80, 0x9B, 0xE4, 0xFF)]
    + [b"text of a line", b"\x1b[2;3H", b"\x1b(0", b"9" * 150, b"x" * 40]
)
STREAMS = st.lists(SNIPPETS | st.binary(min_size=1, max_size=4), max_size=40).map(b"".join)


def items_of(*pieces: bytes, wire: Wire | None = None) -> list[Item]:
    """All items of the pieces; neighbouring runs of text joined."""
    wire = wire or Wire("drop")
    items: list[Item] = []
    for piece in pieces:
        for item in wire.feed(piece):
            if isinstance(item, Text) and items and isinstance(items[-1], Text):
                items[-1] = Text(items[-1].text + item.text)
            else:
                items.append(item)
    return items


def counters(wire: Wire) -> tuple[int, int, int, int]:
    return wire.parity_faults, wire.unknown_sequences, wire.substituted, wire.stray_flow_codes


def wires() -> list[Wire]:
    return [
        Wire("drop"),
        Wire("data", flow_control=True, longest_string_bytes=30),
        Wire("parity", parity="even", longest_string_bytes=30),
        Wire("parity", parity="odd", flow_control=True),
    ]


@given(STREAMS, st.data())
def test_items_and_counts_do_not_depend_on_how_bytes_were_cut(stream: bytes, data: st.DataObject) -> None:
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=8)))
    pieces = [stream[start:end] for start, end in zip([0, *cuts], [*cuts, len(stream)], strict=True)]
    single = [stream[at : at + 1] for at in range(len(stream))]
    for whole, cut, by_byte in zip(wires(), wires(), wires(), strict=True):
        expected = items_of(stream, wire=whole)
        assert items_of(*pieces, wire=cut) == expected
        assert items_of(*single, wire=by_byte) == expected
        assert counters(cut) == counters(by_byte) == counters(whole)
        assert cut.snapshot() == by_byte.snapshot() == whole.snapshot()


@given(STREAMS, STREAMS)
def test_a_wire_restored_between_any_two_bytes_goes_on_alike(before: bytes, after: bytes) -> None:
    for first, second in zip(wires(), wires(), strict=True):
        first.feed(before)
        second.restore(json.loads(json.dumps(first.snapshot())))
        assert items_of(after, wire=second) == items_of(after, wire=first)
        assert counters(second) == counters(first)


@given(STREAMS)
def test_every_item_is_bounded_and_text_is_printable(stream: bytes) -> None:
    for item in items_of(stream, wire=Wire("data")):
        if isinstance(item, Text):
            assert item.text
            assert all(" " <= c <= "~" or c == SUBSTITUTE_MARK for c in item.text)
        elif isinstance(item, Csi):
            assert 1 <= len(item.params) <= MOST_PARAMS
            assert all(-1 <= param <= HIGHEST_PARAM for param in item.params)
            assert len(item.intermediates) <= 2
        elif isinstance(item, Escape):
            assert len(item.intermediates) <= 2


@pytest.mark.parametrize(
    ("stream", "expected"),
    [
        (b"\x1b[2J", [Csi("J", (2,))]),
        (b"\x1b[m", [Csi("m", (0,))]),
        (b"\x1b[;5H", [Csi("H", (0, 5))]),
        (b"\x1b[?1049h", [Csi("h", (1049,), "?")]),
        (b"\x1b[!p", [Csi("p", (0,), "", "!")]),
        (b"\x1b[4:3m", [Csi("m", (-1,))]),
        (b"\x1b[99999999999999999999A", [Csi("A", (9999,))]),
        (b"\x1b[0000000000000000000005A", [Csi("A", (5,))]),
        (b"\x1b[" + b"1;" * 50 + b"2m", [Csi("m", (1,) * 32)]),
        (b"\x1bM", [Escape("", "M")]),
        (b"\x1b#8", [Escape("#", "8")]),
        (b"\x1b( 0", [Escape("( ", "0")]),
        (b"one\r\ntwo\a", [Text("one"), Control(CR), Control(LF), Text("two"), Control(7)]),
        (b"a\0b\x7fc", [Text("abc")]),
    ],
)
def test_a_complete_sequence_becomes_one_item(stream: bytes, expected: list[Item]) -> None:
    wire = Wire("drop")
    assert items_of(stream, wire=wire) == expected
    assert counters(wire) == (0, 0, 0, 0)


@pytest.mark.parametrize(
    ("stream", "expected"),
    [
        (b"\x1b[2\x18X", [Control(CAN), Text("X")]),
        (b"\x1b[2\x1aX", [Control(SUB), Text("X")]),
        (b"\x1b[2\x1b[3A", [Csi("A", (3,))]),
        (b"\x1b\x1bM", [Escape("", "M")]),
        (b"\x1b[1<A!", [Text("!")]),
        (b"\x1b[ 3A!", [Text("!")]),
        (b"\x1b[   A!", [Text("!")]),
        (b"\x1b(((0!", [Text("!")]),
        (b"\x1b[" + b"1;" * 80 + b"m!", [Text("!")]),
        (b"\x1b]0;never closed\x18X", [Control(CAN), Text("X")]),
    ],
)
def test_a_sequence_broken_off_or_malformed_is_counted_and_skipped(
    stream: bytes, expected: list[Item]
) -> None:
    wire = Wire("drop")
    assert items_of(stream, wire=wire) == expected
    assert wire.unknown_sequences == 1


def test_a_control_code_inside_a_sequence_acts_before_it() -> None:
    assert items_of(b"\x1b[3\r;4H") == [Control(CR), Csi("H", (3, 4))]


@pytest.mark.parametrize("opener", [b"\x1bP", b"\x1bX", b"\x1b]", b"\x1b^", b"\x1b_"])
def test_a_string_is_swallowed_whole(opener: bytes) -> None:
    assert items_of(opener + b"1;words\r\n[2J\x1b\\after") == [STRING_TERMINATOR, Text("after")]


def test_a_bell_ends_an_operating_system_command_and_no_other_string() -> None:
    assert items_of(b"\x1b]0;title\aafter") == [STRING_TERMINATOR, Text("after")]
    assert items_of(b"\x1bPwords\amore\x1b\\after") == [STRING_TERMINATOR, Text("after")]


def test_a_string_without_end_does_not_swallow_the_console() -> None:
    wire = Wire("drop", longest_string_bytes=100)
    assert items_of(b"\x1bP" + b"n" * 100 + b"shown again", wire=wire) == [Text("shown again")]
    assert wire.unknown_sequences == 1


def test_flow_control_codes_become_items_only_when_there_is_flow_control() -> None:
    stream = b"ab\x13\x1b[\x112Jcd"
    flowing, ignoring = Wire("drop", flow_control=True), Wire("drop")
    expected = [Text("ab"), FlowStop(), FlowGo(), Csi("J", (2,)), Text("cd")]
    assert items_of(stream, wire=flowing) == expected
    assert items_of(stream, wire=ignoring) == [Text("ab"), Csi("J", (2,)), Text("cd")]
    assert (flowing.stray_flow_codes, ignoring.stray_flow_codes) == (0, 2)


@pytest.mark.parametrize("opener", [b"\x1bP", b"\x1b]"])
def test_each_string_is_measured_by_itself(opener: bytes) -> None:
    wire = Wire("drop", longest_string_bytes=100)
    for _ in range(5):
        assert items_of(opener + b"x" * 90 + b"\x1b\\ON", wire=wire) == [STRING_TERMINATOR, Text("ON")]
    assert wire.unknown_sequences == 0


def test_the_codes_of_flow_control_inside_a_string_are_seen() -> None:
    wire = Wire("drop", flow_control=True)
    assert items_of(b"\x1b]0;ti\x13tle\a", wire=wire) == [FlowStop(), STRING_TERMINATOR]


@pytest.mark.parametrize("size", [1, 2, 100])
def test_where_the_machine_sends_no_line_feed_each_carriage_return_brings_one(size):
    wire = Wire("drop", adds_line_feed=True)
    data = b"ONE\rTWO\x1b[\rH"
    items = [item for at in range(0, len(data), size) for item in wire.feed(data[at : at + size])]
    new_line = [Control(13), Control(10)]
    assert [item for item in items if isinstance(item, Control)] == [*new_line, *new_line]
    assert [item for item in Wire("drop").feed(b"ONE\r")] == [Text("ONE"), Control(13)]
