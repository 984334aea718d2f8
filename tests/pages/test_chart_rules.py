"""The charts' own rules: the line, when a point is drawn, where labels go, what the day's line covers."""

from __future__ import annotations

import itertools
import json
import random
from collections.abc import Callable
from typing import Any

import pytest

from tests.pages.in_node import value_of

Ask = Callable[[dict[str, str], str], Any]


@pytest.fixture
def ask(needs: Any) -> Ask:
    return lambda modules, expression: value_of(needs.node(), "charts", modules, expression)


CURVE = {"curve": "runs, slopes, heightAt"}
TIDE = [0.63, 0.84, 1.55, 2.59, 3.74, 4.74, 5.33, 5.30, 4.60, 3.42, 2.09, 1.02, 0.46, 0.52, 1.12, 2.10]


def test_the_line_between_two_points_never_leaves_the_heights_of_the_two(ask: Ask) -> None:
    points = [[x, y, 1] for x, y in enumerate(TIDE)]
    between = ask(
        CURVE,
        f"""(([run]) => {{ const at = slopes(run); const found = [];
        for (let x = 0; x <= {len(TIDE) - 1}; x += 0.05) found.push([x, heightAt(run, at, x)]);
        return found; }})(runs({json.dumps(points)}))""",
    )
    for x, height in between:
        here = TIDE[int(x) : int(x) + 2]
        assert min(here) - 1e-9 <= height <= max(here) + 1e-9, (x, height, here)


def test_a_top_stays_flat_until_its_turning_point_is_printed(ask: Ask) -> None:
    shown = """(points) => { const [run] = runs(points); const at = slopes(run);
        return Math.max(...Array.from({length: 41}, (_, n) => heightAt(run, at, 6 + n / 40))); }"""
    points = [[5, 4.74, 1], [6, 5.33, 1], [7, 5.30, 1], [8, 4.6, 1]]
    with_turn = [*points, [6.45, 5.40, 2]]
    assert ask(CURVE, f"[{json.dumps(points)}, {json.dumps(with_turn)}].map({shown})") == [5.33, 5.40]


def test_no_line_crosses_a_value_that_came_garbled(ask: Ask) -> None:
    points = [[0, 1, 1], [1, 2, 1], [2, None, 1], [3, 2, 1], [4, 1, 1]]
    pieces = ask(CURVE, f"runs({json.dumps(points)})")
    assert [[x for x, _, _ in piece] for piece in pieces] == [[0, 1], [3, 4]]


QUEUE = {"queue": "Queue"}


def drawn(ask: Ask, steps: list[tuple[Any, ...]]) -> list[int]:
    """How many entries are drawn after each step: (now_ms, seqs) or (now_ms, seqs, options)."""
    return ask(
        QUEUE,
        f"""{json.dumps(steps)}.reduce(([queue, found], [now, seqs, options]) =>
        [queue, [...found, queue.take("job", seqs, now, options ?? {{}})]], [new Queue(), []])[1]""",
    )


def test_points_are_drawn_a_quarter_of_a_second_apart_and_never_before_they_are_printed(ask: Ask) -> None:
    three = [7, 7, 7]
    assert drawn(ask, [(0, []), (1000, three), (1100, three), (1250, three), (9000, three)]) == [
        0,
        1,
        1,
        2,
        3,
    ]
    assert drawn(ask, [(0, []), (0, [7]), (60_000, [7, 8, 8]), (60_100, [7, 8, 8])]) == [0, 1, 2, 2]


def test_points_keep_up_with_a_clock_that_runs_faster(ask: Ask) -> None:
    fast = {"rate": 5}
    assert drawn(ask, [(0, [], fast), (0, [7] * 4, fast), (100, [7] * 4, fast)]) == [0, 1, 3]


