"""A page to print on A4: one HTML file with nothing beside it, whose head comes again on each sheet."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from collections.abc import Iterable
from typing import Final

from exhibit.output.printable import without_controls

Element = ElementTree.Element
TYPED: Final = "\ue000"
"""Stands before and behind what is typed or shown on the console: a private character, which nobody types."""
_STYLE: Final = """
@page { size: A4; margin: 14mm 15mm 16mm }
* { box-sizing: border-box }
body { margin: 0 auto; max-width: 180mm; padding: 8mm 4mm; color: #16202b; background: #fff;
  font: 12pt/1.4 "Atkinson Hyperlegible", "Noto Sans", "DejaVu Sans", sans-serif }
table { border-collapse: collapse; width: 100% }
th, td { text-align: start; vertical-align: top; padding: 0 }
.head { border-bottom: 1.5pt solid; padding-bottom: 2mm }
.head p { margin: 0 }
.head strong { font-size: 13pt }
.head h1 { font-size: 10pt; font-weight: 400; line-height: 1.4; margin: 0 }
h2 { font-size: 15pt; line-height: 1.25; margin: 7mm 0 2mm; break-after: avoid }
h3 { font-size: 12pt; margin: 4mm 0 1mm; break-after: avoid }
p, ul, ol { margin: 0 0 2mm }
ul, ol { padding-inline-start: 7mm }
section.new { break-before: page }
.block { break-inside: avoid; border-top: .5pt solid #7a8590; padding: 2.5mm 0 1.5mm }
.number { font-weight: 700 }
.caution { border-inline-start: 2.5pt solid; padding-inline-start: 3mm; font-weight: 700 }
.typed { font-family: "DejaVu Sans Mono", monospace; font-size: 11pt }
.small { font-size: 10.5pt }
svg { display: block; width: 100%; height: auto; margin: 2mm 0 3mm; max-height: 34mm }
.rows th, .rows td { border-bottom: .5pt solid #7a8590; padding: 1.2mm 3mm 1.2mm 0;
  font-variant-numeric: tabular-nums }
@media print { body { padding: 0; max-width: none } }
"""
_DENSE: Final = """
@page { margin: 11mm 14mm }
body { font-size: 9.5pt; line-height: 1.25 }
h2 { font-size: 11pt; margin: 2.5mm 0 .5mm }
p, ul, ol { margin: 0 0 .8mm }
.small { font-size: 9pt }
.rows th, .rows td { padding: .4mm 3mm .4mm 0 }
"""
"""For a page that is to hold much; still no smaller than the print of a newspaper."""


class Sheet:
    """Builds the page. `head`: lines, each a name in bold and what follows it, that stand on each sheet.

    `dense`: smaller type, so that more fits on a sheet.
    """

    def __init__(
        self, title: str, language: str, head: Iterable[tuple[str, str]], *, dense: bool = False
    ) -> None:
        self._root = Element("html", {"lang": language})
        top = _inside(self._root, "head")
        _inside(top, "meta", attributes={"charset": "utf-8"})
        _inside(top, "meta", attributes={"name": "viewport", "content": "width=device-width"})
        _inside(top, "title", title)
        _inside(top, "style", f"{_STYLE}{_DENSE if dense else ''}")
        # The head of a table is what browsers print again on each sheet, with room kept for it.
        body = _inside(_inside(self._root, "body"), "main")
        table = _inside(body, "table", attributes={"role": "presentation"})
        cell = _inside(_inside(_inside(table, "thead"), "tr"), "td")
        box = _inside(cell, "div", attributes={"class": "head"})
        _inside(box, "h1", title)
        for name, words in head:
            line = _inside(box, "p")
            _inside(line, "strong", f"{name}: {words}")
        self._at = _inside(_inside(_inside(table, "tbody"), "tr"), "td")
        self._within = self._at

    def heading(self, text: str, level: int = 2) -> None:
        """A heading. Whatever was open before is closed."""
        self._within = self._at
        _inside(self._at, f"h{level}", text)

    def on_a_new_sheet(self, text: str) -> None:
        """A heading with which a new sheet of paper begins."""
        self._within = _inside(self._at, "section", attributes={"class": "new"})
        _inside(self._within, "h2", text)

    def block(self, *lines: tuple[str, str]) -> Element:
        """Lines that stay on one sheet, each with its class; empty ones are left out."""
        block = _inside(self._within, "div", attributes={"class": "block"})
        for kind, text in lines:
            if text:
                _inside(block, "p", text, {"class": kind} if kind else {})
        return block

    def lines(self, *lines: tuple[str, str]) -> None:
        """Lines outside any block."""
        for kind, text in lines:
            if text:
                _inside(self._within, "p", text, {"class": kind} if kind else {})

    def sentence(self, text: str) -> None:
        """A line in which what stands between `TYPED` marks is in typewriter letters."""
        line = _inside(self._within, "p", attributes={"class": "small"})
        first, *rest = text.split(TYPED)
        line.text = without_controls(first)
        for typed, after in zip(rest[::2], rest[1::2], strict=True):
            _inside(line, "span", typed, {"class": "typed"}).tail = without_controls(after)

    def listed(self, lines: Iterable[str], into: Element | None = None, *, numbered: bool = True) -> None:
        """A list, into a block if one is given."""
        at = _inside(self._within if into is None else into, "ol" if numbered else "ul")
        for line in lines:
            _inside(at, "li", line)

    def picture(self, svg: str, into: Element) -> None:
        """A drawing of our own, as the text of an SVG."""
        ElementTree.register_namespace("", "http://www.w3.org/2000/svg")
        into.append(ElementTree.fromstring(svg))

    def rows(self, heads: list[str], rows: Iterable[Iterable[str]]) -> None:
        """A table with a head for each column."""
        table = _inside(self._within, "table", attributes={"class": "rows"})
        line = _inside(_inside(table, "thead"), "tr")
        for head in heads:
            _inside(line, "th", head, {"scope": "col"})
        body = _inside(table, "tbody")
        for row in rows:
            line = _inside(body, "tr")
            for cell in row:
                _inside(line, "td", cell)

    def html(self) -> str:
        """The whole file."""
        return f"<!doctype html>\n{ElementTree.tostring(self._root, encoding='unicode', method='html')}\n"


def _inside(at: Element, name: str, text: str = "", attributes: dict[str, str] | None = None) -> Element:
    inner = ElementTree.SubElement(at, name, attributes or {})
    inner.text = text if name == "style" else without_controls(text)
    return inner
