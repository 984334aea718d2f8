"""A phone asks for captions and figures, and for the console only when somebody wants to see it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, WebSocket

from tests.pages import web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES

ROWS = "document.querySelectorAll('.row').length"


class Said:
    """What the page sent, and how much it was sent."""

    def __init__(self, page: Page) -> None:
        self.asked: list[str] = []
        self.received: list[str] = []
        page.on("websocket", self._listen)

    def _listen(self, line: WebSocket) -> None:
        line.on("framesent", lambda said: self._keep(self.asked, said))
        line.on("framereceived", lambda said: self._keep(self.received, said))

    def _keep(self, where: list[str], said: Any) -> None:
        text = str(said)
        if '"ask"' in text or text.startswith("43"):
            where.append(text)


@pytest.mark.parametrize("wish", ["#show-console", "#grounds"])
def test_a_phone_gets_no_rows_until_they_are_wanted(wish: str, page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    said = Said(page)
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert page.inner_text("#caption").startswith("Three jobs")
        assert str(page.text_content("#doing-rows")).startswith("Now")
        assert page.evaluate(ROWS) == 0
        assert not page.is_visible("#sheet")
        assert all('"console":false' in asked for asked in said.asked)
        assert not any('"first_row":' in answer for answer in said.received)
        page.click(wish)
        wait_until(page, f"{ROWS} === 24")
        assert page.is_visible("#sheet")
        assert "TIDEBOOK BOARD" in page.inner_text("#rows")
        assert '"console":true' in said.asked[-1]
        assert not page.is_visible("#show-console")


def test_the_screen_beside_the_machine_asks_for_all_and_a_screen_that_is_made_wide_too(
    page: Page, tmp_path: Path
) -> None:
    said = Said(page)
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, f"{ROWS} === 24")
        assert all('"console":true' in asked for asked in said.asked)
        page.set_viewport_size({"width": 390, "height": 844})
        page.reload()
        wait_until(page, HAS_PICTURE)
        assert page.evaluate(ROWS) == 0
        page.set_viewport_size({"width": 1280, "height": 720})
        wait_until(page, f"{ROWS} === 24")
