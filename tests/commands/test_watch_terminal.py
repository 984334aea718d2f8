"""`exhibit watch` while a person works at the machine's own terminal: nothing is typed by it."""

from __future__ import annotations

import os
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest

from exhibit.commands.watch_run import CUT_OFF, STOPPED, STOPPING
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.commands.watching import received, typed, until, watch
from tests.contracts.far_ends import PtyEnd

pytestmark = pytest.mark.waits

WHIMBREL = Path(__file__).resolve().parents[2] / "scripts" / "whimbrel"


@contextmanager
def two_ports():
    """The machine's end of its port and the person's end of the terminal's port."""
    machine, person = PtyEnd(), PtyEnd()
    try:
        yield machine, person
    finally:
        machine.close()
        person.close()


@contextmanager
def passed_through(place: Path, machine: PtyEnd, person: PtyEnd):
    """A watch with the terminal passed through; at the end the passing process is told to end."""
    with watch(place, WHIMBREL, "--line", machine.url, "--terminal", person.url) as begun:
        begun.until_said("The recording: ")
        try:
            yield begun
        finally:
            with suppress(ProcessLookupError):
                os.kill(passer_of(begun), signal.SIGTERM)


def passer_of(begun) -> int:
    """The number of the passing process, as a person reads it."""
    said = [line for line in begun.said().splitlines() if line.startswith("Process ")]
    return int(said[-1].split()[1])


def opened(begun) -> None:
    begun.until_fact(kinds.TerminalOpened)
    begun.until_fact(kinds.LineOpened)


# -- the terminal stays where it is, and is only heard -------------------------------------------


def test_what_a_person_types_is_recorded_from_a_line_that_only_receives(tmp_path):
    with (
        two_ports() as (machine, person),
        watch(tmp_path, WHIMBREL, "--line", machine.url, "--typed", person.url) as begun,
    ):
        opened(begun)
        machine.send(b"\r\nNO DESK: ")
        begun.until_fact(kinds.LandmarkReached)
        for character in b"DESK TIDES\r":
            person.send(bytes([character]))
            machine.send(bytes([character]))
        begun.until_fact(kinds.TypedByHand, lambda fact: fact.bytes.endswith("\r"))
        machine.send(b"\nWORD FOR DESK TIDES? ")
        begun.until_fact(kinds.LandmarkReached, lambda fact: fact.landmark == "word-for-tides")
        person.send(b"GREBE519\r")
        begun.until_fact(kinds.TypedByHand, lambda fact: fact.secret)
        machine.send(b"\r\nDESK TIDES: ")
        begun.until_fact(kinds.LandmarkReached, lambda fact: fact.landmark == "desk-tides")
        assert machine.typed_so_far() == b""
        assert person.typed_so_far() == b""
        assert begun.press_ctrl_c() == 0
        said, path = begun.said(), begun.path
    by_hand = begun.facts(kinds.TypedByHand)
    assert typed(by_hand) == b"DESK TIDES\r\r"
    assert sum(fact.count for fact in by_hand if fact.secret) == len("GREBE519")
    assert {fact.by for fact in by_hand} == {"the person at the terminal"}
    assert "GREBE519" not in path.read_text()
    assert begun.facts(kinds.BytesTyped) == []
    assert STOPPING in said
    assert STOPPED in said
    assert "first stops what it started" not in said
    view = View()
    for entry in read_all(path).entries:
        view.apply(entry)
    assert [row.rstrip() for row in view.text_rows() if "NO DESK" in row] == ["NO DESK: DESK TIDES"]


def test_a_line_for_what_is_typed_that_can_t_be_opened_is_named_by_its_option(tmp_path):
    with (
        two_ports() as (machine, _),
        watch(tmp_path, WHIMBREL, "--line", machine.url, "--typed", "/dev/not-there") as begun,
    ):
        assert begun.process.wait(60) == 2
        assert "There is no port /dev/not-there" in begun.said()
        assert "after --typed" in begun.said()


def test_when_the_typed_line_is_lost_that_is_said_and_the_machine_is_still_heard(tmp_path):
    with (
        two_ports() as (machine, person),
        watch(tmp_path, WHIMBREL, "--line", machine.url, "--typed", person.url) as begun,
    ):
        opened(begun)
        person.hang_up()
        begun.until_fact(kinds.TerminalLost)
        machine.send(b"STILL HEARD\r\n")
        begun.until_fact(kinds.BytesReceived)
        assert begun.facts(kinds.LineLost) == []
        begun.until_said("is not heard any more")


