"""A demonstration that runs on and on: none of its processes grows in memory, threads or descriptors.

    python -m tests.trials.soak [SECONDS] [SPEED]          by default an hour, four times as fast as real

Starts a real `exhibit demo`, and a page's connection that asks for everything new, as a visitor's screen
does. Again and again it counts what each process holds (proc(5)) and which files there are. Claim: after the
first quarter, in which caches fill and each kind of step happens for the first time, nothing grows. The least
of the last quarter is compared with the least of the second, so that a moment's peak counts for neither.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Final

import msgspec
import websocket

from exhibit.commands.visitors_page import SERVED_AT
from tests.pages.web_processes import free_port
from tests.web.page_line import Line

HOUR_S: Final = 3600.0
SPEED: Final = 4.0
SAMPLES: Final = 120
MOST_GROWTH_KB: Final = 8 * 1024
"""How much more memory the last quarter may hold. A leak of a kilobyte a round is 8 MB in some weeks; what an
allocator keeps after a busy moment is a few megabytes, once."""
ENDS_WITHIN_S: Final = 60.0
PROCESSES: Final = ("demo", "simulate", "bridge", "page")


class Held(msgspec.Struct, frozen=True):
    """What one process holds at a moment."""

    memory_kB: int
    threads: int
    files: int


Sample = dict[str, Held]
"""Of each process, by the name of its command."""


class Soak(msgspec.Struct, kw_only=True):
    """What was found."""

    samples: list[Sample]
    on_disc: list[int]
    """How many files there were beside the recordings and in the temporary folder, at each sample."""
    answers: int
    """How many answers the page's connection got."""
    rounds: int
    failed: int
    """How often the scripts failed, as on a computer that is too busy."""
    said: str
    """All that was printed."""


class _Screen:
    """Asks for what is new until it is ended, as a visitor's screen does."""

    def __init__(self, port: int) -> None:
        self.port, self.address = port, f"http://127.0.0.1:{port}/"
        self.answers = 0
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._ask)
        self._thread.start()

    def _ask(self) -> None:
        with suppress(OSError, websocket.WebSocketException), Line(self) as line:  # type: ignore[arg-type]
            had = line.ask(stream="", after=0, news=0)
            while not self._over.is_set():
                self.answers += 1
                picture = had.get("picture") or {}
                had = line.ask(stream=had["stream"], after=picture.get("seq", 0), news=had["news"])

    def end(self) -> None:
        """Ask no more."""
        self._over.set()
        self._thread.join(ENDS_WITHIN_S)


def held_by(pid: int) -> Held:
    """What this process holds now."""
    said = dict(line.split(":", 1) for line in Path(f"/proc/{pid}/status").read_text("ascii").splitlines())
    return Held(
        memory_kB=int(said["VmRSS"].split()[0]),
        threads=int(said["Threads"]),
        files=len(os.listdir(f"/proc/{pid}/fd")),
    )


def of_run(pid: int) -> dict[str, int]:
    """The processes of the run with this number, by the names of their commands."""
    found = {"demo": pid}
    for child in Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split():
        arguments = Path(f"/proc/{child}/cmdline").read_bytes().split(b"\0")
        found |= {name: int(child) for name in PROCESSES if name.encode() in arguments[2:5]}
    return found


@contextmanager
def _demonstration(place: Path, speed: float, port: int) -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-m", "exhibit", "demo", "--no-browser", "--speed", f"{speed}"]
    (place / "temporary").mkdir()
    with (place / "said").open("wb") as said:
        process = subprocess.Popen(
            [*command, "--port", f"{port}", "--recordings", f"{place / 'recordings'}"],
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            start_new_session=True,
            env={**os.environ, "TMPDIR": f"{place / 'temporary'}"},
        )
    try:
        yield process
    finally:
        process.terminate()
        process.wait(ENDS_WITHIN_S * 5)


def soaked(place: Path, seconds: float, speed: float, samples: int = SAMPLES) -> Soak:
    """Runs it for so long."""
    port = free_port()
    found = Soak(samples=[], on_disc=[], answers=0, rounds=0, failed=0, said="")
    said = place / "said"
    with _demonstration(place, speed, port) as process:
        while SERVED_AT not in said.read_text():
            assert process.poll() is None, said.read_text()
            time.sleep(0.1)
        screen = _Screen(port)
        begun_s = time.monotonic()
        try:
            for number in range(1, samples + 1):
                time.sleep(max(0.0, begun_s + seconds * number / samples - time.monotonic()))
                assert process.poll() is None, said.read_text()
                found.samples.append({name: held_by(pid) for name, pid in of_run(process.pid).items()})
                found.on_disc.append(sum(1 for path in place.rglob("*") if path.is_file()))
        finally:
            screen.end()
    found.answers, found.said = screen.answers, said.read_text()
    for path in (place / "recordings").glob("*.exhibit"):
        lines = path.read_bytes()
        found.rounds += lines.count(b'"fact":"script_ended","script":"round","outcome":"done"')
        found.failed += lines.count(b'"fact":"session_failed"')
    return found


def grows(found: Soak) -> list[str]:
    """What was more in the last quarter than in the second by more than is allowed."""
    quarter = len(found.samples) // 4
    early, late = found.samples[quarter : 2 * quarter], found.samples[-quarter:]
    grown = [f"there is no {name}" for name in PROCESSES if any(name not in one for one in early + late)]
    for name in set(PROCESSES) if not grown else ():
        for what, most in (("memory_kB", MOST_GROWTH_KB), ("threads", 0), ("files", 0)):
            before, after = (min(getattr(one[name], what) for one in part) for part in (early, late))
            if after > before + most:
                grown.append(f"{what} of {name} grew from {before} to {after}")
    before_files = max(found.on_disc[quarter : 2 * quarter])
    after_files = min(found.on_disc[-quarter:])
    if after_files > before_files:
        grown.append(f"files on disc grew from {before_files} to {after_files}")
    return grown


def table(found: Soak) -> str:
    """The medians of each quarter, in words."""
    quarter = len(found.samples) // 4
    lines = [f"{found.rounds} rounds, {found.failed} failures, {found.answers} answers to the screen"]
    for name in PROCESSES:
        parts = []
        for number in range(4):
            part = [one[name] for one in found.samples[number * quarter :][:quarter] if name in one]
            middle = {
                what: round(statistics.median(getattr(one, what) for one in part))
                for what in ("memory_kB", "threads", "files")
            }
            parts.append("{memory_kB} kB {threads} threads {files} files".format(**middle))
        lines.append(f"  {name}: " + " | ".join(parts))
    lines.append(f"  files on disc: {dict(sorted(Counter(found.on_disc).items()))}")
    return "\n".join(lines)


def main() -> None:
    """Try it, and tell."""
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else HOUR_S
    speed = float(sys.argv[2]) if len(sys.argv) > 2 else SPEED
    with tempfile.TemporaryDirectory() as name:
        found = soaked(Path(name), seconds, speed)
    print(f"a demonstration for {seconds:g} s, {speed:g} times as fast as real")
    print(table(found))
    grown = grows(found)
    print("\n".join(grown) or "nothing grows")
    sys.exit(bool(grown))


if __name__ == "__main__":
    main()
