"""What comes next is in sight on the museum's screens, whole and large, and moves nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.made_facts import WHIMBREL
from tests.pages.made_items import Laid, wall
from tests.pages.pictures import HAS_PICTURE

SCREENS = {
    "landscape 1920": ("landscape", (1920, 1080)),
    "landscape 1280": ("landscape", (1280, 720)),
    "portrait 1080": ("portrait", (1080, 1920)),
}
LEAST = 20 / 1080
"""Of the screen's shorter side: the least height of type that is read from 2 m."""
IN_SIGHT = """(() => {
    const range = document.createRange();
    range.selectNodeContents(document.getElementById("ahead"));
    const ways = ({width, height}) => [1, width - 1].flatMap((x) => [[x, height * 0.22], [x, height * 0.78]]);
    const inside = (box, x, y) => x >= box.left && x <= box.right && y >= box.top - 1 && y <= box.bottom + 1;
    const ahead = document.getElementById("ahead").getBoundingClientRect();
    const row = document.getElementById("kind-row").getBoundingClientRect();
    const rects = [...range.getClientRects()];
    return rects.length > 0 && rects.every((rect) => ways(rect).every(([dx, dy]) => {
        const [x, y] = [rect.left + dx, rect.top + dy];
        return inside(ahead, x, y) && inside(row, x, y) && document.elementFromPoint(x, y)?.id === "ahead";
    }));
})()"""
SIZE = "parseFloat(getComputedStyle(document.getElementById('ahead')).fontSize)"
PLACES = """["story", "caption-box", "day-line", "kind-line"].map((id) => {
    const {left, top, width, height} = document.getElementById(id).getBoundingClientRect();
    return [left, top, width, height].map(Math.round);
})"""


def announced() -> dict[str, Any]:
    """What the Whimbrel's own folder announces."""
    ahead = WHIMBREL.ahead
    return {name: {"part": one.part, "words": one.words} for name, one in ahead.items()}


@pytest.mark.parametrize("screen", SCREENS)
def test_what_comes_next_can_be_read_whole_and_pushes_nothing(
    screen: str, browser: Browser, tmp_path: Path
) -> None:
    layout, (width, height) = SCREENS[screen]
    context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce")
    page = context.new_page()
    wrong = []
    with made_items.scenes(tmp_path, "working", recording={"ahead": announced()}) as laid:
        page.goto(f"{laid.address}?screen={layout}")
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        for language in ("en", "de"):
            page.evaluate(f"document.querySelector('#languages button[lang={language}]').click()")
            for kind in ("seen", "look or listen for"):
                before = lay(page, laid, kind, "")
                for name in announced():
                    places = lay(page, laid, kind, name)
                    said = f"{language}, {kind}: {page.inner_text('#ahead')}"
                    if not page.evaluate(IN_SIGHT):
                        wrong.append(f"not in sight: {said}")
                    if page.evaluate(SIZE) < LEAST * min(width, height):
                        wrong.append(f"small: {said}")
                    if places != before:
                        wrong.append(f"pushes: {said}")
    context.close()
    assert wrong == []


def lay(page: Page, laid: Laid, kind: str, name: str) -> object:
    """Lays a caption of this kind and this announcement; gives where things stand then."""
    caption = {**made_items.SCENES["working"]["caption"], "kind": kind}
    ahead = [{"name": name, "began": wall("09:10"), "due": wall("09:13")}] if name else []
    laid.lay("working", caption=caption, ahead=ahead, recording={"ahead": announced()})
    words = announced()[name]["words"] if name else {}
    shown = f"document.querySelector('#ahead').textContent.includes({words.get('en', '')!r})"
    shown += f" || document.querySelector('#ahead').textContent.includes({words.get('de', '')!r})"
    gone = "document.querySelector('#ahead').hidden"
    wait_until(page, f"document.querySelector('#story').dataset.kind === {kind!r}")
    wait_until(page, shown if name else gone)
    page.wait_for_timeout(100)
    return page.evaluate(PLACES)
