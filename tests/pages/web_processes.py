"""Starts web processes for the tests and pictures, each in a process of its own, and ends them."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.streams.keyframes import EVERY_US

ROOT = Path(__file__).resolve().parents[2]
START_WITHIN_S = 60

_LIVE = """
from pathlib import Path
from exhibit.web.phone import Phone
if {phone!r}:
    Phone.address = lambda self: {phone!r}
from exhibit.web.website import serve_live
serve_live(Path({where!r}), port={port}, turn_after_s={turn_after_s}, host={host!r},
           ready=lambda address: print({phone!r} and "http://127.0.0.1:%d/" % {port} or address, flush=True))
"""
_REPLAY = """
from pathlib import Path
from exhibit.web.website import serve_replay
from exhibit.streams import keyframes
keyframes.EVERY_US = {keyframe_every_us}
serve_replay(Path({where!r}), rate={rate}, port={port}, cache_folder=Path({cache!r}),
             ready=lambda address: print(address, flush=True))
"""


class WebProcess:
    """A web process and its address."""

    def __init__(self, code: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        self.address = self._process.stdout.readline().strip()
        assert self.address.startswith("http://"), "the web process didn't start"

    @property
    def pid(self) -> int:
        """The process's number."""
        return self._process.pid

    @property
    def port(self) -> int:
        """The port that it serves on."""
        return int(self.address.rstrip("/").rsplit(":", 1)[1])

    def send(self, number: signal.Signals) -> None:
        """Send it a signal."""
        self._process.send_signal(number)

    def wait(self) -> int:
        """Wait until it has ended; gives its exit status."""
        return self._process.wait(START_WITHIN_S)

    def end(self) -> None:
        """End it, whatever state it is in."""
        if self._process.poll() is None:
            self._process.kill()
        self._process.wait(START_WITHIN_S)
        assert self._process.stdout is not None
        self._process.stdout.close()


def free_port() -> int:
    """A port that nothing listened at just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def live(
    where: Path, port: int = 0, turn_after_s: float = 3600.0, host: str = "127.0.0.1", phone: str = ""
) -> Iterator[WebProcess]:
    """A web process that follows the newest recording in `where`, and turns to another one only if told.

    `phone` is the address that it says phones should use.
    """
    if phone and not port:
        port = free_port()
    code = _LIVE.format(where=str(where), port=port, turn_after_s=turn_after_s, host=host, phone=phone)
    process = WebProcess(code)
    try:
        yield process
    finally:
        process.end()


@contextmanager
def replay(
    where: Path, cache: Path, rate: float = 1.0, port: int = 0, keyframe_every_us: int = EVERY_US
) -> Iterator[WebProcess]:
    """A web process that plays the recording `where`."""
    rate_written = "float('inf')" if rate == float("inf") else repr(rate)
    code = _REPLAY.format(
        where=str(where), cache=str(cache), rate=rate_written, port=port, keyframe_every_us=keyframe_every_us
    )
    process = WebProcess(code)
    try:
        yield process
    finally:
        process.end()
