"""Strangers that open connections and send nothing, or send without end, keep no visitor out."""

from __future__ import annotations

import resource
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.web.bounded_connections import OTHER_FILES
from exhibit.web.website import MOST_CONNECTIONS
from tests.pages.web_processes import WebProcess
from tests.web.page_line import Line, get

WITHIN_S = 60.0
_LIVE = """
from pathlib import Path
from exhibit.web import bounded_connections
from exhibit.web import website
bounded_connections.WITHIN_S, website.MOST_CONNECTIONS = 1.0, 20
website.serve_live(Path({where!r}), port=0, ready=lambda address: print(address, flush=True))
"""


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """A web process with a time limit of a second, and room for twenty connections."""
    process = WebProcess(_LIVE.format(where=str(tmp_path_factory.mktemp("recordings"))))
    yield process
    process.end()


def connected(web: WebProcess) -> socket.socket:
    return socket.create_connection(("127.0.0.1", web.port), WITHIN_S)


REQUEST = b"GET /visitor/page.css HTTP/1.1\r\nHost: localhost\r\n"


@pytest.mark.parametrize("said", [b"", b"GET / HT", REQUEST, REQUEST + b"\r\n"])
def test_a_connection_on_which_no_further_request_comes_is_closed(web: WebProcess, said: bytes) -> None:
    with connected(web) as stranger:
        stranger.sendall(said)
        while stranger.recv(65536):
            pass


def test_strangers_that_hold_all_connections_keep_nobody_out_for_long(web: WebProcess) -> None:
    strangers = [connected(web) for _ in range(20)]
    try:
        assert get(web, "/").status == 200
    finally:
        for stranger in strangers:
            stranger.close()


def _ask_without_end(stranger: socket.socket) -> None:
    while True:
        stranger.sendall((REQUEST + b"\r\n") * 100)


def test_a_client_that_asks_but_never_reads_is_disconnected(web: WebProcess) -> None:
    """It requests so much at once that the answers don't fit into the buffers."""
    with connected(web) as stranger:
        stranger.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        stranger.settimeout(WITHIN_S)
        with pytest.raises(ConnectionError):
            _ask_without_end(stranger)


@pytest.mark.parametrize(("method", "status"), [(b"POST", b"405"), (b"GET", b"400")])
def test_a_body_is_not_waited_for(web: WebProcess, method: bytes, status: bytes) -> None:
    with connected(web) as stranger:
        stranger.sendall(method + b" / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000000\r\n\r\n")
        assert stranger.recv(65536).startswith(b"HTTP/1.1 " + status)


@pytest.mark.parametrize("said", [REQUEST + b"X: y\r\n" * 200 + b"\r\n", REQUEST])
def test_invalid_requests_do_not_fill_the_log(tmp_path: Path, capfd, said: bytes) -> None:
    process = WebProcess(_LIVE.format(where=str(tmp_path)))
    try:
        with connected(process) as stranger:
            stranger.sendall(said)
            assert stranger.recv(65536).startswith(b"HTTP/1.1 400 ")
    finally:
        process.end()
    assert "Traceback" not in capfd.readouterr().err


def test_a_page_that_stays_open_longer_is_still_answered(web: WebProcess) -> None:
    with Line(web) as line:
        asked = [line.ask(news=line.ask()["news"]) for _ in range(3)]  # each has a limit of a second
    assert all("badge" in answer for answer in asked)


def test_more_connections_are_let_in_than_a_process_may_usually_have_files(tmp_path: Path) -> None:
    wanted = MOST_CONNECTIONS + OTHER_FILES
    _, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    if at_most != resource.RLIM_INFINITY and at_most < wanted:
        pytest.skip(f"this computer allows no more than {at_most} open files")
    code = (
        "import resource as r; from exhibit.web.bounded_connections import allow_open_files;"
        "r.setrlimit(r.RLIMIT_NOFILE, (1024, r.getrlimit(r.RLIMIT_NOFILE)[1]));"
        f"allow_open_files({MOST_CONNECTIONS}); print(r.getrlimit(r.RLIMIT_NOFILE)[0])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(told.stdout) == wanted
