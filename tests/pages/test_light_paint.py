"""A character that the machine prints touches its row of the page, and little else."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until

NOTE_CHANGES = """
() => {
  window.changes = [];
  new MutationObserver((all) => {
    for (const { target, attributeName, type } of all)
      window.changes.push(`${target.localName ?? target.nodeName} ${attributeName ?? type}`);
  }).observe(document, { subtree: true, childList: true, characterData: true, attributes: true });
}
"""


def test_one_more_character_restyles_no_document_and_replaces_no_row(page: Page, tmp_path: Path) -> None:
    writer = made_facts.begin(tmp_path)
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        writer.append(kinds.BytesReceived(bytes="READ", first_us=1_000_000), 1_000_000)
        wait_until(page, "document.querySelector('#rows').textContent.includes('READ')")
        page.wait_for_timeout(600)
        page.evaluate(NOTE_CHANGES)
        writer.append(kinds.BytesReceived(bytes="Y", first_us=1_100_000), 1_100_000)
        wait_until(page, "document.querySelector('#rows').textContent.includes('READY')")
        changes = set(page.evaluate("window.changes"))
        assert {change for change in changes if change.startswith("html ")} <= {"html data-seq"}
        assert "#text characterData" in changes
        assert "div childList" not in changes
    writer.abandon()
