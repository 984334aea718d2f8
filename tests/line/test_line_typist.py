"""The typist: one byte at a time, never without a limit, and never on a port that is being closed."""

import os
import threading

import pytest

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line import typist as typist_module
from exhibit.line.typist import Typist, as_typed

PLAIN = LineSettings()

# Counted by hand: "A" 1000001 and "3" 0110011 have an even number of ones, "C" 1000011 an odd one.
EVEN_AND_ODD = [
    ("A", 0x41, 0xC1),
    ("3", 0x33, 0xB3),
    ("C", 0xC3, 0x43),
    ("\r", 0x8D, 0x0D),
    ("\x7f", 0xFF, 0x7F),
]


class PipePort:
    """A port that keeps what is written; a full pipe is a line that accepts nothing."""

    def __init__(self, write=None):
        self.out, self.into = os.pipe()
        os.set_blocking(self.into, False)
        self._write = write
        self.writes = []

    def fileno(self):
        return self.into

    def write(self, data):
        self.writes.append(data)
        if self._write is not None:
            self._write(data)
        return os.write(self.into, data)

    def fill(self):
        try:
            while True:
                os.write(self.into, bytes(4096))
        except BlockingIOError:
            pass

    def close(self):
        os.close(self.out)
        os.close(self.into)


@pytest.fixture
def port():
    made = PipePort()
    yield made
    made.close()


@pytest.mark.parametrize(("character", "even", "odd"), EVEN_AND_ODD)
def test_the_parity_bit_is_set_in_software(port, character, even, odd):
    for parity, expected in (("even", even), ("odd", odd)):
        typist = Typist("line", LineSettings(data_bits=7, parity=parity))
        typist.lend(port, 1)
        assert typist.type_byte(ord(character), 1).sent == "yes"
        assert port.writes.pop() == bytes([expected])


def test_seven_bits_with_two_stop_bits_send_the_first_of_them_as_the_eighth_bit():
    settings = LineSettings(data_bits=7, stop_bits=2)
    assert as_typed(0x41, settings) == 0xC1
    assert as_typed(0x41, LineSettings(data_bits=7, stop_bits=1)) == 0x41


@pytest.mark.parametrize(("byte", "settings"), [(256, PLAIN), (-1, PLAIN), (128, LineSettings(data_bits=7))])
def test_a_byte_with_too_many_bits_raises_and_is_not_sent(port, byte, settings):
    typist = Typist("line", settings)
    typist.lend(port, 1)
    with pytest.raises(ValueError, match="doesn't fit"):
        typist.type_byte(byte, 1)
    assert port.writes == []


def test_each_write_is_of_a_single_byte(port):
    typist = Typist("line", PLAIN)
    typist.lend(port, 1)
    for byte in b"LIST JOBS\r":
        typist.type_byte(byte, 1)
    assert port.writes == [bytes([byte]) for byte in b"LIST JOBS\r"]


def test_without_a_port_nothing_is_typed(port):
    typist = Typist("/dev/ttyUSB0", PLAIN)
    outcome = typist.type_byte(0x41, 1)
    assert outcome.sent == "no"
    assert outcome.fault.what == "The line /dev/ttyUSB0 is not connected, so nothing was typed."
    typist.lend(port, 1)
    typist.take_back()
    assert typist.type_byte(0x41, 1).sent == "no"
    assert port.writes == []


def test_nothing_is_typed_at_a_port_that_was_opened_later(port):
    typist = Typist("/dev/ttyUSB0", PLAIN)
    typist.lend(port, 1)
    typist.take_back()
    typist.lend(port, 2)
    outcome = typist.type_byte(0x41, 1)
    assert outcome.sent == "no"
    assert "/dev/ttyUSB0 was lost and has been opened again" in outcome.fault.what
    assert port.writes == []
    assert typist.type_byte(0x41, 2).sent == "yes"


def test_a_line_that_accepts_nothing_is_not_written_to_at_all(port, monkeypatch):
    monkeypatch.setattr(typist_module, "WRITE_WAIT_S", 0.05)
    port.fill()
    typist = Typist("/dev/ttyUSB0", PLAIN)
    typist.lend(port, 1)
    outcome = typist.type_byte(0x41, 1)
    assert outcome.sent == "no"
    assert "has not accepted a character for 0.05 s" in outcome.fault.what
    assert port.writes == []


def test_after_an_error_in_writing_a_byte_it_may_have_been_sent():
    def breaks(data):
        raise OSError("write failed")

    port = PipePort(breaks)
    typist = Typist("/dev/ttyUSB0", PLAIN)
    typist.lend(port, 1)
    outcome = typist.type_byte(0x41, 1)
    port.close()
    assert outcome.sent == "perhaps"
    assert isinstance(outcome.fault, LineFault)


def test_a_port_that_is_closed_already_means_nothing_was_typed():
    port = PipePort()
    typist = Typist("/dev/ttyUSB0", PLAIN)
    typist.lend(port, 1)
    port.fileno = lambda: -1  # as pyserial's is once closed
    assert typist.type_byte(0x41, 1).sent == "no"
    port.close()


def test_taking_the_port_back_waits_for_the_byte_that_is_under_way():
    under_way, go_on, diary = threading.Event(), threading.Event(), []

    def slowly(data):
        under_way.set()
        assert go_on.wait(30)
        diary.append("written")

    port = PipePort(slowly)
    typist = Typist("line", PLAIN)
    typist.lend(port, 1)
    typing = threading.Thread(target=typist.type_byte, args=(0x41, 1))
    typing.start()
    assert under_way.wait(30)

    def take_back():
        typist.take_back()
        diary.append("taken back")

    taking = threading.Thread(target=take_back)
    taking.start()
    go_on.set()
    typing.join(30)
    taking.join(30)
    port.close()
    assert diary == ["written", "taken back"]