def test_a_page_that_comes_late_sees_all_that_was_printed_at_once(ask: Ask) -> None:
    assert drawn(ask, [(0, [7] * 24)]) == [24]
    assert drawn(ask, [(0, [7] * 8)]) == [1]
    assert drawn(ask, [(0, [7] * 3, {"atOnce": True})]) == [3]


def test_without_movement_a_whole_line_appears_together(ask: Ask) -> None:
    assert drawn(ask, [(0, [], {"wholeLines": True}), (9, [7, 7, 7, 8, 8], {"wholeLines": True})]) == [0, 3]


def test_what_is_withdrawn_is_no_longer_drawn(ask: Ask) -> None:
    assert drawn(ask, [(0, []), (0, [7, 7, 8]), (9000, [7, 7, 8]), (9001, [7])]) == [0, 1, 3, 1]


def test_labels_never_collide_and_never_leave_the_frame(ask: Ask) -> None:
    dice = random.Random(12)
    cases = []
    for _ in range(300):
        width, height = dice.uniform(150, 1200), dice.uniform(120, 600)
        labels = [
            {
                "x": dice.uniform(0, width),
                "y": dice.uniform(0, height),
                "width": dice.uniform(20, 160),
                "height": 40,
            }
            for _ in range(dice.randint(1, 6))
        ]
        ground = [
            {"left": x, "right": x + 12, "top": dice.uniform(height / 3, height), "bottom": height}
            for x in range(0, int(width), 12)
        ]
        cases.append([labels, {"left": 0, "top": 0, "right": width, "bottom": height}, ground])
    placed = ask({"labels": "placeLabels"}, f"{json.dumps(cases)}.map((one) => placeLabels(...one))")
    assert sum(boxes is not None for boxes in placed) > 60
    for (labels, frame, ground), boxes in zip(cases, placed, strict=True):
        for box in boxes or []:
            assert frame["left"] <= box["left"]
            assert box["right"] <= frame["right"]
            assert frame["top"] <= box["top"]
            assert box["bottom"] <= frame["bottom"]
        for one, other in itertools.combinations([*(boxes or [])], 2):
            assert not overlap(one, other)
        for box, other in itertools.product(boxes or [], ground):
            assert not overlap(box, other)
        for label, box in zip(labels, boxes or [], strict=False):
            assert box["left"] - 1 <= label["x"] <= box["right"] + 1, "its upright line would miss it"


def overlap(a: dict[str, float], b: dict[str, float]) -> bool:
    return (
        a["left"] < b["right"]
        and b["left"] < a["right"]
        and a["top"] < b["bottom"]
        and b["top"] < a["bottom"]
    )


def test_labels_in_a_row_never_collide_and_never_leave_it(ask: Ask) -> None:
    dice = random.Random(5)
    cases = []
    for _ in range(500):
        width = dice.uniform(100, 1792)
        labels = [
            {
                "x": dice.uniform(0, width),
                "width": dice.uniform(30, 300),
                "at": dice.choice(["start", "middle", "end"]),
            }
            for _ in range(4)
        ]
        cases.append([labels, 0, width, 10, dice.choice([60, 5000])])
    placed = ask({"labels": "placeInRow"}, f"{json.dumps(cases)}.map((one) => placeInRow(...one))")
    for (labels, _, width, gap, _), starts in zip(cases, placed, strict=True):
        spans = sorted(
            (start, start + one["width"])
            for one, start in zip(labels, starts, strict=True)
            if start is not None
        )
        assert all(start >= -1 and end <= width + 1 for start, end in spans)
        assert all(next_start - end >= gap - 1.5 for (_, end), (next_start, _) in itertools.pairwise(spans))
        if labels[0]["width"] <= width:
            assert starts[0] is not None, "the most important label always finds room"


SCALES = {"scales": "covering, decimals, steps, clockText, writtenEvery"}


