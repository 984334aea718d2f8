"""How ports are opened: each setting that guards against a known trap of serial ports."""

import errno
import os
import queue
import socket
import termios
import threading
import tty

import pytest

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line import port as line_module
from exhibit.line.events import Opened, Received
from exhibit.line.port import open_line
from tests.contracts import far_ends
from tests.contracts.far_ends import KINDS, LONG_S

pytestmark = pytest.mark.filterwarnings("ignore:set(Daemon|Name)\\(\\) is deprecated:DeprecationWarning")
IFLAG, OFLAG, CFLAG, LFLAG = range(4)


class Keeper:
    """A borrower that keeps the port so that the test can inspect it."""

    def lend(self, port, opening):
        self.port = port

    def take_back(self): ...


class Opening:
    """A line of one kind, opened with a keeper."""

    def __init__(self, end, settings):
        self.end, self.heard, self.keeper = end, queue.Queue(), Keeper()
        self.line = open_line(end.url, settings, lambda: 0, self.heard.put, borrower=self.keeper)
        end.meet()
        assert isinstance(self.heard.get(timeout=LONG_S), Opened)
        self.port = self.keeper.port


@pytest.fixture
def opened(tmp_path):
    openings = []

    def open_one(kind, settings=None):
        openings.append(Opening(KINDS[kind](tmp_path), settings or LineSettings()))
        return openings[-1]

    yield open_one
    for opening in openings:
        assert opening.line.stop(LONG_S)
        opening.end.close()


def test_a_device_keeps_its_control_lines_raised_and_sends_nothing(opened):
    """Closing doesn't drop DTR, a received BREAK flushes nothing, and nothing is echoed or changed."""
    attributes = termios.tcgetattr(opened("pty").port.fileno())
    assert attributes[CFLAG] & termios.HUPCL == 0
    assert attributes[IFLAG] & (termios.BRKINT | termios.ISTRIP | termios.ICRNL | termios.PARMRK) == 0
    assert attributes[IFLAG] & (termios.IXON | termios.IXOFF) == 0
    assert attributes[OFLAG] & termios.OPOST == 0
    assert attributes[LFLAG] & (termios.ECHO | termios.ICANON | termios.ISIG) == 0


@pytest.mark.parametrize(
    ("baud", "code"), [(110, termios.B110), (300, termios.B300), (19200, termios.B19200)]
)
def test_a_device_runs_at_the_speed_that_was_asked_for(opened, baud, code):
    attributes = termios.tcgetattr(opened("pty", LineSettings(baud=baud)).port.fileno())
    assert attributes[4:6] == [code, code]


@pytest.mark.parametrize(
    ("settings", "two_stop_bits"),
    [
        (LineSettings(data_bits=7, parity="even"), False),
        (LineSettings(data_bits=7, parity="odd", stop_bits=2), True),
        (LineSettings(data_bits=7, stop_bits=2), False),
        (LineSettings(stop_bits=2), True),
    ],
)
def test_seven_bits_with_parity_open_a_port_of_eight_without(opened, settings, two_stop_bits):
    frame = termios.tcgetattr(opened("pty", settings).port.fileno())[CFLAG]
    assert frame & termios.CSIZE == termios.CS8
    assert frame & termios.PARENB == 0
    assert bool(frame & termios.CSTOPB) is two_stop_bits


def test_flow_control_is_never_left_to_the_driver(opened):
    opening = opened("pty", LineSettings(flow="xon/xoff"))
    assert termios.tcgetattr(opening.port.fileno())[IFLAG] & (termios.IXON | termios.IXOFF) == 0


def test_an_adapter_with_settings_gets_those_that_were_asked_for(opened):
    opening = opened("rfc2217", LineSettings(baud=300, data_bits=7, parity="even", stop_bits=2))
    adapter = opening.end.adapter
    assert (adapter.baudrate, adapter.bytesize, adapter.parity, adapter.stopbits) == (300, 8, "N", 2)
    assert (adapter.xonxoff, adapter.rtscts) == (False, False)


def test_an_adapter_that_refuses_the_settings_is_distinguished_from_a_missing_one(monkeypatch):
    class WithoutParity(far_ends.WithoutModemLines):
        @property
        def parity(self):
            return "N"

        @parity.setter
        def parity(self, wanted):
            self._parity = "N"
            if wanted != "N":
                raise ValueError("this adapter has no parity")

    monkeypatch.setattr(far_ends, "WithoutModemLines", WithoutParity)
    end, even = far_ends.Rfc2217End(), LineSettings(parity="even")
    with pytest.raises(LineFault) as refused:
        open_line(end.url, even, lambda: 0, queue.Queue().put)
    end.close()
    assert refused.value.what == f"The port {end.url} doesn't support {even.description()}."


