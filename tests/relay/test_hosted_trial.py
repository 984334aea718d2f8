"""An audience beyond the museum, and trouble on the way: who misses a caption, and what the machine sees."""

from __future__ import annotations

import os
import signal
import threading
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest

from tests.bridge.stage import stage
from tests.relay.processes import Served, Visitor, exhibit
from tests.relay.redis_here import RedisHere
from tests.sampling import number_of
from tests.trials import hosted
from tests.web.test_web_disturbed import UNDISTURBED_SPEED, _arrived, _played

FOLLOWERS = number_of(whole=5000, daily=60)
SECONDS = number_of(whole=120, daily=12)


@pytest.mark.trial(name="hosted")
@pytest.mark.waits
@pytest.mark.timeout(600)
def test_no_follower_misses_a_caption_while_workers_are_killed_and_redis_is_started_again(
    needs: Any, tmp_path: Path
) -> None:
    needs("redis-server")
    needs("openssl")
    result = hosted.follow(tmp_path, FOLLOWERS, SECONDS)
    print(result)
    assert result.captions >= SECONDS // hosted.CAPTION_EVERY_S
    # The last one due may be due as the time is up.
    assert result.killed >= max(1, SECONDS // hosted.KILL_EVERY_S - 1)
    assert result.restarts == 1
    assert result.missed == 0
    assert result.turned_away == []


@pytest.mark.trial(name="hosted")
@pytest.mark.waits
@pytest.mark.timeout(600)
def test_the_machine_gets_the_same_bytes_with_an_audience_as_without(
    redis: RedisHere, tmp_path: Path
) -> None:
    with stage(tmp_path / "alone", UNDISTURBED_SPEED) as staged:
        alone = _arrived(staged, _played(staged, threading.Event()))
    assert len(alone) > 200
    with stage(tmp_path / "hosted", UNDISTURBED_SPEED) as staged, ExitStack() as stack:
        way = (redis.address, "--ca", f"{redis.ca}", "--login")
        relay = stack.enter_context(
            exhibit("relay", "--to", *way, f"{redis.login('relay')}", "--recordings", f"{staged.recordings}")
        )
        page = stack.enter_context(
            exhibit("page", "--from", *way, f"{redis.login('page')}", "--port", "0", "--workers", "2")
        )
        relay.line("(The relay sends to)")
        visitor = Visitor(Served(page.line("visitors' page: (http.*)")))
        stack.callback(visitor.close)
        over, seen = threading.Event(), Disturbing(visitor, page.workers, redis, relay.process.pid)
        thread = threading.Thread(target=seen.run, args=(over,))
        thread.start()
        try:
            bridge = _played(staged, threading.Event())
        finally:
            over.set()
            thread.join()
        assert _arrived(staged, bridge) == alone
    assert seen.done >= 4
    assert len(visitor.captions) > 3


class Disturbing:
    """Whatever can happen beyond the museum, again and again, with a visitor who looks on."""

    def __init__(self, visitor: Visitor, workers: Any, redis: RedisHere, relay: int) -> None:
        self._visitor, self._workers, self._redis, self._relay = visitor, workers, redis, relay
        self.done = 0

    def run(self, over: threading.Event) -> None:
        """Until it is over."""
        while not over.is_set():
            for _ in range(3):
                self._visitor.ask()
            self._disturb()
            self.done += 1

    def _disturb(self) -> None:
        if self.done % 4 == 0 and (workers := self._workers()):
            os.kill(workers[0], signal.SIGKILL)
        elif self.done % 4 == 1:
            self._redis.stop(forget=self.done % 8 == 1)
            self._redis.start()
        elif self.done % 4 == 2:
            os.kill(self._relay, signal.SIGSTOP)
            self._visitor.ask()
            os.kill(self._relay, signal.SIGCONT)
