"""Every screen that a museum has is set by its name; sizes and places follow from its measures."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.made_items import Laid
from tests.pages.pictures import HAS_PICTURE

CAPITAL_EM = 0.668
"""The height of a capital in the captions' face, as tests/pages/test_type_sizes.py measures it."""
REACH_CM = (38.0, 122.0)
"""What is within reach from the front, sitting in a wheelchair: 15 and 48 inches above the floor."""
HALL = {
    "layout": "landscape",
    "width_cm": 53.1,
    "height_cm": 29.9,
    "distance_cm": 250,
    "lower_edge_cm": 85,
    "touch": True,
    "home_after_s": 90,
}
TALL = {
    "layout": "portrait",
    "width_cm": 53.0,
    "height_cm": 94.0,
    "distance_cm": 300,
    "lower_edge_cm": 70,
    "touch": True,
    "home_after_s": 240,
}
WALL = {**HALL, "width_cm": 95.0, "height_cm": 53.4, "lower_edge_cm": 150, "distance_cm": 600}
LOOK = {**HALL, "touch": False}
SCREENS = {"hall": HALL, "tall": TALL, "wall": WALL, "look": LOOK}


def at(page: Page, laid: Laid, query: str, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.goto(laid.address + query)
    wait_until(page, HAS_PICTURE)
    page.evaluate("document.fonts.ready")
    page.wait_for_timeout(300)


def root(page: Page, name: str) -> str:
    return str(page.evaluate(f"document.documentElement.dataset[{name!r}]"))


def px(page: Page, what: str) -> float:
    return float(page.evaluate(f"parseFloat(getComputedStyle(document.querySelector({what!r})).fontSize)"))


def test_a_screen_is_laid_out_as_it_is_set_and_not_as_its_width_would_have_it(
    page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working", recording={"screens": SCREENS}) as laid:
        for query, size, layout in (
            ("?screen=portrait", (1080, 1920), "portrait"),
            ("?screen=portrait", (2160, 3840), "portrait"),
            ("?screen=tall", (1080, 1920), "portrait"),
            ("?screen=landscape", (1080, 1920), "landscape"),
            ("?screen=hall", (1920, 1080), "landscape"),
            ("", (1920, 1080), "landscape"),
            ("", (1280, 720), "landscape"),
            ("", (1080, 1920), ""),
            ("", (960, 540), ""),
            ("", (390, 844), ""),
        ):
            at(page, laid, query, size)
            assert root(page, "screen") == layout, (query, size)


def test_a_name_that_the_folder_does_not_know_is_said_and_shown_as_a_wide_screen(
    page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        at(page, laid, "?screen=cellar", (1920, 1080))
        assert root(page, "screen") == "landscape"
        assert "doesn’t describe a screen “cellar”" in page.inner_text("#notice")
        at(page, laid, "?screen=portrait", (1080, 1920))
        assert not page.is_visible("#notice")


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("hall", (1920, 1080)),
        ("hall", (3840, 2160)),
        ("tall", (1080, 1920)),
        ("tall", (2160, 3840)),
        ("wall", (1920, 1080)),
    ],
)
def test_capitals_of_a_caption_are_22_arc_minutes_high_at_the_folders_distance(
    name: str, size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    screen: dict[str, Any] = SCREENS[name]
    with made_items.scenes(tmp_path, "working", recording={"screens": SCREENS}) as laid:
        at(page, laid, f"?screen={name}", size)
        capital_mm = px(page, "#caption") * CAPITAL_EM * screen["width_cm"] * 10 / size[0]
        arc_minutes = math.degrees(math.atan(capital_mm / (screen["distance_cm"] * 10))) * 60
        assert arc_minutes >= 21.99
        least = 88 / 1920 if screen["layout"] == "landscape" else 98 / 1080
        assert px(page, "#caption") >= least * size[0] - 0.1


@pytest.mark.parametrize(("screen", "size"), [("landscape", (1920, 1080)), ("portrait", (1080, 1920))])
def test_a_caption_of_76_characters_is_not_made_smaller(
    screen: str, size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    english = "Two jobs at once: one of them does sums, one of them reads the lower discs."
    german = "Zwei Aufträge zugleich: der eine rechnet, der andere liest die untere Platte"
    assert len(english) >= 75
    assert len(german) == made_items.LONGEST
    words = made_items.caption(english, german, "lower-drive")
    with made_items.scenes(tmp_path, "working", caption=words) as laid:
        at(page, laid, f"?screen={screen}", size)
        for language in ("en", "de"):
            page.click(f"#languages button[lang={language}]")
            page.wait_for_timeout(200)
            assert px(page, "#caption") == pytest.approx(88 if screen == "landscape" else 98, abs=0.1)


@pytest.mark.parametrize("screen", ["landscape", "portrait"])
def test_a_screen_with_twice_the_pixels_shows_the_same(screen: str, page: Page, tmp_path: Path) -> None:
    size = (1920, 1080) if screen == "landscape" else (1080, 1920)
    names = ["strip", "badge", "story", "caption", "caption-box", "console", "drawing", "day-line"]
    boxes = f"""{names}.map((id) => {{
        const b = document.getElementById(id).getBoundingClientRect();
        return [b.left, b.top, b.width, b.height].map((n) => n / innerWidth);
    }}).flat()"""
    with made_items.scenes(tmp_path, "working") as laid:
        at(page, laid, f"?screen={screen}", size)
        once = page.evaluate(boxes)
        at(page, laid, f"?screen={screen}", (size[0] * 2, size[1] * 2))
        assert page.evaluate(boxes) == pytest.approx(once, abs=0.003)


CONTROLS = """[...document.querySelectorAll("#bar button, #grounds")].filter((e) => e.getClientRects().length)
    .map((e) => [e.id || e.lang, e.getBoundingClientRect().top, e.getBoundingClientRect().bottom])"""


@pytest.mark.parametrize(
    ("screen", "size", "bar"),
    [
        ({**HALL, "lower_edge_cm": 75}, (1920, 1080), "strip"),
        (HALL, (1920, 1080), "strip"),
        ({**HALL, "lower_edge_cm": 100}, (1920, 1080), "foot"),
        ({**HALL, "lower_edge_cm": 115}, (1920, 1080), "foot"),
        (TALL, (1080, 1920), "foot"),
        ({**TALL, "lower_edge_cm": 110}, (1080, 1920), "foot"),
    ],
)
def test_controls_are_within_reach_of_a_wheelchair(
    screen: dict[str, Any], size: tuple[int, int], bar: str, page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working", recording={"screens": {"here": screen}}) as laid:
        at(page, laid, "?screen=here", size)
        assert root(page, "bar") == bar
        controls = page.evaluate(CONTROLS)
        assert {name for name, *_ in controls} >= {"en", "de", "he", "more", "grounds"}
        for name, top, bottom in controls:
            high_cm = screen["lower_edge_cm"] + screen["height_cm"] * (1 - top / size[1])
            low_cm = screen["lower_edge_cm"] + screen["height_cm"] * (1 - bottom / size[1])
            assert REACH_CM[0] <= low_cm, name
            assert high_cm <= REACH_CM[1], name


@pytest.mark.parametrize(
    ("screen", "place"),
    [
        (TALL, "foot"),
        ({**TALL, "lower_edge_cm": 110}, "foot"),
        ({**TALL, "width_cm": 29.9, "height_cm": 53.1, "lower_edge_cm": 90}, "foot"),
        ({**TALL, "width_cm": 29.9, "height_cm": 53.1, "lower_edge_cm": 30}, "strip"),
    ],
)
def test_upright_the_code_for_phones_is_large_and_as_low_as_a_hand_holds_one(
    screen: dict[str, Any], place: str, page: Page, tmp_path: Path
) -> None:
    """A phone reads a code from about ten times its width: here from half a metre."""
    with made_items.scenes(tmp_path, "working", recording={"screens": {"here": screen}}) as laid:
        at(page, laid, "?screen=here", (1080, 1920))
        assert root(page, "code") == place
        box = page.evaluate(
            """((b) => [b.left, b.top, b.right, b.bottom])
                (document.querySelector("#phone-code").getBoundingClientRect())"""
        )
        mm = screen["width_cm"] * 10 / 1080
        assert (box[2] - box[0]) * mm >= (50 if place == "foot" else 30)
        for y in (box[1], box[3]):
            assert (
                REACH_CM[0] <= screen["lower_edge_cm"] + screen["height_cm"] * (1 - y / 1920) <= REACH_CM[1]
            )
        words = """[...document.querySelectorAll("#phone-words, #about p, #bar button")].map((e) => {
            const b = e.getBoundingClientRect();
            return [b.left, b.top, b.right, b.bottom, b.width];
        })"""
        for left, top, right, bottom, width in page.evaluate(words):
            assert not width or right <= box[0] or left >= box[2] or bottom <= box[1] or top >= box[3]


@pytest.mark.parametrize(("name", "size"), [("hall", (1920, 1080)), ("tall", (1080, 1920))])
def test_what_is_touched_is_20_mm_wide_and_high_by_the_screens_own_measures(
    name: str, size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working", recording={"screens": SCREENS}) as laid:
        at(page, laid, f"?screen={name}", size)
        page.click("#more")
        mm = SCREENS[name]["width_cm"] * 10 / size[0]  # type: ignore[operator]
        small = page.evaluate(
            """[...document.querySelectorAll("button")].filter((e) => e.getClientRects().length).map((e) => {
                const b = e.getBoundingClientRect();
                return [e.id || e.textContent, Math.min(b.width, b.height)];
            })"""
        )
        assert [one for one in small if one[1] * mm < 19.9] == []


def test_a_screen_that_only_shows_has_nothing_to_touch(page: Page, tmp_path: Path) -> None:
    with made_items.scenes(tmp_path, "working", recording={"screens": SCREENS}) as laid:
        at(page, laid, "?screen=look", (1920, 1080))
        assert page.evaluate(CONTROLS) == []


def test_the_console_is_at_least_15_px_on_a_laptop_and_larger_on_a_large_screen(
    page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        found = {}
        for size in ((1280, 720), (1366, 768), (1920, 1080), (3840, 2160)):
            at(page, laid, "", size)
            found[size[0]] = px(page, "#sheet")
            assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
        assert min(found.values()) >= 15
        assert found[1920] >= 17
        assert found[3840] == pytest.approx(2 * found[1920], rel=0.01)
        at(page, laid, "", (900, 1200))
        assert px(page, "#sheet") >= 15
