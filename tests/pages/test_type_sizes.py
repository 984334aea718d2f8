"""What `exhibit check --distance` reckons with is what the page really shows: measured in a browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from exhibit.folder.report.screen_sizes import (
    CAPTION_FACE,
    CONSOLE_FACE,
    Screen,
    caption_px,
    console_px,
    kinds_of,
    touch_mm,
)
from tests.pages import pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE

SIZES = [(1280, 720), (1366, 768), (1600, 900), (1920, 1080), (2560, 1440), (3840, 2160)]
CAPTIONS = [
    "Go on.",
    "The lower drive hums.",
    "Three jobs share one processor. It turns from one to the next.",
    "We sign on. You don’t open an account here: you take a desk, and ours is called TIDES.",
    "Three jobs share one processor. It turns from one to the next twenty times a second, so that each of "
    "them seems to have the machine to itself.",
]
WHERE = {
    "the badge": "#badge-name",
    "the kind of caption": "#kind",
    "tables and cards": "#beside p",
    "sources and notes": ".card-source",
    "the console": "#sheet",
}


@pytest.fixture(scope="module")
def seen(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    page = browser.new_page()
    folder = tmp_path_factory.mktemp("recordings")
    shown = kinds.CaptionShown(
        caption="x", kind="seen", words={"en": CAPTIONS[-1]}, part="processor", because=[2], source={}
    )
    with pictures.held(folder, [shown]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        yield page
    page.close()


def sized(page: Page, size: tuple[int, int]) -> Screen:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.wait_for_timeout(200)
    return Screen(24 * 25.4, *size)


def font_px(page: Page, what: str) -> float:
    return float(page.evaluate(f"parseFloat(getComputedStyle(document.querySelector({what!r})).fontSize)"))


@pytest.mark.parametrize("size", SIZES)
def test_each_kind_of_text_has_the_size_that_is_reckoned_with(seen: Page, size: tuple[int, int]) -> None:
    screen = sized(seen, size)
    for kind in kinds_of(screen):
        face = CONSOLE_FACE if kind.name == "the console" else CAPTION_FACE
        assert font_px(seen, WHERE[kind.name]) * screen.px_mm * face == pytest.approx(
            kind.letter_mm, rel=0.01
        )
    assert font_px(seen, "#sheet") == pytest.approx(console_px(screen), rel=0.01)


@pytest.mark.parametrize("size", SIZES)
def test_a_caption_is_never_smaller_than_was_reckoned_nor_two_steps_larger(
    seen: Page, size: tuple[int, int]
) -> None:
    screen = sized(seen, size)
    for words in CAPTIONS:
        seen.evaluate(
            """(words) => import("/visitor/fit.js").then(({fitCaption}) => {
                const caption = document.querySelector("#caption");
                const kept = caption.textContent;
                caption.textContent = words;
                fitCaption();
                window.sized = parseFloat(getComputedStyle(caption).fontSize);
                caption.textContent = kept;
                fitCaption();
            })""",
            words,
        )
        given, reckoned = seen.evaluate("window.sized"), caption_px(screen, words)
        assert reckoned - 0.01 <= given < reckoned * 1.25**2 - 0.01, words


def test_the_faces_have_capitals_of_the_height_that_is_reckoned_with(seen: Page) -> None:
    heights = seen.evaluate(
        """["exhibit caption", "exhibit console"].map((face) => {
            const canvas = document.createElement("canvas").getContext("2d");
            canvas.font = `1000px "${face}"`;
            return canvas.measureText("H").actualBoundingBoxAscent / 1000;
        })"""
    )
    assert heights == pytest.approx([CAPTION_FACE, CONSOLE_FACE], abs=0.005)


@pytest.mark.parametrize("size", SIZES)
def test_what_is_touched_is_as_large_as_is_reckoned_with(seen: Page, size: tuple[int, int]) -> None:
    screen = sized(seen, size)
    least_px = seen.evaluate(
        """Math.min(...[...document.querySelectorAll("button, summary, .part .reach")]
            .filter((e) => e.getClientRects().length)
            .map((e) => Math.min(e.getBoundingClientRect().width, e.getBoundingClientRect().height)))"""
    )
    assert least_px * screen.px_mm >= touch_mm(screen) - 0.2
