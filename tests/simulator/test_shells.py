"""The shells really carry bytes: pseudo-terminal, TCP, control socket, terminal, truth file."""

import contextlib
import os
import pty
import re
import signal
import socket
import subprocess
import sys
import time
import tty
from collections.abc import Iterator
from pathlib import Path

import pytest
import serial

from exhibit.facts.errors import SetUpFault
from exhibit.simulator.core import Whimbrel
from exhibit.simulator.shell import LONGEST_SLEEP_S, Runner, serve
from exhibit.simulator.truth import ActDone, ByteArrived, BytesSent, from_line

ROOT = Path(__file__).parents[2]
LONG_S = 60.0
LASTING_STORE = b"WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND\r\nSET THE SWITCHES AND PRESS START\r\n"


class Running:
    """A simulator in a process of its own."""

    def __init__(self, arguments: str, stdin: int = subprocess.DEVNULL) -> None:
        program = (
            "from pathlib import Path; from exhibit.simulator.shell import serve; "
            f"from exhibit.simulator.core import Options; serve({arguments})"
        )
        self.process = subprocess.Popen(
            [sys.executable, "-c", program],
            cwd=ROOT,
            stdin=stdin,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def line(self) -> str:
        """The next line that it prints."""
        assert self.process.stdout is not None
        return self.process.stdout.readline().rstrip("\n")

    def url(self) -> str:
        """The line's URL, which is announced first."""
        line = self.line()
        assert line.startswith("line: "), line or self.process.stderr.read()
        return line.removeprefix("line: ")


@contextlib.contextmanager
def running(arguments: str, stdin: int = subprocess.DEVNULL) -> Iterator[Running]:
    simulator = Running(arguments, stdin)
    try:
        yield simulator
    finally:
        simulator.process.terminate()
        try:
            simulator.process.communicate(timeout=LONG_S)
        except subprocess.TimeoutExpired:
            simulator.process.kill()
            simulator.process.communicate()


def do(control: Path, act: str) -> str:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as hand:
        hand.settimeout(LONG_S)
        hand.connect(str(control))
        hand.sendall(act.encode() + b"\n")
        return hand.makefile("r").readline().rstrip("\n")


def read_until(port: serial.SerialBase, wanted: bytes) -> bytes:
    came, end_s = b"", time.monotonic() + LONG_S
    while wanted not in came:
        assert time.monotonic() < end_s, came
        came += port.read(1)
    return came


@pytest.mark.parametrize("kind", ["pty", "pty with a name", "tcp"])
def test_a_console_is_carried_both_ways(kind, tmp_path):
    control = tmp_path / "front"
    where = {"pty": "", "pty with a name": f"link=Path('{tmp_path}/console'), ", "tcp": "tcp_port=0, "}[kind]
    with running(
        f"{where}speed=50.0, control=Path('{control}'), truth=Path('{tmp_path}/truth')"
    ) as simulator:
        url = simulator.url()
        assert simulator.line() == f"control: {control}"
        if kind == "pty with a name":
            assert url == f"{tmp_path}/console"
        with serial.serial_for_url(url, timeout=0.2, write_timeout=LONG_S) as port:
            assert do(control, "key on") == "done: the key is on"
            assert read_until(port, b"PRESS START\r\n") == LASTING_STORE
            assert do(control, "start small") == "done: the small drive is starting"
            read_until(port, b"WRITTEN\r\n")
            assert do(control, "switches 14000200").startswith("done")
            assert do(control, "press start").startswith("done")
            read_until(port, b"YEAR? ")
            port.write(b"329 1970\r")
            assert read_until(port, b"STARTER: ") == b"329 1970\r\nDAY 329 OF 1970, WEDNESDAY\r\nSTARTER: "
        simulator.process.send_signal(signal.SIGTERM)
        assert simulator.process.wait(LONG_S) == 0
    told = [from_line(line) for line in (tmp_path / "truth").read_bytes().splitlines()]
    assert (
        "".join(record.text for record in told if isinstance(record, BytesSent))
        .encode()
        .startswith(LASTING_STORE)
    )
    arrived = bytes(record.byte for record in told if isinstance(record, ByteArrived))
    assert arrived == b"329 1970\r"
    assert [record.act for record in told if isinstance(record, ActDone)] == [
        "key on",
        "start small",
        "switches 14000200",
        "press start",
    ]
    assert not control.exists()
    assert not (tmp_path / "console").is_symlink()


def test_bytes_that_nobody_listens_to_are_gone_and_the_machine_goes_on(tmp_path):
    control = tmp_path / "front"
    with running(f"tcp_port=0, speed=50.0, control=Path('{control}')") as simulator:
        url = simulator.url()
        simulator.line()
        do(control, "key on")
        do(control, "start small")
        # The drive is ready eight of the machine's seconds later: the sign-on has long been printed.
        while "small ready" not in do(control, "lamps"):
            time.sleep(0.01)
        with serial.serial_for_url(url, timeout=0.2) as port:
            do(control, "press halt")
            came = read_until(port, b"HALTED\r\n")
        assert b"LASTING STORE" not in came
        with serial.serial_for_url(url, timeout=0.2) as port:
            do(control, "press halt")
            read_until(port, b"HALTED\r\n")


def test_a_pseudo_terminal_that_nobody_reads_does_not_hold_the_machine_up(tmp_path):
    control, truth = tmp_path / "front", tmp_path / "truth"
    options = "options=Options(baud=19200, keep_truth=False)"
    with running(f"speed=1000.0, control=Path('{control}'), truth=Path('{truth}'), {options}") as simulator:
        simulator.url()
        simulator.line()
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as hand:
            hand.settimeout(LONG_S)
            hand.connect(str(control))
            answers = hand.makefile("r")
            hand.sendall(b"key on\n")
            assert answers.readline() == "done: the key is on\n"
            # Far more than a pseudo-terminal holds.
            while truth.stat().st_size < 900_000:
                hand.sendall(b"press halt\n")
                assert answers.readline() == "done: the processor is halted\n"
    told = [from_line(line) for line in truth.read_bytes().splitlines()]
    assert sum(len(record.text) for record in told if isinstance(record, BytesSent)) > 100_000


def test_the_truth_log_can_be_read_while_the_simulator_runs(tmp_path):
    control, truth = tmp_path / "front", tmp_path / "truth"
    with running(f"tcp_port=0, control=Path('{control}'), truth=Path('{truth}')") as simulator:
        simulator.url()
        simulator.line()
        do(control, "start small")
        end_s = time.monotonic() + LONG_S
        while b'"act":"start small"' not in truth.read_bytes():
            assert time.monotonic() < end_s
            time.sleep(0.01)


class Nowhere:
    """A far end that carries nothing."""

    url = "nowhere"

    def watch(self, selector: object) -> None:
        pass

    def read(self, fileobj: object) -> bytes:
        return b""

    def write(self, data: bytes) -> None:
        pass

    def close(self) -> None:
        pass


def test_it_sleeps_until_the_machine_has_something_to_do_and_no_longer():
    machine = Whimbrel()
    runner = Runner(machine, Nowhere(), [], 20.0)
    try:
        assert runner.sleep_s() == LONGEST_SLEEP_S
        machine.panel("start small", 0)
        # Ready after eight seconds of the machine's, which are 0.4 s of ours.
        assert 0.0 <= runner.sleep_s() <= 0.4
        machine.advance(8_000_000)
        machine.panel("stop small", 8_000_000)
        assert runner.sleep_s() > 0.0 or runner.now_us() > 8_000_000
        machine.panel("key on", 8_000_000)
        while runner.now_us() < 8_500_000:
            time.sleep(0.01)
        assert runner.sleep_s() == 0.0
    finally:
        runner.close()


def test_a_second_visitor_to_the_tcp_port_is_turned_away(tmp_path):
    control = tmp_path / "front"
    with running(f"tcp_port=0, speed=20.0, control=Path('{control}')") as simulator:
        host, port = simulator.url().removeprefix("socket://").split(":")
        simulator.line()
        assert host == "127.0.0.1"
        with socket.create_connection((host, int(port)), LONG_S) as first:
            do(control, "key on")
            assert first.recv(1) == b"W"
            with socket.create_connection((host, int(port)), LONG_S) as second:
                assert second.recv(1) == b""
            assert first.recv(1) in b"HIMBREL"


def test_acts_can_be_typed_in_the_terminal_that_started_it():
    ours, theirs = pty.openpty()
    tty.setraw(theirs)
    with running("tcp_port=0, speed=20.0", stdin=theirs) as simulator:
        url = simulator.url()
        assert "key on" in simulator.line()
        with serial.serial_for_url(url, timeout=0.2) as port:
            os.write(ours, b"key on\n")
            assert simulator.line() == "done: the key is on"
            read_until(port, LASTING_STORE)
        os.write(ours, b"kick it\nquit\n")
        assert simulator.line().startswith("refused: there is no act")
        assert simulator.line() == "done: the simulator ends"
        assert simulator.process.wait(LONG_S) == 0
    os.close(ours)
    os.close(theirs)


def test_control_c_ends_it_quietly():
    with running("tcp_port=0") as simulator:
        simulator.url()
        simulator.process.send_signal(signal.SIGINT)
        assert simulator.process.wait(LONG_S) == 0
        assert simulator.process.stderr.read() == ""


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
@pytest.mark.parametrize("where", ["", "tcp_port=0, "], ids=["pty", "tcp"])
def test_it_ends_quietly_while_a_caller_is_connected(where, number, tmp_path):
    control = tmp_path / "front"
    with running(f"{where}speed=50.0, control=Path('{control}')") as simulator:
        url = simulator.url()
        simulator.line()
        with (
            serial.serial_for_url(url, timeout=0.2) as port,
            socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as hand,
        ):
            hand.settimeout(LONG_S)
            hand.connect(str(control))
            hand.sendall(b"key on\n")
            assert hand.makefile("r").readline() == "done: the key is on\n"
            read_until(port, LASTING_STORE)
            simulator.process.send_signal(number)
            assert simulator.process.wait(LONG_S) == 0
        assert simulator.process.stderr.read() == ""
    assert not control.exists()


def test_virtual_time_is_real_time_as_many_times_as_was_asked_for(tmp_path):
    """Both limits hold however busy the computer is: a stall only makes real time longer as well."""
    for speed in (2, 20):
        truth = tmp_path / f"truth-{speed}"
        began_s = time.monotonic()
        with running(
            f"tcp_port=0, speed={speed}.0, control=Path('{tmp_path}/f'), truth=Path('{truth}')"
        ) as one:
            one.url()
            one.line()
            do(tmp_path / "f", "key on")
            time.sleep(0.5)
            do(tmp_path / "f", "key off")
        real_us = (time.monotonic() - began_s) * 1e6
        acts = [
            record
            for line in truth.read_bytes().splitlines()
            if isinstance(record := from_line(line), ActDone)
        ]
        assert acts[1].at_us - acts[0].at_us >= 0.5e6 * speed
        assert acts[1].at_us <= real_us * speed


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan"), float("inf"), 5000.0])
def test_a_speed_that_cannot_be_is_refused_in_plain_words(speed):
    with pytest.raises(SetUpFault, match=re.escape("1 is the machine's own")):
        serve(speed=speed)


def test_a_port_that_is_taken_is_refused_in_plain_words():
    with socket.create_server(("127.0.0.1", 0)) as taken, pytest.raises(SetUpFault, match="another port"):
        serve(tcp_port=taken.getsockname()[1])


@pytest.mark.parametrize("what", ["link", "control", "truth"])
def test_a_path_that_cannot_be_is_refused_in_plain_words(what, tmp_path):
    with pytest.raises(SetUpFault, match="folder that you may write to"):
        serve(**{what: tmp_path / "no such folder" / "x"})
