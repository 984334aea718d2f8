"""A page that hears nothing of the machine any more says of no part that it runs, to eyes or ears."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from exhibit.facts.visitor_words import Chapter
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until

BADGE = "document.querySelector('#badge').dataset.badge"
DRIVE = "#drawing button[aria-label^='Lower disc drive']"
CHAPTERS = [
    Chapter(name=name, words={"en": name}, told={"en": name}, from_step=name)
    for name in ("signs on", "works")
]
FACTS = (
    kinds.LineOpened(line="x"),
    kinds.PartStarted(part="lower-drive", by="lower-drive-ready"),
    kinds.ScriptStarted(script="round", title={"en": "A round"}, by="script round", round=1),
    kinds.StepStarted(script="round", step="signs on"),
    kinds.StepStarted(script="round", step="works"),
)


@contextmanager
def shown_running(page: Page, folder: Path) -> Iterator[tuple[ExitStack, web_processes.WebProcess]]:
    """A drive turns in a round's second step. Gives what ends the bridge, and the web process."""
    first = made_facts.opened(marked=["lower-drive"], chapters={"round": CHAPTERS})
    with web_processes.live(folder) as web, ExitStack() as bridge:
        tell = bridge.enter_context(made_facts.beating(folder, first))
        for fact in FACTS:
            tell(fact)
        page.goto(web.address)
        wait_until(page, f"document.querySelector(\"{DRIVE}\")?.ariaLabel.endsWith(', turning')")
        assert page.is_visible("#steps")
        assert "turning" in str(page.text_content("#drawing-text"))
        yield bridge, web


def assert_nothing_runs(page: Page) -> None:
    assert str(page.get_attribute(DRIVE, "aria-label")).endswith(", not known")
    assert "turning" not in str(page.text_content("#drawing"))
    assert "turning" not in str(page.text_content("#drawing-text"))
    assert not page.is_visible("#steps")
    page.evaluate(f'document.querySelector("{DRIVE}").click()')
    wait_until(page, "document.documentElement.dataset.sheet === 'beside-sheet'")
    assert "running since" not in page.inner_text("#beside-sheet")


@pytest.mark.waits
def test_a_page_that_lost_its_web_process_does_not_say_that_anything_runs(page: Page, tmp_path: Path) -> None:
    with shown_running(page, tmp_path) as (_, web):
        web.end()
        wait_until(page, f"{BADGE} === 'reconnecting'")
        assert_nothing_runs(page)


@pytest.mark.waits
def test_a_page_whose_bridge_is_gone_does_not_say_that_anything_runs(page: Page, tmp_path: Path) -> None:
    with shown_running(page, tmp_path) as (bridge, _):
        bridge.close()
        wait_until(page, f"{BADGE} === 'bridge gone'")
        assert_nothing_runs(page)
