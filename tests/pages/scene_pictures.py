"""Makes a picture of every scene on every screen in every language, to be looked at.

`python -m tests.pages.pictures --all FOLDER --only scenes`; `--screens` takes some of the screens alone.
"""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Browser, Page

from tests.pages import made_items
from tests.pages.browser import wait_until

SCREENS: dict[str, tuple[str, int, int]] = {
    "landscape-1920": ("?screen=landscape", 1920, 1080),
    "landscape-1280": ("?screen=landscape", 1280, 720),
    "landscape-3840": ("?screen=landscape", 3840, 2160),
    "portrait-1080": ("?screen=portrait", 1080, 1920),
    "portrait-2160": ("?screen=portrait", 2160, 3840),
    "own-1920": ("", 1920, 1080),
    "own-1366": ("", 1366, 768),
    "own-1280": ("", 1280, 720),
    "own-820": ("", 820, 1180),
    "own-390": ("", 390, 844),
    "own-320": ("", 320, 640),
}
"""What the page is opened with, and the window's width and height."""


def pictures_of_scenes(browser: Browser, folder: Path, work: Path, screens: list[str]) -> None:
    """Every scene on every screen in every language; only some of the screens, if they are named."""
    page = browser.new_page()
    with made_items.scenes(work, "working") as laid:
        for screen, (query, width, height) in SCREENS.items():
            if screens and screen not in screens:
                continue
            page.set_viewport_size({"width": width, "height": height})
            page.goto(laid.address + query)
            wait_until(page, "+document.documentElement.dataset.seq > 0")
            for scene in made_items.SCENES:
                laid.lay(scene)
                wait_until(page, f"document.documentElement.dataset.scene === {scene!r}")
                for language in made_items.LANGUAGES:
                    _in_language(page, language)
                    page.wait_for_timeout(600)
                    page.screenshot(path=folder / f"{screen}-{scene.replace(' ', '-')}-{language}.png")
    page.close()


def _in_language(page: Page, language: str) -> None:
    page.evaluate("(tag) => document.querySelector(`#languages button[lang=${tag}]`).click()", language)
    wait_until(page, f"document.documentElement.lang === {language!r}")
