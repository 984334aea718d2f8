"""Starts Debian's Chromium, so that it says nothing to anyone.

The tests take the one that Debian builds for use without a window: it is the same engine, and needs half the
processor time. What is measured for a museum's screen is measured with the one that such a screen runs.
"""

from __future__ import annotations

import shutil
import time
from typing import Any

from playwright.sync_api import Browser, Page, Playwright

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--font-render-hinting=none",  # as with a window: letters are as wide on a small screen as on a large one
)

WITHOUT_WINDOW = "chromium-headless-shell"
WITH_WINDOW = "chromium"


def path(program: str = WITHOUT_WINDOW) -> str | None:
    """Where it is; None where it isn't."""
    return shutil.which(program)


def start(playwright: Playwright, program: str = WITHOUT_WINDOW) -> Browser:
    """A browser that shows no window. Raises FileNotFoundError if it isn't installed."""
    if path(program) is None:
        raise FileNotFoundError(f"{program} isn't installed: apt-get install {program}")
    return playwright.chromium.launch(executable_path=path(program), args=list(QUIET))


def wait_until(page: Page, expression: str, limit_s: float = 60.0) -> Any:
    """Wait until the expression is true in the page, and give what it is then.

    Playwright's own waiting evaluates text inside the page, which the page's rules forbid.
    """
    until_s = time.monotonic() + limit_s
    while True:
        value = page.evaluate(expression)
        if value:
            return value
        if time.monotonic() > until_s:
            badge = page.evaluate("document.querySelector('#badge')?.innerText")
            raise AssertionError(f"still not so after {limit_s} s: {expression} (the badge says: {badge})")
        page.wait_for_timeout(15)
