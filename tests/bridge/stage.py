"""A simulated machine, a bridge and a docent, as processes of their own that a test can kill."""

from __future__ import annotations

import contextlib
import json
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.commands.simulated_docent import SimulatedDocent, act_at_front, read_acts
from exhibit.commands.visitors_page import SERVED_AT
from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.script import Folder, TypeCommand
from exhibit.facts import kinds
from exhibit.simulator import truth
from exhibit.streams.recording import Damaged, Tail
from exhibit.web.places import scripts_folder

FOLDER = scripts_folder() / "whimbrel"
WITHIN_S = 120.0
LOOK_EVERY_S = 0.002


def whole_commands(folder: Folder) -> re.Pattern[str]:
    """Matches any whole command of the scripts, with digits in its places, and also RETURN alone."""
    steps = [step for script in folder.scripts.values() for step in (*script.steps, *script.tidy_up)]
    if folder.way_home is not None:
        steps += [step for way in folder.way_home.ways.values() for step in way]
    commands = [step.command for step in steps if isinstance(step, TypeCommand)]
    return re.compile("|".join(["", *(_with_figures(command) for command in commands)]))


def _with_figures(command: str) -> str:
    return "[0-9. ]+".join(re.escape(text) for text in PLACE.split(command)[0::2])


def start(*arguments: str) -> subprocess.Popen[str]:
    """An exhibit process that ends when its standard input is closed."""
    command = [sys.executable, "-m", "exhibit", *arguments, "--with-starter"]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)


class Stage:
    """The simulated machine on its pseudo-terminal; bridges come and go."""

    def __init__(self, place: Path, speed: float) -> None:
        self.place = place
        self.speed = speed
        self.front = place / "front"
        self.truth_file = place / "truth.jsonl"
        self.recordings = place / "recordings"
        self._simulator = start(
            "simulate", "--speed", f"{speed}", "--control", f"{self.front}", "--truth", f"{self.truth_file}"
        )
        self.line = first_line(self._simulator).removeprefix("line: ")
        self._bridges: list[Bridge] = []

    def act(self, act: str) -> str:
        """Does something at the front of the machine."""
        return act_at_front(self.front, act)

    def bridge(self, *arguments: str) -> Bridge:
        """Starts a bridge with the docent at its side; it has opened the line when this returns."""
        bridge = Bridge(self, arguments)
        self._bridges.append(bridge)
        return bridge

    def happened(self) -> list[truth.AnyRecord]:
        """The truth log so far. The simulator may be in the middle of its last line."""
        lines = self.truth_file.read_bytes().split(b"\n")[:-1]
        return [truth.from_line(line) for line in lines]

    def close(self) -> None:
        """Ends the remaining bridges, and the machine."""
        for bridge in self._bridges:
            bridge.end()
            bridge.close()
        end(self._simulator)


class Bridge:
    """A bridge process, the entries of its recording as they come, and the docent who answers it."""

    def __init__(self, stage: Stage, arguments: tuple[str, ...]) -> None:
        door = stage.place / f"door-{time.monotonic_ns()}"
        self.process = start(
            *("bridge", f"{FOLDER}", "--line", stage.line, "--recordings", f"{stage.recordings}"),
            *("--rate", f"{stage.speed}", "--simulated", "--end-when-failed", "--requests", f"{door}"),
            *arguments,
        )
        self.recording = recording_of(self.process)
        self.entries: list[kinds.Entry] = []
        self.torn: list[Damaged] = []
        self._tail = Tail(self.recording)
        self._docent = SimulatedDocent(read_acts(FOLDER), stage.front, door)

    def until(self, enough: Callable[[kinds.Entry], bool]) -> kinds.Entry:
        """Follows the recording until `enough` accepts an entry. Returns that entry."""
        give_up_s = time.monotonic() + WITHIN_S
        while time.monotonic() < give_up_s:
            before = len(self.entries)
            self.follow()
            for entry in self.entries[before:]:
                if enough(entry):
                    return entry
            if self.process.poll() is not None and before == len(self.entries):
                raise AssertionError(f"the bridge ended first: {self.entries[-3:]}")
            time.sleep(LOOK_EVERY_S)
        raise AssertionError(f"no such entry; last: {self.entries[-3:]}")

    def follow(self) -> None:
        """Reads what is new, and lets the docent answer."""
        for entry in self._tail.read_new():
            if isinstance(entry, Damaged):
                self.torn.append(entry)
                continue
            self.entries.append(entry)
            if self.process.poll() is None:
                self._docent.respond(entry)

    def kill(self) -> None:
        """kill -9."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(WITHIN_S)
        self.follow()

    def end(self) -> int:
        """Ends it properly. Returns its exit status."""
        _close_input(self.process)
        give_up_s = time.monotonic() + WITHIN_S
        while self.process.poll() is None:
            assert time.monotonic() < give_up_s, f"the bridge doesn't end; last: {self.entries[-3:]}"
            self.follow()
            time.sleep(LOOK_EVERY_S)
        self.follow()
        return self.process.returncode

    def close(self) -> None:
        """Closes its files."""
        self._tail.close()
        end(self.process)


@contextmanager
def stage(place: Path, speed: float = 50.0) -> Iterator[Stage]:
    """A stage whose processes are ended afterwards."""
    place.mkdir(parents=True, exist_ok=True)
    staged = Stage(place, speed)
    try:
        yield staged
    finally:
        staged.close()


def _close_input(process: subprocess.Popen[str]) -> None:
    assert process.stdin is not None
    with contextlib.suppress(BrokenPipeError):
        process.stdin.close()


def end(process: subprocess.Popen[str]) -> None:
    """Ends an exhibit process, and closes its pipes."""
    _close_input(process)
    process.wait(WITHIN_S)
    assert process.stdout is not None
    process.stdout.close()


def first_line(process: subprocess.Popen[str]) -> str:
    """What the process prints when it is ready."""
    assert process.stdout is not None
    giving_up = threading.Timer(WITHIN_S, process.kill)
    giving_up.start()
    try:
        line = process.stdout.readline().strip()
    finally:
        giving_up.cancel()
    assert line, "the process ended before it was ready"
    return line


def recording_of(bridge: subprocess.Popen[str]) -> Path:
    """The recording that this bridge has begun."""
    return Path(json.loads(first_line(bridge)))


def page_address(process: subprocess.Popen[str]) -> str:
    """Where the page can be opened that this process serves."""
    return first_line(process).removeprefix(SERVED_AT)
