"""A slow machine, a bridge with a slow disc, its page and its followers, each a process of its own."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from exhibit.bridge.door_note import door_of
from exhibit.bridge.request_door import Answer, Request, ask
from exhibit.facts import kinds
from exhibit.simulator import truth
from exhibit.streams.recording import Damaged, Tail
from tests.bridge.hands_off_judge import Byte, Said
from tests.bridge.stage import FOLDER, WITHIN_S, end, first_line, page_address, recording_of, start

ROOT = Path(__file__).resolve().parents[2]
LOOK_EVERY_S = 0.02
QUIET_S = 2.5
"""How long to wait for anything more: longer than an echo may take, after which the cancel key would come."""
ONE_CONSOLE_IN = 10
"""The other followers are phones."""
TRIES = 5
BY = "a docent"


class Stage:
    """All of it, for a few rounds in which somebody says hands off, and later that it can go on."""

    def __init__(self, place: Path, followers: int) -> None:
        self._log, self._truth, self._recordings = place / "log", place / "truth", place / "recordings"
        self._recordings.mkdir(parents=True)
        self._page = start("page", "--recordings", f"{self._recordings}", "--port", "0")
        self._machine = _start("slow_machine", f"{self._truth}")
        about = json.loads(first_line(self._machine))
        self._at_s, self._at_us = about["at_s"], about["at_us"]
        self._bridge = _start(
            *("slow_bridge", f"{self._log}", "bridge", f"{FOLDER}", "--line", about["line"], "--simulated"),
            *("--recordings", f"{self._recordings}", "--requests", f"{place / 'door'}", "--with-starter"),
        )
        self._tail = Tail(recording_of(self._bridge))
        self.entries: list[kinds.Entry] = []
        self.failed = False
        """The scripts have stopped, and somebody must say that they can go on."""
        port = page_address(self._page).rstrip("/").rsplit(":", 1)[1]
        consoles = followers // ONE_CONSOLE_IN
        self._followers = _start("told_hands_off", port, f"{consoles}", f"{followers - consoles}")
        assert first_line(self._followers) == "following"

    def until_round(self) -> None:
        """Waits until another round has begun. If the scripts have stopped, somebody lets them go on."""
        for _ in range(TRIES):
            if self.failed:
                assert self._ask("clear").accepted
                self._until(kinds.SessionCleared)
            if isinstance(self._until(kinds.SessionFailed, kinds.ScriptStarted), kinds.ScriptStarted):
                return
        raise AssertionError("no round begins")

    def until_in_round(self, delay_s: float) -> None:
        """Waits until so much of a round is over. A busy computer can make a round fail: then of another."""
        for _ in range(TRIES):
            self.until_round()
            self._wait(delay_s)
            if not self.failed:
                return
        raise AssertionError("every round fails")

    def hands_off(self) -> Said:
        """Somebody says it. What is known a little later."""
        self.entries.clear()
        answer = self._ask("hands off")
        answered_s = time.monotonic()
        self._wait(QUIET_S)
        log = self.log()
        asked = [one["at_s"] for one in log if one["what"] == "asked" and one["request"] == "hands off"]
        return Said(
            asked_s=asked[-1],
            answered_s=answered_s,
            accepted=answer.accepted,
            put=[Byte(one["begun_s"], one["byte"]) for one in log if one["what"] == "put"],
            arrived=self.arrived(),
            facts=[entry.fact for entry in self.entries if not isinstance(entry.fact, kinds.UnknownFact)],
        )

    def log(self) -> list[dict[str, Any]]:
        """What the bridge has written down beside its recording."""
        return [json.loads(line) for line in self._log.read_bytes().splitlines()]

    def arrived(self) -> list[Byte]:
        """The machine's own log of the bytes that reached it."""
        lines = self._truth.read_bytes().split(b"\n")[:-1]
        records = [truth.from_line(line) for line in lines]
        return [
            Byte(self._at_s + (one.at_us - self._at_us) / 1_000_000, one.byte)
            for one in records
            if isinstance(one, truth.ByteArrived)
        ]

    def stop_following(self) -> list[dict[str, Any]]:
        """Lets the followers go. What each has seen."""
        assert self._followers.stdin is not None
        self._followers.stdin.write("stop\n")
        self._followers.stdin.flush()
        first_line(self._followers)  # how much processor time they took
        seen: list[dict[str, Any]] = json.loads(first_line(self._followers))
        return seen

    def close(self) -> None:
        """Ends everything."""
        self._tail.close()
        for process in (self._followers, self._page, self._bridge, self._machine):
            end(process)

    def _ask(self, request: Any) -> Answer:
        door = door_of(self._recordings, "whimbrel")
        assert door is not None, "no bridge lives there"
        return ask(door, Request(request=request, by=BY))

    def _follow(self) -> list[kinds.Entry]:
        new = [entry for entry in self._tail.read_new() if not isinstance(entry, Damaged)]
        self.entries += new
        for entry in new:
            if isinstance(entry.fact, kinds.SessionFailed | kinds.SessionCleared):
                self.failed = isinstance(entry.fact, kinds.SessionFailed)
        return new

    def _wait(self, seconds: float) -> None:
        until_s = time.monotonic() + seconds
        while time.monotonic() < until_s:
            time.sleep(LOOK_EVERY_S)
            self._follow()

    def _until(self, *those: type[kinds.Fact]) -> object:
        """Follows the recording until there is such a fact. A tidy-up on the way home is no round."""
        give_up_s = time.monotonic() + WITHIN_S
        while time.monotonic() < give_up_s:
            for fact in (entry.fact for entry in self._follow()):
                if isinstance(fact, those) and not (isinstance(fact, kinds.ScriptStarted) and not fact.round):
                    return fact
            assert self._bridge.poll() is None, "the bridge ended"
            time.sleep(LOOK_EVERY_S)
        raise AssertionError(f"it never came; last: {self.entries[-3:]}")


def _start(module: str, *arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", f"tests.bridge.{module}", *arguments]
    return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT)


@contextmanager
def stage(place: Path, followers: int) -> Iterator[Stage]:
    """A stage whose processes are ended afterwards."""
    staged = Stage(place, followers)
    try:
        yield staged
    finally:
        staged.close()
