"""Starts web processes for the tests and pictures, each in a process of its own, and ends them.

They are forked from one that has the web process's modules already, which saves each test half a second of a
processor.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path

from exhibit.streams.keyframes import EVERY_US

ROOT = Path(__file__).resolve().parents[2]
START_WITHIN_S = 60
_FORKING = multiprocessing.get_context("forkserver")
_FORKING.set_forkserver_preload(["exhibit.web.website", __name__])

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
        heard, said = _FORKING.Pipe(duplex=False)
        self._process = _FORKING.Process(target=_run, args=(code, said), daemon=True)
        self._process.start()
        said.close()
        self._said = os.fdopen(os.dup(heard.fileno()), encoding="utf-8")
        heard.close()
        self.address = self.line()
        assert self.address.startswith(("http://", "https://")), "the web process didn't start"

    def line(self) -> str:
        """The next line that it prints, awaited; empty when it has ended."""
        return self._said.readline().strip()

    @property
    def pid(self) -> int:
        """The process's number."""
        assert self._process.pid is not None
        return self._process.pid

    @property
    def port(self) -> int:
        """The port that it serves on."""
        return int(self.address.rstrip("/").rsplit(":", 1)[1])

    def send(self, number: signal.Signals) -> None:
        """Send it a signal."""
        os.kill(self.pid, number)

    def wait(self) -> int:
        """Wait until it has ended; gives its exit status."""
        self._process.join(START_WITHIN_S)
        assert self._process.exitcode is not None, "the web process doesn't end"
        return self._process.exitcode

    def end(self) -> None:
        """End it, whatever state it is in."""
        if self._process.is_alive():
            self._process.kill()
        self._process.join(START_WITHIN_S)
        self._said.close()


def _run(code: str, said: Connection) -> None:
    """In the new process: what it prints goes to whoever started it."""
    os.chdir(ROOT)
    sys.stdout = os.fdopen(os.dup(said.fileno()), "w", encoding="utf-8")
    said.close()
    exec(code, {"__name__": "__main__"})


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
