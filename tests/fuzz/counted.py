"""Runs a target on one input after another, and keeps count: how many, how long, and what was found."""

from __future__ import annotations

import hashlib
import signal
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

import msgspec

HANG_S = 1.0
"""An input that takes a processor longer than this is a finding."""
BROKEN_OFF_S = 10.0
"""An input that takes a processor longer than this is broken off."""
OURS = "/exhibit/"


class TooLong(BaseException):
    """An input was broken off. Not an Exception, so that nothing that is tried catches it."""


class Finding(msgspec.Struct):
    """One way in which inputs failed: where, how often, and the shortest of them."""

    where: str
    times: int
    shortest_bytes: int
    text: str
    file: str


class Tally(msgspec.Struct):
    """What was tried of one target."""

    target: str
    inputs: int = 0
    processor_s: float = 0.0
    longest_s: float = 0.0
    hangs: int = 0
    tracebacks: int = 0
    findings: list[Finding] = []


class Counted:
    """A target that never raises: what it finds is counted, and the inputs are kept in `keep_in`."""

    def __init__(self, name: str, one: Callable[[bytes], None], keep_in: Path) -> None:
        self.tally = Tally(name)
        self._one = one
        self._keep_in = keep_in
        self._found: dict[str, Finding] = {}
        signal.signal(signal.SIGVTALRM, _break_off)

    def __call__(self, data: bytes) -> None:
        """Tries one input."""
        began_s = time.thread_time()
        try:
            with _within(BROKEN_OFF_S):
                self._one(data)
        except TooLong as cut:
            self._keep(cut, data)
        except Exception as error:
            self.tally.tracebacks += 1
            self._keep(error, data)
        took_s = time.thread_time() - began_s
        self.tally.inputs += 1
        self.tally.processor_s += took_s
        self.tally.longest_s = max(self.tally.longest_s, took_s)
        if took_s > HANG_S:
            self.tally.hangs += 1
            self._keep(None, data)

    def write(self, path: Path) -> None:
        """Writes the tally to a file."""
        self.tally.findings = list(self._found.values())
        path.write_bytes(msgspec.json.encode(self.tally))

    def _keep(self, error: BaseException | None, data: bytes) -> None:
        where = "more than a second" if error is None else _where(error)
        found = self._found.get(where)
        if found is None or len(data) < found.shortest_bytes:
            self._keep_in.mkdir(parents=True, exist_ok=True)
            path = self._keep_in / hashlib.sha256(where.encode()).hexdigest()[:12]
            path.write_bytes(data)
            text = "" if error is None else "".join(traceback.format_exception(error)[-12:])
            found = Finding(where, found.times if found else 0, len(data), text, str(path))
            self._found[where] = found
        found.times += 1


def _where(error: BaseException) -> str:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [frame for frame in frames if OURS in frame.filename] or frames
    message = "" if isinstance(error, TooLong) else f" {str(error).strip().rpartition(chr(10))[2][:60]}"
    place = (
        f"{Path(frames[-1].filename).name} under {ours[-1].filename.rpartition(OURS)[2]}:{ours[-1].lineno}"
    )
    return f"{type(error).__name__} {place}{message if frames[-1] is ours[-1] else ''}"


@contextmanager
def _within(seconds: float) -> Iterator[None]:
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_VIRTUAL, 0)


def _break_off(number: int, frame: FrameType | None) -> None:
    raise TooLong
