"""Requests and pages take turns: a stranger's many neither take the core nor come before a visitor's."""

from __future__ import annotations

import socket
import time
from typing import Any

import gevent
import gevent.event
import pytest

from exhibit.web import turns
from exhibit.web.turns import AT_A_TIME_S, SHARE, Rota, Turns


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


# -- pages --------------------------------------------------------------------------------------------


def served(wanted: int, calls: list[str], until_s: float = 30.0) -> None:
    """Let the hub go on until so many have been called."""
    with gevent.Timeout(until_s):
        while len(calls) < wanted:
            gevent.sleep(0.001)


def test_a_page_waits_for_one_of_a_stranger_s_pages_not_for_all() -> None:
    rota, calls = Rota(), list[str]()
    for address in ["192.0.2.1"] * 500 + ["192.0.2.2", "192.0.2.3"]:
        rota.add(address, lambda address=address: calls.append(address), first=True)
    served(502, calls)
    assert calls[:4] == ["192.0.2.1", "192.0.2.2", "192.0.2.3", "192.0.2.1"]


def test_a_screen_waits_for_one_phone_not_for_all() -> None:
    rota, calls = Rota(), list[str]()
    for number in range(500):
        rota.add(f"192.0.2.{number}", lambda: calls.append("phone"), first=False)
    rota.add("192.0.3.1", lambda: calls.append("screen"), first=True)
    served(501, calls)
    assert calls.index("screen") <= 1


def test_what_comes_meanwhile_is_looked_at_between_pages() -> None:
    """A page that asks while a thousand are being served isn't the last of them."""
    rota, calls = Rota(), list[str]()
    here, there = socket.socketpair()
    with here, there:
        came = gevent.get_hub().loop.io(there.fileno(), 1)

        def has_come() -> None:
            came.stop()
            rota.add("192.0.2.2", lambda: calls.append("visitor"), first=True)

        def stranger() -> None:
            calls.append("stranger")
            if len(calls) == 10:
                here.send(b"?")
            busy_until_s = time.monotonic() + 0.0005
            while time.monotonic() < busy_until_s:
                pass

        came.start(has_come)
        for _ in range(1000):
            rota.add("192.0.2.1", stranger, first=True)
        served(1001, calls)
        came.close()
    assert calls.index("visitor") - 10 <= 3 * AT_A_TIME_S / 0.0005


def test_a_page_that_fails_keeps_no_other_from_its_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gevent.get_hub(), "print_exception", lambda *_: None)
    rota, calls = Rota(), list[str]()

    def fails() -> None:
        raise ValueError

    rota.add("192.0.2.1", fails, first=True)
    rota.add("192.0.2.1", lambda: calls.append("next"), first=True)
    served(1, calls)
    rota.add("192.0.2.1", lambda: calls.append("later"), first=True)
    served(2, calls)
