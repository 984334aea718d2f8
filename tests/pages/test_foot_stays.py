"""On an upright screen the foot keeps its place, whatever stands above it: the middle gives way."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.made_items import SCENES, wall
from tests.pages.pictures import HAS_PICTURE
from tests.pages.test_nothing_overlaps import TEXTS
from tests.pages.test_screens import TALL

SCREENS = {
    "tall": TALL,
    "small": {**TALL, "width_cm": 29.9, "height_cm": 53.1, "lower_edge_cm": 90, "distance_cm": 200},
    "far": {**TALL, "distance_cm": 900},
}
SIZES = [("portrait", (1080, 1920)), ("small", (720, 1280)), ("far", (1080, 1920)), ("tall", (1200, 1920))]
CAUTION = {
    "en": "Spinning discs. Keep hands, hair, sleeves and lanyards away, and every lid closed until the disc "
    "has stopped. If it scrapes or smells, use the mains stop. ",
    "de": "Drehende Platten. Halten Sie Hände, Haare, Ärmel und Bänder fern und jede Klappe geschlossen, bis "
    "die Platte steht. Wenn es schleift oder riecht, drücken Sie den Notaus. ",
    "he": "דיסקים מסתובבים. הרחיקו ידיים, שיער ושרוולים, והשאירו כל מכסה סגור עד שהדיסק נעצר. ",
}
WORDS = {
    "en": "Start the LOWER drive. Confirm as soon as its lamp says STARTING and you hear it speed up.",
    "de": "Starten Sie das Laufwerk LOWER. Bestätigen Sie, sobald seine Lampe STARTING zeigt.",
    "he": "הפעילו את הכונן LOWER. אשרו ברגע שהנורה שלו מראה STARTING.",
}


def asked(times: int) -> dict[str, Any]:
    """A step by hand whose caution is this long."""
    caution = {tag: text * times for tag, text in CAUTION.items()}
    return {"step": "x", "words": WORDS, "caution": caution, "since": wall("09:11")}


FOOT = """["bar", "day-line", "phone-code"].map((id) => document.getElementById(id))
    .filter((one) => one.getClientRects().length).map((one) => {
        const { top, bottom } = one.getBoundingClientRect();
        return [one.id, Math.round(top), Math.round(bottom)];
    })"""


@pytest.mark.parametrize(("screen", "size"), SIZES)
def test_upright_nothing_pushes_the_foot_from_its_place(
    screen: str, size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.emulate_media(reduced_motion="reduce")
    moved, wrong = {}, {}
    with made_items.scenes(tmp_path, "waking", recording={"screens": SCREENS}) as laid:
        page.goto(f"{laid.address}?screen={screen}")
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        place = None
        for scene in SCENES:
            for times in (0, 1, 3):
                laid.lay(scene, recording={"screens": SCREENS}, hands_on=asked(times) if times else None)
                wait_until(page, f"document.documentElement.dataset.scene === {scene!r}")
                wait_until(page, f"document.querySelector('#hands-on').hidden === {str(not times).lower()}")
                for language in ("de", "he", "en"):
                    page.evaluate(f"document.querySelector('#languages button[lang={language}]').click()")
                    wait_until(page, f"document.documentElement.lang === {language!r}")
                    if times:
                        again = (
                            f"document.querySelector('#hands-on').textContent.split({CAUTION[language]!r})"
                        )
                        wait_until(page, f"{again}.length === {times + 1}")
                    page.wait_for_timeout(150)
                    foot = page.evaluate(FOOT)
                    place = place or foot
                    if foot != place or foot[0][2] > size[1]:
                        moved[f"{scene}, {language}, {times}"] = foot
                    if (
                        times
                        and scene in ("waking", "working", "looking inside")
                        and (found := page.evaluate(TEXTS))
                    ):
                        wrong[f"{scene}, {language}, {times}"] = found
    assert (moved, wrong) == ({}, {})
