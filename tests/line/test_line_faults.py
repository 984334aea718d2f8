"""Everything that can go wrong with a line is explained clearly, with what to try."""

import contextlib
import errno
import os
import pwd
import queue
import socket
import subprocess
import sys
import termios
import tty
from pathlib import Path

import pytest
import serial

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line import port as line_module
from exhibit.line.faults import (
    StillAway,
    keeps_time,
    lost,
    opening_faults,
    running_faults,
    wrong_parity,
    wrong_speed,
)
from exhibit.line.port import open_line, ports_present

ROOT = Path(__file__).resolve().parents[2]
PLAIN = LineSettings()
pytestmark = pytest.mark.filterwarnings("ignore:set(Daemon|Name)\\(\\) is deprecated:DeprecationWarning")


def refusal(url, settings=PLAIN) -> LineFault:
    with pytest.raises(LineFault) as refused:
        open_line(str(url), settings, lambda: 0, queue.Queue().put)
    fault = refused.value
    for sentence in (fault.what, fault.why, fault.do):
        assert sentence[0].isupper() or sentence[0] in "'/rs", sentence  # a port's own name may come first
        assert sentence.endswith("."), sentence
        for jargon in ("errno", "Errno", "Exception", "None", "termios"):
            assert jargon not in sentence
    return fault


@pytest.fixture
def terminal():
    """A pseudo-terminal whose other end the test has: (master, path of the line's end)."""
    master, slave = os.openpty()
    path = os.ttyname(slave)
    tty.setraw(slave)
    os.close(slave)
    yield master, path
    os.close(master)


def test_a_missing_port_is_named_with_the_ports_that_are_here(monkeypatch):
    monkeypatch.setattr(line_module, "ports_present", lambda: ["/dev/ttyUSB7", "/dev/ttyS0"])
    fault = refusal("/dev/ttyUSB0")
    assert fault.what == "There is no port /dev/ttyUSB0. This computer has /dev/ttyUSB7, /dev/ttyS0."
    assert "Plug the adapter in" in fault.do
    assert isinstance(fault, StillAway)


def test_a_missing_port_on_a_computer_without_any_says_so(monkeypatch):
    monkeypatch.setattr(line_module, "ports_present", list)
    assert refusal("/dev/ttyUSB0").what.endswith("This computer has no serial port.")


def test_the_ports_of_this_computer_are_devices_that_exist():
    assert all(os.path.exists(port) for port in ports_present())


def test_an_adapter_that_is_plugged_in_just_while_ports_are_listed_does_no_harm(monkeypatch):
    def stumbles():
        int(None)  # as pyserial 3.5 does if a USB device doesn't report a value yet (list_ports_linux.py)

    monkeypatch.setattr(line_module.list_ports, "comports", stumbles)
    assert isinstance(refusal("/dev/ttyUSB99"), StillAway)


@pytest.mark.parametrize("path", ["/dev/null", "/tmp", __file__])
def test_a_file_that_is_not_a_serial_port_is_described_as_such(path):
    assert refusal(path).what == f"{path} isn't a serial port."


@pytest.mark.parametrize(
    "url",
    [
        "loop://",
        "socket://host",
        "socket://",
        "socket://host:x",
        "socket://host:99999",
        "http://host:80/",
        "spy:///dev/ttyS0",
        "rfc2217://host:23?logging=debug",
    ],
)
def test_the_fault_for_an_unknown_kind_of_line_names_the_known_kinds(url):
    fault = refusal(url)
    assert fault.what == f"{url!r} is not the address of a line."
    assert "socket://HOST:PORT or rfc2217://HOST:PORT" in fault.do


@pytest.mark.parametrize("kind", ["socket", "rfc2217"])
def test_a_refused_connection_says_what_to_check(kind):
    with socket.socket() as taken:  # bound but not listening: nobody else gets this number meanwhile
        taken.bind(("127.0.0.1", 0))
        url = f"{kind}://127.0.0.1:{taken.getsockname()[1]}"
        fault = refusal(url)
    assert fault.what == f"The computer at {url} is there, but refuses the connection."
    assert "host and port are right" in fault.do


def test_an_unknown_host_is_described_as_such():
    # RFC 6761 s.6.4: names under .invalid never resolve
    assert refusal("socket://adapter.invalid:4001").what == (
        "The host name in socket://adapter.invalid:4001 can't be found."
    )


