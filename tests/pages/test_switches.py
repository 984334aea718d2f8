"""The pretend switches: they can be set to the start address, pretend lamps answer, and nothing is sent."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.pages import pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES

FIGURES = "[...document.querySelectorAll('.switch-digit')].map((e) => e.textContent).join('')"
LIT = "document.querySelectorAll('.lamp.on').length"


def set_to(page: Page, value: str) -> None:
    """Flick the switches that must be up, by keyboard."""
    for place, up in enumerate("".join(f"{int(figure, 8):03b}" for figure in value)):
        if (page.get_attribute(f".toggle >> nth={place}", "aria-checked") == "true") != (up == "1"):
            page.focus(f".toggle >> nth={place}")
            page.keyboard.press("Space")


@pytest.mark.moving
def test_the_start_address_lights_the_lamps_and_another_one_does_not_start(
    page: Page, tmp_path: Path
) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#try")
        assert page.locator(".toggle").count() == 24
        assert page.locator(".switch-group").count() == 8
        assert page.evaluate(FIGURES) == "00000000"
        set_to(page, "14000300")
        page.click(".start")
        assert "now say 14000300" in page.inner_text("#switches-answer")
        assert "Nothing starts from there" in page.inner_text("#switches-answer")
        set_to(page, "14000200")
        assert page.evaluate(FIGURES) == "14000200"
        page.click(".start")
        assert page.inner_text("#switches-answer").startswith("That’s it.")
        lit = page.evaluate(LIT)
        assert lit >= 3
        wait_until(page, f"{LIT} !== {lit} || document.querySelector('.lamp.on:last-child')")


def test_nothing_that_is_done_there_is_sent(page: Page, tmp_path: Path) -> None:
    sent: list[str] = []
    page.on("websocket", lambda line: line.on("framesent", lambda data: sent.append(str(data))))
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        asked = list[str]()
        page.on(
            "request", lambda request: asked.append(request.url) if request.resource_type != "font" else None
        )
        page.click("#more")
        page.click("#try")
        set_to(page, "14000200")
        page.click(".start")
        page.wait_for_timeout(1500)
        assert asked == []
        assert sent
        assert [one for one in sent if '"ask"' not in one and one not in ("3", "40")] == []


def test_lamps_stand_still_for_who_asked_for_less_motion(browser: Browser, tmp_path: Path) -> None:
    context = browser.new_context(reduced_motion="reduce", viewport={"width": 1280, "height": 720})
    page = context.new_page()
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#try")
        set_to(page, "14000200")
        page.click(".start")
        lamps = "[...document.querySelectorAll('.lamp')].map((e) => e.className).join()"
        before = page.evaluate(lamps)
        page.wait_for_timeout(1200)
        assert page.evaluate(lamps) == before
    context.close()


def test_a_machine_without_switches_offers_none(page: Page, tmp_path: Path) -> None:
    from exhibit.facts.parts_and_cards import Switches

    with pictures.held(tmp_path, [], switches=Switches()) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert not page.is_visible("#try")
