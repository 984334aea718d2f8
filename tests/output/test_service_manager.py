"""What systemd is told, as sd_notify(3) has it; and nothing where nobody asks."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.output.service_manager import ServiceManager

LIMIT_US = f"{60_000_000}"


@pytest.fixture
def manager(tmp_path: Path) -> Iterator[socket.socket]:
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind(f"{tmp_path / 'notify'}")
        listening.setblocking(False)
        yield listening


def told(manager: socket.socket) -> list[bytes]:
    found = []
    while True:
        try:
            found.append(manager.recv(4096))
        except BlockingIOError:
            return found


def test_it_says_that_it_is_ready(manager):
    ServiceManager({"NOTIFY_SOCKET": manager.getsockname()}).ready()
    assert told(manager) == [b"READY=1"]


def test_it_beats_four_times_within_the_limit_however_often_it_is_called(manager):
    now_s = [100.0]
    beating = ServiceManager(
        {"NOTIFY_SOCKET": manager.getsockname(), "WATCHDOG_USEC": LIMIT_US, "WATCHDOG_PID": f"{os.getpid()}"},
        lambda: now_s[0],
    )
    for tenth in range(600):
        now_s[0] = 100 + tenth / 10
        beating.beat()
    assert told(manager) == [b"WATCHDOG=1"] * 4
    assert beating.beat_every_s == 15


@pytest.mark.parametrize(
    "environment",
    [{}, {"WATCHDOG_USEC": "soon"}, {"WATCHDOG_USEC": LIMIT_US, "WATCHDOG_PID": f"{os.getpid() + 1}"}],
)
def test_nobody_is_told_who_does_not_wait_for_it(manager, environment):
    beating = ServiceManager({"NOTIFY_SOCKET": manager.getsockname(), **environment})
    beating.beat()
    assert beating.beat_every_s == 0
    assert told(manager) == []


def test_it_finds_an_address_that_is_no_file():
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as listening:
        listening.bind("")  # Linux chooses one (unix(7), autobind)
        listening.setblocking(False)
        ServiceManager({"NOTIFY_SOCKET": "@" + listening.getsockname()[1:].decode()}).ready()
        assert told(listening) == [b"READY=1"]


@pytest.mark.parametrize("address", ["", "/nowhere/notify"])
def test_without_anybody_there_nothing_happens(address):
    ServiceManager({"NOTIFY_SOCKET": address}).ready()


def test_one_that_takes_nothing_does_not_hold_it_up(manager):
    telling = ServiceManager({"NOTIFY_SOCKET": manager.getsockname()})
    for _ in range(1000):  # more than a socket keeps (net.unix.max_dgram_qlen)
        telling.ready()
    assert 0 < len(told(manager)) < 1000
