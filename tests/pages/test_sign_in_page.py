"""Pairing, signing in and stopping in a real browser, and what other pages of this computer get of it."""

from __future__ import annotations

import http.server
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.desk.people import new_code
from tests.desk.desks import World, world
from tests.pages.browser import wait_until


class Visitors(http.server.ThreadingHTTPServer):
    """Stands where the visitors' page is, on the same computer, and notes the cookies that it is sent."""

    def __init__(self) -> None:
        self.cookies: list[str | None] = []
        self.paths: list[str] = []
        super().__init__(("127.0.0.1", 0), Answers)
        self.address = f"http://127.0.0.1:{self.server_address[1]}"


class Answers(http.server.BaseHTTPRequestHandler):
    def do_GET(self) -> None:
        assert isinstance(self.server, Visitors)
        self.server.paths.append(self.path)
        self.server.cookies.append(self.headers["Cookie"])
        body = b"<!doctype html><img src='/drawn/x.svg'><script src='/visitor/page.js'></script>"
        self.send_response(200)
        self.send_header("Content-Type", "text/html")
        self.send_header("Content-Length", f"{len(body)}")
        self.end_headers()
        self.wfile.write(body)

    def log_message(self, format: str, *more: Any) -> None:
        pass


@pytest.fixture
def visitors() -> Iterator[Visitors]:
    server = Visitors()
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


@pytest.fixture
def there(tmp_path: Path) -> Iterator[World]:
    with world(tmp_path) as made:
        yield made


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 768, "height": 1024}, locale="en-GB")
    yield context.new_page()
    context.close()


def press(page: Page, words: str) -> None:
    page.get_by_role("button", name=words, exact=True).click()


def test_a_tablet_is_paired_by_a_code_a_docent_taps_their_initials_and_stops(
    there: World, tablet: Page, visitors: Visitors
) -> None:
    tablet.goto(there.desk.address)
    wait_until(tablet, "!document.querySelector('#pair').hidden")
    assert "Nothing can be stopped from this device." in tablet.inner_text("footer")
    assert not tablet.is_visible("#stop")
    with there.people.change() as people:
        code = new_code(people, time.time())
    tablet.fill("#code", f"{code[:4]} {code[4:]}")
    with tablet.expect_navigation():
        press(tablet, "Pair this device")
    wait_until(tablet, "document.querySelectorAll('#initials button').length === 2")
    press(tablet, "Stop typing")
    wait_until(tablet, "document.querySelector('#said').textContent.includes('The power stays on.')")
    assert [(one.request, one.by) for one in there.bridge.taken()] == [("stop", "tablet 1")]
    with tablet.expect_navigation():
        press(tablet, "AB")
    assert tablet.evaluate("document.cookie") == "", "no script can read them"
    assert len(tablet.context.cookies()) == 2
    # The same browser now looks at the visitors' page of the same computer.
    tablet.goto(f"{visitors.address}/")
    wait_until(tablet, "document.readyState === 'complete'")
    assert {"/", "/drawn/x.svg", "/visitor/page.js"} <= set(visitors.paths)
    assert set(visitors.cookies) == {None}


def test_a_wrong_code_is_told_of_and_the_page_says_nothing_to_anybody_else(
    there: World, tablet: Page
) -> None:
    asked: list[str] = []
    tablet.on("request", lambda request: asked.append(request.url))
    tablet.goto(there.desk.address)
    wait_until(tablet, "!document.querySelector('#pair').hidden")
    tablet.fill("#code", "12345678")
    press(tablet, "Pair this device")
    wait_until(tablet, "document.querySelector('#said').textContent.includes('No code is valid')")
    assert {url.split("/today")[0] for url in asked} == {there.desk.address.removesuffix("/today")}
