"""For every sense and hand: a shared screen goes home, 20 mm to touch, right to left, languages, contrast."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from tests.pages import pictures, web_processes
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES
from tests.pages.web_processes import ROOT

THREE = {"en": "English", "de": "Deutsch", "he": "עברית"}


def test_a_shared_screen_goes_home_from_all_that_was_opened_and_chosen(page: Page, tmp_path: Path) -> None:
    """After how long: tests/pages/test_kiosk.py."""
    page.clock.install()
    with pictures.held(tmp_path, [], languages=THREE) as where, web_processes.live(where) as web:
        page.goto(f"{web.address}?screen=landscape")
        page.clock.run_for(2000)
        wait_until(page, HAS_PICTURE)
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        page.click("#more")
        page.click("#try")
        page.click(".toggle >> nth=0")
        page.clock.run_for(230_000)
        assert page.is_visible("#switches")
        page.clock.run_for(15_000)
        assert page.evaluate("document.documentElement.lang") == "en"
        assert not page.is_visible("#switches")
        assert page.evaluate("document.querySelectorAll('dialog[open], details[open]').length") == 0
        assert page.get_attribute(".toggle >> nth=0", "aria-checked") == "false"
        page.click("#drawing button[data-part=console]")
        assert page.is_visible("#beside")
        page.clock.run_for(245_000)
        assert not page.is_visible("#beside")
        assert page.get_attribute("#drawing button[data-part=console]", "aria-pressed") == "false"


@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (3840, 2160)])
def test_what_is_touched_beside_the_machine_is_20_mm_wide_and_high(
    width: int, height: int, page: Page, tmp_path: Path
) -> None:
    """On 24 inches, 16 to 9: 531.4 mm wide. So 20 mm are 3.76 hundredths of the width."""
    least_px = 20 / (24 * 25.4 * 16 / (16**2 + 9**2) ** 0.5) * width
    page.set_viewport_size({"width": width, "height": height})
    with pictures.held(tmp_path, [], languages=THREE) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#try")
        small = page.evaluate(
            """(least) => [...document.querySelectorAll("button, summary, .part .reach")]
                .filter((e) => e.getClientRects().length)
                .map((e) => [e.id || e.textContent || e.parentElement.dataset.part,
                             e.getBoundingClientRect().width, e.getBoundingClientRect().height])
                .filter(([, w, h]) => Math.min(w, h) < least - 0.5)""",
            least_px,
        )
        assert small == []


def hebrew_day(words: str) -> list[kinds.AnyFact]:
    return [
        kinds.CaptionShown(
            caption="x",
            kind="seen",
            words={"en": "The lower disc is up to speed.", "he": words},
            part="lower-drive",
            because=[2],
            source={},
        )
    ]


def test_a_language_from_right_to_left_turns_the_page_but_not_the_console(
    page: Page, tmp_path: Path, axe: str
) -> None:
    words = "הדיסק התחתון הגיע למהירות."
    with (
        pictures.held(tmp_path, hebrew_day(words), languages=THREE) as where,
        web_processes.live(where) as web,
    ):
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#languages button[lang=he]")
        wait_until(page, "document.documentElement.lang === 'he'")
        assert page.evaluate("document.documentElement.dir") == "rtl"
        assert page.inner_text("#caption") == words
        assert "Machine-translated" in page.inner_text("#translated")
        sides = page.evaluate(
            """(() => {
                const at = (what) => document.querySelector(what).getBoundingClientRect();
                return {drawing: at("#drawing").left, console: at("#console").left, kind: at("#kind").right,
                        sheet: getComputedStyle(document.querySelector("#rows")).direction,
                        badge: at("#badge").right};
            })()"""
        )
        assert sides["drawing"] > sides["console"]
        assert sides["kind"] > 1800
        assert sides["sheet"] == "ltr"
        assert sides["badge"] > 1800
        for width, height in ((320, 640), (768, 1024), (1280, 720), (1920, 1080)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(60)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            if width < 1000:
                story = "getComputedStyle(document.querySelector('#story'))"
                borders = page.evaluate(f"[{story}.borderRightWidth, {story}.borderLeftWidth]")
                assert borders == ["6px", "0px"]
        assert violations(page, axe) == []
        page.click("#languages button[lang=en]")
        wait_until(page, "document.documentElement.lang === 'en'")
        assert page.evaluate("document.documentElement.dir") == "ltr"
        assert not page.is_visible("#translated")


def test_every_language_of_the_page_has_every_sentence(page: Page, tmp_path: Path) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        keys: dict[str, Any] = page.evaluate(
            """import("/shared/words.js").then(async ({LANGUAGES, loadWords}) => {
                const all = await Promise.all(LANGUAGES.map(loadWords));
                const keys = (table, above) => Object.entries(table).flatMap(([key, value]) =>
                    typeof value === "object" ? keys(value, above + key + ".")
                        : [`${above}${key}:${typeof value}`]); // a language may need fewer arguments
                const each = all.map(({tag, words}) => [tag, keys(words, "").sort()]);
                return Object.fromEntries(each);
            })"""
        )
    assert set(keys) == {"en", "de", "he"}
    assert keys["de"] == keys["en"]
    assert keys["he"] == keys["en"]
    assert len(keys["en"]) > 120


def test_only_a_table_that_a_machine_translated_is_marked_so() -> None:
    for name, marked in (("en.js", False), ("de.js", False), ("he.js", True)):
        assert ('machineTranslated: ""' in (ROOT / "web/words" / name).read_text("utf-8")) is not marked


def test_the_language_can_change_while_a_caption_stands(page: Page, tmp_path: Path) -> None:
    with pictures.held(tmp_path, [], languages=THREE) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#languages button[lang=de]")
        wait_until(page, "document.querySelector('#caption').innerText.startsWith('[deutsch] Three jobs')")
        assert page.inner_text("#kind") == "Auf der Konsole gesehen"
        assert page.text_content("#doing-head") == "Was gerade geschieht"
        assert page.title() == "Der Whimbrel"
        assert page.inner_text("#part") == "Es geht um: Rechnerschrank"


def test_with_colours_of_ones_own_axe_finds_nothing_and_the_drawings_stay(
    browser: Browser, tmp_path: Path, axe: str
) -> None:
    context = browser.new_context(forced_colors="active", viewport={"width": 1280, "height": 720})
    page = context.new_page()
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.wait_for_timeout(300)
        assert violations(page, axe) == []
        stroke, text = page.evaluate(
            """[getComputedStyle(document.querySelector("#drawing .outline")).stroke,
                getComputedStyle(document.body).color]"""
        )
        assert stroke == text
    context.close()


def test_the_whole_page_is_reached_by_keyboard(page: Page, tmp_path: Path) -> None:
    with pictures.held(tmp_path, [], languages=THREE) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        focused = """((one) => one.dataset.part || one.id || one.dataset.choice || one.lang)
            (document.activeElement)"""

        def reached_by(tabs: int) -> set[str]:
            found = set()
            for _ in range(tabs):
                page.keyboard.press("Tab")
                found.add(page.evaluate(focused))
            return found

        assert reached_by(20) >= {"de", "he", "more", "grounds", "processor", "console", "sheet"}
        page.focus("#more")
        page.keyboard.press("Enter")
        behind = {"open-figures", "open-itself", "open-cards", "try", "size-2", "second-de"}
        assert reached_by(40) >= behind
        page.focus("#try")
        page.keyboard.press("Enter")
        assert page.is_visible("#switches")
        page.keyboard.press("Escape")
        assert not page.is_visible("#switches")


def test_the_pretend_switches_are_clean_too(page: Page, tmp_path: Path, axe: str) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#try")
        for width, height in ((320, 640), (1920, 1080)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(100)
            assert violations(page, axe) == []
            assert page.evaluate("document.documentElement.scrollWidth") <= width
