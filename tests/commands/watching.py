"""`exhibit watch` in a process of its own, and what its terminal said."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from exhibit.facts import kinds
from exhibit.streams.recording import read_all

WITHIN_S = 60.0


class Watch:
    """`exhibit watch FOLDER ...` with these arguments. `place` gets the recordings and the sockets."""

    def __init__(self, place: Path, folder: Path, arguments: Sequence[str]) -> None:
        self.recordings = place / "recordings"
        runtime = place / "runtime"
        runtime.mkdir(exist_ok=True)
        self._said = (place / f"said-{time.monotonic_ns()}").open("w+")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "watch", f"{folder}", *arguments, "--port", "0"]
            + ["--recordings", f"{self.recordings}"],
            stdin=subprocess.DEVNULL,
            stdout=self._said,
            stderr=self._said,
            env={**os.environ, "XDG_RUNTIME_DIR": f"{runtime}"},
        )

    def said(self) -> str:
        return Path(self._said.name).read_text()

    def until_said(self, words: str) -> None:
        until(lambda: words in self.said(), lambda: f"{words!r}, only: {self.said()}")

    @property
    def path(self) -> Path:
        """Its recording."""
        self.until_said("The recording: ")
        (line,) = [line for line in self.said().splitlines() if line.startswith("The recording: ")]
        return Path(line.removeprefix("The recording: "))

    def facts(self, *of: type) -> list:
        """The facts of these kinds so far."""
        return [entry.fact for entry in read_all(self.path).entries if isinstance(entry.fact, of)]

    def until_fact(self, of: type, holds: Callable = lambda fact: True) -> None:
        until(lambda: any(holds(fact) for fact in self.facts(of)), lambda: f"{of}, only {self.said()}")

    def bridge_pid(self) -> int:
        """The process that records."""
        return next(pid for pid in children(self.process.pid) if " bridge " in f" {command(pid)} ")

    def press_ctrl_c(self) -> int:
        self.process.send_signal(signal.SIGINT)
        return self.process.wait(WITHIN_S)

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            with suppress(subprocess.TimeoutExpired):
                self.process.wait(WITHIN_S)
            self.process.kill()
            self.process.wait()
        self._said.close()


@contextmanager
def watch(place: Path, folder: Path, *arguments: str):
    begun = Watch(place, folder, arguments)
    try:
        yield begun
    finally:
        begun.close()


def until(true: Callable[[], bool], what: Callable[[], str]) -> None:
    limit_s = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < limit_s, f"waited {WITHIN_S} s for {what()}"
        time.sleep(0.02)


def children(pid: int) -> list[int]:
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text()
    return [int(child) for child in text.split()]


def command(pid: int) -> str:
    return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode()


def typed(facts: Sequence[kinds.TypedByHand]) -> bytes:
    return b"".join(kinds.to_bytes(fact.bytes) for fact in facts)


def received(facts: Sequence[kinds.BytesReceived]) -> bytes:
    return b"".join(kinds.to_bytes(fact.bytes) for fact in facts)
