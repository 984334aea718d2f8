"""Strangers that open connections and send nothing, or send without end, keep no visitor out."""

from __future__ import annotations

import contextlib
import resource
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
import websocket

from exhibit.web import conversation
from exhibit.web.bounded_connections import AT_ONCE, OTHER_FILES
from tests.pages import made_facts
from tests.pages.web_processes import WebProcess
from tests.web.page_line import Line, get

WITHIN_S = 60.0
_LIVE = """
from pathlib import Path
from exhibit.web import admission, bounded_connections, conversation, website
bounded_connections.REQUEST_WITHIN_S = bounded_connections.ANSWER_WITHIN_S = {within_s}
conversation.JOIN_WITHIN_S = {within_s}
website.most_connections = lambda: {most}
website.serve_live(Path({where!r}), port=0, proxy={proxy!r}, ready=lambda said: print(said, flush=True))
"""


def started(where: Path, most: int = 20, within_s: float = 1.0, proxy: str = "") -> WebProcess:
    """A web process with time limits of a second, and room for so many connections."""
    return WebProcess(_LIVE.format(where=str(where), most=most, within_s=within_s, proxy=proxy))


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """A web process with room for twenty connections."""
    process = started(tmp_path_factory.mktemp("recordings"))
    yield process
    process.end()


def connected(web: WebProcess, own: str = "127.0.0.1") -> socket.socket:
    return socket.create_connection(("127.0.0.1", web.port), WITHIN_S, source_address=(own, 0))


def opened(web: WebProcess, connection: socket.socket, headers: Sequence[str] = ()) -> websocket.WebSocket:
    """A websocket on this connection, whose page hasn't joined yet."""
    address = f"ws://127.0.0.1:{web.port}/socket.io/?EIO=4&transport=websocket"
    begun = websocket.create_connection(address, timeout=WITHIN_S, header=list(headers), socket=connection)
    assert begun.recv().startswith("0{")
    return begun


def all_of(stranger: socket.socket) -> bytes:
    """What it is told until the other side closes the connection."""
    said = b""
    with contextlib.suppress(ConnectionError):
        while received := stranger.recv(65536):
            said += received
    return said


REQUEST = b"GET /visitor/page.css HTTP/1.1\r\nHost: localhost\r\n"


@pytest.mark.parametrize("said", [b"", b"GET / HT", REQUEST, REQUEST + b"\r\n"])
def test_a_connection_on_which_no_further_request_comes_is_closed(web: WebProcess, said: bytes) -> None:
    with connected(web) as stranger:
        stranger.sendall(said)
        all_of(stranger)


def test_strangers_that_hold_their_half_of_the_connections_keep_nobody_else_out(web: WebProcess) -> None:
    strangers = [connected(web, "127.0.0.2") for _ in range(20)]
    try:
        assert get(web, "/").status == 200
    finally:
        for stranger in strangers:
            stranger.close()


@pytest.mark.parametrize("said", [b"", REQUEST + b"\r\n"])
def test_whoever_there_is_no_room_for_is_told_so_at_once_in_plain_words(tmp_path: Path, said: bytes) -> None:
    process = started(tmp_path, most=4, within_s=30.0)
    try:
        held = [connected(process) for _ in range(2)]
        with connected(process) as stranger:
            stranger.sendall(said)
            told = all_of(stranger)
        assert told.startswith(b"HTTP/1.1 503 ")
        assert b"There is no room for another visitor just now" in told
        for one in held:
            one.close()
        while get(process, "/").status == 503:  # until the web process has seen that they are gone
            pass
    finally:
        process.end()


def test_a_page_s_connection_takes_one_descriptor(tmp_path: Path) -> None:
    process = started(tmp_path, most=100)
    try:
        with Line(process) as first:
            first.ask()
            files = Path(f"/proc/{process.pid}/fd")
            before = len(list(files.iterdir()))
            pages = [Line(process) for _ in range(10)]
            for page in pages:
                page.ask()
            assert len(list(files.iterdir())) - before == 10
            for page in pages:
                page.__exit__()
    finally:
        process.end()


@pytest.mark.parametrize("said", ["", "3"])
def test_a_websocket_whose_page_does_not_join_is_closed(web: WebProcess, said: str) -> None:
    with connected(web) as stranger:
        joins_not = opened(web, stranger)
        if said:
            joins_not.send(said)
        with contextlib.suppress(websocket.WebSocketConnectionClosedException, ConnectionError):
            assert joins_not.recv() == ""


@pytest.mark.parametrize("kind", [websocket.ABNF.OPCODE_PING, websocket.ABNF.OPCODE_TEXT])
def test_a_page_that_says_more_than_it_is_told_is_listened_to_only_now_and_then(
    web: WebProcess, kind: int
) -> None:
    """Whatever kind of frame it sends: here pings, and questions that aren't understood."""
    with Line(web) as line:
        began_s = time.monotonic()
        for number in range(3 * conversation.AT_ONCE):
            line.socket.send(f'42{number}["ask",0]' if kind == websocket.ABNF.OPCODE_TEXT else "", kind)
        for _ in range(conversation.AT_ONCE + 5):
            line.socket.recv_frame()
        assert time.monotonic() - began_s >= 4 * conversation.ONE_MORE_S


def test_a_page_that_is_pinged_and_does_not_answer_is_closed(tmp_path: Path) -> None:
    process = WebProcess(
        "from exhibit.web import conversation\nconversation.PING_S = 1\n"
        + _LIVE.format(where=str(tmp_path), most=20, within_s=30.0, proxy="")
    )
    try:
        with Line(process) as answers:
            for _ in range(4):  # each takes a second
                assert "badge" in answers.ask(news=answers.ask()["news"])
        with Line(process) as silent:
            assert [silent.socket.recv(), silent.socket.recv()] == ["2", ""]
    finally:
        process.end()


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


