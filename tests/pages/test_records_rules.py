"""The records page's own rules: times, the folded line, playing, going by steps and troubles, addresses."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from typing import Any

import pytest

from exhibit.facts.wall_times import WallTimes
from tests.pages.in_node import value_of

Ask = Callable[[dict[str, str], str], Any]


@pytest.fixture
def ask(needs: Any) -> Ask:
    return lambda modules, expression: value_of(needs.node(), "records", modules, expression)


def test_times_are_those_of_the_museum_s_clock_as_python_reckons_them(ask: Ask) -> None:
    rate = 20.0
    anchors = [[0, "2026-11-25T09:30:00.000+01:00"], [90_000_000, "2026-11-25T10:00:00.250+01:00"]]
    moments = [0, 1, 89_999_999, 90_000_000, 3_600_000_000]
    clock = WallTimes()
    expected = []
    for us in moments:
        at_us, wall = max(one for one in anchors if one[0] <= us)
        clock.set(wall, at_us, rate)
        expected.append(clock.wall(us)[11:23])
    said = ask(
        {"times": "Times"},
        f"(() => {{ const t = new Times({json.dumps(anchors)}, {rate}); "
        f"return {json.dumps(moments)}.map((us) => t.clock(us, true)); }})()",
    )
    assert said == expected


def test_a_written_time_is_found_and_what_is_none_is_refused(ask: Ask) -> None:
    asked = ["10:05", "10:05:30", "9.30.15,5", " 10:05:30.250 ", "25:00", "10:61", "soon", "", "10:05:60"]
    found = ask(
        {"times": "Times"},
        f"""(() => {{ const t = new Times([[0, "2026-11-25T09:30:00.000+01:00"]], 1);
        return {json.dumps(asked)}.map((text) => t.written(text, 0)); }})()""",
    )
    minute = 60_000_000
    assert found == [35 * minute, 35.5 * minute, 15_500_000, 35.5 * minute + 250_000, *[None] * 5]


def test_lengths_are_said_as_people_say_them(ask: Ask) -> None:
    lengths = [120_000, 2_500_000, 35_000_000, 600_000_000, 7_800_000_000, 7_200_000_000]
    assert ask({"times": "lasting"}, f"{json.dumps(lengths)}.map(lasting)") == [
        "120 ms",
        "2.5 s",
        "35 s",
        "10 min",
        "2 h 10 min",
        "2 h",
    ]


def test_every_moment_has_its_place_on_the_line_and_every_place_its_moment(ask: Ask) -> None:
    chance = random.Random(13)
    for _ in range(5):
        cuts = sorted(chance.sample(range(8 * 3600), 8))
        folds = [[a * 1_000_000, b * 1_000_000] for a, b in zip(cuts[::2], cuts[1::2], strict=True)]
        moments = sorted(chance.randrange(8 * 3600 * 1_000_000) for _ in range(60))
        moments = [us for us in moments if not any(a <= us <= b for a, b in folds)]
        there, back, width = ask(
            {"scale": "Scale"},
            f"""(() => {{ const s = new Scale(0, 28800000000, {json.dumps(folds)}, 1200);
            const xs = {json.dumps(moments)}.map((us) => s.x(us));
            return [xs, xs.map((x) => s.us(x)), s.pieces.reduce((sum, p) => sum + p.wide, 0)]; }})()""",
        )
        assert there == sorted(there)
        assert all(abs(a - b) <= 30_000 for a, b in zip(moments, back, strict=True))
        assert abs(width - 1200) < 0.001


def test_however_many_silences_there_are_most_of_the_line_is_left_for_what_happened(ask: Ask) -> None:
    folds = [[n * 100 + 10, n * 100 + 90] for n in range(300)]
    wide = ask(
        {"scale": "Scale"},
        f"new Scale(0, 30000, {json.dumps(folds)}, 1000).pieces"
        ".filter((p) => !p.folded).reduce((sum, p) => sum + p.wide, 0)",
    )
    assert wide >= 599


def test_hours_on_the_line_are_round_apart_from_each_other_and_in_order(ask: Ask) -> None:
    found = ask(
        {"scale": "Scale, ticks", "times": "Times"},
        """(() => { const t = new Times([[0, "2026-11-25T09:12:33.000+00:00"]], 1);
        return ticks(new Scale(0, 8 * 3600e6, [[3600e6, 4 * 3600e6]], 1200), t, 80); })()""",
    )
    assert len(found) > 3
    assert all(one["text"].endswith((":00", ":15", ":30", ":45")) for one in found)
    assert all(b["x"] - a["x"] >= 80 for a, b in zip(found, found[1:], strict=False))


def test_a_replay_runs_at_its_speed_times_the_recording_s_and_stops_at_the_end(ask: Ask) -> None:
    assert ask(
        {"player": "Player"},
        """(() => { const p = new Player(1e9, 20, 0); const seen = [];
        p.play(true, 0); seen.push(p.us(1000));
        p.setSpeed(0.1, 1000); seen.push(p.us(2000));
        p.play(false, 2000); seen.push(p.us(9000));
        p.setSpeed(1000, 9000); p.play(true, 9000); seen.push(p.us(99000), p.ended(99000));
        return seen; })()""",
    ) == [20_000_000, 22_000_000, 22_000_000, 1_000_000_000, True]


def test_speeds_go_from_a_tenth_to_a_thousand(ask: Ask) -> None:
    speeds = ask({"player": "RATES"}, "RATES")
    assert (speeds[0], speeds[-1]) == (0.1, 1000)
    assert 1 in speeds
    assert speeds == sorted(speeds)


def test_the_next_place_and_the_one_before_are_by_the_fact_s_number(ask: Ask) -> None:
    places = [[10, 5], [10, 7], [30, 9]]
    asked = [(1, 1), (5, 1), (7, 1), (9, 1), (9, -1), (6, -1), (5, -1)]
    found = ask(
        {"places": "neighbour"},
        f"{json.dumps(asked)}.map(([seq, way]) => neighbour({json.dumps(places)}, seq, way)?.[1] ?? null)",
    )
    assert found == [5, 7, 9, None, 7, 5, None]


@pytest.mark.parametrize("name", ["whimbrel-2026-11-25T09-30-00", "day (2)", "a/b#c?d e%", "Türmchen"])
def test_an_address_leads_to_where_it_was_made(ask: Ask, name: str) -> None:
    for seq in (None, 4711):
        found = ask(
            {"places": "addressOf, readAddress"},
            f"readAddress(addressOf({json.dumps(name)}, {json.dumps(seq)}))",
        )
        assert found == {"view": "study", "name": name, "seq": seq}
    assert ask({"places": "readAddress"}, '["", "#", "#charts", "#%E0", "#x/-1"].map(readAddress)') == [
        {"view": "shelf"},
        {"view": "shelf"},
        {"view": "charts"},
        {"view": "study", "name": "%E0", "seq": None},
        {"view": "study", "name": "x", "seq": None},
    ]
