"""A second program that opens the same port is noticed while the line runs, and costs nothing until then."""

from __future__ import annotations

import os
import queue
import subprocess
import sys
import time

import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.line.events import OthersFound
from exhibit.line.port import open_line
from exhibit.line.sharing import BRIEFLY, UNSEEN, Sharing
from tests.contracts.far_ends import LONG_S, PtyEnd, until

OPENS = "import sys; f = open(sys.argv[1], 'rb'); print('open', flush=True); sys.stdin.readline()"


@pytest.fixture
def end():
    made = PtyEnd()
    yield made
    made.close()


def another_program(path: str) -> subprocess.Popen:
    other = subprocess.Popen(
        [sys.executable, "-c", OPENS, path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert other.stdout.readline() == "open\n"
    return other


def close(other: subprocess.Popen) -> None:
    other.communicate("\n", timeout=LONG_S)


def test_an_opening_is_named_once_and_its_end_too(end):
    sharing = Sharing(end.path)
    assert sharing.look() is None
    other = another_program(end.path)
    (named,) = sharing.look()
    assert named.endswith(f"(process {other.pid})")
    assert sharing.look() is None
    close(other)
    assert sharing.look() == []
    assert sharing.look() is None
    sharing.close()


def test_one_that_closed_it_again_at_once_is_noticed_too(end):
    sharing = Sharing(end.path)
    os.close(os.open(end.path, os.O_RDONLY | os.O_NOCTTY))
    assert sharing.look() == [BRIEFLY]
    assert sharing.look() == []
    assert sharing.look() is None
    sharing.close()


def test_one_of_another_user_is_noticed_until_it_closes_the_port(end):
    """A search finds nothing then, since another user's open files can't be read."""
    sharing = Sharing(end.path, search=lambda device: [])
    opened = os.open(end.path, os.O_RDONLY | os.O_NOCTTY)
    assert sharing.look() == [UNSEEN]
    assert sharing.look() is None
    os.close(opened)
    assert sharing.look() == []
    sharing.close()


def test_nothing_is_searched_while_nobody_opens_or_closes_the_port(end):
    searched = []
    sharing = Sharing(end.path, search=lambda device: searched.append(device) or [])
    for _ in range(100):
        sharing.look()
    assert searched == []
    sharing.close()


def test_a_network_line_is_not_watched():
    sharing = Sharing("socket://127.0.0.1:1")
    assert sharing.look() is None
    sharing.close()


def test_a_line_tells_of_it_within_a_second(end, needs, capsys):
    needs.that(os.geteuid() == 0, "root: for everybody else the port is locked")
    heard = queue.Queue()
    line = open_line(end.url, LineSettings(), lambda: 0, heard.put)
    other = another_program(end.path)
    begun_s = time.monotonic()
    found = []

    def told(count: int) -> bool:
        while not heard.empty():
            event = heard.get()
            found.extend([event] if isinstance(event, OthersFound) else [])
        return len(found) >= count

    until(lambda: told(1), "the other program to be noticed")
    with capsys.disabled():
        print(f"\nanother program noticed after {time.monotonic() - begun_s:.2f} s", end="")
    assert found[0].port == end.url
    assert found[0].programs[0].endswith(f"(process {other.pid})")
    close(other)
    until(lambda: told(2), "its end to be noticed")
    assert found[1].programs == ()
    assert line.stop(LONG_S)
