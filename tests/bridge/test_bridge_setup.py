"""A whole bridge: when it can be asked to stop, and a far end that never pauses."""

from __future__ import annotations

import signal
import threading
from pathlib import Path
from typing import Any

import pytest

from exhibit.bridge import inbox as bridge_queue
from exhibit.bridge import setup as bridge_setup
from exhibit.bridge.inbox import Inbox
from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.line.events import Opened, Received
from tests.decisions.deciders import decider_for
from tests.decisions.heron import folder, pause, script

WORK = folder(script("round", pause("look", 20)))
LONG_S = 60.0
CHUNK = b"AND ON AND ON " * 100


@pytest.fixture
def handlers(monkeypatch: pytest.MonkeyPatch) -> dict[int, Any]:
    found: dict[int, Any] = {}
    monkeypatch.setattr(signal, "signal", found.__setitem__)
    return found


def test_it_can_be_told_to_stop_before_the_line_is_open(tmp_path: Path, handlers, monkeypatch):
    def open_line(url, settings, clock_us, deliver, borrower):
        handlers[signal.SIGTERM](signal.SIGTERM, None)
        deliver(Opened("a line", clock_us(), 1))
        return StillLine()

    monkeypatch.setattr(bridge_setup, "open_line", open_line)
    assert watch(tmp_path) == 0
    (recording,) = tmp_path.glob("*.exhibit")
    assert b"recording_closed" in recording.read_bytes().splitlines()[-1]


@pytest.mark.timeout(300)
def test_a_far_end_that_never_pauses_neither_fills_the_memory_nor_holds_off_a_stop(
    tmp_path: Path, handlers, monkeypatch
):
    most_chunks = 20_000
    delivered = []

    class Flood(StillLine):
        def __init__(self, deliver, clock_us):
            self._stopping = threading.Event()
            self._deliver, self._clock_us = deliver, clock_us
            self._thread = threading.Thread(target=self._run)
            self._thread.start()

        def _run(self):
            self._deliver(Opened("a line", self._clock_us(), 1))
            while not self._stopping.is_set() and len(delivered) < most_chunks:
                delivered.append(len(CHUNK))
                self._deliver(Received(CHUNK, self._clock_us()))
                if len(delivered) == 20:
                    handlers[signal.SIGTERM](signal.SIGTERM, None)

        def stop(self):
            self._stopping.set()
            self._thread.join(LONG_S)
            return not self._thread.is_alive()

    monkeypatch.setattr(bridge_queue, "MOST_WAITING_BYTES", 10 * len(CHUNK))
    monkeypatch.setattr(
        bridge_setup, "open_line", lambda url, settings, clock_us, deliver, borrower: Flood(deliver, clock_us)
    )
    assert watch(tmp_path) == 0
    assert len(delivered) < 60


def test_waiting_for_room_ends_when_there_is_some_and_when_the_bridge_ends(monkeypatch):
    monkeypatch.setattr(bridge_queue, "MOST_WAITING_BYTES", 0)
    inbox = Inbox()
    gone_on = threading.Semaphore(0)

    def deliver():
        for _ in range(2):
            inbox.put(Received(b"HELLO", 0))
            inbox.wait_for_room()
            gone_on.release()

    threading.Thread(target=deliver).start()
    assert inbox.get(LONG_S) == Received(b"HELLO", 0)
    assert gone_on.acquire(timeout=LONG_S)
    assert not gone_on.acquire(timeout=0.05)
    inbox.end()
    assert gone_on.acquire(timeout=LONG_S)


class StillLine:
    def stop(self) -> bool:
        return True


def watch(place: Path) -> int:
    order = BridgeOrder(folder=WORK, line="a line", recordings=place)
    return run_bridge(order, "nothing", lambda opened: decider_for(WORK, opened), None, None)
