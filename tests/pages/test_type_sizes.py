"""What `exhibit check` reckons with for a named screen is what the page shows: measured in a browser."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts.parts_and_cards import Screen
from exhibit.folder.report.screen_sizes import (
    CAPTION_FACE,
    CONSOLE_FACE,
    LAYOUTS,
    MM_IN_A_CM,
    caption_units,
    controls_mm,
    kinds_of,
    touch_mm,
    unit_mm,
    wanted_caption_units,
)
from tests.pages import pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE
from tests.pages.web_processes import WebProcess

SCREENS = {
    "hall": Screen(layout="landscape", width_cm=95.2, height_cm=53.5, distance_cm=250, lower_edge_cm=80),
    "far": Screen(layout="landscape", width_cm=53.1, height_cm=29.9, distance_cm=300, lower_edge_cm=85),
    "low": Screen(
        layout="landscape", width_cm=53.1, height_cm=29.9, distance_cm=60, lower_edge_cm=60, touch=True
    ),
    "high": Screen(
        layout="landscape", width_cm=53.1, height_cm=29.9, distance_cm=60, lower_edge_cm=110, touch=True
    ),
    "kiosk": Screen(
        layout="portrait", width_cm=29.9, height_cm=53.1, distance_cm=60, lower_edge_cm=65, touch=True
    ),
    "tall": Screen(
        layout="portrait", width_cm=53.5, height_cm=95.2, distance_cm=500, lower_edge_cm=40, touch=True
    ),
}
PIXELS = {"landscape": (1920, 1080), "portrait": (1080, 1920)}
CASES = [
    *[(name, PIXELS[screen.layout]) for name, screen in SCREENS.items()],
    *[("far", (3840, 2160)), ("kiosk", (2160, 3840))],
]
CAPTIONS = [
    "Go on.",
    "The lower drive hums.",
    "Three jobs share one processor. It turns from one to the next.",
    "We sign on. You don’t open an account here: you take a desk, and it’s TIDES.",
]
WHERE = {
    "the badge": "#badge-name",
    "the kind of caption": "#kind-row",
    "tables and cards": "body",
    "notes": "#notice",
    "the console": "#sheet",
}


@pytest.fixture(scope="module")
def web(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    folder = tmp_path_factory.mktemp("recordings")
    with pictures.held(folder, [], screens=SCREENS) as where, web_processes.live(where) as process:
        yield process


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case[0]}-{case[1][0]}")
def seen(
    request: pytest.FixtureRequest, browser: Browser, web: WebProcess
) -> Iterator[tuple[Page, Screen, float]]:
    """The page on one of the screens, and the size of a pixel there in millimetres."""
    name, (across, down) = request.param
    page = browser.new_page(viewport={"width": across, "height": down})
    page.goto(f"{web.address}?screen={name}")
    wait_until(page, HAS_PICTURE)
    page.evaluate("document.fonts.ready")
    screen = SCREENS[name]
    yield page, screen, screen.width_cm * MM_IN_A_CM / across
    page.close()


def font_px(page: Page, what: str) -> float:
    return float(page.evaluate(f"parseFloat(getComputedStyle(document.querySelector({what!r})).fontSize)"))


def test_each_kind_of_text_has_the_size_that_is_reckoned_with(seen: tuple[Page, Screen, float]) -> None:
    page, screen, px_mm = seen
    for kind in kinds_of(screen):
        face = CONSOLE_FACE if kind.name == "the console" else CAPTION_FACE
        shown_mm = font_px(page, WHERE[kind.name]) * px_mm * face
        if kind.name == "the console":
            assert shown_mm >= kind.letter_mm * 0.99  # it is larger where a scene leaves it more room
        else:
            assert shown_mm == pytest.approx(kind.letter_mm, rel=0.01), kind.name


def test_a_caption_is_as_large_as_was_reckoned_or_nearly_so(seen: tuple[Page, Screen, float]) -> None:
    page, screen, px_mm = seen
    for words in CAPTIONS:
        given_px = page.evaluate(
            """(words) => import("/visitor/fit.js").then(({fitCaption}) => {
                const caption = document.querySelector("#caption");
                const kept = caption.textContent;
                caption.textContent = words;
                fitCaption();
                const size = parseFloat(getComputedStyle(caption).fontSize);
                caption.textContent = kept;
                fitCaption();
                return size;
            })""",
            words,
        )
        given, reckoned = given_px * px_mm / unit_mm(screen), caption_units(screen, words)
        assert reckoned * 0.995 <= given <= wanted_caption_units(screen) * 1.005, words
        if reckoned == wanted_caption_units(screen):
            assert given == pytest.approx(reckoned, rel=0.005), words


def test_buttons_are_as_large_and_as_high_as_is_reckoned_with(seen: tuple[Page, Screen, float]) -> None:
    page, screen, px_mm = seen
    boxes = page.evaluate(
        """[...document.querySelectorAll("#bar button")].filter((one) => one.getClientRects().length)
            .map((one) => one.getBoundingClientRect())
            .map(({top, bottom, width, height}) => [top, bottom, width, height])"""
    )
    assert bool(boxes) == screen.touch
    low_mm, high_mm = controls_mm(screen)
    for top, bottom, width, height in boxes:
        assert min(width, height) * px_mm >= touch_mm(screen) - 0.2
        bottom_mm, top_mm = (
            (screen.lower_edge_cm + screen.height_cm) * MM_IN_A_CM - edge * px_mm for edge in (bottom, top)
        )
        assert low_mm - 1 <= bottom_mm < top_mm <= high_mm + 1


def test_the_page_has_the_layout_of_the_screen_and_nothing_is_beyond_its_edges(
    seen: tuple[Page, Screen, float],
) -> None:
    page, screen, _ = seen
    assert page.evaluate("document.documentElement.dataset.screen") == screen.layout
    layout = LAYOUTS[screen.layout]
    size = page.viewport_size
    assert size is not None
    assert size["width"] / size["height"] == pytest.approx(layout.across / layout.down)
    assert page.evaluate("document.documentElement.scrollHeight <= innerHeight")


def test_the_faces_have_capitals_of_the_height_that_is_reckoned_with(
    browser: Browser, web: WebProcess
) -> None:
    page = browser.new_page()
    page.goto(web.address)
    wait_until(page, HAS_PICTURE)
    page.evaluate("document.fonts.ready")
    heights = page.evaluate(
        """["exhibit caption", "exhibit console"].map((face) => {
            const canvas = document.createElement("canvas").getContext("2d");
            canvas.font = `1000px "${face}"`;
            return canvas.measureText("H").actualBoundingBoxAscent / 1000;
        })"""
    )
    page.close()
    assert heights == pytest.approx([CAPTION_FACE, CONSOLE_FACE], abs=0.005)
