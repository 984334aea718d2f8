"""An excerpt as one HTML file, which any browser opens without a network, also in ten years.

The whole story stands in it as plain tables. The script only adds the screen, the line and a scrubber; it is
in the file, and the file's own policy forbids everything that isn't.
"""

from __future__ import annotations

import base64
import hashlib
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import msgspec

from exhibit import __version__
from exhibit.facts.kinds import RecordingOpened
from exhibit.output.printable import without_controls
from exhibit.records.excerpt.moment_words import WRONG
from exhibit.records.excerpt.span import Moment, Span, Step

Element = ElementTree.Element
_HERE: Final = Path(__file__).resolve().parent
_SPEEDS: Final = (("0.1", "a tenth"), ("1", "as it was"), ("10", "10 times"), ("100", "100 times"))
_HOW: Final = (
    "This file needs no network and nothing besides itself. What happened stands in the tables; the "
    "screen and the line, moment by moment, are in the element “data” as JSON. Each of “screens” is a "
    "time in milliseconds since the beginning, and the rows that changed then; each of “pieces” is the "
    "times of its first and last character, who typed it (nobody, if the machine sent it), and the "
    "characters, each of which represents the byte of its number; each of “steps” is its name, its "
    "beginning and its end."
)
_MARKS: Final = (
    "Marks: ▼ where something was wrong; a thin line where a step begins. Keys: space plays, the arrows go "
    "from moment to moment, Home and End to the ends."
)


def page_of(span: Span, about: str = "", begin_ms: int = 0) -> str:
    """The whole file. `about`: what it is about, in a sentence; `begin_ms`: which moment it shows first."""
    style, script = ((_HERE / name).read_text("utf-8") for name in ("page.css", "page.js"))
    root = Element("html", {"lang": "en"})
    head = _in(root, "head")
    _in(head, "meta", attributes={"charset": "utf-8"})
    _in(head, "meta", attributes={"http-equiv": "Content-Security-Policy", "content": _policy(style, script)})
    _in(head, "meta", attributes={"name": "viewport", "content": "width=device-width"})
    title = _title(span)
    _in(head, "title", title)
    _in(head, "style", style)
    body = _in(root, "body")
    _heading(body, span, title, about)
    main = _in(body, "main")
    _player(main, span)
    _steps(main, span.steps)
    _moments(main, span)
    _in(main, "h2", "How to read this file")
    _in(main, "p", _HOW)
    _in(main, "p", f"Made by exhibit {__version__} from the recording {span.file}.", {"class": "soft"})
    _in(body, "script", _data(span, begin_ms), {"id": "data", "type": "application/json"})
    _in(body, "script", script)
    text = ElementTree.tostring(root, encoding="unicode", method="html")
    return f"<!doctype html>\n{text}\n"