def test_an_axis_grows_by_whole_marks_to_hold_a_value_outside_it(ask: Ask) -> None:
    axis = '{"from": 0, "to": 6, "every": 1}'
    assert ask(SCALES, f"covering({axis}, [6.4, -0.2])") == {"from": -1, "to": 7}
    assert ask(SCALES, f"covering({axis}, [3])") == {"from": 0, "to": 6}


def test_heights_are_written_as_exactly_as_they_were_printed(ask: Ask) -> None:
    assert ask(SCALES, "[decimals([5.4, 5.39]), decimals([5, 6])]") == [2, 0]
    assert ask(SCALES, "[clockText(6.45), clockText(18 + 55 / 60)]") == ["06:27", "18:55"]


DAY = {"day_axis": "dayRange, doors, gathered, minuteText, nextOf, nowMs, spansOf, wallMs"}
HOURS = '{"every_day": {"opens": "10:00", "closes": "16:30"}}'


def at(clock: str, date: str = "2026-11-25") -> str:
    return f"{date}T{clock}:00.000+01:00"


def span(kind: str, since: str, until: str) -> dict[str, str]:
    return {"kind": kind, "from": since, "until": until, "outcome": ""}


def range_of(ask: Ask, day: dict[str, Any], hours: str, now: str) -> list[str]:
    return ask(
        DAY,
        f"""((r) => [r.from, r.to].map((ms) => new Date(ms).toISOString().slice(8, 16)))(
        dayRange({json.dumps(day)}, {hours}, wallMs({json.dumps(now)})))""",
    )


def test_the_day_reaches_from_an_hour_before_the_doors_open_to_an_hour_after_they_close(ask: Ask) -> None:
    assert range_of(ask, {"spans": []}, HOURS, at("12:00")) == ["25T09:00", "25T18:00"]
    early = {"spans": [span("opening", at("07:40"), at("08:10"))]}
    assert range_of(ask, early, HOURS, at("12:00")) == ["25T07:00", "25T18:00"]
    assert range_of(ask, {"spans": []}, HOURS, at("19:10")) == ["25T09:00", "25T20:00"]


def test_without_hours_the_day_reaches_as_far_as_what_was_done(ask: Ask) -> None:
    day = {"spans": [span("round", at("10:05"), at("10:15"))]}
    assert range_of(ask, day, "null", at("11:20")) == ["25T10:00", "25T12:00"]


def test_a_day_may_cross_midnight(ask: Ask) -> None:
    day = {"spans": [span("round", at("23:40"), at("00:35", "2026-11-26"))]}
    assert range_of(ask, day, "null", at("00:40", "2026-11-26")) == ["25T23:00", "26T01:00"]
    night = '{"every_day": {"opens": "18:00", "closes": "02:00"}}'
    assert range_of(ask, {"spans": []}, night, at("01:00", "2026-11-26")) == ["25T17:00", "26T03:00"]


def test_a_span_whose_clock_was_set_back_has_no_length_and_a_wrong_year_is_left_out(ask: Ask) -> None:
    day = {"spans": [span("round", at("10:20"), at("10:05")), span("round", at("10:00", "1970-01-01"), "")]}
    found = ask(DAY, f"spansOf({json.dumps(day)}, wallMs({json.dumps(at('10:30'))}))")
    assert [(one["from"] == one["until"]) for one in found] == [True]


def test_a_moment_is_shown_by_the_museums_clock_wherever_the_phone_is(ask: Ask) -> None:
    day = {"spans": [span("round", at("10:00"), "")], "woken": ""}
    moment = "Date.parse('2026-11-25T09:28:00Z')"
    assert ask(DAY, f"minuteText(nowMs({moment}, {json.dumps(day)}))") == "10:28"
    assert ask(DAY, f"minuteText(nowMs({json.dumps(at('10:28'))}, null))") == "10:28"


