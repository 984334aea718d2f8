"""The web process from outside: what it serves, what it refuses, how it starts and ends."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.web.website import serve_live
from tests.pages import web_processes
from tests.pages.web_processes import ROOT, WebProcess
from tests.web.page_line import Line, get


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """A web process without any recording yet."""
    with web_processes.live(tmp_path_factory.mktemp("recordings")) as process:
        yield process


def test_the_page_comes_with_rules_that_let_nothing_in_from_elsewhere(web: WebProcess) -> None:
    response = get(web, "/")
    assert response.status == 200
    rules = dict(
        part.strip().split(" ", 1) for part in str(response.headers["Content-Security-Policy"]).split(";")
    )
    assert rules["default-src"] == "'none'"
    assert {rules[name] for name in ("script-src", "style-src", "font-src", "connect-src")} == {"'self'"}
    assert rules["frame-ancestors"] == "'none'"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert response.headers["Referrer-Policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path", ["/", "/visitor/page.css", "/visitor/page.js", "/built/socket.io.min.js", "/not/there"]
)
def test_no_answer_sets_a_cookie(web: WebProcess, path: str) -> None:
    assert get(web, path).headers["Set-Cookie"] is None


def test_every_file_that_the_page_names_is_there(web: WebProcess) -> None:
    pages = [path for folder in ("visitor", "shared") for path in (ROOT / "web" / folder).iterdir()]
    assert {path.suffix for path in pages} == {".html", ".css", ".js", ".svg"}
    for page in pages:
        named = re.findall(
            r"""(?:src|href)="(/[^"]*)"|url\("([^"#]*)"\)|from "(\.[^"]*)\"""", page.read_text("utf-8")
        )
        for groups in named:
            address = urljoin(f"/{page.parent.name}/{page.name}", next(group for group in groups if group))
            assert get(web, address).status == 200, (page.name, address)


@pytest.mark.parametrize(
    "path",
    [
        "/package.json",
        "/visitor/",
        "/visitor/index.py",
        "/page.js",
        "/package-lock.json",
        "/.npmrc",
        "/README.md",
        "/built/",
        "/built/made-from.txt",
        "/../pyproject.toml",
        "/built/../../pyproject.toml",
        "/%2e%2e/pyproject.toml",
        "/built/%2e%2e%2f%2e%2e%2fpyproject.toml",
        "//etc/passwd",
        "/visitor/page.css%00.js",
    ],
)
def test_nothing_else_is_served(web: WebProcess, path: str) -> None:
    response = get(web, path)
    assert response.status in (400, 404)
    assert b"There is no such page here." in response.body or response.status == 400  # type: ignore[attr-defined]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE"])
def test_pages_answer_only_get_requests(web: WebProcess, method: str) -> None:
    assert get(web, "/", method).status == 405


def test_an_unchanged_file_is_not_sent_again(web: WebProcess) -> None:
    first = get(web, "/visitor/page.css")
    again = get(web, "/visitor/page.css", **{"If-None-Match": str(first.headers["ETag"])})
    assert again.status == 304
    assert again.body == b""  # type: ignore[attr-defined]


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_it_ends_on_a_signal_even_with_pages_open(tmp_path: Path, number: signal.Signals) -> None:
    with web_processes.live(tmp_path) as web, Line(web) as line:
        line.ask()
        web.send(number)
        assert web.wait() == 0


def test_a_port_in_use_is_explained_with_what_to_do(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with pytest.raises(SetUpFault) as fault:
            serve_live(tmp_path, port=port)
    assert str(port) in fault.value.what
    assert "--port" in fault.value.do


def test_it_listens_only_on_this_computer_by_default(web: WebProcess) -> None:
    assert urlsplit(web.address).hostname == "127.0.0.1"
    with socket.socket() as other, pytest.raises(OSError, match="refused"):
        other.connect(("127.0.0.2", web.port))


def test_a_process_that_has_the_page_can_not_type() -> None:
    """The bridge, the line and the serial library aren't loaded, so they can't be called."""
    code = (
        "import sys; import exhibit.web.website; "
        "print([n for n in sys.modules if n.split('.')[0] == 'serial' "
        "or n.startswith(('exhibit.bridge.bridge', 'exhibit.line.port', 'exhibit.line.typist'))])"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"


def test_nothing_of_the_standard_library_is_patched() -> None:
    code = (
        "import gevent.monkey as m, exhibit.web.website; "
        "print([n for n in ('socket', 'thread', 'time', 'select', 'ssl') if m.is_module_patched(n)])"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
