"""Watch only, on a Unix-like host: all is mirrored, recorded and captioned, and not a byte is sent."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import tty
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.commands.posix_host import SECRET, WITHIN_S, host_with_account, lacking, message, wall
from tests.commands.posix_visit import FOLDER, follow

FRAME = (
    b"\x1b[H%s\x1b[0;10mtop - 10:00:0%d up 36 min,  1 user,  load average: 0.%d, 0.10, 0.05\x1b[K\r\n"
    b"Tasks:  98 total,   3 running,  95 sleeping,   0 stopped,   0 zombie\x1b[K\r\n"
    b"%%Cpu(s):  0.0 us,100.0 sy,  0.0 ni,100.0 id,  0.0 wa,  0.0 hi,  0.0 si,  0.0 st\x1b[K\r\n"
    b"MiB Mem :  24105.1 total,  20524.0 free,    619.6 used,   3265.8 buff/cache\x1b[K\r\n"
    b"MiB Swap:      0.0 total,      0.0 free,      0.0 used.  23485.6 avail Mem\x1b[K\r\n\x1b[K\r\n"
    b"\x1b[7m  PID USER      PR  NI    VIRT    RES    SHR S  %%CPU  %%MEM     TIME+ COMMAND\x1b[0m\x1b[K\r\n"
    b" 4711 exhibit   20   0    2580    920    828 R  93.8   0.0   0:31.66 sh\x1b[K"
)
"""As top of procps-ng 4.0 paints it with TERM=ansi, taken from a terminal and shortened.

