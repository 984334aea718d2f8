"""A page that the web process has no room for asks again by itself, and gets in when there is room."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages.browser import wait_until
from tests.pages.web_processes import WebProcess

pytestmark = pytest.mark.waits
BADGE = "document.querySelector('#badge').dataset.badge"
_ROOM_FOR_ONE = """
from pathlib import Path
from exhibit.web import website
Doors = website.Doors
website.Doors = lambda most: Doors(1)
website.serve_live(Path({where!r}), port=0, ready=lambda address: print(address, flush=True))
"""


def test_a_page_that_was_refused_gets_in_once_another_has_gone(page: Page, tmp_path: Path) -> None:
    web = WebProcess(_ROOM_FOR_ONE.format(where=str(tmp_path)))
    try:
        first = page.context.new_page()
        first.goto(web.address)
        wait_until(first, f"{BADGE} === 'not started today'")
        page.goto(web.address)
        page.wait_for_timeout(1000)
        assert page.evaluate(BADGE) == "opening"
        first.close()
        wait_until(page, f"{BADGE} === 'not started today'")
    finally:
        web.end()
