"""What axe-core, an independent checker of accessibility from npm, complains of on a page."""

from __future__ import annotations

from playwright.sync_api import Page

from tests.pages.web_processes import ROOT

AXE = ROOT / "tests/node/node_modules/axe-core/axe.min.js"


def violations(page: Page, axe: str) -> list[str]:
    """What axe-core complains of, with the strictest contrast (WCAG 2.2, 1.4.6) among its rules."""
    page.evaluate(axe)
    found = page.evaluate(
        """axe.run(document, {
            resultTypes: ["violations"],
            rules: {"color-contrast-enhanced": {enabled: true}, "target-size": {enabled: true}},
        }).then((results) => results.violations.map(
            (one) => one.id + ": " + one.nodes.map((node) => node.html.slice(0, 80)).join(" | ")))"""
    )
    assert isinstance(found, list)
    return found