Two of the processor's shares fill their columns, so there is no space before them.
"""
SIGNED_IN = (
    b"\r\n\xd0\x9f\xd1\x80\xd0\xb8\xd0\xb2\xd0\xb5\xd1\x82\r\nhost login: exhibit\r\nPassword: \r\n"
    b"\x1b[?2004hexhibit@host:~$ PS1='ready: '\r\n\x1b[?2004l\r\x1b[?2004hready: "
)
DISPLAY = b"top\r\n\x1b[?2004l\r" + FRAME % (b"\x1b[J", 1, 11) + FRAME % (b"", 3, 12) + b"\x1b[H"
LINES = (
    b"\x1b[25;1H\r\n\x1b[K\x1b[?2004hready: " + message("Hello?") + b"echo\r\n\x1b[?2004l\r"
    b"disc lo" + wall("Tea is served.") + b"ad 4710\r\nready: "
)
CANNED = [SIGNED_IN, DISPLAY, LINES]


class Watching:
    """`exhibit watch` in a process of its own."""

    def __init__(self, place: Path, device: str) -> None:
        arguments = ["watch", f"{FOLDER}", "--line", device, "--port", "0"]
        self._process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments, "--recordings", f"{place / 'recordings'}"],
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        # First come the cautions.
        lines = [self._process.stdout.readline()]
        while lines[-1] and not lines[-1].startswith("The recording:"):
            lines.append(self._process.stdout.readline())
        self.path = Path(lines[-1].removeprefix("The recording: ").strip())

    def wait_for(self, wanted: Callable[[kinds.Fact], bool]) -> None:
        """Waits until such a fact is in the recording."""
        for fact in follow(self.path, lambda: self._process.poll() is not None):
            if wanted(fact):
                return
        raise AssertionError("the watching ended before that")

    def end(self) -> int:
        """Presses Ctrl-C. Returns the exit status."""
        self._process.send_signal(signal.SIGINT)
        return self._process.wait(WITHIN_S)

    def close(self) -> None:
        if self._process.poll() is None:
            self._process.kill()
            self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()


@contextmanager
def watching(place: Path, device: str):
    begun = Watching(place, device)
    try:
        yield begun
    finally:
        begun.close()


def reached(name: str) -> Callable[[kinds.Fact], bool]:
    return lambda fact: isinstance(fact, kinds.LandmarkReached) and fact.landmark == name


def shown(caption: str) -> Callable[[kinds.Fact], bool]:
    return lambda fact: isinstance(fact, kinds.CaptionShown) and fact.caption == caption


@pytest.fixture(scope="module")
def watched(tmp_path_factory):
    """The recording of a canned session that was watched, the exit status, and the bytes the host got."""
    master, slave = os.openpty()
    tty.setraw(slave)
    device = os.ttyname(slave)
    os.close(slave)
    try:
        with watching(tmp_path_factory.mktemp("canned"), device) as begun:
            begun.wait_for(lambda fact: isinstance(fact, kinds.LineOpened))
            os.write(master, SIGNED_IN)
            begun.wait_for(reached("ready"))
            os.write(master, DISPLAY)
            begun.wait_for(shown("load-rises"))
            os.write(master, LINES)
            begun.wait_for(shown("round-begin-disc-load"))
            ready, _, _ = select.select([master], [], [], 0)
            received = os.read(master, 4096) if ready else b""
            status = begun.end()
        yield read_all(begun.path), status, received
    finally:
        os.close(master)


def facts(watched, kind):
    return [entry.fact for entry in watched[0].entries if isinstance(entry.fact, kind)]


def test_watching_sends_nothing_to_the_host_and_ends_well(watched):
    recording, status, received = watched
    assert received == b""
    assert status == 0
    assert recording.damages == []
    assert recording.entries[0].fact.typing == "nothing"
    assert facts(watched, kinds.BytesTyped) == []


def test_watching_records_every_byte_that_the_host_sent(watched):
    assert b"".join(kinds.to_bytes(fact.bytes) for fact in facts(watched, kinds.BytesReceived)) == b"".join(
        CANNED
    )


def test_watching_recognises_the_lines_of_the_folder_even_one_that_a_notice_interrupted(watched):
    seen = {fact.pattern: fact.fields for fact in facts(watched, kinds.PatternSeen)}
    assert seen["disc-load"] == {"number": "4710"}
    assert [fact.interruption for fact in facts(watched, kinds.InterruptionSeen)] == ["message", "broadcast"]


def test_watching_reads_the_display_whose_frames_have_ended(watched):
    taken = {(fact.frame, fact.name): fact.value for fact in facts(watched, kinds.ReadingTaken)}
    values = {name: value for (frame, name), value in taken.items() if frame == 2 and name != "jobs"}
    assert values == {"load": 0.12, "tasks": 98, "running": 3, "busy": 0.0, "idle": 100.0}
    assert taken[1, "load"] == 0.11
    jobs = [fact.table for fact in facts(watched, kinds.ReadingTaken) if fact.name == "jobs"]
    assert [[row["number"], row["command"]] for row in jobs[-1]] == [["4711", "sh"]]


def test_watching_shows_captions_from_patterns_and_readings(watched):
    words = {fact.caption: fact.words["en"] for fact in facts(watched, kinds.CaptionShown)}
    assert "0.12" in words["load-rises"]
    assert "4710" in words["round-begin-disc-load"]


@pytest.mark.timeout(200)
def test_a_person_who_works_at_the_host_is_watched(needs, tmp_path):
    needs.that(not lacking(), lacking())
    with (
        host_with_account(tmp_path, "bash", "ansi") as (host, account),
        watching(tmp_path, host.device) as begun,
    ):
        host.wait_for(b"login: ")
        host.type(b"\r")
        begun.wait_for(reached("login"))
        host.type(account.name.encode() + b"\r")
        begun.wait_for(reached("password"))
        host.type(SECRET.encode() + b"\r")
        begun.wait_for(reached("any-shell"))
        host.type(b"PS1='ready: '\r")
        begun.wait_for(reached("ready"))
        host.type(b"sleep 1 & echo disc load $!\r")
        begun.wait_for(shown("round-begin-disc-load"))
        host.type(b"top -d 1\r")
        begun.wait_for(reached("processes"))
        host.type(b"q")
        place = len(host.said)
        host.wait_for(rb"ready: $", place)
        host.type(b"exit\r")
        host.wait_for(rb"login: $", place)
        assert begun.end() == 0
    recording = read_all(begun.path)
    assert recording.damages == []
    received = b"".join(
        kinds.to_bytes(entry.fact.bytes)
        for entry in recording.entries
        if isinstance(entry.fact, kinds.BytesReceived)
    )
    assert received
    assert received in bytes(host.said)
    assert SECRET.encode() not in received
    assert bytes(host.heard) == b""
