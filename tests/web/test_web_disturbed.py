"""Whatever happens to the web process while a command is typed, the machine gets the same bytes."""

from __future__ import annotations

import contextlib
import re
import signal
import threading
import time
import urllib.request
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.simulator import truth
from tests.bridge.stage import WITHIN_S, Bridge, Stage, end, page_address, stage, start
from tests.sampling import number_of

DISTURBANCES = number_of(whole=100, daily=20)
SPEED, UNDISTURBED_SPEED = number_of(whole=6, daily=20), 20
"""A busy computer may stall for 0.3 s before an echo is late."""
STOPPED_FOR_S = 0.03
MOST_RUNS = 6
DATE_OR_TIME = re.compile(rb"\d{1,2}\.\d\d(\.\d{4})?(?=\x0e?\r)|\d{1,3}(?= \d{4}\x0e?\r)")
"""What the scripts type of the museum's clock, in both systems' forms: runs begin at different minutes."""
CANCELLED = re.compile(rb"[^\r]*\x18")
"""A command that a notice broke into, and that was therefore cancelled and typed again."""
HALF_TYPED_ENDS = (kinds.TypingConfirmed, kinds.TypingGarbled, kinds.StepFailed)


class Website:
    """A web process that is killed, stopped and reloaded while a command is half typed; and its spare."""

    def __init__(self, recordings: Path) -> None:
        arguments = ("page", "--recordings", f"{recordings}", "--machine", "whimbrel", "--port", "0")
        self._start = lambda: start(*arguments)
        self._process = self._start()
        self._spare = self._start()
        self._address = page_address(self._process)
        self._over = threading.Event()
        self.half_typed = threading.Event()
        self.done = 0
        """How many times it was disturbed so far."""
        self.fault: Exception | None = None
        self._trouble = threading.Thread(target=self._run)
        self._trouble.start()

    def _run(self) -> None:
        try:
            while not self._over.is_set():
                if self.half_typed.wait(0.1):
                    self._disturb()
        except Exception as fault:
            self.fault = fault

    def _disturb(self) -> None:
        """One of the three, in turn. When the process has been killed, the spare one takes over."""
        if self.done % 10 == 9:
            self._process.kill()
            end(self._process)
            self._process, self._spare = self._spare, self._start()
            self._address = page_address(self._process)
        elif self.done % 2:
            self._process.send_signal(signal.SIGSTOP)
            time.sleep(STOPPED_FOR_S)
            self._process.send_signal(signal.SIGCONT)
        else:
            with urllib.request.urlopen(self._address, timeout=WITHIN_S) as page:
                assert b"<html" in page.read()
        self.done += 1

    def close(self) -> None:
        self._over.set()
        self._trouble.join()
        for process in (self._process, self._spare):
            with contextlib.suppress(ProcessLookupError):
                end(process)


def _arrived(staged: Stage, bridge: Bridge) -> bytes:
    """All bytes that reached the machine, without date and time and commands interrupted by notices."""
    arrived = bytes(r.byte for r in staged.happened() if isinstance(r, truth.ByteArrived))
    notices = sum(isinstance(entry.fact, kinds.InterruptionSeen) for entry in bridge.entries)
    assert arrived.count(b"\x18") <= notices, "a command was cancelled that no notice broke into"
    return DATE_OR_TIME.sub(b"NOW", CANCELLED.sub(b"", arrived))


def _played(staged: Stage, half_typed: threading.Event) -> Bridge:
    """The opening, a round and the closing. `half_typed` is set while part of a command has been typed."""

    def over(entry: kinds.Entry) -> bool:
        if isinstance(entry.fact, kinds.BytesTyped):
            half_typed.set()
        elif isinstance(entry.fact, HALF_TYPED_ENDS):
            half_typed.clear()
        return isinstance(entry.fact, kinds.ScriptEnded) and entry.fact.script == "closing"

    bridge = staged.bridge("--rounds", "1")
    bridge.until(over)
    return bridge


@pytest.mark.trial(name="web-disturbed")
@pytest.mark.waits
@pytest.mark.timeout(600)
def test_a_web_process_killed_stopped_and_reloaded_again_and_again_changes_nothing_on_the_line(
    tmp_path: Path,
):
    with stage(tmp_path / "undisturbed", UNDISTURBED_SPEED) as staged:
        undisturbed = _arrived(staged, _played(staged, threading.Event()))
    assert len(undisturbed) > 200
    assert undisturbed.count(b"NOW") == 3, "a date or time wasn't found"
    done = 0
    for run in range(MOST_RUNS):
        with stage(tmp_path / f"{run}", SPEED) as staged:
            website = Website(staged.recordings)
            try:
                bridge = _played(staged, website.half_typed)
            finally:
                website.close()
            assert website.fault is None
            assert _arrived(staged, bridge) == undisturbed
        done += website.done
        if done >= DISTURBANCES:
            return
    raise AssertionError(f"only {done} times in {MOST_RUNS} runs")
