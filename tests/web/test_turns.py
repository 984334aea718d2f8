"""Requests take turns: a stranger's many requests neither take the core nor come before a visitor's."""

from __future__ import annotations

from typing import Any

import gevent
import gevent.event
import pytest

from exhibit.web import turns
from exhibit.web.turns import BEGINNING_S, SHARE, Turns


class Clock:
    """Time that passes only when a request is answered, or when somebody sleeps."""

    def __init__(self) -> None:
        self.now_s = 100.0

    def monotonic(self) -> float:
        return self.now_s


@pytest.fixture
def clock(monkeypatch) -> Clock:
    made = Clock()
    sleep = gevent.sleep

    def slept(limit_s: float) -> None:
        made.now_s += limit_s
        sleep(0)

    monkeypatch.setattr(turns.time, "monotonic", made.monotonic)
    monkeypatch.setattr(turns.gevent, "sleep", slept)
    return made


def asked(clock: Clock, addresses: list[str]) -> list[str]:
    """In which order requests from there are answered, all of which come at once and take 2 ms each."""
    answered: list[str] = []

    def app(environ: dict[str, Any], start_response: object) -> list[bytes]:
        answered.append(environ["REMOTE_ADDR"])
        clock.now_s += 0.002
        return []

    taking = Turns(app)
    requests = [
        gevent.spawn(taking, {"PATH_INFO": "/", "REMOTE_ADDR": address}, None) for address in addresses
    ]
    gevent.joinall(requests, timeout=30)
    return answered


def test_a_visitor_waits_for_one_of_a_stranger_s_requests_not_for_all(clock: Clock) -> None:
    order = asked(clock, ["192.0.2.1"] * 50 + ["192.0.2.2", "192.0.2.3"])
    assert len(order) == 52
    assert order.index("192.0.2.2") <= 3
    assert order.index("192.0.2.3") <= 4


def test_many_requests_take_no_more_than_their_share_of_the_core(clock: Clock) -> None:
    asked(clock, ["192.0.2.1"] * 100)
    assert clock.now_s - 100.0 == pytest.approx(100 * 0.002 / SHARE, rel=0.02)


def test_a_page_s_own_connection_waits_for_its_turn_but_keeps_nobody_waiting(clock: Clock) -> None:
    over = gevent.event.Event()
    began_s: list[float] = []

    def app(environ: dict[str, Any], start_response: object) -> list[bytes]:
        began_s.append(clock.now_s)
        over.wait()
        return []

    taking = Turns(app)
    environ = {"PATH_INFO": "/socket.io/", "REMOTE_ADDR": "192.0.2.1"}
    pages = [gevent.spawn(taking, environ, None) for _ in range(10)]
    while len(began_s) < 10:
        gevent.sleep(0)
    assert began_s[9] - began_s[0] == pytest.approx(9 * BEGINNING_S / SHARE, rel=0.2)
    over.set()
    gevent.joinall(pages, timeout=30)
