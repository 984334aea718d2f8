"""How the website uses its libraries: its async mode, no threads, and how long an answer can be."""

from __future__ import annotations

import random
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest
from engineio.base_server import BaseServer

from exhibit.decisions.page.badge import Sight
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.web.picture import Ask, Picture
from exhibit.web.website import SEND_BUFFER_BYTES, make_app
from tests.decisions.heron import opened
from tests.pages.web_processes import WebProcess
from tests.web.page_line import Line, get

ROOT = Path(__file__).resolve().parents[2]
_COUNTS_THREADS = """
import threading
from pathlib import Path
from exhibit.web import website
from exhibit.web.bounded_connections import BoundedHandler
real_get = BoundedHandler.read_request
def counted(self, line):
    if "counted" in line:
        print([thread.name for thread in threading.enumerate()], flush=True)
    return real_get(self, line)
BoundedHandler.read_request = counted
website.serve_live(Path({where!r}), port=0, ready=lambda address: print(address, flush=True))
"""
_SAYS_WHETHER_IT_WAITS = """
import socket
from pathlib import Path
from exhibit.web import website
from exhibit.web.bounded_connections import BoundedHandler
real_get = BoundedHandler.read_request
def asked(self, line):
    print(bool(self.socket.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)), flush=True)
    return real_get(self, line)
BoundedHandler.read_request = asked
website.serve_live(Path({where!r}), port=0, ready=lambda address: print(address, flush=True))
"""


def test_its_async_mode_is_fixed_and_does_not_depend_on_what_is_installed(monkeypatch) -> None:
    monkeypatch.setattr(BaseServer, "async_modes", lambda server: ["threading", "gevent"])
    app = make_app(Picture("live"), None)
    assert app.extensions["socketio"].server.eio.async_mode == "gevent"


def test_no_native_thread_of_ours_is_in_the_web_process(tmp_path: Path) -> None:
    """What a thread sent to pages under gevent would be lost silently (Flask-SocketIO's issue 973)."""
    web = WebProcess(_COUNTS_THREADS.format(where=str(tmp_path)))
    try:
        with Line(web) as line:
            line.ask()
            get(web, "/threads-are-counted-now")
        assert web.line() == "['MainThread']"
    finally:
        web.end()


def test_no_part_of_an_answer_waits_until_the_part_before_it_is_confirmed(tmp_path: Path) -> None:
    """RFC 896 and the delayed acknowledgements of RFC 1122, 4.2.3.2, together cost 40 ms a file."""
    web = WebProcess(_SAYS_WHETHER_IT_WAITS.format(where=str(tmp_path)))
    try:
        get(web, "/")
        assert web.line() == "True"
    finally:
        web.end()


def test_importing_a_module_starts_no_thread_and_opens_no_socket() -> None:
    code = (
        "import importlib, os, pkgutil, threading, exhibit;"
        "names = [m.name for m in pkgutil.walk_packages(exhibit.__path__, 'exhibit.')];"
        "[importlib.import_module(n) for n in names if not n.endswith('__main__')];"
        "links = [f'/proc/self/fd/{n}' for n in os.listdir('/proc/self/fd')];"
        "sockets = [l for l in links if os.path.islink(l) and os.readlink(l).startswith('socket')];"
        "print(len(names) > 100, threading.active_count(), sockets)"
    )
    told = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=True,
    )
    assert told.stdout.split() == ["True", "1", "[]"]


@pytest.mark.parametrize(("rows", "columns", "most_bytes"), [(24, 80, 64_000), (50, 132, SEND_BUFFER_BYTES)])
def test_the_longest_answer_fits_into_a_page_s_buffer(rows: int, columns: int, most_bytes: int) -> None:
    """No two neighbouring characters look alike."""
    chosen = random.Random(4)
    begun = opened()
    display = msgspec.structs.replace(begun.display, rows=rows, columns=columns)
    view = View()
    view.apply(kinds.Entry(1, 0, msgspec.structs.replace(begun, display=display)))
    for row in range(rows):
        looks = [f"\x1b[0;{chosen.choice('1457')};{chosen.choice('1457')}m" for _ in range(columns)]
        text = "".join(f"{look}{chr(chosen.randrange(33, 127))}" for look in looks)
        received = kinds.BytesReceived(bytes=f"\x1b[{row + 1};1H{text}", first_us=0)
        view.apply(kinds.Entry(row + 2, row + 2, received))
    picture = Picture("live")
    picture.show(view, "a recording")
    picture.see(Sight(mode="live", writer="writing"))
    answer = picture.encoded_answer(Ask(), {"phone": ""}, controls=True)
    assert len(answer) > rows * columns * 10
    assert len(answer) < most_bytes
