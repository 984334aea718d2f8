"""The whole way with real processes: a recording, the relay, a real Redis, hosted pages."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.relay.hosted_picture import NOT_HEARD
from tests.pages import made_facts
from tests.relay import private_day
from tests.relay.processes import Process, Served, Visitor, exhibit
from tests.relay.redis_here import RedisHere

pytestmark = pytest.mark.waits
SAID_WITHIN_S = 5.0
ROOM_S = 3.0
"""For a busy computer."""


def caption(words: str) -> kinds.CaptionShown:
    return kinds.CaptionShown(caption="c", kind="seen", words={"en": words}, part="", because=[], source={})


class Hosted:
    """A museum, its relay and its page beyond the museum."""

    def __init__(self, redis: RedisHere, folder: Path, stack: ExitStack) -> None:
        self.redis, self._stack = redis, stack
        self.recordings = folder / "recordings"
        self.tell: Callable[[kinds.AnyFact], None] = stack.enter_context(made_facts.beating(self.recordings))
        self.tell(kinds.LineOpened(line="x"))
        self.tell(caption("the first"))
        self.relay = self.start("relay", "to", "relay", "--recordings", f"{self.recordings}")
        self.relay.line("(The relay sends to)")

    def start(self, command: str, direction: str, user: str, *more: str) -> Process:
        login = ("--login", f"{self.redis.login(user)}", "--ca", f"{self.redis.ca}")
        return self._stack.enter_context(
            exhibit(command, f"--{direction}", self.redis.address, *login, *more)
        )

    def page(self, workers: int = 1) -> tuple[Process, Visitor]:
        process = self.start("page", "from", "page", "--port", "0", "--workers", f"{workers}")
        visitor = Visitor(Served(process.line("visitors' page: (http.*)")))
        self._stack.callback(visitor.close)
        return process, visitor


@pytest.fixture
def hosted(redis: RedisHere, tmp_path: Path) -> Iterator[Hosted]:
    with ExitStack() as stack:
        yield Hosted(redis, tmp_path, stack)


@contextmanager
def stopped(pid: int) -> Iterator[None]:
    os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        os.kill(pid, signal.SIGCONT)


def test_a_page_beyond_the_museum_says_within_5_s_that_it_hears_nothing_and_goes_on_by_itself(
    hosted: Hosted,
) -> None:
    """The bound is the demand's own, with 3 s more for a busy computer."""
    _, visitor = hosted.page()
    visitor.until("live", "the first")
    with stopped(hosted.relay.process.pid):
        assert visitor.until(NOT_HEARD, "the first") < SAID_WITHIN_S + ROOM_S
        hosted.tell(caption("the second"))
    visitor.until("live", "the second")
    with stopped(hosted.redis.process.pid):
        assert visitor.until(NOT_HEARD, "the second") < SAID_WITHIN_S + ROOM_S
    visitor.until("live", "the second")
    assert visitor.page.wholes == 1


@pytest.mark.parametrize("forget", [False, True], ids=["with its file", "with nothing"])
def test_after_a_restart_of_redis_all_goes_on(hosted: Hosted, forget: bool) -> None:
    _, visitor = hosted.page()
    visitor.until("live", "the first")
    hosted.redis.stop(forget=forget)
    hosted.tell(caption("the second"))
    hosted.redis.start()
    visitor.until("live", "the second")
    hosted.tell(caption("the third"))
    visitor.until("live", "the third")
    assert visitor.captions == ["the first", "the second", "the third"]
    _, late = hosted.page()
    late.until("live", "the third")


def test_pages_that_lose_their_worker_go_on_at_another_where_they_were(hosted: Hosted) -> None:
    process, _ = hosted.page(workers=3)
    served = Served(process.said[-1].split()[-1])
    visitors = [Visitor(served) for _ in range(12)]
    try:
        for visitor in visitors:
            visitor.until("live", "the first")
        workers = process.workers()
        assert len(workers) == 3
        for number, worker in enumerate(workers):
            os.kill(worker, signal.SIGKILL)
            hosted.tell(caption(f"caption {number}"))
            for visitor in visitors:
                visitor.until("live", f"caption {number}")
        for visitor in visitors:
            assert visitor.captions == ["the first", "caption 0", "caption 1", "caption 2"]
            assert visitor.page.wholes == 1
        give_up_s = time.monotonic() + 60
        while len(set(process.workers()) - set(workers)) < 3:
            assert time.monotonic() < give_up_s
            time.sleep(0.1)
    finally:
        for visitor in visitors:
            visitor.close()


def test_redis_never_gets_anything_private(redis: RedisHere, tmp_path: Path) -> None:
    told = [(entry.at_us / 1e6, entry.fact) for entry in private_day.entries()]
    first = told[0][1]
    assert isinstance(first, kinds.RecordingOpened)
    with ExitStack() as stack:
        recordings = tmp_path / "recordings"
        tell = stack.enter_context(made_facts.beating(recordings, first))
        login = ("--login", f"{redis.login('relay')}", "--ca", f"{redis.ca}")
        relay = stack.enter_context(
            exhibit("relay", "--to", redis.address, *login, "--recordings", f"{recordings}")
        )
        relay.line("(The relay sends to)")
        for number, (_, fact) in enumerate(told[1:]):
            tell(fact)
            if number % 10 == 0:
                time.sleep(0.05)
        give_up_s = time.monotonic() + 60
        while private_day.PUBLIC.encode() not in redis.all_it_ever_got():
            assert time.monotonic() < give_up_s
            time.sleep(0.1)
    redis.stop()
    got = redis.all_it_ever_got()
    assert len(got) > 10_000
    assert private_day.MARK.encode() not in got


def test_a_wrong_password_is_said_once_and_nothing_else_stops(redis: RedisHere, tmp_path: Path) -> None:
    redis.login("relay").write_text("relay\nnot the word\n")
    login = ("--login", f"{redis.login('relay')}", "--ca", f"{redis.ca}")
    with exhibit("relay", "--to", redis.address, *login, "--recordings", f"{tmp_path}") as relay:
        relay.line("(Redis can't be used)")
        relay.line("(tries again by itself)")
    assert not [line for line in relay.said if "not the word" in line or "Traceback" in line]
