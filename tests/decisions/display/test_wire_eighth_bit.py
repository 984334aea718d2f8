"""The eighth bit: parity, dropped, or data. Parity by counting ones, checked over all 128 codes."""

import pytest

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.wire import Control, Item, ParityKind, Text, Wire, with_parity


def _ones(byte: int) -> int:
    return bin(byte).count("1")


@pytest.mark.parametrize("code", range(128))
def test_software_parity_makes_the_number_of_ones_even_or_odd(code: int) -> None:
    assert _ones(with_parity(code, "even")) % 2 == 0
    assert _ones(with_parity(code, "odd")) % 2 == 1
    assert with_parity(code, "none") == code
    assert {with_parity(code, kind) & 0x7F for kind in ("none", "even", "odd")} == {code}


def test_three_published_codes_have_the_parity_that_tables_print() -> None:
    """'A' 0x41 has two ones, 'C' 0x43 three, DEL 0x7F seven (ISO/IEC 646 codes; counted by hand)."""
    assert [with_parity(code, "even") for code in b"AC\x7f"] == [0x41, 0xC3, 0xFF]
    assert [with_parity(code, "odd") for code in b"AC\x7f"] == [0xC1, 0x43, 0x7F]


@pytest.mark.parametrize("kind", ["even", "odd"])
def test_a_byte_typed_with_parity_is_received_without_a_fault(kind: ParityKind) -> None:
    wire = Wire("parity", parity=kind)
    line = bytes(with_parity(code, kind) for code in b"READY\r")
    assert wire.feed(line) == [Text("READY"), Control(13)]
    assert wire.parity_faults == 0


@pytest.mark.parametrize("bit", range(8))
def test_any_single_wrong_bit_is_a_parity_fault_and_shows_a_mark_in_place_of_a_guess(bit: int) -> None:
    wire = Wire("parity", parity="even")
    good = with_parity(ord("U"), "even")
    items = wire.feed(bytes([good, good ^ 1 << bit, good]))
    assert wire.parity_faults == 1
    assert items == [Text(f"U{SUBSTITUTE_MARK}U")]


def test_a_damaged_control_code_does_nothing() -> None:
    wire = Wire("parity", parity="even", flow_control=True)
    line = bytearray(with_parity(code, "even") for code in b"AB\r\n")
    line[3] ^= 0x80
    assert wire.feed(bytes(line)) == [Text("AB"), Control(13), Text(SUBSTITUTE_MARK)]


@pytest.mark.parametrize("sent", ["odd", "none"])
def test_with_another_parity_throughout_the_text_can_be_read_after_a_few_characters(sent: ParityKind) -> None:
    line = bytes(with_parity(code, sent) for code in b"THE TIDE TABLE OF TOMORROW, HOUR BY HOUR")
    whole = Wire("parity", parity="even").feed(line)
    wire, resumed = Wire("parity", parity="even"), Wire("parity", parity="even")
    single = [item for byte in line[:20] for item in wire.feed(bytes((byte,)))]
    resumed.restore(wire.snapshot())
    single += [item for byte in line[20:] for item in resumed.feed(bytes((byte,)))]
    shown = "".join(item.text for item in whole if isinstance(item, Text))
    assert "".join(item.text for item in single if isinstance(item, Text)) == shown
    assert shown.endswith("OF TOMORROW, HOUR BY HOUR")
    assert shown.count(SUBSTITUTE_MARK) <= 6


def test_without_a_kind_of_parity_nothing_is_a_fault() -> None:
    wire = Wire("parity")
    assert wire.feed(bytes([0x41, 0xC1])) == [Text("AA")]
    assert wire.parity_faults == 0


def test_a_dropped_eighth_bit_counts_nothing() -> None:
    wire = Wire("drop")
    assert wire.feed(bytes([0x41, 0xC1, 0x9B, 0x32, 0xCA])) == [Text("AA"), *Wire("drop").feed(b"\x1b2J")]
    assert (wire.parity_faults, wire.substituted) == (0, 0)


@pytest.mark.parametrize("byte", range(0x80, 0x100))
def test_as_data_a_high_byte_is_one_mark_and_never_a_control(byte: int) -> None:
    """0x84 to 0x9F are C1 controls (ECMA-48 s.5.3 b), 0x91 and 0x93 flow control with a parity bit."""
    wire = Wire("data", flow_control=True)
    assert wire.feed(bytes([ord("a"), byte, ord("b")])) == [Text(f"a{SUBSTITUTE_MARK}b")]
    assert (wire.substituted, wire.unknown_sequences) == (1, 0)


def test_as_data_a_high_byte_breaks_a_sequence_off_and_is_shown() -> None:
    wire = Wire("data")
    items: list[Item] = [item for byte in b"\x1b[2\xe4J" for item in wire.feed(bytes([byte]))]
    assert items == [Text(SUBSTITUTE_MARK), Text("J")]
    assert wire.unknown_sequences == 1
