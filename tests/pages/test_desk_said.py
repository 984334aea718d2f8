"""What came of a press is said on the docent's page, and not for longer than it is of use."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from tests.pages import desk_states
from tests.pages.browser import wait_until
from tests.pages.desk_states import STATES
from tests.pages.test_desk_page import answerable, last, opened, press, said, stop

PASSED_MS = 7000


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1024, "height": 768}, locale="en")
    yield context.new_page()
    context.close()


def test_that_stop_was_sent_is_said_for_a_moment_though_the_stop_goes_on(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        desk.on_request = lambda asked: stop(desk, asked)
        opened(tablet, desk)
        tablet.click("#stop")
        wait_until(tablet, "document.querySelector('#stop-said').textContent === 'Sent.'")
        wait_until(tablet, "document.querySelector('#stop-said').textContent === ''", limit_s=15)
        assert tablet.evaluate("document.querySelector('#block').dataset.what") == "stop"


def test_why_stop_was_refused_stays_until_it_is_touched(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        desk.answers["stop"] = "no script is running"
        opened(tablet, desk)
        tablet.click("#stop")
        wait_until(tablet, "document.querySelector('#stop-said').textContent.includes('no script')")
        tablet.wait_for_timeout(PASSED_MS)
        assert "no script is running" in said(tablet, "#stop-said")
        tablet.click("#stop-said")
        assert said(tablet, "#stop-said") == ""


def test_that_an_answer_was_sent_goes_as_soon_as_the_block_goes_on(tablet: Page) -> None:
    with STATES["resting"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "Round now")
        last(desk, tablet, "round now")
        wait_until(tablet, "document.querySelector('#answer-said').textContent === 'Sent.'")
        desk.tell(desk_states.started("round", 5))
        wait_until(tablet, "document.querySelector('#detail').textContent.includes('round 5')", limit_s=4)
        assert said(tablet, "#answer-said") == ""


def test_that_an_answer_was_sent_is_said_for_a_moment_where_nothing_goes_on(tablet: Page) -> None:
    with STATES["resting"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "Round now")
        wait_until(tablet, "document.querySelector('#answer-said').textContent === 'Sent.'")
        wait_until(tablet, "document.querySelector('#answer-said').textContent === ''", limit_s=15)


def test_what_is_pressed_in_the_list_says_nothing_in_a_block_that_came_meanwhile(tablet: Page) -> None:
    with STATES["engineer"]().serving() as desk:
        desk.on_request = lambda asked: (
            desk.tell(kinds.KeyboardTaken(by="engineer 1"))
            if asked.get("request") == "take keyboard"
            else None
        )
        answerable(tablet, desk)
        press(tablet, "Take the keyboard")
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'keyboard'")
        tablet.wait_for_timeout(300)
        assert said(tablet, "#answer-said") == ""
