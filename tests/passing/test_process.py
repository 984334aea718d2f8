"""The passing process: what it loads and refuses, and what it does when a port comes and goes."""

from __future__ import annotations

import os
import select
import signal
import socket
import subprocess
import sys
import termios
from contextlib import contextmanager
from pathlib import Path

import msgspec
import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.passing.copies import (
    ACKNOWLEDGEMENT,
    Decoder,
    FromMachine,
    FromTerminal,
    Hello,
    Message,
    NotPassed,
    OthersSeen,
    PortLost,
    PortOpen,
)
from exhibit.passing.device import close_device, open_device
from tests.contracts.far_ends import LONG_S, DeviceEnd, PtyEnd, until

SEVEN_EVEN = LineSettings(baud=300, data_bits=7, parity="even")
NOT_IN_IT = (
    "exhibit.decisions",
    "exhibit.web",
    "exhibit.streams",
    "exhibit.bridge",
    "exhibit.commands",
    "serial",
)


def start(place: Path, line: str, terminal: str, settings: LineSettings = SEVEN_EVEN) -> subprocess.Popen:
    given = [f"{place / 'socket'}", line, terminal, msgspec.json.encode(settings).decode()]
    return subprocess.Popen(
        [sys.executable, "-m", "exhibit.passing", *given],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


@contextmanager
def passing(place: Path, line: str, terminal: str):
    process = start(place, line, terminal)
    try:
        assert process.stdout.readline().strip() == f"{process.pid}"
        yield process
    finally:
        if process.poll() is None:
            process.terminate()
        process.communicate(timeout=LONG_S)


class Ear:
    """A listener: what it was told."""

    def __init__(self, place: Path) -> None:
        self.connection = socket.socket(socket.AF_UNIX)
        self.connection.connect(f"{place / 'socket'}")
        self.connection.settimeout(LONG_S)
        self.decoder = Decoder()
        self.told: list[Message] = []
        self.until(lambda: any(isinstance(one, PortOpen) for one in self.told))

    def until(self, true) -> None:
        while not true():
            data = self.connection.recv(65536)
            assert data, self.told
            self.told += self.decoder.feed(data)

    def of(self, kind) -> list:
        return [one for one in self.told if isinstance(one, kind)]

    def close(self) -> None:
        self.connection.close()


@pytest.fixture
def ends(tmp_path):
    folders = [tmp_path / "machine", tmp_path / "person"]
    for folder in folders:
        folder.mkdir()
    machine, person = (DeviceEnd(folder) for folder in folders)
    yield machine, person
    machine.close()
    person.close()


def test_nothing_that_decides_records_or_shows_is_loaded_into_it():
    """Not only the contract says so: these are the modules that are really there."""
    asked = "import sys, exhibit.passing.__main__; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert "exhibit.passing.between" in loaded
    assert [name for name in loaded if name.startswith(NOT_IN_IT)] == []


def test_whatever_a_listener_sends_reaches_neither_port(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        ear = Ear(tmp_path)
        ear.connection.sendall(b"HALT\r" * 100 + ACKNOWLEDGEMENT.pack(2**60, 2**60))
        person.send(b"x")
        assert machine.receive(1) == b"x"
        assert machine.typed_so_far() == person.typed_so_far() == b""
        ear.close()


def test_the_parity_bit_xoff_and_every_other_byte_arrive_as_they_were_sent(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        everything = bytes(range(256))
        machine.send(everything)
        assert person.receive(256) == everything
        person.send(everything)
        assert machine.receive(256) == everything


def test_a_port_is_set_so_that_the_system_changes_nothing_of_what_passes(ends):
    """A BREAK is ignored, or it would arrive as a character; closing must not drop DTR."""
    fd = open_device(ends[0].url, SEVEN_EVEN)
    iflag, oflag, cflag, lflag, *speeds, _ = termios.tcgetattr(fd)
    close_device(fd)
    assert (iflag, oflag, lflag) == (termios.IGNBRK, 0, 0)
    assert cflag & termios.CSIZE == termios.CS8  # the parity bit passes as an eighth one
    assert cflag & (termios.PARENB | termios.HUPCL | termios.CRTSCTS) == 0
    assert speeds == [termios.B300, termios.B300]


def test_a_port_that_comes_back_is_used_again_and_what_was_typed_meanwhile_is_never_sent(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        ear = Ear(tmp_path)
        machine.hang_up()
        ear.until(lambda: ear.of(PortLost))
        assert ear.of(PortLost)[0].machine
        person.send(b"ERASE ALL\r")
        ear.until(lambda: sum(one.count for one in ear.of(NotPassed)) == 10)
        machine.come_back()
        ear.until(lambda: [one.machine for one in ear.of(PortOpen)].count(True) == 2)
        person.send(b"R")
        assert machine.receive(1) == b"R"
        ear.until(lambda: ear.of(FromTerminal))
        assert [one.data for one in ear.of(FromTerminal)] == [b"R"]
        ear.close()


def test_without_the_terminal_the_machine_is_still_heard(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        ear = Ear(tmp_path)
        person.hang_up()
        ear.until(lambda: ear.of(PortLost))
        machine.send(b"HEARD")
        ear.until(lambda: ear.of(FromMachine))
        ear.close()


def test_what_nobody_heard_is_told_to_the_next_listener_and_only_once(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        machine.send(b"12345")
        assert person.receive(5) == b"12345"
        first = Ear(tmp_path)
        (hello,) = first.of(Hello)
        assert (hello.missed_from_machine, hello.missed_from_terminal) == (5, 0)
        machine.send(b"678")
        first.until(lambda: first.of(FromMachine))
        first.connection.sendall(ACKNOWLEDGEMENT.pack(6, 0))
        first.close()
        person.send(b"ab")
        assert machine.receive(2) == b"ab"
        second = Ear(tmp_path)
        (hello,) = second.of(Hello)
        assert (hello.missed_from_machine, hello.missed_from_terminal) == (2, 2)
        second.close()


def test_a_new_listener_is_told_of_another_program_that_has_the_port_open(tmp_path, ends, needs):
    needs.that(os.geteuid() == 0, "root: for everybody else the port is locked")
    machine, person = ends
    with passing(tmp_path, machine.url, person.url):
        first = Ear(tmp_path)
        opened = os.open(machine.url, os.O_RDONLY | os.O_NOCTTY)
        first.until(lambda: first.of(OthersSeen))
        first.close()
        second = Ear(tmp_path)
        second.until(lambda: second.of(OthersSeen))
        os.close(opened)
        second.until(lambda: second.of(OthersSeen)[-1].programs == [])
        second.close()


def test_only_a_request_to_end_ends_it(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url) as process:
        for number in (signal.SIGINT, signal.SIGHUP, signal.SIGPIPE):
            os.kill(process.pid, number)
        person.send(b"x")
        assert machine.receive(1) == b"x"
        process.terminate()
        assert process.wait(LONG_S) == 0
        assert not (tmp_path / "socket").exists()


def test_a_pseudo_terminal_that_is_gone_ends_it_because_its_number_may_be_somebody_else_s(tmp_path):
    machine, person = PtyEnd(), PtyEnd()
    with passing(tmp_path, machine.url, person.url) as process:
        machine.hang_up()
        assert process.wait(LONG_S) == 0
        person.close()


def test_ports_that_are_in_use_or_not_there_are_refused_in_three_sentences(tmp_path, ends):
    machine, person = ends
    with passing(tmp_path, machine.url, person.url) as process:
        said = start(tmp_path, machine.url, person.url).communicate(timeout=LONG_S)[1].splitlines()
        assert len(said) == 3
        assert f"(process {process.pid})" in said[0] or "locked" in said[0]
    refused = start(tmp_path, machine.url, "/dev/not-there")
    said = refused.communicate(timeout=LONG_S)[1].splitlines()
    assert refused.returncode == 2
    assert "/dev/not-there" in said[0]
    assert "--terminal" in said[2]
    assert len(said) == 3


def test_a_port_that_takes_nothing_holds_up_the_other_instead_of_losing_bytes(tmp_path, ends):
    machine, person = ends
    data = bytes(range(256)) * 400
    with passing(tmp_path, machine.url, person.url):
        os.set_blocking(machine.master, False)
        sent = 0
        while select.select([], [machine.master], [], 1.0)[1] and sent < len(data):
            sent += os.write(machine.master, data[sent : sent + 1024])
        assert sent < len(data), "it has room for everything, so this proves nothing"
        assert person.receive(sent) == data[:sent]


def test_it_costs_next_to_nothing_while_nothing_happens(tmp_path, ends, capsys):
    """Printed, not judged. Two system calls each 0.4 s look for other programs at the ports."""
    machine, person = ends
    with passing(tmp_path, machine.url, person.url) as process:

        def used_s() -> float:
            words = Path(f"/proc/{process.pid}/schedstat").read_text().split()
            return int(words[0]) / 1e9

        before_s = used_s()
        until(lambda: used_s() > before_s, "the process to look once")
        before_s = used_s()
        select.select([], [], [], 2.0)
        with capsys.disabled():
            print(f"\nidle passing: {100 * (used_s() - before_s) / 2.0:.3f} % of a core", end="")
