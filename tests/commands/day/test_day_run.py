"""A real day at the simulated machine, by its terminal: opened, interrupted, killed in mid-round, closed."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.door_note import DoorNote, door_of
from exhibit.commands.simulated_docent import SimulatedDocent, read_acts
from exhibit.facts import kinds
from exhibit.folder.secret_words import demo_secrets
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.recording import read_all
from exhibit.web.places import scripts_folder

pytestmark = pytest.mark.waits

FOLDER = scripts_folder() / "whimbrel"
SPEED = "20"
WITHIN_S = 150.0


class Today:
    """`exhibit today` in a terminal of its own, at the simulated machine with its docent."""

    def __init__(self, place: Path) -> None:
        self.recordings, self.truth, self.front = place / "recordings", place / "truth", place / "front"
        secrets = {f"EXHIBIT_SECRET_{name.upper()}": word for name, word in demo_secrets(WORDS).items()}
        exhibit = [sys.executable, "-m", "exhibit"]
        self.machine = subprocess.Popen(
            [
                *exhibit,
                "simulate",
                "--speed",
                SPEED,
                "--control",
                f"{self.front}",
                "--truth",
                f"{self.truth}",
            ],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self.machine.stdout is not None
        line = self.machine.stdout.readline().strip().removeprefix("line: ")
        self._terminal, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [
                *exhibit,
                "today",
                f"{FOLDER}",
                "--line",
                line,
                "--rate",
                SPEED,
                "--port",
                "0",
                "--desk-port",
                "0",
            ]
            + ["--recordings", f"{self.recordings}"],
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            env={**os.environ, **secrets, "XDG_DATA_HOME": f"{place}"},
            start_new_session=True,
        )
        os.close(theirs)
        self.said = ""
        threading.Thread(target=self._listen, daemon=True).start()
        self._answered: set[tuple[str, int]] = set()

    def _listen(self) -> None:
        while True:
            try:
                said = os.read(self._terminal, 4096).decode(errors="replace")
            except OSError:
                return
            self.said += said

    def types(self, line: str) -> None:
        os.write(self._terminal, f"{line}\n".encode())

    def entries(self) -> list[tuple[str, kinds.Entry]]:
        files = sorted(self.recordings.glob("*.exhibit"))
        return [(file.name, entry) for file in files for entry in read_all(file).entries]

    def facts(self, kind: type) -> list[kinds.AnyFact]:
        return [entry.fact for _, entry in self.entries() if isinstance(entry.fact, kind)]

    def until(self, true: Callable[[], object]) -> None:
        """Waits for that, while the docent does what is asked."""
        give_up_s = time.monotonic() + WITHIN_S
        acts = read_acts(FOLDER)
        while not true():
            assert time.monotonic() < give_up_s, self.said[-3000:]
            assert self.process.poll() is None, self.said[-3000:]
            door = door_of(self.recordings, "whimbrel")
            for file, entry in self.entries():
                if isinstance(entry.fact, kinds.HandsOnAsked) and (file, entry.seq) not in self._answered:
                    assert door is not None
                    self._answered.add((file, entry.seq))
                    SimulatedDocent(acts, self.front, door).respond(entry)
            time.sleep(0.1)

    def phase(self) -> str:
        turned = self.facts(kinds.DayTurned)
        return turned[-1].phase if turned else ""

    def begun(self, number: int) -> bool:
        return any(fact.round == number for fact in self.facts(kinds.ScriptStarted))

    def bridge(self) -> int:
        note = self.recordings / "door-whimbrel.json"
        return msgspec.json.decode(note.read_bytes(), type=DoorNote).pid

    def machine_is_down(self) -> bool:
        """Whether all drives stand and the power is off, by the simulator's own log."""
        records = [json.loads(line) for line in self.truth.read_text().splitlines()]
        drives = {one["drive"]: one["state"] for one in records if one["kind"] == "DriveChanged"}
        power = [one["on"] for one in records if one["kind"] == "PowerChanged"]
        return power[-1] is False and set(drives.values()) == {"standing"}

    def end(self) -> None:
        for process in (self.process, self.machine):
            if process.poll() is None:
                process.terminate()
                process.wait(WITHIN_S)
        if self.machine.stdout is not None:
            self.machine.stdout.close()
        os.close(self._terminal)


@pytest.fixture
def today(tmp_path: Path) -> Iterator[Today]:
    running = Today(tmp_path)
    yield running
    running.end()


def test_a_day_is_opened_interrupted_killed_in_mid_round_and_closed_and_the_machine_is_down(today):
    today.until(lambda: "The day hasn't been opened yet." in today.said)
    assert today.facts(kinds.BytesTyped) == []
    today.types("open")
    today.until(lambda: today.begun(1))
    today.types("away")
    today.until(lambda: any(fact.script == "round" for fact in today.facts(kinds.ScriptEnded)))
    assert today.facts(kinds.ScriptEnded)[-1].outcome == "done"
    assert (today.phase(), today.begun(2)) == ("away", False)

    today.types("back")
    today.until(lambda: today.begun(2))
    jobs = len(today.facts(kinds.ExerciserBegun))
    today.until(lambda: len(today.facts(kinds.ExerciserBegun)) > jobs)
    killed = today.bridge()
    os.kill(killed, signal.SIGKILL)
    today.until(lambda: len([*today.recordings.glob("*.exhibit")]) == 2 and today.phase() == "rounds")
    assert "it is started again, and the day goes on." in today.said
    assert today.bridge() != killed

    today.until(lambda: today.begun(3))
    today.types("close")
    today.until(lambda: today.phase() == "over")
    ended = [(fact.script, fact.outcome, fact.tidy) for fact in today.facts(kinds.ScriptEnded)]
    assert ended[-2:] == [("round", "done", True), ("closing", "done", True)]
    assert "The day is over." in today.said
    assert today.facts(kinds.RequestRefused) == []
    assert today.machine_is_down()

    os.kill(today.process.pid, signal.SIGINT)
    assert today.process.wait(WITHIN_S) == 0
    assert door_of(today.recordings, "whimbrel") is None
