"""Reads off a page what it shows, so that two pages can be compared."""

from __future__ import annotations

import difflib
from typing import Any

from playwright.sync_api import Page

from tests.pages.browser import wait_until

_SHOWN = """(() => {
    const copy = document.createElement("div");
    for (const one of document.querySelectorAll("main, dialog")) copy.append(one.cloneNode(true));
    // Pictures: what they state. How they state it differs: only what is live moves and has present words.
    const stated = (picture, facts) => {
        const found = copy.querySelector(picture);
        const shown = document.querySelector(picture);
        found.replaceChildren(JSON.stringify(shown.hidden ? null : facts(shown)));
        for (const { name } of [...found.attributes]) {
            if (name !== "id" && name !== "hidden") found.removeAttribute(name);
        }
    };
    stated("#drawing", (one) => [...one.querySelectorAll("g[data-part]")].map((part) =>
        [part.dataset.part, part.dataset.state, part.classList.contains("runs"), part.dataset.fact ?? ""]));
    const all = (one, what) => [...one.querySelectorAll(what)];
    // Points that have been printed are drawn one after the other while it is live, so they aren't counted.
    stated("#chart", (one) => all(one, ".plot-list li").map((point) => point.textContent));
    stated("#day-line", (one) => all(one, ".span").map((span) => span.getAttribute("class")));
    stated("#steps", (one) => [one.querySelectorAll("i.done").length, one.textContent]);
    for (const one of copy.querySelectorAll("#few, #hands-on")) one.remove(); // stand only while it is so now
    for (const one of copy.querySelectorAll("[hidden]")) one.remove(); // may hold what was shown before
    const tensed = "#drawing-text, #chart-text, #day-text, #sums caption";
    for (const one of copy.querySelectorAll(tensed)) one.remove();
    for (const one of copy.querySelectorAll(".gloss")) one.remove(); // only where there is room
    for (const one of copy.querySelectorAll("[data-tense]")) one.remove(); // "is" live, "was" recorded
    for (const aside of copy.querySelectorAll("[data-aside]")) aside.remove(); // what a visitor chose
    for (const element of copy.querySelectorAll("*")) {
        element.classList.remove("arriving");
        if (!element.classList.length) element.removeAttribute("class");
        element.removeAttribute("style");
        for (const measured of ["data-key", "data-over", "data-glosses"]) element.removeAttribute(measured);
    }
    const story = copy.querySelector("#story");
    return {
        seq: Number(document.documentElement.dataset.seq),
        stream: document.documentElement.dataset.stream,
        kind: story.dataset.kind,
        all: copy.innerHTML,
        text: copy.textContent,
        besides: (story.remove(), copy.innerHTML),
    };
})()"""


def shown(page: Page) -> dict[str, Any]:
    """What the page shows besides badge, notice and controls: text, classes, order, and at which fact."""
    value = page.evaluate(_SHOWN)
    assert isinstance(value, dict)
    return value


def shown_at(page: Page, seq: int) -> dict[str, Any]:
    """The same, once the page has come to fact `seq`."""
    wait_until(page, f"document.documentElement.dataset.seq === '{seq}'")
    return shown(page)


def go_to(page: Page, seq: int) -> dict[str, Any]:
    """Seek by the page's own controls. Scenes change at a cut, so nothing is read before it has changed."""
    page.emulate_media(reduced_motion="reduce")
    stream = page.evaluate("document.documentElement.dataset.stream")
    page.evaluate(
        """(seq) => {
            document.querySelector("#fact").value = seq;
            document.querySelector("#go-to-fact").requestSubmit();
        }""",
        seq,
    )
    wait_until(page, f"document.documentElement.dataset.stream !== {stream!r}")
    return shown_at(page, seq)


def differences(live: dict[str, Any], replayed: dict[str, Any]) -> list[str]:
    """The pieces that aren't alike to the letter, but that a replay doesn't say "look or listen"."""
    what = "all"
    if live["kind"] == "look or listen for":
        what = "besides"
        if replayed["kind"] == live["kind"]:
            return [f"both say {live['kind']}"]
    pieces = (one[what].replace(">", ">\n").splitlines() for one in (live, replayed))
    return [line for line in difflib.ndiff(*pieces) if not line.startswith(" ")]


def assert_same(live: dict[str, Any], replayed: dict[str, Any], seq: int) -> None:
    """Both show the same at fact `seq`; if they don't, the test says where."""
    found = differences(live, replayed)
    assert not found, f"fact {seq}, - live, + replayed:\n" + "\n".join(found)
