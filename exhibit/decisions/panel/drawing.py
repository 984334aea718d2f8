"""Draws switches and lamps as SVG: the same for the desk's page and for the printed card.

A switch is a slot with a knob: at the top and filled if it is up, at the bottom and hollow if it is down. A
lamp is a ring, filled if it must be lit. All is drawn in the colour of the text around it.
"""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from typing import Final

from exhibit.decisions.panel.positions import figures
from exhibit.decisions.panel.sentences import in_words, what_to_do
from exhibit.facts.parts_and_cards import PanelAct

MOST: Final = 64
"""More switches than any machine has in a row; for more, nothing is drawn."""
PITCH: Final = 26
"""From one switch to the next. All lengths are in units of the drawing, which has no size of its own."""
GAP: Final = 18
EDGE: Final = 8
SLOT: Final = (18, 46)
LAMP_RADIUS: Final = 9
FIGURE: Final = 22
TITLE: Final = 20


def drawn(act: PanelAct, tag: str) -> str:
    """The picture of an act as the text of an SVG, with its words in this language; "" for a key."""
    groups = act.positions.split()
    count = sum(map(len, groups))
    if not 0 < count <= MOST or len(act.positions) > 2 * MOST:
        return ""
    lamps = act.act == "lamps"
    width = 2 * EDGE + count * PITCH + (len(groups) - 1) * GAP
    title = what_to_do(act, tag)
    top = EDGE
    # What is wanted of the lamps must not pass for what they show, so it can't be cut off the picture.
    if lamps:
        width = max(width, 2 * EDGE + round(len(title) * TITLE * 0.6))
        top += TITLE + EDGE
    high = 2 * LAMP_RADIUS + 4 if lamps else SLOT[1]
    height = top + high + EDGE + FIGURE + EDGE
    svg = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width} {height}",
            "class": "panel-lamps" if lamps else "panel-switches",
            "role": "img",
            "aria-label": f"{title} {in_words(act, tag)}",
            "fill": "none",
            "stroke": "currentColor",
            "stroke-width": "2",
        },
    )
    if lamps:
        _text(svg, EDGE, EDGE + TITLE - 4, title, TITLE, anchor="start")
    left = EDGE
    for bits, figure in zip(groups, figures(act), strict=True):
        for bit in bits:
            (_lamp if lamps else _switch)(svg, left + PITCH // 2, top, on=bit == "1")
            left += PITCH
        middle = left - len(bits) * PITCH // 2
        _under(svg, bits, figure, middle, top + high + EDGE, by_switch=act.by_switch)
        left += GAP
    return ElementTree.tostring(svg, encoding="unicode")


def _switch(svg: ElementTree.Element, middle: int, top: int, *, on: bool) -> None:
    wide, high = SLOT
    slot = {"x": middle - wide // 2, "y": top, "width": wide, "height": high, "rx": wide // 2}
    ElementTree.SubElement(svg, "rect", {name: f"{value}" for name, value in slot.items()})
    knob = {"cx": middle, "cy": top + wide // 2 if on else top + high - wide // 2, "r": wide // 2 - 4}
    shape = ElementTree.SubElement(svg, "circle", {name: f"{value}" for name, value in knob.items()})
    if on:
        shape.set("fill", "currentColor")


def _lamp(svg: ElementTree.Element, middle: int, top: int, *, on: bool) -> None:
    ring = {"cx": middle, "cy": top + LAMP_RADIUS + 2, "r": LAMP_RADIUS}
    shape = ElementTree.SubElement(svg, "circle", {name: f"{value}" for name, value in ring.items()})
    if on:
        shape.set("fill", "currentColor")


def _under(
    svg: ElementTree.Element, bits: str, figure: str, middle: int, top: int, *, by_switch: bool
) -> None:
    """Draws the figure beneath a group; in binary, one beneath each switch."""
    if not by_switch:
        _text(svg, middle, top + FIGURE - 4, figure, FIGURE)
        return
    left = middle - len(bits) * PITCH // 2 + PITCH // 2
    for place, bit in enumerate(bits):
        _text(svg, left + place * PITCH, top + FIGURE - 4, bit, FIGURE - 4)


def _text(svg: ElementTree.Element, x: int, y: int, text: str, size: int, *, anchor: str = "middle") -> None:
    written = {"x": f"{x}", "y": f"{y}", "font-size": f"{size}", "text-anchor": anchor}
    element = ElementTree.SubElement(svg, "text", {**written, "fill": "currentColor", "stroke": "none"})
    element.text = text
