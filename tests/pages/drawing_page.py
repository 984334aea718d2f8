"""A page with nothing but the drawing on it, under the rules of the real pages, told by hand what to show."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Page, Route

from exhibit.web.headers import HEADERS
from exhibit.web.website import TYPES
from tests.pages.browser import wait_until

WEB = Path(__file__).resolve().parents[2] / "web"
ADDRESS = "http://drawing.localhost/"

_HTML = """<!doctype html><html lang="en" dir="DIR"><meta charset="utf-8"><title>The drawing</title>
<link rel="stylesheet" href="/built/faces.css"><link rel="stylesheet" href="/shared/paper.css">
<link rel="stylesheet" href="/visitor/page.css">
<link rel="stylesheet" href="/drawing/drawing.css"><link rel="stylesheet" href="/here.css">
<main><h1>The drawing</h1><div id="drawing"></div><div id="album"></div></main>
<script type="module" src="/here.js"></script></html>"""
_CSS = """#drawing { position: relative; width: WIDTHpx; HEIGHT overflow: visible; }
#album { width: 400px; height: 380px; }"""
_JS = """
import { Machine } from "/drawing/machine.js";
import { partPicture } from "/drawing/part.js";
import { loadWords } from "/shared/words.js";
const words = {};
for (const tag of ["en", "de", "he"]) words[tag] = (await loadWords(tag)).words;
window.chosen = [];
window.machine = new Machine(document.getElementById("drawing"), (part) => window.chosen.push(part));
window.show = (recording, items, look) => {
  const tag = look.tag ?? "en";
  const usual = { spoken: "", trouble: false, size: "large", live: true, past: false, chosen: "" };
  machine.paint(recording, items, { tag, words: words[tag], ...usual, ...look });
};
window.picture = (recording, part, job) => {
  const made = partPicture(recording, part, { job, tag: "en", words: words.en });
  document.getElementById("album").replaceChildren(made);
};
// Everything that changed its place or its form between two moments, by what moves it.
window.moved = async (ms) => {
  const form = (s) => [s.transform, s.strokeDashoffset, s.opacity, s.translate, s.rotate].join();
  const elements = () => [...document.querySelectorAll("#drawing *")];
  const all = () => new Map(elements().map((one) => [one, form(getComputedStyle(one))]));
  const found = new Set();
  let before = all();
  for (let i = 0; i < ms / 100; i++) {
    await new Promise((done) => setTimeout(done, 100));
    const now = all();
    for (const [one, was] of before) if (now.has(one) && now.get(one) !== was) found.add(one);
    for (const one of now.keys()) if (!before.has(one)) found.add(one);
    before = now;
  }
  for (const one of document.getAnimations().map((a) => a.effect.target)) if (one.isConnected) found.add(one);
  for (const one of document.querySelectorAll("#drawing .moves")) found.add(one);
  const factOf = (one) => one.closest("[data-fact]")?.dataset.fact ?? "";
  return [...found].map((one) => ({ name: one.getAttribute("class") || one.localName, fact: factOf(one) }));
};
// Names have other widths once their faces are there, and all is drawn again.
const named = (weight) => ["caption", "console"].map((face) => `${weight} 16px "exhibit ${face}"`);
const faces = [400, 700].flatMap(named);
await Promise.all(faces.map((face) => document.fonts.load(face)));
window.ready = true;
"""


def part(
    shape: str, cabinet: str, width: int, height: int, openings: list[str], **more: Any
) -> dict[str, Any]:
    """A part as the recording tells it. An opening "gauge cut" is one that we cut into the drawing."""
    opened = [
        {"kind": words.split()[0], "real": not words.endswith(" cut"), "count": 0} for words in openings
    ]
    return {
        "shape": shape, "cabinet": cabinet, "width_cm": width, "height_cm": height, "state": "working",
        "joins": ["processor"], "plate": "", "openings": opened, "picture": "", **more,
    }  # fmt: skip


DRAWN = {
    "processor": part(
        "cabinet", "processor", 60, 175, ["lamps", "switches", "gauge cut", "core cut"],
        plate="WHIMBREL", joins=["small-drive", "upper-drive", "lower-drive", "console"],
    ),
    "small-drive": part("drive", "small-drive", 55, 95, ["disc"]),
    "upper-drive": part("drive", "big-drives", 80, 65, ["packs"], plate="UPPER"),
    "lower-drive": part("drive", "big-drives", 80, 65, ["packs"], plate="LOWER"),
    "console": part("desk", "console", 110, 115, ["screen"]),
}  # fmt: skip
NAMES = {
    "processor": {"en": "Processor", "de": "Rechnerschrank", "he": "מעבד"},
    "small-drive": {"en": "Small disc drive", "de": "Kleines Laufwerk", "he": "כונן קטן"},
    "upper-drive": {"en": "Upper disc drive", "de": "Oberes Laufwerk", "he": "כונן עליון"},
    "lower-drive": {"en": "Lower disc drive", "de": "Unteres Laufwerk", "he": "כונן תחתון"},
    "console": {"en": "Console", "de": "Konsole", "he": "מסוף"},
}
LOADS = {"book": {"part": "processor", "from_part": "upper-drive", "words": {"en": "It loads."}}}


