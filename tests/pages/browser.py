"""Starts Debian's chromium, so that it says nothing to anyone."""

from __future__ import annotations

import shutil

from playwright.sync_api import Browser, Playwright

QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


def path() -> str | None:
    """Where it is; None where it isn't."""
    return shutil.which("chromium")


def start(playwright: Playwright) -> Browser:
    """A browser without a window."""
    return playwright.chromium.launch(executable_path=path(), args=list(QUIET))
