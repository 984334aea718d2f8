"""On the visitors' console, a line that was shown again because we asked is folded, and told once."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until

SEEN = """[...document.querySelectorAll('#rows .row')]
    .filter((one) => getComputedStyle(one).display !== 'none').map((one) => one.textContent.trim())"""
ROWS = f"{SEEN}.filter(Boolean)"
CURSOR_ROW = f"""(() => {{
    const cursor = document.querySelector('#cursor').style;
    const folded = Number(cursor.getPropertyValue('--folded') || 0);
    return {SEEN}[Number(cursor.getPropertyValue('--row')) - folded]; }})()"""
TOLD = """[...document.querySelectorAll('#rows .gloss')]
    .filter((one) => one.textContent.includes('because we asked')).length"""


def test_it_stands_there_once_with_the_cursor_behind_it_and_is_explained_once(
    page: Page, tmp_path: Path
) -> None:
    writer = made_facts.begin(tmp_path)
    at_us = 1_000_000

    def happens(fact: kinds.AnyFact) -> None:
        nonlocal at_us
        at_us += 50_000
        writer.append(fact, at_us)

    def asks(command: str) -> None:
        happens(kinds.BytesReceived(bytes=f"STARTER: {command}", first_us=at_us))
        happens(kinds.BytesTyped(bytes="\x0e", count=1, by="script opening"))
        happens(kinds.BytesReceived(bytes=f" AGAIN\r\nSTARTER: {command}", first_us=at_us))

    page.set_viewport_size({"width": 820, "height": 1180})  # where there is room beside the lines
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        asks("DRIVES")
        wait_until(page, f"{ROWS}.join() === 'STARTER: DRIVES'")
        assert page.evaluate(CURSOR_ROW) == "STARTER: DRIVES"
        assert page.evaluate(TOLD) == 1
        happens(kinds.BytesTyped(bytes="\r", count=1, by="script opening"))
        happens(kinds.BytesReceived(bytes="\r\nALL READY\r\n", first_us=at_us))
        asks("HALT")
        wait_until(page, f"{ROWS}.join() === 'STARTER: DRIVES,ALL READY,STARTER: HALT'")
        assert page.evaluate(CURSOR_ROW) == "STARTER: HALT"
        assert page.evaluate(TOLD) == 1
    writer.abandon()
