"""A whole day of the simulated Whimbrel, in virtual time: the same live, joined late, sought and reloaded."""

from __future__ import annotations

import datetime
import json

import msgspec
import pytest

from exhibit.decisions.page.views import View
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.records.simulated_rehearsal import SimulatedRun
from tests.decisions.page.day.work import WHIMBREL, fold

ITEMS = ("plots", "loading", "steps", "day", "sums", "album", "scene", "jobs")
WALL = datetime.datetime(2026, 11, 25, 10, 0, tzinfo=datetime.UTC)


@pytest.fixture(scope="module")
def day() -> list[Entry]:
    entries: list[Entry] = []
    wanted = Wanted(rounds=2)
    SimulatedRun(WHIMBREL, wanted, WALL, entries.append).run()
    machine = WHIMBREL.machine
    assert isinstance(opened := entries[0].fact, kinds.RecordingOpened)
    whole = msgspec.structs.replace(
        opened, now=machine.now, drawn=machine.drawn, exercisers=WHIMBREL.exercisers
    )
    return [Entry(1, 0, whole), *entries[1:]]


@pytest.fixture(scope="module")
def seen(day: list[Entry]) -> list[dict[str, object]]:
    """The items after each fact."""
    view, after = View(), []
    for entry in day:
        view.apply(entry)
        view.text_rows()  # what was received is taken in once somebody asks
        after.append({name: view._items.value(name) for name in ITEMS})
    return after


def shown(view: View) -> dict[str, object]:
    items = json.loads(json.dumps(view.batch(0)))["items"]
    return {name: items[name] for name in ITEMS}


def runs(values: list[object]) -> list[object]:
    """The values without repetitions in a row."""
    return [value for place, value in enumerate(values) if not place or value != values[place - 1]]


def test_both_tables_of_tides_are_whole(seen):
    plots = [one["plots"]["tide"] for one in seen if one["plots"] and one["plots"]["tide"]["done"]]
    for number in (1, 2):
        plot = next(plot for plot in plots if plot["round"] == number)
        assert [x for x, _, _ in plot["points"]] == list(range(24))
        assert all(0 < y < 6 for _, y, _ in plot["points"])
        assert len(plot["marks"]) in (3, 4)
        assert plot["worked"] == 24


def test_no_point_is_ahead_of_the_fact_that_it_names(day, seen):
    for entry, after in zip(day, seen, strict=True):
        for plot in after["plots"].values():
            assert all(seq <= entry.seq for _, _, seq in plot["points"])
        by_fact = {seq for plot in after["plots"].values() for _, _, seq in plot["points"]}
        assert all(isinstance(day[seq - 1].fact, kinds.PatternSeen) for seq in by_fact)


def test_the_program_is_loaded_piece_by_piece(seen):
    counts = runs([one["loading"]["count"] for one in seen if one["loading"]])
    assert counts == list(range(21))


def test_the_steps_of_each_script_come_in_order_and_none_is_missing(seen):
    places = runs([(one["steps"]["script"], one["steps"]["at"]) for one in seen if one["steps"]])
    of = {name: len(chapters) for name, chapters in WHIMBREL.chapters.items()}
    scripts = ["opening", "round", "round", "closing"]
    every = [(script, at) for script in scripts for at in range(1, of[script] + 1)]
    # The simulated docent turns the key off at once, so the last chapter is over before it is announced.
    assert places == every[:-1]


def test_the_day_is_the_scripts_in_their_order(seen):
    found = seen[-1]["day"]
    assert [(one["kind"], one["outcome"]) for one in found["spans"]] == [
        (kind, "done") for kind in ("opening", "round", "round", "closing")
    ]
    sums = seen[-1]["sums"]
    assert (sums["rounds"], sums["plots"], sums["errors"]) == (2, {"tide": 2}, 0)
    assert sums["transfers"] > 1000
    assert found["next"] is None


def test_the_scenes_tell_the_day(seen):
    names = runs([one["scene"]["name"] for one in seen])
    assert names[:3] == ["not started", "waking", "working"]
    assert {"result", "looking inside", "resting"} <= set(names)
    assert "trouble" not in names


def test_scenes_change_calmly(day, seen):
    changes = [
        entry.at_us
        for entry, before, after in zip(day[1:], seen, seen[1:], strict=False)
        if before["scene"]["name"] != after["scene"]["name"]
    ]
    assert all(later - earlier >= 8_000_000 for earlier, later in zip(changes, changes[1:-1], strict=False))


def test_whatever_stands_in_an_item_has_happened(day, seen):
    for entry, after in zip(day, seen, strict=True):
        numbers = [after["scene"]["seq"], *(plot["seq"] for plot in after["plots"].values())]
        numbers += [one["seq"] for name in ("steps", "loading") if (one := after[name])]
        assert max([*numbers, *(one["seq"] for one in after["album"])]) <= entry.seq


def test_it_is_the_same_for_one_who_reloads_at_any_moment(day):
    whole = shown(fold(day))
    for cut in range(1, len(day), len(day) // 40):
        early = fold(day[:cut])
        late = View()
        late.restore(json.loads(json.dumps(early.snapshot())))
        assert shown(late) == shown(early)
        if cut % 3 == 0 or cut > len(day) - 200:
            for entry in day[cut:]:
                late.apply(entry)
            assert shown(late) == whole
            assert late.snapshot()["items"] == fold(day).snapshot()["items"]


def test_it_is_the_same_for_one_who_asks_seldom(day):
    view, page, after = View(), {}, 0
    for number, entry in enumerate(day):
        view.apply(entry)
        if number % 97 == 0 or entry is day[-1]:
            batch = json.loads(json.dumps(view.batch(after, console=False)))
            page |= batch.get("items", {})
            after = batch["seq"]
    assert {name: page[name] for name in ITEMS} == shown(fold(day))
