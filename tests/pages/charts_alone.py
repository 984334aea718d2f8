"""A page that holds the charts alone, with made items, for tests and for looking at them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, Route

WEB = Path(__file__).resolve().parents[2] / "web"
ADDRESS = "http://charts.test/"
TYPES = {".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2", ".svg": "image/svg+xml"}
DOCUMENT = """<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Charts</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="stylesheet" href="/built/faces.css"><link rel="stylesheet" href="/shared/paper.css">
<link rel="stylesheet" href="/visitor/page.css">
<link rel="stylesheet" href="/charts/charts.css"></head><body><main></main></body></html>"""
LANGUAGES = ("en", "de", "he")

HEIGHTS = [0.63, 0.84, 1.55, 2.59, 3.74, 4.74, 5.33, 5.30, 4.60, 3.42, 2.09, 1.02]
HEIGHTS += [0.46, 0.52, 1.12, 2.10, 3.25, 4.34, 5.13, 5.39, 5.01, 4.06, 2.85, 1.73]
WATERS = [("low", 8 / 60, 0.62), ("high", 6 + 27 / 60, 5.40), ("low", 12 + 24 / 60, 0.42)]
WATERS += [("high", 18 + 55 / 60, 5.39)]
TIDE: dict[str, Any] = {
    "title": {"en": "Tomorrow’s tide", "de": "Die Gezeiten von morgen", "he": "הגאות והשפל מחר"},
    "across": {"from": 0, "to": 24, "every": 3, "words": {"en": "hour of the day", "de": "Stunde des Tages"}},
    "up": {"from": 0, "to": 6, "every": 1, "words": {"en": "metres", "de": "Meter", "he": "מטרים"}},
    "drawn_as": "water",
    "part": "console",
    "called": "",
    "marks": {
        "low-water": {"en": "Low water", "de": "Niedrigwasser", "he": "שפל"},
        "high-water": {"en": "High water", "de": "Hochwasser", "he": "גאות"},
    },
    "job_words": {"en": "works out the tides"},
}
"""What a recording says about the Whimbrel's chart (docs/whimbrel.md, section 7)."""


def wall(clock: str, date: str = "2026-11-25") -> str:
    """A time as the items give it."""
    return f"{date}T{clock}:00.000+01:00"


def tide(points: int = 24, marks: int = 4, worked: int | None = 24, **more: Any) -> dict[str, Any]:
    """The item of the chart, with so many of its values printed: 8 in each line."""
    return {
        "job": "3",
        "since": wall("10:24"),
        "seq": 90,
        "worked": worked,
        "worked_seq": 99,
        "points": [[x, y, 100 + x // 8] for x, y in enumerate(HEIGHTS[:points])],
        "marks": [
            {"line": f"{kind}-water", "x": x, "y": y, "label": "", "seq": 110 + n}
            for n, (kind, x, y) in enumerate(WATERS[:marks])
        ],
        "done": marks == 4,
        "until": "",
        "at": wall("10:28"),
        "round": 3,
        **more,
    }


def span(kind: str, since: str, until: str = "") -> dict[str, str]:
    """One span of the day."""
    return {"kind": kind, "from": since, "until": until, "outcome": "done" if until else ""}


def day(spans: list[dict[str, str]], coming: dict[str, str] | None = None, woken: str = "") -> dict[str, Any]:
    """The item of the day."""
    return {"spans": spans, "woken": woken, "next": coming}


SUMS = {"rounds": 14, "plots": {"tide": 14}, "transfers": 61284, "errors": 0}


def open_charts(page: Page, tag: str = "en") -> None:
    """Open the page and load the modules; `tag` is its language."""
    page.route("**/*", _answer)
    page.goto(ADDRESS)
    page.evaluate(
        """async (tag) => {
        const { loadWords } = await import("/shared/words.js");
        const { words } = await loadWords(tag);
        for (const name of ["plot", "day_line", "steps_line", "album", "sums"])
            Object.assign(window, await import(`/charts/${name}.js`));
        for (const face of ['400 20px "exhibit caption"', '700 20px "exhibit caption"'])
            await document.fonts.load(face);
        await document.fonts.load('400 20px "exhibit console"');
        document.documentElement.lang = tag;
        document.documentElement.dir = words.dir;
        window.look = (more) => ({ tag, words, live: true, past: false, small: false, ...more });
        window.holder = (width, height) => {
            const made = document.createElement("div");
            made.style.width = `${width}px`;
            if (height) made.style.height = `${height}px`;
            document.querySelector("main").append(made);
            return made;
        };
        }""",
        tag,
    )


def put(
    page: Page, kind: str, width: int, height: int | None, arguments: list[Any], look: dict[str, Any]
) -> None:
    """Put a chart of this kind on the page, alone, as `window.shown`."""
    page.evaluate(
        """([kind, width, height, args, more]) => {
        document.querySelector("main").replaceChildren();
        const part = (recording, name) => Object.assign(
            document.createElementNS("http://www.w3.org/2000/svg", "svg"), { id: `part-${name}` });
        window.shown = new window[kind](holder(width, height), part);
        window.shown.paint(...args, look(more)); }""",
        [kind, width, height, arguments, look],
    )


def paint(page: Page, arguments: list[Any], look: dict[str, Any] | None = None) -> None:
    """Paint what `put` put on the page anew."""
    page.evaluate("([args, more]) => window.shown.paint(...args, look(more))", [arguments, look or {}])


def _answer(route: Route) -> None:
    path = route.request.url.removeprefix(ADDRESS).partition("?")[0]
    file = WEB / path
    if not path:
        route.fulfill(body=DOCUMENT, content_type="text/html; charset=utf-8")
    elif path == "words/languages.js":
        body = f"export const LANGUAGES = {json.dumps(LANGUAGES)};"
        route.fulfill(body=body, content_type="text/javascript")
    elif file.is_file():
        kind = TYPES.get(file.suffix, "text/plain")
        route.fulfill(body=file.read_bytes(), content_type=f"{kind}; charset=utf-8")
    else:
        route.fulfill(status=404, body="")
