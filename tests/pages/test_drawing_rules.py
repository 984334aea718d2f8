"""The drawing's own rules: how much passes a place in a second, where things stand, what is said."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.pages.drawing_page import DRAWN, items, unknown
from tests.pages.in_node import value_of

Ask = Callable[[dict[str, str], str], Any]
MOST_A_SECOND = 3
"""WCAG 2.3.1: no more than three flashes in any one second."""


@pytest.fixture
def ask(needs: Any) -> Ask:
    return lambda modules, expression: value_of(needs.node(), "drawing", modules, expression)


def test_nothing_passes_a_place_on_the_cable_more_than_three_times_a_second(ask: Ask) -> None:
    # The worst: more is received and typed at each step than can ever be shown.
    begun, crossing, apart, ticks = ask(
        {"traffic": "Traffic, CROSSING, APART, MOST_TICKS"},
        """(() => { const traffic = new Traffic(); const begun = [];
        for (let tick = 0; tick < 300; tick++) {
          traffic.take([{ way: "received", count: 96, seq: 1, text: "" }]);
          traffic.take([{ way: "typed", count: 9, seq: 2, text: "ABCDEFGHI" }]);
          const piece = traffic.step(tick);
          if (piece) begun.push([tick, piece.way, piece.count]);
        } return [begun, CROSSING, APART, MOST_TICKS]; })()""",
    )
    ways = {way for _, way, _ in begun}
    assert ways == {"received", "typed"}
    # A row covers a place once: ticks stand where ticks stood, and a step is longer than a word.
    starts = [tick for tick, *_ in begun]
    for first in range(280):
        assert sum(first <= tick < first + 10 for tick in starts) <= MOST_A_SECOND
    on_cable = max(sum(0 <= at - tick < crossing[way] for tick, way, _ in begun) for at in range(300))
    assert on_cable <= 3
    letters = sum(count for tick, way, count in begun if way == "typed")
    assert letters / 30 <= 8


def test_a_row_of_ticks_moves_by_whole_ticks_so_that_no_place_flickers_beneath_it(ask: Ask) -> None:
    steps = ask(
        {"track": "tickPitch"},
        "[60, 150, 236, 400, 700].map((length) => [length / 12, tickPitch(length / 12)])",
    )
    for step, pitch in steps:
        assert step / pitch == pytest.approx(round(step / pitch))
        assert 2 <= pitch <= 6


def test_the_marks_of_a_rim_pass_a_place_less_than_three_times_a_second(ask: Ask) -> None:
    marks, steps, frames = ask({"living": "MARKS, TURN_STEPS, FRAMES"}, "[MARKS, TURN_STEPS, FRAMES]")
    assert marks / (steps / 10) < MOST_A_SECOND
    assert steps / marks == frames == round(frames)
    assert steps == 80  # a turn in 8 s


@pytest.mark.parametrize("per_min", [1, 59, 60, 1217, 50_000, 2_000_000])
def test_arms_and_marks_of_all_drives_together_stroke_at_most_twice_a_second(ask: Ask, per_min: int) -> None:
    transfers = {name: {"per_min": per_min} for name in ("a", "b", "c")}
    scale = ask({"states": "scaleOf"}, f"scaleOf({json.dumps(transfers)})")
    assert 3 * per_min / 60 / scale <= 2 or scale == 10_000
    assert scale == 1 or 3 * per_min / 60 / scale > 0.3  # no coarser than it must be


@pytest.mark.parametrize(
    ("width", "height", "size"),
    [
        (1040, 592, "large"),
        (1792, 592, "row"),
        (968, 670, "large"),
        (460, 380, "small"),
        (358, 0, "large"),
        (320, 0, "large"),
    ],
)
def test_the_row_fits_its_holder_and_no_part_another(ask: Ask, width: int, height: int, size: str) -> None:
    laid = ask(
        {"layout": "layout"},
        f"layout({json.dumps(DRAWN)}, {{widthPx: {width}, heightPx: {height}, size: '{size}'}})",
    )
    scale = laid["pxPerCm"]
    assert laid["width"] * scale <= width + 0.5
    assert not height or laid["height"] * scale <= height + 0.5
    cabinets = laid["cabinets"]
    for one, following in zip(cabinets, cabinets[1:], strict=False):
        assert one["x"] + one["w"] + 9 < following["x"]
    assert cabinets[-1]["x"] + cabinets[-1]["w"] + 9 <= laid["width"]
    assert laid["text"] is (width > 900)
    assert laid["lamps"] is (scale >= 1)
    assert laid["words"] is (size == "row")


def test_cables_lie_on_the_floor_and_lead_from_the_processor(ask: Ask) -> None:
    laid, found = ask(
        {"layout": "layout, cables"},
        f"((laid) => [laid, cables(laid)])(layout({json.dumps(DRAWN)}, {{widthPx: 1040, heightPx: 592}}))",
    )
    assert found["hub"] == "processor"
    assert [(way["kind"], way["to"]) for way in found["ways"]] == [
        ("disc", "small-drive"), ("disc", "upper-drive"), ("disc", "lower-drive"), ("console", "console"),
    ]  # fmt: skip
    for way in found["ways"]:
        assert way["depth"] > laid["floor"]
        assert way["x1"] < way["x2"]


def test_every_opening_lies_within_its_part_whatever_its_shape_and_size(ask: Ask) -> None:
    plans = ask(
        {"front_plan": "frontPlan"},
        """(() => { const found = [];
        const shapes = ["cabinet", "drive", "desk", "terminal", "printer", "chest", "tape", "something else"];
        const openings = [["disc"], ["packs"], ["gauge", "core"], ["screen"], ["paper"], ["tape"], [],
          ["lamps", "switches", "gauge", "core", "disc"]];
        for (const shape of shapes) for (const kinds of openings)
          for (const [w, h] of [[60, 175], [55, 95], [80, 65], [110, 115], [60, 100]]) {
            const opened = kinds.map((kind) => ({ kind, real: kind !== "gauge", count: 0 }));
            const plan = frontPlan({ shape, w, h, plate: "NAME", openings: opened });
            found.push({ shape, kinds, w, h, plan });
          }
        return found; })()""",
    )
    assert len(plans) == 8 * 8 * 5
    for one in plans:
        said = (one["shape"], one["kinds"], one["w"], one["h"])
        for window in one["plan"]["windows"]:
            assert window["w"] > 0, said
            assert window["x"] >= -1, said
            assert window["x"] + window["w"] <= one["w"] + 1, said
            assert window["y"] + window["h"] <= one["h"] + 1, said


def said_of(ask: Ask, shown: dict[str, Any], **look: Any) -> dict[str, str]:
    words = "new Proxy({}, { get: (_, name) => [name, `was ${name}`] })"
    said = (
        f"{{ states: {words}, busy: (n) => `busy ${{n}}`, busyThen: (n) => `was busy ${{n}}`, "
        "busyUnknown: 'busy?', trouble: 'trouble', troubleThen: 'had' }"
    )
    told = ask(
        {"states": "partNow, stateWords"},
        f"""((drawn, items, look) => Object.entries(drawn).map(([name, part]) =>
        [name, stateWords(partNow(name, part, items), part, {{ words: {{ drawing: {said}, states: {{}} }},
        live: true, past: false, trouble: false, printing: null, lost: false, waking: false, ...look }})]))
        ({json.dumps(DRAWN)}, {json.dumps(shown)}, {json.dumps(look)})""",
    )
    return {name: words["text"] for name, words in told}


def test_each_state_has_its_words_and_what_is_not_known_says_so(ask: Ask) -> None:
    assert said_of(ask, items()) == {
        "processor": "busy 97",
        "small-drive": "turning",
        "upper-drive": "used",
        "lower-drive": "used",
        "console": "",
    }
    assert said_of(ask, items(share={}))["processor"] == "busy?", "its gauge shows a question mark"
    assert said_of(ask, items(share={}), live=False)["processor"] == "atWork"
    assert said_of(ask, items(share={}, jobs=[]), live=False)["processor"] == "on"
    assert said_of(ask, items(share={}), waking=True)["processor"] == "tested"
    assert set(said_of(ask, unknown()).values()) == {"unknown", ""}
    assert said_of(ask, items(), past=True)["small-drive"] == "was turning"
    stands = {
        **items()["parts"],
        "small-drive": {"state": "stands", "seq": 9},
        "processor": {"state": "stands", "seq": 9},
    }
    found = said_of(ask, unknown() | {"parts": stands})
    assert (found["small-drive"], found["processor"]) == ("still", "off")
    assert said_of(ask, items(), printing=True, lost=True)["console"] == "lost"
    assert said_of(ask, items(), printing=False, live=False)["console"] == "unknown"


def test_a_part_that_is_off_has_no_tested_memory_whatever_was_found_before(ask: Ask) -> None:
    shown = {**items(), "tested": {"processor": {"seq": 7}}}
    tested = "((part, items) => partNow('processor', part, items).testedSeq)"
    for state, seq in (("runs", 7), ("not known", 7), ("stands", 0)):
        parts = {"processor": {"state": state, "seq": 9}}
        given = f"{json.dumps(DRAWN['processor'])}, {json.dumps({**shown, 'parts': parts})}"
        assert ask({"states": "partNow"}, f"{tested}({given})") == seq


def test_the_longest_words_have_room_beside_or_under_each_name(ask: Ask) -> None:
    # Every letter as wide as the widest: whatever is written fits, or stands on lines of its own.
    plan, laid = ask(
        {"names": "planNames", "layout": "layout"},
        f"""((laid) => [planNames(laid.cabinets, (part) => "x".repeat(16), () => "y".repeat(14),
        (text, size) => text.length * size * 0.55, false), laid])
        (layout({json.dumps(DRAWN)}, {{widthPx: 1040, heightPx: 592}}))""",
    )
    assert plan["size"] >= 9
    assert plan["lines"] >= 2
    for cabinet, one in zip(laid["cabinets"], plan["plans"], strict=True):
        if one["kind"] == "plates":
            assert (5 + 1 + 14) * plan["size"] * 0.55 <= cabinet["room"]
        elif one["kind"] == "lines":
            assert (16 + 1 + 14) * plan["size"] * 0.55 <= cabinet["room"]


def test_tags_hang_where_there_is_room_and_never_over_each_other(ask: Ask) -> None:
    jobs = [
        {"job": str(n), "name": "EXERCISE", "part": name, "seq": n}
        for n, name in enumerate([*DRAWN, "", "", ""], 1)
    ]
    placed, cabinets = ask(
        {"tags": "placeTags, targetOf", "layout": "layout"},
        f"""((laid, jobs) => [placeTags(jobs, laid,
        new Map(laid.places.map((one) => [one.name, targetOf(one, [])])), () => 78), laid.cabinets])
        (layout({json.dumps(DRAWN)}, {{widthPx: 1040, heightPx: 592}}), {json.dumps(jobs)})""",
    )
    assert len(placed) >= 3
    solid = [*placed, *cabinets]
    for i, one in enumerate(placed):
        for other in solid[i + 1 :]:
            assert (
                one["x"] + one["w"] <= other["x"]
                or other["x"] + other["w"] <= one["x"]
                or one["y"] + one["h"] <= other["y"]
                or other["y"] + other["h"] <= one["y"]
            )


def test_a_typed_secret_is_one_box_and_a_control_character_a_dot(ask: Ask) -> None:
    rows = ask(
        {"traffic": "Traffic"},
        """((traffic) => { traffic.take([{ way: "typed", seq: 5, count: 8, text: "" }]);
        traffic.take([{ way: "typed", seq: 6, count: 1, text: "\\r" }]);
        return [traffic.step(10), traffic.step(11)]; })(new Traffic())""",
    )
    assert rows[0]["letters"] == ["", "·"]
    assert rows[0]["seq"] == 6
    assert rows[1] is None
