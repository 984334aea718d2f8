"""One browser for all tests of the pages, and a log of what a page asks for and complains of."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.pages.axe_core import AXE
from tests.pages.browser import WITHOUT_WINDOW, start
from tests.sampling import sample

ROOT = Path(__file__).resolve().parents[2]
HERE = Path(__file__).resolve().parent
A_TRIAL = pytest.mark.trial(name="pages")


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Of each test that has several cases (widths, screens, states) a run takes one; the trials take all."""
    cases: dict[tuple[Path, str], list[pytest.Function]] = {}
    for item in items:
        if not isinstance(item, pytest.Function) or item.path.parent != HERE or not hasattr(item, "callspec"):
            continue
        if item.get_closest_marker("trial") is None:
            item.add_marker(A_TRIAL)
            cases.setdefault((item.path, item.originalname), []).append(item)
    left_out = {item for same in cases.values() for item in same} - {
        item for same in cases.values() for item in sample(same, 1)
    }
    if left_out:
        config.hook.pytest_deselected(items=list(left_out))
        items[:] = [item for item in items if item not in left_out]


@pytest.fixture(scope="session")
def browser(needs: Any) -> Iterator[Browser]:
    """Chromium, without a window."""
    needs(WITHOUT_WINDOW)
    needs.that((ROOT / "web/built/socket.io.min.js").is_file(), "web/built, which `pip install` makes")
    with sync_playwright() as playwright:
        chromium = start(playwright)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def axe(needs: Any) -> str:
    """axe-core's own script, from npm."""
    needs.that(AXE.is_file(), "axe-core, which `sh tests/run` fetches")
    return AXE.read_text("utf-8")


class Log:
    """What a page asked for, and what it complained of."""

    def __init__(self, page: Page) -> None:
        self.requests: list[str] = []
        self.complaints: list[str] = []
        page.on("request", lambda request: self.requests.append(request.url))
        page.on("websocket", lambda line: self.requests.append(line.url))
        page.on("console", lambda said: self.complaints.append(f"{said.type}: {said.text}"))
        page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))

    def hosts(self) -> set[str]:
        """The hosts that were asked for anything; inline data has none."""
        return {urlsplit(url).netloc for url in self.requests if urlsplit(url).scheme != "data"}


@pytest.fixture
def context(browser: Browser, request: pytest.FixtureRequest) -> Iterator[BrowserContext]:
    """A fresh profile, of a person who asked for less motion.

    What stands on the page is the same then, and drawing it takes half the processor time. A test of what
    moves is marked `moving`.
    """
    moves = request.node.get_closest_marker("moving") is not None
    made = browser.new_context(
        viewport={"width": 1920, "height": 1080}, reduced_motion="no-preference" if moves else "reduce"
    )
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    """A page of the usual size."""
    made = context.new_page()
    made.set_default_timeout(60_000)
    return made


@pytest.fixture
def log(page: Page) -> Log:
    """The page's log, from before its first request."""
    return Log(page)
