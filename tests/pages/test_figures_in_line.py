"""Figures that stand in a column end at one place, and their words begin at one place."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.test_trouble_in_sight import SCREENS, composed, in_language

PLACES = """[...document.querySelectorAll("#few div")].map((pair) => {
    const range = document.createRange();
    range.selectNodeContents(pair.querySelector("dd"));
    const figure = range.getBoundingClientRect();
    range.selectNodeContents(pair.querySelector("dt"));
    return [Math.round(figure.right), Math.round(range.getBoundingClientRect().left)];
})"""


@pytest.mark.parametrize("screen", SCREENS)
def test_the_figures_beside_the_board_are_in_line(screen: str, browser: Browser, tmp_path: Path) -> None:
    used = {"lower-drive": {"total": 1652, "per_min": 12170, "at": made_items.wall("10:28"), "seq": 60}}
    with (
        made_items.scenes(tmp_path, "looking inside", transfers=used) as laid,
        composed(browser, laid.address, screen) as page,
    ):
        wait_until(page, "document.documentElement.dataset.scene === 'looking inside'")
        wait_until(page, "document.querySelectorAll('#few div').length > 1")
        for language in ("en", "de"):
            in_language(page, language)
            places = page.evaluate(PLACES)
            assert len({tuple(one) for one in places}) == 1, (language, places)
