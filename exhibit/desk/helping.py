"""Has jobs done by the helper process while other greenlets go on."""

from __future__ import annotations

import os
from collections.abc import Iterable
from contextlib import suppress
from typing import IO, Any, Final, cast

import gevent
import msgspec
from gevent import subprocess
from gevent.lock import BoundedSemaphore

from exhibit.passing.own_python import own_command, own_environment

WITHIN_S: Final = 60.0
AT_ONCE: Final = 2
"""Checking a password takes 64 MiB, and this may be a small computer."""


class Helper:
    """Starts a helper process for each job, some at a time."""

    def __init__(self) -> None:
        self._room = BoundedSemaphore(AT_ONCE)

    def do(self, job: str, *where: str, given: dict[str, Any] | None = None) -> dict[str, Any]:
        """Have this job done. Without an answer in time it is {"why": "took too long"}."""
        return self.feed(job, *where, pieces=[msgspec.json.encode(given)])

    def feed(self, job: str, *where: str, pieces: Iterable[bytes]) -> dict[str, Any]:
        """The same, with what the job gets in pieces as they come."""
        with self._room:
            process = subprocess.Popen(
                own_command("exhibit.desk.helper", job, *where),
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                env=own_environment(os.environ),
            )
            try:
                return self._answer(process, pieces)
            finally:
                if process.poll() is None:
                    process.kill()
                process.wait()
                for end in (process.stdin, process.stdout):
                    with suppress(OSError):
                        cast(IO[bytes], end).close()

    def _answer(self, process: Any, pieces: Iterable[bytes]) -> dict[str, Any]:
        said = b""
        with suppress(TimeoutError), gevent.Timeout(WITHIN_S, TimeoutError()):
            with suppress(BrokenPipeError):  # it has seen enough: its answer says why
                for piece in pieces:
                    process.stdin.write(piece)
                process.stdin.close()
            said = process.stdout.read()
        try:
            answer: dict[str, Any] = msgspec.json.decode(said, type=dict[str, Any])
        except msgspec.DecodeError:
            return {"why": "took too long"}
        return answer
