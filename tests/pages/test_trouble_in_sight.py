"""A trouble is seen from a distance: the badge says it, a box tells it, and nothing covers either."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from tests.pages import made_items, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, LANGUAGES, held
from tests.pages.test_nothing_overlaps import TEXTS

SCREENS = {"landscape": (1920, 1080), "portrait": (1080, 1920)}
RAISED = kinds.TroubleRaised(
    trouble="not-asleep",
    line="LOWER STOPPED: NO",
    words={
        "en": "The lower disc drive did not say that it had stopped.",
        "de": "Das untere Laufwerk hat nicht gemeldet, dass es steht.",
    },
    do={
        "en": "Look whether the lower drive stands still, then turn the key at the cabinet to OFF.",
        "de": "Sehen Sie nach, ob das untere Laufwerk steht, dann drehen Sie den Schlüssel auf AUS.",
    },
)
CLOSING_FAILED: list[kinds.AnyFact] = [
    kinds.ScriptStarted(
        script="closing",
        title={"en": "Putting the machine to sleep", "de": "Die Maschine schläft ein"},
        by="x",
    ),
    RAISED,
    kinds.ScriptEnded(script="closing", outcome="failed", tidy=True, why="the drive was waited for"),
    kinds.SessionFailed(why="the drive was waited for and did not come", last_lines=["LOWER STOPPED: NO"]),
]
COVERED = """(() => {
    const said = "#strip, #caption-box, #trouble, #help, #hands-on, #day-line, #about";
    const boxes = [...document.querySelectorAll(said)]
        .filter((one) => one.checkVisibility({visibilityProperty: true}) && one.getClientRects().length);
    const places = boxes.map((one) => one.getBoundingClientRect());
    const all = [...document.querySelectorAll("#console, #console .head-line, #sheet")]
        .filter((one) => one.checkVisibility({visibilityProperty: true}));
    const wrong = boxes.flatMap((box, n) => all.filter((one) => {
        const [a, b] = [places[n], one.getBoundingClientRect()];
        return b.height > 0 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1.5
            && Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1.5;
    }).map((one) => `#${one.id || one.className} on #${box.id}`));
    for (const [n, {top, bottom}] of places.entries()) {
        if (top < -1 || bottom > innerHeight + 1) wrong.push(`#${boxes[n].id} beyond the edge`);
    }
    const [sheet] = all.filter((one) => one.id === "sheet");
    const line = sheet && parseFloat(getComputedStyle(sheet).fontSize) * 1.3;
    if (sheet && sheet.clientHeight < line - 1) wrong.push("a console without a row");
    return wrong;
})()"""
"""What the console lies on, what is out of the window, and a console that shows nothing."""


@contextmanager
def composed(browser: Browser, address: str, screen: str) -> Iterator[Page]:
    width, height = SCREENS[screen]
    context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(f"{address}?screen={screen}")
    wait_until(page, HAS_PICTURE)
    page.evaluate("document.fonts.ready")
    yield page
    context.close()


def in_language(page: Page, language: str) -> None:
    page.evaluate(f"document.querySelector('#languages button[lang={language}]').click()")
    wait_until(page, f"document.documentElement.lang === {language!r}")
    page.wait_for_timeout(200)


LOOKS = """(() => {
    const styles = getComputedStyle(document.getElementById("mark"));
    const form = [styles.clipPath, styles.borderTopLeftRadius, styles.borderTopStyle, styles.borderTopWidth];
    const color = (id) => getComputedStyle(document.getElementById(id)).color;
    const [name, sign, box] = ["badge-name", "badge-sign", "trouble"].map(color);
    return {form: form.join(" "), name, sign, box};
})()"""


@pytest.mark.parametrize("screen", SCREENS)
def test_the_badge_says_that_there_is_trouble_and_takes_it_back(
    screen: str, browser: Browser, tmp_path: Path
) -> None:
    with (
        made_items.scenes(tmp_path, "working") as laid,
        composed(browser, laid.address, screen) as page,
    ):
        assert not page.is_visible("#badge-sign")
        well = page.evaluate(LOOKS)
        laid.lay("trouble")
        wait_until(page, "document.documentElement.dataset.scene === 'trouble'")
        said = ("a trouble was noticed", "eine Störung wurde bemerkt", "הבחינו בתקלה")
        for language, words in zip(("en", "de", "he"), said, strict=True):
            in_language(page, language)
            assert page.inner_text("#badge-sign").strip() == words
            assert page.is_visible("#trouble")
        trouble = page.evaluate(LOOKS)
        assert trouble["form"] != well["form"]
        assert trouble["name"] != well["name"]  # not the green of what is well
        assert trouble["sign"] == trouble["box"]
        laid.lay("working")
        wait_until(page, "document.querySelector('#badge-sign').hidden")
        assert page.evaluate(LOOKS)["form"] == well["form"]


@pytest.mark.parametrize("screen", SCREENS)
def test_nothing_lies_on_what_is_said_of_a_closing_that_failed(
    screen: str, browser: Browser, tmp_path: Path
) -> None:
    wrong = {}
    with (
        held(tmp_path, CLOSING_FAILED, languages=LANGUAGES, machine_is="simulated", rate=20.0) as where,
        web_processes.live(where) as web,
        composed(browser, web.address, screen) as page,
    ):
        wait_until(page, "document.documentElement.dataset.scene === 'trouble'")
        for language in LANGUAGES:
            in_language(page, language)
            assert page.is_visible("#trouble")
            assert page.is_visible("#help")
            if found := [*page.evaluate(TEXTS), *page.evaluate(COVERED)]:
                wrong[language] = found
    assert wrong == {}