def test_for_an_adapter_without_rfc_2217_a_plain_connection_is_suggested():
    with socket.create_server(("127.0.0.1", 0)) as silent:
        port = silent.getsockname()[1]
        fault = refusal(f"rfc2217://127.0.0.1:{port}")
    assert fault.what == f"rfc2217://127.0.0.1:{port} doesn't answer as RFC 2217 requires."
    assert f"Try socket://127.0.0.1:{port}" in fault.do


def test_an_adapter_that_never_acknowledges_settings_counts_as_not_supporting_them():
    said = serial.SerialException("Remote does not accept parameter change (RFC2217): []")
    with pytest.raises(LineFault) as fault, opening_faults("rfc2217://adapter:23", PLAIN, list):
        raise said
    assert fault.value.what == f"The port rfc2217://adapter:23 doesn't support {PLAIN.description()}."


@pytest.mark.parametrize(
    "settings",
    [
        LineSettings(data_bits=7),
        LineSettings(data_bits=8, parity="even"),
        LineSettings(data_bits=8, parity="odd"),
    ],
)
def test_settings_that_a_port_does_not_support_are_found_by_reading_them_back(terminal, settings):
    fault = refusal(terminal[1], settings)
    assert fault.what == f"A pseudo-terminal doesn't support {settings.description()}."
    assert "7 bits with parity, work with every adapter" in fault.do


def test_a_port_that_silently_uses_other_settings_is_refused(terminal, monkeypatch):
    real = termios.tcgetattr

    def forgetful(fd):
        attributes = real(fd)
        attributes[4] = attributes[5] = termios.B300
        return attributes

    monkeypatch.setattr(line_module.termios, "tcsetattr", lambda *_: None)
    monkeypatch.setattr(line_module.termios, "tcgetattr", forgetful)
    assert "doesn't support 9600 baud" in refusal(terminal[1]).what


def test_a_second_opening_is_refused_even_in_the_same_program(terminal):
    line = open_line(terminal[1], PLAIN, lambda: 0, queue.Queue().put)
    try:
        fault = refusal(terminal[1])
    finally:
        line.stop()
    assert fault.what == f"The port {terminal[1]} is busy: another program has locked it."
    assert f"sudo fuser -v {terminal[1]}" in fault.do


@contextlib.contextmanager
def another_program(code: str, *arguments: str):
    """A separate program that runs `code`, prints "ready", and waits until the test ends it."""
    said_so = "print('ready', flush=True); input()"
    with subprocess.Popen(
        [sys.executable, "-c", f"{code}\n{said_so}", *arguments],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
    ) as other:
        assert other.stdout.readline() == "ready\n"
        yield other
        other.communicate("\n", timeout=60)


def test_a_program_that_ignores_every_lock_is_found_and_named(terminal):
    plain = "import os, sys; kept = os.open(sys.argv[1], os.O_RDWR | os.O_NOCTTY)"
    with another_program(plain, terminal[1]) as other:
        fault = refusal(terminal[1])
    assert f"(process {other.pid})" in fault.what
    assert fault.what.startswith(f"The port {terminal[1]} is busy: it is open in python")
    assert "each gets only part" in fault.why
    assert "End that program" in fault.do


def test_the_locks_of_a_program_that_does_lock_are_honoured(terminal):
    locked = "import os, sys, fcntl; kept = os.open(sys.argv[1], os.O_RDWR); fcntl.flock(kept, fcntl.LOCK_EX)"
    with another_program(locked, terminal[1]) as other:
        fault = refusal(terminal[1])
    assert "is busy" in fault.what
    assert f"(process {other.pid})" in fault.what


NOBODY = pwd.getpwnam("nobody")
AS_NOBODY = (
    f"import os; os.geteuid() or (os.setgroups([]), os.setgid({NOBODY.pw_gid}), os.setuid({NOBODY.pw_uid}))"
)


