"""What is answered at all, to whom and with which headers: each path, method and header on a bare socket."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.web.guarding import served_names
from exhibit.web.headers import HEADERS
from tests.pages.web_processes import WebProcess
from tests.web.raw_http import Answer, answer, written

_LIVE = """
from pathlib import Path
from exhibit.web import website
website.serve_live(
    Path({where!r}), port=0, name="console.museum.example", ready=lambda address: print(address, flush=True)
)
"""
PATHS = {
    "/": 200,
    "/?screen=hall": 200,
    "/visitor/page.css": 200,
    "/visitor/page.js": 200,
    "/words/languages.js": 200,
    "/built/socket.io.min.js": 200,
    "/phone.svg": 404,
    "/drawn/nothing.svg": 404,
    "/not/there": 404,
    "/%2e%2e/pyproject.toml": 404,
    "//museum.example/": 404,
    "/visitor//page.css": 404,
    "/" + "x" * 3000: 404,
    "/socket.io/": 400,
    "/socket.io/?EIO=4&transport=polling": 400,
    "/socket.io/?EIO=4&transport=websocket": 400,
    "/socket.io/?EIO=3&transport=websocket": 400,
    "/socket.io/?EIO=4&transport=websocket&sid=mine": 400,
}
"""Each with the status of a GET."""
UPGRADE = (
    "Connection: Upgrade",
    "Upgrade: websocket",
    "Sec-WebSocket-Version: 13",
    "Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==",  # RFC 6455 s.1.3
)
OURS = ("127.0.0.1:{port}", "127.0.0.1", "localhost:{port}", "LocalHost", "localhost.", "10.1.2.3:8000")
OURS += ("[::1]:{port}", "[2001:db8::7]", "console.museum.example", "Console.Museum.Example.:443")
OTHERS = ("elsewhere.example", "elsewhere.example:{port}", "127.0.0.1.elsewhere.example", "museum.example")
OTHERS += ("localhost.example", "x.console.museum.example", "2130706433", "0x7f.1", "127.1", "[:::]", "xn--x")
NO_HOSTS = ("user@127.0.0.1", "127.0.0.1:port", "127.0.0.1, elsewhere.example", "", "\x1b[31m", "[::1", "::1")
NO_HOSTS += ("[elsewhere.example]", "[127.0.0.1]x", "127.0.0.1/", "127.0.0.1:", "127.0.0.1:8000:1", "\xe4")
METHODS = ("POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "CONNECT", "PROPFIND", "get", "Get", "X")


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """A web process that has a name besides its numbers."""
    process = WebProcess(_LIVE.format(where=str(tmp_path_factory.mktemp("recordings"))))
    yield process
    process.end()


def carries_the_headers(answered: Answer) -> bool:
    """Whether each of them is there, and once."""
    return all(answered.headers.get(name.lower()) == [value] for name, value in HEADERS.items())


@pytest.mark.parametrize("path", PATHS)
def test_every_path_answers_get_and_head_alike_and_carries_the_headers(web: WebProcess, path: str) -> None:
    got, asked = (answer(web.port, written(method, path, "Host: localhost")) for method in ("GET", "HEAD"))
    assert (got.status, carries_the_headers(got)) == (PATHS[path], True)
    if path.startswith("/socket.io/"):  # it has nothing that HEAD could mean
        assert (asked.status, asked.headers["allow"]) == (405, ["GET"])
    else:
        assert asked.status == got.status
        assert asked.headers["content-length"] == [f"{len(got.body)}"]
    assert carries_the_headers(asked)
    assert asked.body == b""


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("more", ["", "Content-Length: 5", "Transfer-Encoding: chunked"])
def test_nothing_but_reading_is_allowed_on_any_path(web: WebProcess, path: str, more: str) -> None:
    for method in METHODS:
        request = written(method, path, "Host: localhost", *filter(None, [more]))
        refused = answer(web.port, request + b"hello" * bool(more))
        assert (method, refused.status) == (method, 405)
        assert refused.headers["allow"] == [
            "GET" if path.startswith("/socket.io") and not more else "GET, HEAD"
        ]
        assert carries_the_headers(refused), method


@pytest.mark.parametrize("path", ["/", "/visitor/page.css", "/not/there"])
@pytest.mark.parametrize("host", OURS)
def test_this_computer_is_known_by_its_numbers_as_localhost_and_by_its_name(
    web: WebProcess, path: str, host: str
) -> None:
    assert answer(web.port, written("GET", path, f"Host: {host.format(port=web.port)}")).status == PATHS[path]


@pytest.mark.parametrize("path", ["/", "/not/there", "/socket.io/?EIO=4&transport=websocket"])
@pytest.mark.parametrize(("hosts", "status"), [(OTHERS, 421), (NO_HOSTS, 400)])
def test_under_any_other_name_nothing_is_answered(
    web: WebProcess, path: str, hosts: tuple[str, ...], status: int
) -> None:
    for host in hosts:
        more = UPGRADE if "socket.io" in path else ()
        refused = answer(web.port, written("GET", path, f"Host: {host.format(port=web.port)}", *more))
        assert (host, refused.status, carries_the_headers(refused)) == (host, status, True)
        assert b"elsewhere" not in refused.body


@pytest.mark.parametrize("version", ["HTTP/1.1", "HTTP/1.0"])
def test_a_request_without_a_host_or_with_two_is_refused(web: WebProcess, version: str) -> None:
    for hosts in ((), ("Host: localhost", "Host: elsewhere.example"), ("Host: localhost", "Host: localhost")):
        refused = answer(web.port, written("GET", "/", *hosts, version=version))
        assert (refused.status, carries_the_headers(refused)) == (400, True)


@pytest.mark.parametrize(
    "target", ["http://elsewhere.example/", "http://localhost/", "*", "visitor/page.css"]
)
def test_an_address_that_is_no_path_is_refused(web: WebProcess, target: str) -> None:
    """So no other host can be named there, either (RFC 9112, 3.2.2)."""
    refused = answer(web.port, written("GET", target, "Host: localhost"))
    assert (refused.status, carries_the_headers(refused)) == (400, True)


@pytest.mark.parametrize("path", ["/", "/visitor/page.js", "/socket.io/?EIO=4&transport=websocket"])
def test_a_page_from_elsewhere_gets_no_answer(web: WebProcess, path: str) -> None:
    here = f"127.0.0.1:{web.port}"
    others = [
        "http://elsewhere.example",
        "null",
        "",
        "file://",
        "http://127.0.0.1",
        "http://127.0.0.1:1",
        here,
    ]
    others += [f"http://elsewhere.example@{here}", f"http://{here}.elsewhere.example", "\x1b]0;x\x07"]
    others += [f"http://localhost:{web.port}", f"ws://{here}", f"http://{here}/", f"http://{here} x"]
    for other in others:
        more = UPGRADE if "socket.io" in path else ()
        refused = answer(web.port, written("GET", path, f"Host: {here}", f"Origin: {other}", *more))
        assert (other, refused.status, carries_the_headers(refused)) == (other, 403, True)
        assert not [name for name in refused.headers if name.startswith("access-control")]


@pytest.mark.parametrize("host", ["127.0.0.1:{port}", "localhost:{port}", "console.museum.example"])
@pytest.mark.parametrize("protocol", ["http", "https"])
def test_a_page_of_its_own_is_let_in_behind_encryption_too(web: WebProcess, host: str, protocol: str) -> None:
    """Whoever puts a proxy before it, which speaks HTTPS with the browsers, leaves the Host as it is."""
    named = host.format(port=web.port)
    request = written(
        "GET",
        "/socket.io/?EIO=4&transport=websocket",
        f"Host: {named}",
        f"Origin: {protocol}://{named}",
        *UPGRADE,
    )
    assert answer(web.port, request).status == 101


@pytest.mark.parametrize(
    "request_bytes",
    [
        b"\r\n\r\n",
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",  # a browser at https://
        b"GET / HTTP/9.9\r\nHost: localhost\r\n\r\n",
        b"GET / HTTP/x\r\nHost: localhost\r\n\r\n",
        b"GET /\r\n\r\n",
        b"GET\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: x\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\nhello",
        b"HEAD / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\n\r\nhello",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n5\r\nhello\r\n0\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\n" + b"X: y\r\n" * 200 + b"\r\n",
        b"GET / HTTP/1.1\r\nHost: localhost\r\nX: " + b"y" * 70_000 + b"\r\n\r\n",
        b"GET /" + b"x" * 9000 + b" HTTP/1.1\r\nHost: localhost\r\n\r\n",
    ],
)
def test_what_the_server_beneath_refuses_by_itself_carries_the_headers_too(
    web: WebProcess, request_bytes: bytes
) -> None:
    refused = answer(web.port, request_bytes)
    assert refused.status in (400, 414)
    assert carries_the_headers(refused)
    assert (refused.body == b"") == request_bytes.startswith(b"HEAD")


@pytest.mark.parametrize(
    "fault", ["website.drawn_picture = lambda *_: 1 / 0", "website.Guard._refusal = lambda *_: 1 / 0"]
)
def test_a_fault_of_the_page_s_own_carries_the_headers_too(tmp_path: Path, fault: str) -> None:
    """Whether the application says so or, if nothing else does, pywsgi. Neither says what the fault was."""
    code = _LIVE.format(where=str(tmp_path)).replace("website.serve_live(", f"{fault}\nwebsite.serve_live(")
    process = WebProcess(code)
    try:
        failed = answer(process.port, written("GET", "/drawn/x.svg", "Host: localhost"))
    finally:
        process.end()
    assert (failed.status, carries_the_headers(failed)) == (500, True)
    assert b"Zero" not in failed.body


def test_an_answer_that_nothing_changed_carries_the_headers_too(web: WebProcess) -> None:
    first = answer(web.port, written("GET", "/visitor/page.css", "Host: localhost"))
    tag = first.headers["etag"][0]
    again = answer(web.port, written("GET", "/visitor/page.css", "Host: localhost", f"If-None-Match: {tag}"))
    assert (again.status, again.body, carries_the_headers(again)) == (304, b"", True)


def test_a_name_given_as_the_host_is_a_name_of_this_computer() -> None:
    assert served_names("Museum-PC") == {"localhost", "museum-pc"}
    assert served_names("0.0.0.0", "console.museum.example") == {
        "localhost",
        "0.0.0.0",
        "console.museum.example",
    }
