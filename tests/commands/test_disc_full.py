"""On a full disc every command that runs all day says so, and types nothing that it can't record."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.commands.visitors_page import SERVED_AT
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder
from tests.pages import made_facts
from tests.pages.web_processes import free_port
from tests.streams.small_disc import fill, small_disc
from tests.web.page_line import Line

pytestmark = pytest.mark.waits
WITHIN_S = 100.0
LASTS_AT_MOST_S = 1000.0
IS_FULL = "This computer's disc for recordings is full. Free some space before the next run."
DISC = "6m"
"""The reserve of a recording is 4 MB."""


class Machine:
    """The far end of a TCP line; it prints what it is told to, and keeps what it receives."""

    def __init__(self) -> None:
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.line = f"socket://127.0.0.1:{self._listening.getsockname()[1]}"
        self.received = b""
        self._line: socket.socket | None = None
        self._called = threading.Event()
        self._thread = threading.Thread(target=self._hear)
        self._thread.start()

    def _hear(self) -> None:
        self._line, _ = self._listening.accept()
        self._called.set()
        while data := self._line.recv(4096):
            self.received += data

    def prints(self, data: bytes) -> None:
        assert self._called.wait(WITHIN_S)
        assert self._line is not None
        self._line.sendall(data)

    def end(self) -> None:
        self._thread.join(WITHIN_S)
        if self._line is not None:
            self._line.close()
        self._listening.close()


class At(NamedTuple):
    """Where a page is."""

    port: int
    address: str


class Command:
    """A command of exhibit, whose words are read as they come."""

    port: int
    address: str

    def __init__(self, *arguments: str) -> None:
        self.port = free_port()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments, "--port", f"{self.port}"],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self._giving_up = threading.Timer(LASTS_AT_MOST_S, self.process.kill)
        self._giving_up.start()
        self.said = ""
        self.address = f"http://127.0.0.1:{self.port}/"

    def until_said(self, words: str) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said += line
            if words in line:
                return
        raise AssertionError(f"it ended without saying {words!r}: {self.said}")

    def ended(self) -> int:
        """Reads on until it ends. Returns its exit status."""
        assert self.process.stdout is not None
        if not self.process.stdout.closed:
            self.said += self.process.stdout.read()
            self.process.stdout.close()
        status = self.process.wait(WITHIN_S)
        self._giving_up.cancel()
        return status


@contextmanager
def beside_a_machine(mode: str, disc: Path) -> Iterator[tuple[Command, Machine | None]]:
    machine = None if mode == "demo" else Machine()
    arguments = ["demo", "--speed", "20", "--no-browser"]
    if machine is not None:
        arguments = [mode, f"{scripts_folder() / 'heron'}", "--line", machine.line]
    command = Command(*arguments, "--recordings", f"{disc}")
    try:
        command.until_said("The recording: ")
        yield command, machine
    finally:
        command.process.send_signal(signal.SIGTERM)
        command.ended()
        if machine is not None:
            machine.end()


@pytest.mark.parametrize("mode", ["run", "watch", "demo"])
def test_a_run_says_in_terminal_record_and_page_that_the_disc_is_full_and_at_the_end_why_it_stops(
    tmp_path, needs, mode
):
    with small_disc(tmp_path, needs, DISC) as disc, beside_a_machine(mode, disc) as (command, machine):
        fill(disc)
        if machine is not None:
            machine.prints(b"TICK\r\n" * 2000)
        command.until_said(IS_FULL)
        with Line(command) as page:  # type: ignore[arg-type]
            assert page.ask(stream="", after=0, news=0)["picture"]["items"]["nearly_full"]
        typed = len(machine.received) if machine is not None else 0
        fill(disc)  # the room of the reserve, too
        if machine is not None:
            machine.prints(b"TOCK\r\n" * 2000)
        assert command.ended() == 2
        assert re.search(r"The file .* can't be written: No space left on device\.", command.said)
        assert "types nothing more" in command.said
        assert "Free some space on the disc, then start again." in command.said
        assert "Traceback" not in command.said
        assert machine is None or len(machine.received) == typed
        (path,) = disc.glob("*.exhibit")
        read = read_all(path)
        assert read.damages == []
        assert len([entry for entry in read.entries if isinstance(entry.fact, kinds.RecordNearlyFull)]) == 1


@pytest.mark.parametrize("mode", ["run", "watch", "demo"])
def test_a_run_that_begins_on_a_full_disc_says_so_and_opens_nothing(tmp_path, needs, mode):
    with small_disc(tmp_path, needs, DISC) as disc:
        fill(disc)
        machine = None if mode == "demo" else Machine()
        what = [f"{scripts_folder() / 'heron'}", "--line", machine.line] if machine else ["--no-browser"]
        command = Command(mode, *what, "--recordings", f"{disc}")
        assert command.ended() == 2
        assert re.search(r"The file .* can't be created: No space left on device\.", command.said)
        assert "Free some space on the disc, then start again." in command.said
        assert "Traceback" not in command.said
        if machine is not None:
            machine.end()
            assert machine.received == b""
        assert {path.name for path in disc.iterdir() if path.stat().st_size} == {"filler"}


def test_a_page_on_a_full_disc_is_served_and_says_what_to_do(tmp_path, needs):
    with small_disc(tmp_path, needs, DISC) as disc:
        fill(disc)
        page = Command("page", "--recordings", f"{disc}")
        page.until_said("Free some space on that disc, and start the page again.")
        assert "No space left on device" in page.said
        page.until_said(SERVED_AT)
        with Line(page) as line:  # type: ignore[arg-type]
            assert line.ask(stream="", after=0, news=0)["whole"]
        page.process.terminate()
        assert page.ended() == 0
        assert [path.name for path in disc.iterdir()] == ["filler"]


def test_a_page_whose_complaints_go_to_a_full_disc_goes_on(tmp_path, needs):
    """As that of a run does, whose log is beside the recordings."""
    with small_disc(tmp_path, needs, DISC) as disc:
        recording = made_facts.begin(tmp_path / "recordings")
        port = free_port()
        with (disc / "log").open("ab", buffering=0) as log:
            fill(disc)
            process = subprocess.Popen(
                [sys.executable, "-m", "exhibit", "page"]
                + ["--recordings", f"{recording.path.parent}", "--port", f"{port}"],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
            )
        assert process.stdout is not None
        try:
            assert process.stdout.readline().startswith(SERVED_AT)
            with Line(At(port, f"http://127.0.0.1:{port}/")) as line:  # type: ignore[arg-type]
                while not (had := line.ask(stream="", after=0, news=0))["stream"]:
                    pass
                os.truncate(recording.path, 5)  # of which it complains
                while had["stream"]:
                    had = line.ask(stream=had["stream"], after=had["picture"]["seq"], news=had["news"])
                assert line.ask(stream="", after=0, news=0)["whole"]
            assert process.poll() is None
            assert (disc / "log").stat().st_size == 0
        finally:
            process.terminate()
            process.communicate()
            recording.abandon()


def test_where_no_temporary_file_can_be_written_a_run_says_so(tmp_path, monkeypatch):
    def refuses(**_: object) -> None:
        raise FileNotFoundError(2, "No usable temporary directory found in ['/tmp']")

    monkeypatch.setattr(tempfile, "TemporaryDirectory", refuses)
    for arguments in (
        ["demo", "--no-browser"],
        ["watch", f"{scripts_folder() / 'heron'}", "--line", "/dev/ttyUSB0"],
    ):
        done = CliRunner().invoke(main, [*arguments, "--recordings", f"{tmp_path}"])
        assert done.exit_code == 2
        assert "no folder for temporary files that can be written" in done.output
        assert "Free some space on this computer's disc" in done.output