# -- this program is in between ------------------------------------------------------------------


def test_both_directions_are_passed_on_and_recorded(tmp_path):
    everything = bytes(range(256))
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        machine.send(everything)
        assert person.receive(256) == everything
        person.send(everything)
        assert machine.receive(256) == everything
        begun.until_fact(kinds.TypedByHand)
        until(
            lambda: sum(fact.count for fact in begun.facts(kinds.TypedByHand)) == 256,
            lambda: "all that was typed",
        )
        until(lambda: len(received(begun.facts(kinds.BytesReceived))) == 256, lambda: "all that was sent")
        assert received(begun.facts(kinds.BytesReceived)) == everything
        assert begun.facts(kinds.BytesMissed) == []
        assert machine.typed_so_far() == b""


def test_when_the_bridge_is_killed_the_passing_goes_on_and_the_next_one_says_what_it_missed(tmp_path):
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        machine.send(b"BEFORE")
        begun.until_fact(kinds.BytesReceived)
        time.sleep(0.5)  # until it has been acknowledged
        os.kill(begun.bridge_pid(), signal.SIGKILL)
        assert begun.process.wait(60) == 2
        assert "was ended from outside" in begun.said()
        first = passer_of(begun)
        machine.send(b"NOBODY HEARS THIS")
        assert person.receive(23) == b"BEFORENOBODY HEARS THIS"
        person.send(b"NOR THIS")
        assert machine.receive(8) == b"NOR THIS"
        with passed_through(tmp_path, machine, person) as again:
            opened(again)
            assert passer_of(again) == first
            again.until_said("Not recorded, because nothing was being recorded: 17 characters")
            (missed,) = again.facts(kinds.BytesMissed)
            assert (missed.received, missed.typed) == (17, 8)
            machine.send(b"HEARD AGAIN")
            again.until_fact(kinds.BytesReceived)
            assert again.press_ctrl_c() == 0
            assert f"Process {first} passes characters" in again.said().partition(STOPPED)[2]
            machine.send(b"!")
            assert person.receive(12) == b"HEARD AGAIN!"


def test_when_the_bridge_is_stopped_the_passing_goes_on_and_it_says_what_it_missed(tmp_path):
    block = bytes(range(32, 127)) * 10
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        bridge = begun.bridge_pid()
        os.kill(bridge, signal.SIGSTOP)
        try:
            sent = 0
            while sent < 800_000:
                machine.send(block)
                assert person.receive(len(block)) == block
                sent += len(block)
        finally:
            os.kill(bridge, signal.SIGCONT)
        begun.until_fact(kinds.BytesMissed)
        missed = sum(fact.received for fact in begun.facts(kinds.BytesMissed))
        assert 0 < missed < sent

        def all_there():
            return len(received(begun.facts(kinds.BytesReceived))) == sent - missed

        until(all_there, lambda: f"{sent} - {missed}")


def test_a_passing_process_that_was_killed_is_started_again(tmp_path):
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        first = passer_of(begun)
        os.kill(first, signal.SIGKILL)
        begun.until_said("is started again")
        until(lambda: passer_of(begun) != first, begun.said)
        begun.until_fact(kinds.TerminalLost)
        until(lambda: len(begun.facts(kinds.LineOpened)) == 2, begun.said)
        machine.send(b"AGAIN")
        assert person.receive(5) == b"AGAIN"
        begun.until_fact(kinds.BytesReceived)


def test_ctrl_c_says_so_if_nothing_passes_any_more(tmp_path):
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        machine.hang_up()  # a pseudo-terminal doesn't come back, so the passing process ends
        begun.until_fact(kinds.LineLost)
        begun.until_said("There is no port")
        assert begun.press_ctrl_c() == 0
        assert CUT_OFF in begun.said().partition(STOPPED)[2]


def test_a_second_recording_of_the_same_is_refused(tmp_path):
    with two_ports() as (machine, person), passed_through(tmp_path, machine, person) as begun:
        opened(begun)
        with watch(tmp_path, WHIMBREL, "--line", machine.url, "--terminal", person.url) as second:
            assert second.process.wait(60) == 2
            assert f"Another program (process {begun.bridge_pid()}) already records" in second.said()