@pytest.mark.parametrize("kind", ["socket", "rfc2217"])
def test_a_network_line_sends_each_byte_at_once_and_probes_a_silent_far_end(opened, kind):
    with socket.socket(fileno=os.dup(opened(kind).port.fileno())) as same:
        assert same.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)
        assert same.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE)
        assert same.getsockopt(socket.IPPROTO_TCP, socket.TCP_KEEPIDLE) == 5
        assert same.getsockopt(socket.IPPROTO_TCP, socket.TCP_KEEPCNT) == 3
        assert same.getsockopt(socket.IPPROTO_TCP, socket.TCP_NOTSENT_LOWAT) == 1


@pytest.mark.parametrize("kind", KINDS)
def test_no_write_can_wait_without_a_limit(opened, kind):
    port = opened(kind).port
    if kind == "rfc2217":  # pyserial has no limit for this kind, but its socket has
        assert port._socket.gettimeout() == line_module.WRITE_WAIT_S
    else:
        assert port.write_timeout == line_module.WRITE_WAIT_S


def test_a_device_s_reader_takes_part_of_a_burst_without_waiting_for_the_rest(opened, monkeypatch):
    """pyserial's read(n) waits for all n or its whole timeout (pyserial #706); ours doesn't."""
    monkeypatch.setattr(line_module, "READ_WAIT_S", 3600.0)
    opening = opened("pty")
    opening.end.send(b"abcde")
    got = b""
    while len(got) < 5:
        event = opening.heard.get(timeout=LONG_S)
        assert isinstance(event, Received)
        got += event.data
    assert got == b"abcde"
    monkeypatch.undo()
    opening.end.hang_up()  # wakes the reader, which would wait an hour


def test_unsent_bytes_are_discarded_before_closing(opened, monkeypatch):
    """Otherwise, closing a slow line waits until all characters are sent (pyserial #226)."""
    opening = opened("pty")
    diary, kind = [], type(opening.port)
    for name in ("reset_output_buffer", "close"):
        real = getattr(kind, name)
        monkeypatch.setattr(
            kind, name, lambda port, name=name, real=real: (diary.append(name), real(port))[1], raising=True
        )
    assert opening.line.stop(LONG_S)
    assert diary == ["reset_output_buffer", "close"]


class ResetSocket:
    """A socket whose far end has reset the connection: it can't be shut down, only closed."""

    def __init__(self, real):
        self.real = real

    def __getattr__(self, name):
        return getattr(self.real, name)

    def shutdown(self, how):
        raise OSError(errno.ENOTCONN, "Transport endpoint is not connected")


@pytest.mark.parametrize("kind", ["socket", "rfc2217"])
def test_a_connection_that_was_reset_is_closed_all_the_same(opened, kind):
    """pyserial shuts down first, which fails after a reset, and then doesn't close."""
    opening = opened(kind)
    held = opening.port._socket
    opening.port._socket = ResetSocket(held)
    assert opening.line.stop(LONG_S)
    assert held.fileno() == -1


def test_settings_that_another_program_left_on_a_port_are_undone():
    """A port that echoes would send the machine its own output back; one with BRKINT would drop what arrived
    before a BREAK."""
    master, slave = os.openpty()
    path = os.ttyname(slave)
    attributes = termios.tcgetattr(slave)
    attributes[LFLAG] |= termios.ECHO | termios.ICANON
    attributes[IFLAG] |= termios.BRKINT | termios.IMAXBEL | termios.IXOFF | termios.ISTRIP
    attributes[CFLAG] |= termios.HUPCL
    termios.tcsetattr(slave, termios.TCSANOW, attributes)
    heard = queue.Queue()
    line = open_line(path, LineSettings(), lambda: 0, heard.put)
    now = termios.tcgetattr(slave)
    os.write(master, b"HELLO\r\n")
    assert isinstance(heard.get(timeout=LONG_S), Opened)
    assert heard.get(timeout=LONG_S).data.startswith(b"H")
    assert line.stop(LONG_S)
    os.set_blocking(master, False)
    with pytest.raises(BlockingIOError):
        os.read(master, 100)
    os.close(master)
    os.close(slave)
    assert now[IFLAG] & (termios.BRKINT | termios.IMAXBEL | termios.IXOFF | termios.ISTRIP) == 0
    assert now[CFLAG] & termios.HUPCL == 0


def test_threads_of_a_stopped_line_are_gone(opened):
    before = {thread.name for thread in threading.enumerate()}
    for kind in KINDS:
        opening = opened(kind) if kind != "device" else None
        if opening:
            opening.line.stop(LONG_S)
    gone = {t.name for t in threading.enumerate() if t.name.startswith(("reads ", "pySerial"))} - before
    assert gone == set()


def test_raw_is_what_a_raw_terminal_is(opened):
    """The same input and output flags as the standard library's own raw mode sets."""
    ours = termios.tcgetattr(opened("pty").port.fileno())
    master, slave = os.openpty()
    tty.setraw(slave)
    raw = termios.tcgetattr(slave)
    os.close(master)
    os.close(slave)
    changing = termios.ICRNL | termios.INLCR | termios.IGNCR | termios.ISTRIP | termios.IXON | termios.BRKINT
    assert ours[IFLAG] & changing == raw[IFLAG] & changing
    assert ours[OFLAG] & termios.OPOST == raw[OFLAG] & termios.OPOST