def _policy(style: str, script: str) -> str:
    """Nothing but this script and this style, and pictures that are in the file (W3C, CSP3)."""
    hashes = [base64.b64encode(hashlib.sha256(one.encode()).digest()).decode() for one in (style, script)]
    return (
        f"default-src 'none'; style-src 'sha256-{hashes[0]}'; script-src 'sha256-{hashes[1]}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _data(span: Span, begin_ms: int) -> str:
    told: dict[str, Any] = {
        "from_at": span.from_at,
        "length_ms": span.length_ms,
        "begin_ms": min(begin_ms, span.length_ms),
        "seven_bits": span.opened.eighth_bit != "data",
        "screens": [
            (ms, {name: part for name, part in changed.items() if name in ("rows", "cursor", "first_row")})
            for ms, changed in span.screens
        ],
        "pieces": [msgspec.structs.astuple(piece) for piece in span.pieces],
        "steps": [(step.name, step.from_ms, step.until_ms) for step in span.steps],
        "captions": [(one.ms, one.said) for one in span.moments if one.kind == "caption"],
    }
    # No character of it may end the element, or begin another one within it (HTML, 13.1.2.2).
    return msgspec.json.encode(told).decode().replace("<", "\\u003c")


def _title(span: Span) -> str:
    opened = span.opened
    name = opened.title.get(span.tag) or next(iter(opened.title.values()), opened.machine)
    return f"{name}, {span.from_at[:10]}, {span.from_at[11:19]} to {span.until_at[11:19]}"


def _heading(body: Element, span: Span, title: str, about: str) -> None:
    header = _in(body, "header")
    _in(header, "h1", title)
    if about:
        _in(header, "p", about, {"class": "about"})
    _in(header, "p", " ".join(_said_of(span.opened)))
    if span.damaged:
        _in(
            header,
            "p",
            "A part of the recording can’t be read here, so something is missing.",
            {"class": "about"},
        )
    noscript = _in(header, "noscript")
    _in(
        noscript,
        "p",
        "This browser runs no scripts: the tables below say what happened, without the moving screen.",
    )


def _said_of(opened: RecordingOpened) -> Iterable[str]:
    kind = "the simulated machine" if opened.machine_is == "simulated" else "the machine itself"
    yield f"This is a recording of {kind}, not live."
    if opened.rate != 1:
        yield f"Its clock ran {opened.rate:g} times as fast as real time; times here are real ones."
    if opened.typing == "nothing":
        yield "The machine was only watched."


def _player(main: Element, span: Span) -> None:
    box = _in(
        main, "section", attributes={"id": "player", "aria-label": "Moment by moment", "hidden": "hidden"}
    )
    controls = _in(box, "div", attributes={"class": "controls"})
    for name, text in (("play", "Play"), ("back", "Moment before"), ("on", "Next moment")):
        _in(controls, "button", text, {"id": name, "type": "button"})
    label = _in(controls, "label", "Speed")
    choice = _in(label, "select", attributes={"id": "speed"})
    for value, text in _SPEEDS:
        chosen = {"selected": "selected"} if value == "1" else {}
        _in(choice, "option", text, {"value": value, **chosen})
    _in(controls, "span", "", {"id": "time", "class": "number"})
    scrubber = {"id": "place", "type": "range", "min": "0", "step": "1", "aria-label": "Moment of the span"}
    _in(box, "input", attributes=scrubber)
    _marks(box, span)
    _in(box, "p", _MARKS, {"class": "soft"})
    panes = _in(box, "div", attributes={"class": "panes"})
    for name, heading, kind, inner in (
        ("the-screen", "The screen then", "pre", {"id": "screen"}),
        ("the-line", "The line then, the newest at the end", "ol", {"id": "wire", "class": "wire"}),
    ):
        pane = _in(panes, "div")
        _in(pane, "h2", heading, {"id": name})
        around = {"class": "scroll long", "tabindex": "0", "role": "region", "aria-labelledby": name}
        _in(_in(pane, "div", attributes=around), kind, attributes=inner)
    now = _in(box, "dl", attributes={"id": "now"})
    for name, heading in (("now-step", "Step"), ("now-said", "Last"), ("now-caption", "Caption")):
        _in(now, "dt", heading)
        _in(now, "dd", attributes={"id": name})


def _marks(box: Element, span: Span) -> None:
    """Under the scrubber: where steps begin, and where there was trouble."""
    svg = _in(
        box,
        "svg",
        attributes={
            "id": "marks",
            "viewBox": "0 0 1000 30",
            "preserveAspectRatio": "none",
            "aria-hidden": "true",
        },
    )
    length = max(1, span.length_ms)
    for step in span.steps:
        if step.from_ms is not None:
            x = f"{step.from_ms / length * 1000:.1f}"
            _in(svg, "line", attributes={"class": "step", "x1": x, "x2": x, "y1": "16", "y2": "30"})
    for one in span.moments:
        if one.kind in WRONG:
            at = one.ms / length * 1000
            _in(svg, "path", attributes={"class": "trouble", "d": f"M{at - 6:.1f} 0h12L{at:.1f} 14z"})


def _steps(main: Element, steps: list[Step]) -> None:
    _in(main, "h2", "Steps")
    if not steps:
        _in(main, "p", "No step ran in this span.")
        return
    rows = [
        (
            "before" if step.from_ms is None else _s(step.from_ms),
            step.name,
            "" if step.from_ms is None or step.until_ms is None else _s(step.until_ms - step.from_ms),
            step.ended or "its end is not in this span",
        )
        for step in steps
    ]
    table = _table(main, "Steps", ["Began after", "Step", "Took", "How it ended"])
    for row in rows:
        line = _in(table, "tr")
        for cell in row:
            _in(line, "td", cell)


def _moments(main: Element, span: Span) -> None:
    _in(main, "h2", "What happened")
    table = _table(main, "What happened", ["At", "After", "What", "", "Fact"])
    for one in span.moments:
        look = "wrong" if one.kind in WRONG else one.kind
        line = _in(table, "tr", attributes={"class": look, "data-ms": f"{one.ms}"})
        _in(line, "td", one.at[11:23], {"class": "number"})
        _in(line, "td", _s(one.ms), {"class": "number"})
        _in(line, "td", one.kind)
        said = _in(line, "td", one.said, {"class": "said"})
        if one.picture:
            _in(said, "img", attributes={"src": one.picture, "alt": f"The photograph of {_who(one)}"})
        _in(line, "td", f"{one.seq}", {"class": "number"})


def _who(one: Moment) -> str:
    return one.said.partition(":")[0]


def _table(main: Element, name: str, heads: list[str]) -> Element:
    around = {"class": "scroll long", "tabindex": "0", "role": "region", "aria-label": name}
    table = _in(_in(main, "div", attributes=around), "table")
    line = _in(_in(table, "thead"), "tr")
    for head in heads:
        if head:
            _in(line, "th", head, {"scope": "col"})
        else:
            _in(line, "td")
    return _in(table, "tbody")


def _s(ms: int) -> str:
    return f"{ms / 1000:.3f}\u00a0s"


def _in(at: Element, name: str, text: str = "", attributes: dict[str, str] | None = None) -> Element:
    inner = ElementTree.SubElement(
        at, name, {key: without_controls(value) for key, value in (attributes or {}).items()}
    )
    # The library doesn't escape these two, as HTML wants it.
    inner.text = text if name in ("style", "script") else without_controls(text)
    return inner
