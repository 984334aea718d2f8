"""Whatever befalls the web process while a command is typed, the machine gets the same bytes."""

from __future__ import annotations

import contextlib
import re
import signal
import subprocess
import threading
import time
import urllib.request
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.simulator import truth
from tests.edges.stage import WITHIN_S, Bridge, Stage, end, first_line, stage, start

DISTURBANCES = 100
SPEED = 6.0
TIME_OF_DAY = re.compile(rb"\d\d\.\d\d\r")
CANCELLED = re.compile(rb"[^\r]*\x18")
"""A command that a notice broke into, and that was therefore cancelled and typed again."""


class Website:
    """A web process that is killed, stopped and reloaded while it follows the recordings."""

    def __init__(self, recordings: Path) -> None:
        self._recordings = recordings
        self._process: subprocess.Popen[str] | None = None
        self._address = ""
        self.done = 0

    def begin(self) -> None:
        self._process = start(
            "web", "--recordings", f"{self._recordings}", "--machine", "whimbrel", "--port", "0"
        )
        self._address = first_line(self._process)

    def disturb(self) -> None:
        """One of the three, in turn; after a kill it is started again."""
        assert self._process is not None
        if self.done % 10 == 9:
            self._process.kill()
            end(self._process)
            self.begin()
        elif self.done % 2:
            self._process.send_signal(signal.SIGSTOP)
            time.sleep(0.05)
            self._process.send_signal(signal.SIGCONT)
        else:
            with urllib.request.urlopen(self._address, timeout=WITHIN_S) as page:
                assert b"<html" in page.read()
        self.done += 1

    def close(self) -> None:
        if self._process is not None:
            self._process.send_signal(signal.SIGCONT)
            end(self._process)


def _arrived(staged: Stage, bridge: Bridge) -> bytes:
    """All bytes that reached the machine, but for the time of day and for what notices broke into."""
    arrived = bytes(r.byte for r in staged.happened() if isinstance(r, truth.ByteArrived))
    notices = sum(isinstance(entry.fact, kinds.InterruptionSeen) for entry in bridge.entries)
    assert arrived.count(b"\x18") <= notices, "a command was cancelled that no notice broke into"
    return TIME_OF_DAY.sub(b"HH.MM\r", CANCELLED.sub(b"", arrived))


def _played(staged: Stage) -> Bridge:
    bridge = staged.bridge("--rounds", "2")
    bridge.until(lambda entry: isinstance(entry.fact, kinds.ScriptEnded) and entry.fact.script == "closing")
    return bridge


@pytest.mark.timeout(600)
def test_a_web_process_killed_stopped_and_reloaded_100_times_changes_nothing_on_the_line(tmp_path: Path):
    with stage(tmp_path / "undisturbed", speed=2 * SPEED) as staged:
        undisturbed = _arrived(staged, _played(staged))
    with stage(tmp_path / "disturbed", SPEED) as staged:
        website = Website(staged.recordings)
        website.begin()
        over = threading.Event()

        def disturb() -> None:
            while not over.is_set():
                website.disturb()

        trouble = threading.Thread(target=disturb)
        try:
            trouble.start()
            bridge = _played(staged)
        finally:
            over.set()
            trouble.join(WITHIN_S)
            with contextlib.suppress(ProcessLookupError):
                website.close()
        assert website.done >= DISTURBANCES
        assert _arrived(staged, bridge) == undisturbed
    assert len(undisturbed) > 300
