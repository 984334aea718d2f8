"""The drawn switches and lamps: as many as there are, in groups, up and down told apart by shape."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree

import pytest

from exhibit.decisions.panel.drawing import PITCH, drawn
from exhibit.decisions.panel.positions import positions
from exhibit.facts.parts_and_cards import PanelAct

pytestmark = pytest.mark.pure
SVG = "{http://www.w3.org/2000/svg}"
VALUES = [
    (12, 3, "octal", "5263"),
    (16, 3, "octal", "152637"),
    (18, 3, "octal", "052637"),
    (22, 3, "octal", "15263741"),
    (24, 3, "octal", "14000200"),
    (36, 3, "octal", "123456701234"),
    (16, 4, "hex", "A0F3"),
    (22, 4, "hex", "2A0F3C"),
    (24, 4, "hex", "DEADBE"),
    (12, 6, "binary", "100110 010011"),
]


def act(count: int, group: int, base: str, value: str, kind: str = "set") -> PanelAct:
    at = positions(value, count, group, base)
    return PanelAct(act=kind, value=value, positions=at, by_switch=base == "binary")


@pytest.mark.parametrize(("count", "group", "base", "value"), VALUES)
def test_each_switch_stands_where_the_value_wants_it(count, group, base, value):
    svg = ElementTree.fromstring(drawn(act(count, group, base, value), "en"))
    slots, knobs = svg.findall(f"{SVG}rect"), svg.findall(f"{SVG}circle")
    assert len(slots) == len(knobs) == count
    assert all(int(slot.get("rx")) * 2 == int(slot.get("width")) for slot in slots)
    up = [
        int(knob.get("cy")) < int(slot.get("y")) + int(slot.get("height")) / 2
        for slot, knob in zip(slots, knobs, strict=True)
    ]
    number = int(value.replace(" ", ""), {"octal": 8, "hex": 16, "binary": 2}[base])
    assert up == [bit == "1" for bit in f"{number:0{count}b}"]
    assert [knob.get("fill") == "currentColor" for knob in knobs] == up
    left = [int(slot.get("x")) for slot in slots]
    gaps = [place for place in range(1, count) if left[place] - left[place - 1] > PITCH]
    assert gaps == [place for place in range(1, count) if (count - place) % group == 0]
    assert "".join(text.text for text in svg.findall(f"{SVG}text")) == value.replace(" ", "")


def test_there_is_one_neutral_colour():
    for kind in ("set", "lamps"):
        svg = ElementTree.fromstring(drawn(act(24, 3, "octal", "14000200", kind), "en"))
        colours = {element.get(key) for element in svg.iter() for key in ("fill", "stroke")}
        assert colours <= {"currentColor", "none", None}


def test_lamps_say_in_the_picture_itself_that_they_are_what_must_show():
    svg = ElementTree.fromstring(drawn(act(12, 3, "octal", "0000", "lamps"), "en"))
    first = svg.find(f"{SVG}text")
    assert first.text == "The lamps must now show 0000."
    width = float(svg.get("viewBox").split()[2])
    assert len(first.text) * int(first.get("font-size")) * 0.5 < width
    assert not svg.findall(f"{SVG}rect")


def test_the_words_instead_of_the_picture_say_which_are_up():
    svg = ElementTree.fromstring(drawn(act(12, 3, "octal", "5000"), "en"))
    assert svg.get("role") == "img"
    assert "the first and third switch of group 1" in svg.get("aria-label")


def test_nothing_is_drawn_for_a_key_or_for_more_than_any_machine_has():
    assert drawn(PanelAct(act="press", name="START"), "en") == ""
    assert drawn(PanelAct(act="set", positions="1" * 65), "en") == ""
    assert drawn(PanelAct(act="set", positions=" " * 10_000), "en") == ""
