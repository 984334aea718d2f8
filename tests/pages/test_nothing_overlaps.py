"""No text lies on another, on a drawn part, or beyond the edge, with all that can stand in a scene."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.made_items import LONGEST, SCENES, caption, wall
from tests.pages.pictures import HAS_PICTURE

SCREENS = {
    "landscape": ("?screen=landscape", (1920, 1080)),
    "portrait": ("?screen=portrait", (1080, 1920)),
    "phone": ("", (390, 844)),
}
TEXTS = r"""(() => {
    const visible = (rect, element) => {
        let {left, top, right, bottom} = rect;
        for (let one = element; one && one !== document.body; one = one.parentElement) {
            const style = getComputedStyle(one);
            if (style.clipPath.startsWith("inset")) return null;
            const clips = style.overflow !== "visible" && style.display !== "inline";
            if (!clips || one instanceof SVGElement) continue;
            const box = one.getBoundingClientRect();
            const [x, y] = [box.left + one.clientLeft, box.top + one.clientTop]; // what is inside its border
            [left, top] = [Math.max(left, x), Math.max(top, y)];
            [right, bottom] = [Math.min(right, x + one.clientWidth), Math.min(bottom, y + one.clientHeight)];
        }
        return right - left > 1 && bottom - top > 1 ? {left, top, right, bottom} : null;
    };
    const found = [];
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (texts.nextNode()) {
        const node = texts.currentNode;
        const element = node.parentElement;
        if (!node.data.trim() || element.closest("script, style, .ruler")) continue;
        if (!element.checkVisibility({visibilityProperty: true, opacityProperty: true})) continue;
        range.selectNodeContents(node);
        for (const rect of range.getClientRects()) {
            const ink = rect.height * 0.22; // above capitals and below most letters a line has nothing
            const [top, bottom] = [rect.top + ink, rect.bottom - ink];
            const whole = {left: rect.left, right: rect.right, top, bottom};
            const seen = visible(whole, element);
            if (seen) found.push({element, text: node.data.trim().slice(0, 40), whole, seen});
        }
    }
    const meet = (one, other) =>
        Math.min(one.right, other.right) - Math.max(one.left, other.left) > 1.5
        && Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > 1.5;
    const wrong = [];
    found.forEach(({element, text, seen}, n) => {
        for (const other of found.slice(n + 1)) {
            if (element.contains(other.element) || other.element.contains(element)) continue;
            if (meet(seen, other.seen)) wrong.push(`“${text}” and “${other.text}”`);
        }
    });
    const drawing = document.getElementById("drawing");
    const fronts = [...drawing.querySelectorAll(".outline")].map((one) => one.getBoundingClientRect());
    for (const {element, text, seen} of found) {
        const isOn = !drawing.contains(element) && fronts.some((box) => meet(seen, box));
        if (isOn) wrong.push(`“${text}” on a part`);
        if (seen.left < -1 || seen.right > innerWidth + 1) wrong.push(`“${text}” beyond the edge`);
    }
    if (document.documentElement.dataset.screen) {
        for (const {element, text, whole, seen} of found) {
            const cut = seen.right - seen.left < whole.right - whole.left - 1.5
                || seen.bottom - seen.top < whole.bottom - whole.top - 1.5;
            const half = seen.bottom - seen.top < whole.bottom - whole.top - 3;
            if (cut && (half || !element.closest(".row"))) wrong.push(`“${text}” is cut off`);
        }
    }
    return [...new Set(wrong)];
})()"""
"""Pairs of texts that lie on each other, as a list of sentences. Only what can be seen counts. A row of the
console may be longer than its sheet: it ends in an ellipsis."""

HINTS: dict[str, Any] = {
    "tell_tales": {
        "hum": {
            "kind": "sound",
            "part": "lower-drive",
            "state": "busy",
            "words": {
                "en": "You should hear the big drives hum.",
                "de": "Die großen Laufwerke sollten brummen.",
            },
            "lamps": "",
            "see_or_feel": {
                "en": "Or feel it: lay a hand on the rail in front of them. It trembles.",
                "de": "Oder fühlen Sie es: Legen Sie eine Hand auf das Geländer davor. Es zittert.",
            },
        }
    },
    "ahead": {
        "repaint": {
            "part": "console",
            "words": {
                "en": "The whole console is repainted. Watch it then, and look at what changes.",
                "de": "Die ganze Konsole wird neu beschrieben. Sehen Sie dann hin, was anders ist.",
            },
        }
    },
}
SAID: dict[str, Any] = {
    "tell_tales": [
        {
            "name": "hum",
            "confirmed": {"at": wall("09:10"), "by": "the simulated docent", "step": "x"},
            "until": wall("18:00"),
        }
    ],
    "ahead": [{"name": "repaint", "began": wall("09:10"), "due": wall("09:20")}],
}


def longest(language: str) -> str:
    """A caption as long as one may be, in middling words."""
    words = {"en": "Everything that stands here turns slowly", "de": "Die Laufwerke drehen sich ganz langsam"}
    text = f"{words[language]} {words[language].lower()}"
    return text[: LONGEST - 1].rstrip() + "."


NOTHING: dict[str, Any] = {"tell_tales": [], "ahead": [], "hands_on": None}
ASKED = {
    "words": {"en": "Turn the key at the processor cabinet to ON.", "de": "Drehen Sie den Schlüssel auf AN."},
    "caution": {"en": "Mains voltage behind the panels.", "de": "Netzspannung hinter den Blechen."},
    "at": wall("09:11"),
}


def full(scene: str) -> dict[str, Any]:
    """All at once that can stand in a scene."""
    more = {**SAID, "hands_on": ASKED if scene == "waking" else None}
    if SCENES[scene].get("caption"):
        part = SCENES[scene]["caption"]["part"]
        more["caption"] = caption(longest("en"), longest("de"), part)
    return more


@pytest.mark.parametrize("screen", SCREENS)
def test_no_text_lies_on_another_nor_on_a_part_nor_is_cut_off(
    screen: str, browser: Browser, tmp_path: Path
) -> None:
    query, (width, height) = SCREENS[screen]
    context = browser.new_context(viewport={"width": width, "height": height}, reduced_motion="reduce")
    page = context.new_page()
    wrong = {}
    with made_items.scenes(tmp_path, "working", recording=HINTS) as laid:
        page.goto(laid.address + query)
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        for scene in SCENES:
            for more in (NOTHING, full(scene)):
                laid.lay(scene, **more)
                settle(page, scene, more)
                for language in ("de", "he", "en"):
                    page.evaluate(f"document.querySelector('#languages button[lang={language}]').click()")
                    wait_until(page, f"document.documentElement.lang === {language!r}")
                    page.wait_for_timeout(150)
                    if found := page.evaluate(TEXTS):
                        wrong[f"{scene}, {language}{', full' if more['ahead'] else ''}"] = found
    context.close()
    assert wrong == {}


def settle(page: Page, scene: str, more: dict[str, Any]) -> None:
    wait_until(page, f"document.documentElement.dataset.scene === {scene!r}")
    wait_until(page, f"document.querySelector('#tell-tales').hidden === {str(not more['ahead']).lower()}")
    page.wait_for_timeout(150)