def run_as_nobody(code: str, *arguments: str) -> str:
    """Run as an unprivileged user, if this is root. Returns what was printed."""
    preload = "import sys; sys.path.insert(0, '.'); import serial, msgspec, exhibit.line.port, encodings.idna"
    done = subprocess.run(
        [sys.executable, "-c", f"{preload}\n{AS_NOBODY}\n{code}", *arguments],
        capture_output=True,
        text=True,
        cwd=ROOT,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


TRY_IT = """
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
try:
    line = exhibit.line.port.open_line(sys.argv[1], LineSettings(), lambda: 0, lambda event: None)
except LineFault as fault:
    print(fault.what, fault.do, sep="|")
else:
    print("opened")
    line.stop()
"""


def test_if_the_user_may_not_use_the_port_the_fault_says_what_to_ask_for(terminal):
    os.chmod(terminal[1], 0o000)
    what, do = run_as_nobody(TRY_IT, terminal[1]).split("|")
    user = "nobody" if os.geteuid() == 0 else pwd.getpwuid(os.geteuid()).pw_name
    assert what == f"The user {user} isn't allowed to use the port {terminal[1]}."
    assert f"sudo usermod -aG dialout {user}" in do
    assert "sign out and in again" in do


def test_watching_needs_no_right_to_write(terminal):
    os.chmod(terminal[1], 0o444)
    assert run_as_nobody(TRY_IT, terminal[1]) == "opened"


def test_the_system_itself_keeps_programs_away_that_ignore_locks(terminal):
    os.chmod(terminal[1], 0o666)
    line = open_line(terminal[1], PLAIN, lambda: 0, queue.Queue().put)
    plain_open = """
import errno
try:
    os.open(sys.argv[1], os.O_RDONLY | os.O_NOCTTY)
except OSError as refused:
    print(errno.errorcode[refused.errno])
else:
    print("opened")
"""
    try:
        assert run_as_nobody(plain_open, terminal[1]) == "EBUSY"
    finally:
        line.stop()
    assert run_as_nobody(plain_open, terminal[1]) == "opened"


def test_the_wrong_speed_says_which_others_to_try():
    fault = wrong_speed("/dev/ttyUSB0", LineSettings(baud=9600), "of the first 64 characters 40 aren't text")
    assert fault.what == (
        "What arrives on /dev/ttyUSB0 at 9600 baud isn't text: of the first 64 characters 40 aren't text."
    )
    assert "110, 300, 600, 1200, 2400, 4800, 19200, 38400" in fault.do


def test_the_wrong_parity_says_which_others_to_try():
    fault = wrong_parity("/dev/ttyUSB0", PLAIN, "what was seen")
    assert "what was seen" in fault.what
    assert "8 bits, no parity" in fault.what
    assert "even parity" in fault.do


def test_a_loss_is_explained_by_whether_the_device_is_still_there(tmp_path):
    device = tmp_path / "adapter"
    assert "gone" in lost(str(device)).what
    assert "unplugged" in lost(str(device)).what
    device.touch()
    both = lost(str(device)).what
    assert "plug" in both
    assert "another program" in both
    assert "the network" in lost("socket://host:1").what


FOREIGN = [
    serial.SerialException("device reports readiness to read but returned no data"),
    serial.SerialTimeoutException("Write timeout"),
    OSError(errno.EIO, "Input/output error"),
    termios.error(errno.EIO, "Input/output error"),
    TypeError("'NoneType' object cannot be interpreted as an integer"),
    ValueError("file descriptor cannot be a negative integer (-1)"),
]


@pytest.mark.parametrize("foreign", FOREIGN, ids=repr)
def test_every_error_of_a_library_becomes_a_line_fault_that_keeps_its_cause(foreign):
    for mapped in (running_faults("/dev/gone"), opening_faults("/dev/gone", PLAIN, list)):
        with pytest.raises(LineFault) as fault, mapped:
            raise foreign
        assert fault.value.__cause__ is foreign


def test_an_error_in_this_program_is_not_turned_into_a_line_fault():
    with pytest.raises(KeyError), running_faults("/dev/gone"):
        raise KeyError("a mistake in the program")


@pytest.mark.parametrize(
    ("device", "keeps"),
    [
        ("/dev/ttyUSB0", True),
        ("/dev/ttyS1", True),
        ("/dev/pts/3", False),
        ("/dev/ttyp0", False),
        ("/dev/ttyACM0", False),
        ("socket://adapter:4001", False),
        ("rfc2217://adapter:4001", False),
    ],
)
def test_characters_are_known_to_keep_time_only_on_a_real_serial_port(device, keeps):
    assert keeps_time(device) == keeps


def test_a_link_to_a_pseudo_terminal_does_not_count_as_keeping_time(tmp_path):
    far, near = os.openpty()
    try:
        link = tmp_path / "ttyUSB0"
        link.symlink_to(os.ttyname(near))
        assert not keeps_time(str(link))
    finally:
        os.close(far)
        os.close(near)
