"""Line settings: the length of a character, and how seven bits with parity are sent as eight."""

import msgspec
import pytest

from exhibit.facts.line_settings import LineSettings, PortFrame

TEN_BITS = [(8, "none", 1), (7, "even", 1), (7, "odd", 1), (7, "none", 2)]
ELEVEN_BITS = [(7, "even", 2), (8, "none", 2), (8, "even", 1)]

# Milliseconds a character: the arithmetic of start-stop transmission, 1 start + data + parity + stop
# bits (ISO 1177:1985). 110 baud with 11 bits is the 10 characters a second of printing consoles.
MS_OF_TEN_BITS = {110: 90.909, 300: 33.333, 1200: 8.3333, 2400: 4.1667, 9600: 1.0417, 19200: 0.5208}
MS_OF_ELEVEN_BITS = {110: 100.000, 300: 36.6667, 1200: 9.1667, 2400: 4.5833, 9600: 1.1458, 19200: 0.5729}
PER_SECOND_OF_ELEVEN_BITS = {110: 10.0, 300: 27.2727, 1200: 109.0909, 2400: 218.1818, 9600: 872.7273}


def settings(baud, data_bits, parity, stop_bits):
    return LineSettings(baud=baud, data_bits=data_bits, parity=parity, stop_bits=stop_bits)


@pytest.mark.parametrize("frame", TEN_BITS)
@pytest.mark.parametrize(("baud", "ms"), MS_OF_TEN_BITS.items())
def test_a_character_of_ten_bits_takes_what_the_table_says(frame, baud, ms):
    assert settings(baud, *frame).char_bits == 10
    assert settings(baud, *frame).char_us / 1000 == pytest.approx(ms, abs=0.0005)


@pytest.mark.parametrize("frame", ELEVEN_BITS)
@pytest.mark.parametrize(("baud", "ms"), MS_OF_ELEVEN_BITS.items())
def test_a_character_of_eleven_bits_takes_what_the_table_says(frame, baud, ms):
    assert settings(baud, *frame).char_bits == 11
    assert settings(baud, *frame).char_us / 1000 == pytest.approx(ms, abs=0.0005)


@pytest.mark.parametrize(("baud", "per_second"), PER_SECOND_OF_ELEVEN_BITS.items())
def test_characters_of_eleven_bits_per_second_are_as_the_table_says(baud, per_second):
    assert 1_000_000 / settings(baud, 8, "none", 2).char_us == pytest.approx(per_second, abs=0.0001)


def test_110_baud_with_two_stop_bits_is_exactly_ten_characters_a_second():
    assert settings(110, 7, "even", 2).char_us == 100_000.0


def test_seven_bits_without_parity_and_one_stop_bit_are_nine_bits():
    assert settings(9600, 7, "none", 1).char_bits == 9


@pytest.mark.parametrize("frame", [*TEN_BITS, *ELEVEN_BITS, (7, "none", 1), (8, "odd", 2)])
def test_the_port_is_set_to_a_character_of_the_same_length(frame):
    asked = settings(9600, *frame)
    port = asked.port_frame
    assert 1 + port.data_bits + (port.parity != "none") + port.stop_bits == asked.char_bits


@pytest.mark.parametrize("parity", ["even", "odd"])
def test_seven_bits_with_parity_open_as_eight_without(parity):
    assert settings(9600, 7, parity, 1).port_frame == PortFrame(data_bits=8, parity="none", stop_bits=1)
    assert settings(110, 7, parity, 2).port_frame == PortFrame(data_bits=8, parity="none", stop_bits=2)


def test_eight_bits_with_parity_are_left_to_the_hardware():
    assert settings(9600, 8, "even", 1).port_frame == PortFrame(data_bits=8, parity="even", stop_bits=1)


def test_settings_are_described_in_words():
    assert settings(9600, 7, "even", 1).description() == "9600 baud, 7 bits, even parity, 1 stop bit"
    assert settings(110, 8, "none", 2).description() == "110 baud, 8 bits, no parity, 2 stop bits"
    with_flow = LineSettings(baud=300, flow="xon/xoff")
    assert with_flow.description() == "300 baud, 8 bits, no parity, 1 stop bit, XON/XOFF"


@pytest.mark.parametrize(
    "wrong", [{"baud": 0}, {"baud": -9600}, {"data_bits": 9}, {"stop_bits": 3}, {"parity": "mark"}]
)
def test_settings_that_no_line_can_have_are_refused(wrong):
    with pytest.raises(ValueError, match=r"baud|bits|parity"):
        LineSettings(**wrong)


def test_settings_survive_being_stored():
    asked = settings(1200, 7, "odd", 2)
    assert msgspec.convert(msgspec.to_builtins(asked), LineSettings) == asked
