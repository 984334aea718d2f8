"""What is told when a port is lost while bytes wait to be written to it."""

from __future__ import annotations

import os
import socket
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.passing.between import Between, Side
from exhibit.passing.copies import Message, NotPassed, PortLost


class Listener:
    def __init__(self) -> None:
        self.told: list[Message] = []

    def descriptors(self) -> list[tuple[int, bool]]:
        return []

    def ready(self, fd: int, state: list[Message]) -> None:
        raise AssertionError(fd)

    def tell(self, message: Message) -> None:
        self.told.append(message)

    def of(self, kind: type[Message]) -> list[Message]:
        return [one for one in self.told if isinstance(one, kind)]


@pytest.fixture
def wake() -> Iterator[int]:
    reads, writes = os.pipe()
    yield reads
    os.close(reads)
    os.close(writes)


def test_what_waits_for_a_machine_whose_port_is_lost_when_read_is_told_as_not_passed(
    tmp_path: Path, wake: int
):
    machine = Side(f"{tmp_path / 'machine'}", LineSettings(), is_machine=True)
    terminal = Side(f"{tmp_path / 'terminal'}", LineSettings(), is_machine=False)
    # A full port can't be written to, so that it is lost is found out when it is read.
    far, near = socket.socketpair()
    near.setblocking(False)
    with suppress(BlockingIOError):
        while True:
            near.send(b"x" * 4096)
    machine.fd = near.detach()
    machine.unsent += b"HALT"
    far.shutdown(socket.SHUT_WR)
    listener = Listener()
    Between(machine, terminal, listener).run(lambda: bool(listener.of(PortLost)), wake)
    far.close()
    assert [one.count for one in listener.of(NotPassed) if isinstance(one, NotPassed)] == [4]
