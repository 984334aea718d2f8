"""A bridge whose disc is slow, and which writes down when it was asked and when it put a byte into the port.

    python -m tests.bridge.slow_bridge LOG bridge FOLDER --line ... --recordings ... --rounds ... --simulated

All is the command line's own but four things. Every second sync takes half a second, and meanwhile no fact
can be written, as on a memory card. The folder's line has 300 baud, and three characters may wait for their
echo. Its round is short. What happened goes to LOG as lines of JSON, with the time of this computer's clock.
"""

from __future__ import annotations

import itertools
import json
import os
import sys
import threading
import time
from pathlib import Path
from typing import Any

import msgspec

from exhibit.bridge.bridge import Bridge
from exhibit.bridge.request_door import Reply, Request
from exhibit.commands.cli import main
from exhibit.decisions.machine.script import Folder, Script
from exhibit.decisions.machine.wear_rules import Limits
from exhibit.facts import kinds
from exhibit.folder import whole
from exhibit.line.port import Device
from exhibit.streams.recording import RecordingWriter

SYNC_S = 0.5
EVERY = 2
"""Each so manieth sync is a slow one."""
STEPS = ("take-the-desk", "say-the-word", "begin-sums")
TIDY_UP = (
    "take-the-desk-to-stop",
    "say-the-word-to-stop",
    "stop-sums",
    "leave-the-desk",
    "give-up-the-word",
)
"""What is left of the round: it still signs on with a word, begins a job, stops it and signs off."""


def slow(folder: Folder) -> Folder:
    """The folder as it would be for a line of 300 baud. All waits but those for the machine are shorter."""
    replace = msgspec.structs.replace
    machine = replace(
        folder.machine,
        line=replace(folder.machine.line, baud=300),
        typing=replace(folder.machine.typing, window=3, echo_within_us=2_000_000),
    )
    whole_round, way_home = folder.scripts["round"], folder.way_home
    assert way_home is not None
    short = replace(
        whole_round, steps=_named(whole_round.steps, STEPS), tidy_up=_named(whole_round.tidy_up, TIDY_UP)
    )
    home = replace(way_home, listen_us=600_000, answer_us=1_500_000)
    scripts: dict[str, Script] = {**folder.scripts, "round": short}
    return replace(folder, machine=machine, scripts=scripts, way_home=home, rest_us=500_000, limits=Limits())


def _named(steps: tuple[Any, ...], names: tuple[str, ...]) -> tuple[Any, ...]:
    return tuple(step for step in steps if step.name in names)


class Log:
    """Writes down what happens; used by several threads."""

    def __init__(self, path: Path) -> None:
        self._fd = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)

    def add(self, what: str, **about: object) -> None:
        """Write a line."""
        os.write(self._fd, json.dumps({"what": what, **about}).encode() + b"\n")


def be_slow(log: Log) -> None:
    """Change what this process does from now on."""
    disc, number = threading.Lock(), itertools.count(1)
    sync, append, write, ask, read = (
        os.fdatasync,
        RecordingWriter.append,
        Device.write,
        Bridge.ask,
        whole.read_folder,
    )

    def fdatasync(fd: int) -> None:
        if next(number) % EVERY == 0:
            with disc:
                begun_s = time.monotonic()
                time.sleep(SYNC_S)
                log.add("synced", begun_s=begun_s, at_s=time.monotonic())
        sync(fd)

    def append_when_synced(self: RecordingWriter, fact: kinds.AnyFact, at_us: int) -> kinds.Entry:
        with disc:
            return append(self, fact, at_us)

    def ask_and_tell(self: Bridge, request: Request, reply: Reply) -> None:
        ask(self, request, reply)
        log.add("asked", at_s=time.monotonic(), request=request.request)

    def write_and_tell(self: Device, data: bytes) -> int | None:
        begun_s = time.monotonic()
        written = write(self, data)
        log.add("put", begun_s=begun_s, at_s=time.monotonic(), byte=data[0])
        return written

    os.fdatasync = fdatasync  # type: ignore[assignment]
    RecordingWriter.append = append_when_synced  # type: ignore[method-assign]
    Device.write = write_and_tell  # type: ignore[method-assign]
    Bridge.ask = ask_and_tell  # type: ignore[method-assign]
    whole.read_folder = lambda folder: slow(read(folder))


if __name__ == "__main__":
    be_slow(Log(Path(sys.argv.pop(1))))
    main()