@pytest.mark.parametrize(
    ("now", "planned", "said"),
    [
        ("08:00", None, ["opens", "10:00"]),
        ("12:00", {"what": "round", "at": at("12:06")}, ["round", "12:06"]),
        ("12:10", {"what": "round", "at": at("12:06")}, None),
        ("12:00", None, None),
        ("17:05", None, ["tomorrow", "10:00"]),
    ],
)
def test_what_comes_next_is_said_only_while_it_is_to_come(
    ask: Ask, now: str, planned: dict[str, str] | None, said: list[str] | None
) -> None:
    day = {"spans": [], "next": planned}
    found = ask(
        DAY,
        f"((one) => one && [one[0], minuteText(one[1])])"
        f"(nextOf({json.dumps(day)}, {HOURS}, wallMs({json.dumps(at(now))})))",
    )
    assert found == said


def test_while_something_still_runs_nothing_is_said_of_tomorrow(ask: Ask) -> None:
    day = {"spans": [span("closing", at("16:40"), "")], "next": None}
    assert ask(DAY, f"nextOf({json.dumps(day)}, {HOURS}, wallMs({json.dumps(at('16:50'))}))") is None


@pytest.mark.parametrize(("last", "said"), [("opening", None), ("round", None), ("closing", "tomorrow")])
def test_of_a_machine_that_may_still_be_on_nobody_says_that_it_wakes_tomorrow(
    ask: Ask, last: str, said: str | None
) -> None:
    day = {"spans": [span("opening", at("16:00"), at("16:10")), span(last, at("16:20"), at("16:40"))]}
    now = f"wallMs({json.dumps(at('17:10'))})"
    assert ask(DAY, f"nextOf({json.dumps(day)}, {HOURS}, {now})?.[0] ?? null") == said


WEEK = [
    ("2026-11-25", "10:00"),
    ("2026-11-26", "10:00"),
    ("2026-11-27", ""),
    ("2026-11-28", ""),
    ("2026-11-29", "12:00"),
]
DAYS = json.dumps({"days": [{"date": d, "opens": o, "closes": o and "16:30"} for d, o in WEEK]})


@pytest.mark.parametrize(
    ("date", "clock", "open_from", "said"),
    [
        ("2026-11-25", "08:00", "10:00", ["opens", "2026-11-25T10:00"]),
        ("2026-11-25", "17:00", "10:00", ["tomorrow", "2026-11-26T10:00"]),
        ("2026-11-26", "17:00", "10:00", ["later", "2026-11-29T12:00"]),
        ("2026-11-27", "12:00", None, ["later", "2026-11-29T12:00"]),
        ("2026-11-28", "12:00", None, ["tomorrow", "2026-11-29T12:00"]),
        ("2026-11-29", "18:00", "12:00", None),
        ("2026-12-24", "12:00", None, None),
    ],
)
def test_a_closed_day_says_when_the_doors_open_again_as_far_as_that_is_known(
    ask: Ask, date: str, clock: str, open_from: str | None, said: list[str] | None
) -> None:
    now = f"wallMs({json.dumps(at(clock, date))})"
    found = ask(
        DAY,
        f"""[((open) => open && minuteText(open.opens))(doors({DAYS}, {now})),
        ((one) => one && [one[0], new Date(one[1]).toISOString().slice(0, 16)])(
            nextOf({{"spans": []}}, {DAYS}, {now}))]""",
    )
    assert found == [open_from, said]


def test_of_equal_heights_the_printed_turning_point_is_the_highest_and_of_these_the_first(
    ask: Ask,
) -> None:
    entries = [
        {"x": 19, "y": 5.4, "mark": None},
        {"x": 6.45, "y": 5.4, "mark": {"line": "high"}},
        {"x": 18.9, "y": 5.4, "mark": {"line": "high"}},
    ]
    layout = {"plot_layout": "highestOf"}
    assert ask(layout, f"highestOf({json.dumps(entries)})")["x"] == 6.45
    entries[0]["y"] = 5.41
    assert ask(layout, f"highestOf({json.dumps(entries)})")["x"] == 19