# -- a network adapter with two readers ----------------------------------------------------------


class AdapterWithTwoReaders:
    """A network adapter that sends what the machine says to two clients, and keeps what either sends."""

    def __init__(self) -> None:
        self._door = socket.create_server(("127.0.0.1", 0))
        self.url = f"socket://127.0.0.1:{self._door.getsockname()[1]}"
        self.clients: list[socket.socket] = []
        self.heard: dict[int, bytes] = {}
        threading.Thread(target=self._serve, daemon=True).start()

    def _serve(self) -> None:
        with suppress(OSError):
            while True:
                client, _ = self._door.accept()
                self.heard[len(self.clients)] = b""
                self.clients.append(client)

    def send(self, data: bytes) -> None:
        for client in self.clients:
            client.sendall(data)

    def take(self) -> None:
        for number, client in enumerate(self.clients):
            while select.select([client], [], [], 0)[0]:
                piece = client.recv(4096)
                self.heard[number] += piece
                if not piece:
                    break

    def close(self) -> None:
        self._door.close()
        for client in self.clients:
            client.close()


def test_at_a_network_adapter_with_two_readers_nothing_at_all_is_sent(tmp_path):
    adapter = AdapterWithTwoReaders()
    try:
        with (
            socket.create_connection(adapter.url.removeprefix("socket://").split(":")) as person,
            watch(tmp_path, WHIMBREL, "--line", adapter.url) as begun,
        ):
            begun.until_fact(kinds.LineOpened)
            person.sendall(b"R")
            adapter.send(b"R\r\nNO DESK: ")
            begun.until_fact(kinds.LandmarkReached)
            assert begun.press_ctrl_c() == 0
            until(lambda: (adapter.take(), adapter.heard)[1] == {0: b"R", 1: b""}, lambda: f"{adapter.heard}")
            assert received(begun.facts(kinds.BytesReceived)) == b"R\r\nNO DESK: "
    finally:
        adapter.close()


# -- another program -----------------------------------------------------------------------------


@pytest.mark.parametrize("passing", [False, True], ids=["watched", "passed through"])
def test_another_program_that_opens_the_port_is_noticed_while_watching(tmp_path, needs, passing):
    needs.that(os.geteuid() == 0, "root: for everybody else the port is locked")
    with two_ports() as (machine, person):
        way = ["--terminal", person.url] if passing else []
        with watch(tmp_path, WHIMBREL, "--line", machine.url, *way) as begun:
            begun.until_fact(kinds.LineOpened)
            with subprocess.Popen(
                [
                    sys.executable,
                    "-c",
                    f"f = open({machine.url!r}, 'rb'); print('open', flush=True); input()",
                ],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
            ) as other:
                other.stdout.readline()
                begun.until_fact(kinds.OtherProgramSeen)
                (seen,) = begun.facts(kinds.OtherProgramSeen)
                assert f"(process {other.pid})" in seen.programs[0]
                begun.until_said(f"Another program has {machine.url} open too: ")
                other.communicate(b"\n")
            begun.until_fact(kinds.OtherProgramGone)
            begun.until_said(f"No other program has {machine.url} open any more.")
            if passing:
                os.kill(passer_of(begun), signal.SIGTERM)


# -- what the options say ------------------------------------------------------------------------


def test_the_two_ways_exclude_each_other(tmp_path):
    with watch(tmp_path, WHIMBREL, "--line", "x", "--typed", "y", "--terminal", "z") as begun:
        assert begun.process.wait(60) == 2
        assert "--typed and --terminal can't be combined." in begun.said()


@pytest.mark.parametrize("option", ["--typed", "--terminal"])
def test_one_port_can_t_be_both(tmp_path, option):
    with watch(tmp_path, WHIMBREL, "--line", "/dev/null", option, "/dev/../dev/null") as begun:
        assert begun.process.wait(60) == 2
        assert f"--line and {option} name the same port." in begun.said()


def test_a_terminal_can_t_be_passed_to_a_network_adapter(tmp_path):
    with watch(tmp_path, WHIMBREL, "--line", "socket://127.0.0.1:1", "--terminal", "/dev/null") as begun:
        assert begun.process.wait(60) == 2
        assert "socket://127.0.0.1:1 is not a serial port of this computer." in begun.said()
        assert len(begun.said().splitlines()) == 3