def recording(drawn: dict[str, Any] = DRAWN) -> dict[str, Any]:
    """What the first fact tells."""
    return {
        "drawn": drawn,
        "parts": NAMES,
        "display": {"kind": "screen", "rows": 24, "columns": 80},
        "loads": LOADS,
    }


def marked(state: str, seq: int) -> dict[str, Any]:
    """What is known of a part that has marks."""
    return {"state": state, "since": "", "seq": seq}


def items(**changed: Any) -> dict[str, Any]:
    """All runs, a display stands, two jobs go on."""
    return {
        "line": {"state": "open"},
        "parts": {
            "processor": marked("runs", 10), "small-drive": marked("runs", 20),
            "upper-drive": marked("runs", 30), "lower-drive": marked("runs", 40),
        },
        "tested": {"processor": {"seq": 11, "at": ""}},
        "share": {"processor": {"value": 97, "at": "", "seq": 50}},
        "transfers": {
            "upper-drive": {"total": 55, "per_min": 31, "at": "", "seq": 51},
            "lower-drive": {"total": 1652, "per_min": 1217, "at": "", "seq": 52},
        },
        "jobs": [
            {"job": "1", "name": "SHUTTLE", "part": "lower-drive", "seq": 45},
            {"job": "2", "name": "SUMS", "part": "processor", "seq": 46},
        ],
        "loading": None,
        **changed,
    }  # fmt: skip


def unknown(**changed: Any) -> dict[str, Any]:
    """Nothing is known of anything any more."""
    parts = {name: marked("not known", 90) for name in list(DRAWN)[:4]}
    return items(parts=parts, tested={}, share={}, transfers={}, jobs=[], **changed)


class DrawingPage:
    """Opens the page, and tells it what to show."""

    def __init__(self, page: Page, size: str = "1040x592", direction: str = "ltr") -> None:
        self.page = page
        self.pictures: dict[str, tuple[str, bytes]] = {}
        self.complaints: list[str] = []
        width, _, height = size.partition("x")
        high = height and f"height: {height}px;"
        self._here = {
            "/": ("text/html; charset=utf-8", _HTML.replace("DIR", direction)),
            "/here.js": (TYPES[".js"], _JS),
            "/here.css": (TYPES[".css"], _CSS.replace("WIDTH", width).replace("HEIGHT", high)),
            "/words/languages.js": (TYPES[".js"], 'export const LANGUAGES = ["de", "en", "he"];'),
        }  # fmt: skip
        page.on("console", lambda said: self.complaints.append(f"{said.type}: {said.text}"))
        page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        page.route(f"{ADDRESS}**", self._answer)
        page.goto(ADDRESS)
        wait_until(page, "window.ready")

    def _answer(self, route: Route) -> None:
        path = urlsplit(route.request.url).path
        file = WEB / path[1:]
        if path in self._here:
            kind, text = self._here[path]
            route.fulfill(body=text, content_type=kind, headers={**HEADERS, "content-type": kind})
        elif path.removeprefix("/drawn/") in self.pictures:
            kind, content = self.pictures[path.removeprefix("/drawn/")]
            route.fulfill(body=content, headers={**HEADERS, "content-type": kind})
        elif file.is_file():
            kind = TYPES[file.suffix]
            route.fulfill(body=file.read_bytes(), headers={**HEADERS, "content-type": kind})
        else:
            route.fulfill(status=404, body="")

    def show(
        self,
        shown: dict[str, Any],
        drawn: dict[str, Any] = DRAWN,
        known: dict[str, Any] | None = None,
        **look: Any,
    ) -> None:
        """Paint these items."""
        told = json.dumps([known or recording(drawn), shown, look])
        # The recording keeps its identity from one painting to the next, as it does in the real page.
        self.page.evaluate(
            """(told) => { const [recording, items, look] = JSON.parse(told);
            const key = JSON.stringify(recording);
            if (key !== window.knownKey) { window.knownKey = key; window.known = recording; }
            show(window.known, items, look); }""",
            told,
        )

    def take(self, *pieces: dict[str, Any]) -> None:
        """These went along the console's cable."""
        self.page.evaluate("(pieces) => machine.take(pieces)", list(pieces))

    def moved(self, ms: int = 600) -> list[dict[str, str]]:
        """Everything that moved meanwhile, with the fact that it carries."""
        found: list[dict[str, str]] = self.page.evaluate("(ms) => moved(ms)", ms)
        return found

    def text(self) -> str:
        """The drawing in words."""
        return str(self.page.evaluate("machine.text()"))

    def all(self, expression: str, selector: str) -> list[Any]:
        """The expression of each element `one` that the selector finds within the drawing."""
        found: list[Any] = self.page.evaluate(
            f"[...document.querySelectorAll({json.dumps('#drawing ' + selector)})].map((one) => {expression})"
        )
        return found


def received(seq: int, count: int) -> dict[str, Any]:
    """A piece that the machine sent."""
    return {"seq": seq, "way": "received", "count": count, "text": "", "at": ""}


def typed(seq: int, text: str, count: int = 1) -> dict[str, Any]:
    """Letters that were typed; without letters, a secret."""
    return {"seq": seq, "way": "typed", "count": count, "text": text, "at": ""}
