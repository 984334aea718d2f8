"""What is printed can also be read on a screen, and read out: axe-core finds nothing to complain of."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from exhibit.paper.card import card
from exhibit.paper.summary import summary
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.history.report import report
from exhibit.records.history.visit import visit_of
from tests.pages.axe_core import violations
from tests.records.history.days_made import a_day, trouble

WHIMBREL = Path("scripts/whimbrel")


def reported(place: Path) -> str:
    a_day(place, 0, [trouble("DRIVE ERROR", 100.0)])
    return report(visit_of([place], date(2026, 11, 1)), Privacy(), with_folder=True)


PRINTED: dict[str, Callable[[Path], str]] = {
    "card": lambda _: card(WHIMBREL, "en"),
    "card in German": lambda _: card(WHIMBREL, "de"),
    "summary": lambda _: summary([Path("recordings")], "en"),
    "report": reported,
}


@pytest.mark.parametrize("printed", PRINTED)
def test_axe_core_finds_nothing(browser: Browser, axe: str, tmp_path: Path, printed: str) -> None:
    file = tmp_path / "printed.html"
    file.write_text(PRINTED[printed](tmp_path), "utf-8")
    page = browser.new_page()
    page.goto(file.as_uri())
    assert violations(page, axe) == []
    page.close()