def _say_without_end(page: websocket.WebSocket, said: str) -> None:
    while True:
        page.send(said)


def test_a_page_that_asks_but_never_reads_is_disconnected_and_gives_its_place_back(tmp_path: Path) -> None:
    writer = made_facts.begin(tmp_path)
    for at_s, fact in made_facts.a_day():
        writer.append(fact, int(at_s * 1e6))
    process = WebProcess(
        "from exhibit.web import conversation\nconversation.READ_WITHIN_S = 1.0\n"
        + _LIVE.format(where=str(tmp_path), most=4, within_s=30.0, proxy="")
    )
    try:
        with socket.socket() as stranger:
            stranger.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
            stranger.settimeout(WITHIN_S)
            stranger.bind(("127.0.0.2", 0))
            stranger.connect(("127.0.0.1", process.port))
            page = opened(process, stranger)
            page.send("40")
            with pytest.raises((ConnectionError, websocket.WebSocketConnectionClosedException)):
                _say_without_end(page, '421["ask",{}]')
        with contextlib.ExitStack() as stack:
            told = [told_when_joining(process, stack, "127.0.0.2", "") for _ in range(2)]
        assert told == ["40"] * 2
    finally:
        process.end()
        writer.abandon()


@pytest.mark.parametrize(("method", "status"), [(b"POST", b"405"), (b"GET", b"400")])
def test_a_body_is_not_waited_for(web: WebProcess, method: bytes, status: bytes) -> None:
    with connected(web) as stranger:
        stranger.sendall(method + b" / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000000\r\n\r\n")
        assert stranger.recv(65536).startswith(b"HTTP/1.1 " + status)


@pytest.mark.parametrize("said", [REQUEST + b"X: y\r\n" * 200 + b"\r\n", REQUEST])
def test_invalid_requests_do_not_fill_the_log(tmp_path: Path, capfd, said: bytes) -> None:
    process = started(tmp_path)
    try:
        with connected(process) as stranger:
            stranger.sendall(said)
            assert stranger.recv(65536).startswith(b"HTTP/1.1 400 ")
    finally:
        process.end()
    assert "Traceback" not in capfd.readouterr().err


def test_a_page_that_stays_open_longer_is_still_answered(web: WebProcess) -> None:
    with Line(web) as line:
        asked = [line.ask(news=line.ask()["news"]) for _ in range(5)]  # each has a limit of a second
    assert all("badge" in answer for answer in asked)


def test_headers_have_a_bound_before_they_are_taken_in(web: WebProcess) -> None:
    with connected(web) as stranger:
        with contextlib.suppress(ConnectionError):
            stranger.sendall(REQUEST + b"X: " + b"y" * 60_000 + b"\r\n\r\n")
        assert all_of(stranger)[:13] in (b"HTTP/1.1 400 ", b"")


def test_more_requests_than_a_page_makes_wait_until_they_may(tmp_path: Path) -> None:
    process = WebProcess(
        "from exhibit.web import bounded_connections\nbounded_connections.ONE_MORE_S = 3.0\n"
        + _LIVE.format(where=str(tmp_path), most=20, within_s=60.0, proxy="")
    )
    try:
        with connected(process) as stranger:
            stranger.sendall((b"GET /nothing HTTP/1.1\r\nHost: localhost\r\n\r\n") * 2 * AT_ONCE)
            answered = 0
            began_s = time.monotonic()
            while answered < AT_ONCE + 3:
                answered += stranger.recv(65536).count(b"HTTP/1.1 404")
            assert time.monotonic() - began_s >= 2 * 3.0
    finally:
        process.end()


def test_as_many_connections_are_let_in_as_the_system_allows_files(tmp_path: Path) -> None:
    _, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    code = (
        "import resource as r; from exhibit.web.bounded_connections import most_connections;"
        "r.setrlimit(r.RLIMIT_NOFILE, (1024, r.getrlimit(r.RLIMIT_NOFILE)[1]));"
        "print(most_connections(), r.getrlimit(r.RLIMIT_NOFILE)[0])"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.split() == [f"{at_most - OTHER_FILES}", f"{at_most}"]


# -- behind a proxy -----------------------------------------------------------------------------------


def told_when_joining(web: WebProcess, stack: contextlib.ExitStack, own: str, forwarded: str) -> str:
    """What a page is told that comes from there; it stays until the stack is closed."""
    connection = stack.enter_context(connected(web, own))
    page = opened(web, connection, [f"X-Forwarded-For: {forwarded}"])
    page.send("40")
    return str(page.recv())[:2]


def test_visitors_behind_a_trusted_proxy_are_told_apart_by_the_address_that_it_saw(tmp_path: Path) -> None:
    process = started(tmp_path, most=8, within_s=30.0, proxy="127.0.0.3")
    try:
        with contextlib.ExitStack() as stack:
            same = [
                told_when_joining(process, stack, "127.0.0.3", f"198.51.100.{number}, 192.0.2.1")
                for number in range(3)
            ]
            other = told_when_joining(process, stack, "127.0.0.3", "192.0.2.1, 192.0.2.2")
        assert (same.count("40"), same.count("44"), other) == (2, 1, "40")
    finally:
        process.end()


def test_whatever_anybody_else_says_about_addresses_is_not_believed(tmp_path: Path) -> None:
    process = started(tmp_path, most=8, within_s=30.0)
    try:
        with contextlib.ExitStack() as stack:
            told = [
                told_when_joining(process, stack, f"127.0.0.{2 + number % 2}", "192.0.2.1")
                for number in range(6)
            ]
        assert told == ["40"] * 6
    finally:
        process.end()
