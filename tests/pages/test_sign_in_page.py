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
from exhibit.facts import kinds
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


def paired(there: World, page: Page) -> None:
    """The device of this page is known."""
    page.goto(there.desk.address)
    wait_until(page, "!document.querySelector('#pair').hidden")
    with there.people.change() as people:
        code = new_code(people, time.time())
    page.fill("#code", code)
    with page.expect_navigation():
        page.click("#pair button")
    page.wait_for_selector("#stopping:not([hidden])")


OVER_IT = """id => {
    const one = document.getElementById(id) ?? document.querySelector(id);
    const { left, right, top, bottom } = one.getBoundingClientRect();
    const middle = (left + right) / 2;
    return ![top + 3, bottom - 3].every((y) => one.contains(document.elementFromPoint(middle, y)));
}"""
"""Whether something lies over this element, or the screen ends before it."""


@pytest.mark.parametrize("size", [(390, 844), (820, 1180), (1280, 800), (1920, 1080)])
def test_what_stops_typing_is_in_sight_and_covers_nothing_that_is_signed_in_with(
    there: World, browser: Browser, size: tuple[int, int]
) -> None:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en-GB")
    page = context.new_page()
    paired(there, page)
    page.wait_for_selector("#initials button")
    assert not any(page.evaluate(OVER_IT, place) for place in ("#initials button", "summary", "stop"))
    page.click("summary")
    for place in ("name", "password", "#engineer button"):
        page.focus(place if place.startswith("#") else f"#{place}")
        assert not page.evaluate(OVER_IT, place), place
    assert not page.evaluate(OVER_IT, "stop")
    context.close()


def on_phone(browser: Browser, language: str) -> Page:
    return browser.new_context(viewport={"width": 390, "height": 844}, locale=language).new_page()


def shows(there: World, page: Page, place: str, words: str, limit_s: float = 20) -> None:
    """The page says this by itself, while the program that runs the day lives."""
    until_s = time.monotonic() + limit_s
    while words not in page.inner_text(place):
        assert time.monotonic() < until_s, page.inner_text("body")
        there.happens(kinds.Heartbeat(wall="2026-11-25T09:00:00.000+00:00"))
        page.wait_for_timeout(500)


@pytest.mark.parametrize(
    ("language", "before", "then", "waits", "differs"),
    [
        (
            "en-GB", "The day is over.", "The rounds run by themselves.", "A step by hand waits",
            ("the program stops what it started", "Nothing more is typed at all"),
        ),
        (
            "de-AT", "Der Tag ist zu Ende.", "Die Runden laufen von selbst.", "Ein Schritt von Hand wartet",
            ("das Programm beendet, was es gestartet hat", "Es wird gar nichts mehr getippt"),
        ),
    ],
)  # fmt: skip
def test_where_nobody_is_signed_in_the_page_says_how_the_day_stands_and_how_the_two_buttons_differ(
    there: World,
    browser: Browser,
    language: str,
    before: str,
    then: str,
    waits: str,
    differs: tuple[str, str],
) -> None:
    page = on_phone(browser, language)
    page.goto(there.desk.address)
    page.wait_for_selector("#pair:not([hidden])")
    there.happens(kinds.DayTurned(phase="over", by="docent 1"))
    assert not page.is_visible("#glance")
    paired(there, page)
    shows(there, page, "#stands", before)
    english = ["Who is here today?", "Engineers sign in", "The mains stop:"]
    assert [words in page.inner_text("body") for words in english] == [language == "en-GB"] * 3
    there.happens(kinds.DayTurned(phase="rounds", by="docent 1"))
    there.happens(kinds.HandsOnAsked(script="round", step="key", words={"en": "?"}, caution={"en": "!"}))
    shows(there, page, "#stands", then)
    assert waits in page.inner_text("#waits")
    for place, words in zip(("#stop-does", "#hands-off-does"), differs, strict=True):
        assert words in page.inner_text(place)
        assert not page.evaluate(OVER_IT, place)
    there.desk.end()
    page.wait_for_selector("#glance[hidden]", state="attached", timeout=20_000)
    page.context.close()


def test_whoever_is_to_sign_in_is_told_that_a_step_waits(there: World, tablet: Page) -> None:
    paired(there, tablet)
    assert not tablet.is_visible("#waits")
    there.happens(
        kinds.HandsOnAsked(script="opening", step="key", words={"en": "Turn it."}, caution={"en": "!"})
    )
    shows(there, tablet, "#waits", "A step by hand waits")


def test_a_practice_signs_in_by_itself_and_its_next_address_opens_in_the_same_tab(
    tmp_path: Path, tablet: Page
) -> None:
    with world(tmp_path, "{'practice': True}") as there:
        with there.people.change() as people:
            people.docents = people.docents[:1]
            codes = [new_code(people, time.time())]
        tablet.goto(there.desk.address)
        tablet.wait_for_selector("#pair:not([hidden])")
        tablet.goto(f"{there.desk.address}#code={codes[0]}")  # no new page: only what follows # has changed
        tablet.wait_for_selector("#sign-out:not([hidden])", timeout=20_000)
        tablet.wait_for_selector("#foot")
        # Another window of the same browser isn't asked for initials either; whoever signs out stays out.
        other = tablet.context.new_page()
        other.goto(there.desk.address)
        other.wait_for_selector("#foot")
        other.click("#sign-out")
        other.wait_for_selector("#go-on:not([hidden])")
        assert not other.is_visible("#docents")
        other.click("#practise")
        other.wait_for_selector("#foot")


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
