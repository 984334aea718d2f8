"""A whole run: what happens when its terminal, its web server, its bridge or its machine goes away."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from exhibit.commands.visitors_page import PAGES_LOG
from exhibit.facts import kinds
from exhibit.streams.recording import read_all

pytestmark = pytest.mark.waits

WITHIN_S = 100.0
SPEED = "20"


class Demo:
    """A demonstration in a terminal of its own."""

    def __init__(self, recordings: Path) -> None:
        self.recordings = recordings
        self._terminal, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "demo", "--no-browser", "--port", "0", "--speed", SPEED]
            + ["--recordings", f"{recordings}"],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            preexec_fn=_take_as_terminal,
            env={**os.environ, "EXHIBIT_SECRET_TIDES": "HERON4411"},
        )
        os.close(theirs)
        self.said = ""
        self.until_said("The recording: ")
        self.address = re.search(r"http://\S+", self.said).group()
        self.children = {_command(pid): pid for pid in _children(self.process.pid)}

    def until_said(self, words: str) -> None:
        while words not in self.said:
            self.said += os.read(self._terminal, 4096).decode(errors="replace")

    def facts(self) -> list[kinds.AnyFact]:
        (path,) = self.recordings.glob("*.exhibit")
        return [entry.fact for entry in read_all(path).entries]

    def folder_of_door(self) -> Path:
        """The folder that the run made for its socket."""
        arguments = Path(f"/proc/{self.children['bridge']}/cmdline").read_bytes().split(b"\0")
        return Path(arguments[arguments.index(b"--requests") + 1].decode()).parent

    def close_terminal(self) -> None:
        if self._terminal >= 0:
            os.close(self._terminal)
            self._terminal = -1

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.kill()
        self.process.wait(WITHIN_S)
        self.close_terminal()
        until(lambda: not any(_alive(pid) for pid in self.children.values()))


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Demo]:
    running = Demo(tmp_path)
    yield running
    running.end()


def _take_as_terminal() -> None:
    """Takes the terminal as a login does. Under nohup SIGHUP would be ignored here, so that is undone too."""
    import fcntl
    import termios

    signal.signal(signal.SIGHUP, signal.SIG_DFL)
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def _children(pid: int) -> list[int]:
    return [int(n) for n in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def _command(pid: int) -> str:
    arguments = Path(f"/proc/{pid}/cmdline").read_bytes().split(b"\0")
    return arguments[arguments.index(b"exhibit") + 1].decode()


def _alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def until(true: Callable[[], object]) -> None:
    give_up_s = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < give_up_s, "it never became true"
        time.sleep(0.05)


def _typed(demo: Demo) -> bool:
    return any(isinstance(fact, kinds.BytesTyped) and fact.by.startswith("script") for fact in demo.facts())


def _has_begun_a_job(demo: Demo) -> bool:
    return any(isinstance(fact, kinds.ExerciserBegun) for fact in demo.facts())


@pytest.mark.timeout(300)
def test_a_run_whose_terminal_is_closed_tidies_up_and_closes_the_recording(demo: Demo):
    until(lambda: _has_begun_a_job(demo))  # the simulator has to live on until that is stopped
    demo.close_terminal()
    demo.process.wait(WITHIN_S)
    until(lambda: isinstance(demo.facts()[-1], kinds.RecordingClosed))
    ended = [fact for fact in demo.facts() if isinstance(fact, kinds.ScriptEnded)]
    assert [(fact.script, fact.outcome, fact.tidy) for fact in ended] == [
        ("opening", "done", True),
        ("round", "stopped", True),
    ]
    until(lambda: not any(_alive(pid) for pid in demo.children.values()))


@pytest.mark.timeout(300)
@pytest.mark.parametrize("everyone", [False, True], ids=["the starter alone", "as a service manager does"])
def test_a_run_that_gets_sigterm_tidies_up(demo: Demo, everyone: bool):
    until(lambda: _typed(demo))
    folder = demo.folder_of_door()
    assert folder.is_dir()
    pids = [demo.process.pid, *(demo.children[name] for name in ("bridge", "page") if everyone)]
    for pid in pids:
        os.kill(pid, signal.SIGTERM)
    demo.until_said("recording is closed.")
    assert demo.process.wait(WITHIN_S) == 0
    assert isinstance(demo.facts()[-1], kinds.RecordingClosed)
    ended = [fact for fact in demo.facts() if isinstance(fact, kinds.ScriptEnded)]
    assert [(fact.outcome, fact.tidy) for fact in ended] == [("stopped", True)], ended
    assert not folder.exists()
    assert not any(_alive(pid) for pid in demo.children.values())


@pytest.mark.timeout(300)
def test_only_the_process_that_types_is_given_the_secrets(demo: Demo):
    knows = {
        name: b"HERON4411" in Path(f"/proc/{pid}/environ").read_bytes() for name, pid in demo.children.items()
    }
    assert knows == {"simulate": False, "page": False, "bridge": True}


@pytest.mark.timeout(300)
def test_what_the_pages_complain_of_goes_to_a_file_and_never_into_the_terminal(demo: Demo):
    complaints = Path(f"/proc/{demo.children['page']}/fd/2").readlink()
    assert complaints == demo.recordings / PAGES_LOG.format(port=0)


@pytest.mark.timeout(300)
def test_a_website_that_was_killed_is_started_again_at_the_same_address(demo: Demo):
    os.kill(demo.children["page"], signal.SIGKILL)
    demo.until_said("is started again")

    def answers() -> bool:
        try:
            with urllib.request.urlopen(demo.address, timeout=WITHIN_S) as page:
                return b"<html" in page.read()
        except OSError:
            return False

    until(answers)
    assert demo.process.poll() is None


@pytest.mark.timeout(300)
def test_a_demonstration_whose_simulator_is_killed_ends_and_says_so(demo: Demo):
    os.kill(demo.children["simulate"], signal.SIGKILL)
    demo.until_said("The simulated machine ")  # has ended, or does not answer the docent
    assert demo.process.wait(WITHIN_S) == 2


@pytest.mark.timeout(300)
def test_ctrl_c_says_that_it_stops_and_stops_in_good_order(demo: Demo):
    until(lambda: _typed(demo))
    demo.process.send_signal(signal.SIGINT)
    demo.until_said("the script first stops what it started")
    demo.process.send_signal(signal.SIGINT)
    assert demo.process.wait(WITHIN_S) == 0
    assert isinstance(demo.facts()[-1], kinds.RecordingClosed)
    assert not [fact for fact in demo.facts() if isinstance(fact, kinds.SessionFailed)]


@pytest.mark.timeout(300)
def test_a_bridge_that_is_killed_is_explained(demo: Demo):
    until(lambda: _typed(demo))
    os.kill(demo.children["bridge"], signal.SIGKILL)
    demo.until_said("Look at the machine.")
    assert demo.process.wait(WITHIN_S) == 2
