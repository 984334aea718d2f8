"""The numbers of the charts are those of the recordings, and too few are said to be too few."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.units import S_US
from exhibit.records.index.asking import Index
from exhibit.records.reckoning.of_rows import rows_of
from exhibit.records.reckoning.step_sums import step_sums
from exhibit.records.study import pages
from exhibit.records.study.charting import charts, day_chart, step_chart, summaries
from exhibit.records.study.shelf import Shelf
from exhibit.streams.recording import RecordingWriter
from exhibit.sums.statistical.drift import Drift
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening

ROOT = Path(__file__).resolve().parents[3]
DAYS = 24
SLOWER_FROM = 15


def record(folder: Path, day: int, took_s: float) -> None:
    opened = an_opening(wall=f"2026-09-{day:02}T09:00:00+02:00", rate=2.0)
    writer = RecordingWriter(folder, opened, reserve_bytes=SMALL_RESERVE_BYTES)
    at_us = S_US
    script = kinds.ScriptStarted(script="round", title={}, by="the programme", round=1)
    writer.append(script, at_us)
    writer.append(kinds.StepStarted(script="round", step="spin-up"), at_us)
    at_us += int(took_s * 2 * S_US)  # this clock runs twice as fast
    writer.append(kinds.StepEnded(script="round", step="spin-up"), at_us)
    writer.append(kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""), at_us)
    writer.append(kinds.NoteMade(kind="note", by="docent 1", digest="ab" * 32), at_us)
    writer.close("over", at_us)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shelf]:
    """Twenty-four invented days; from the fifteenth on a step takes half as long again."""
    folder = tmp_path_factory.mktemp("days")
    chance = random.Random(13)
    for day in range(1, DAYS + 1):
        record(folder, day, chance.gauss(20, 0.3) + (10 if day >= SLOWER_FROM else 0))
    made = Shelf([folder], tmp_path_factory.mktemp("cache"))
    yield made
    made.close()


def test_each_step_is_offered_with_its_number_of_runs_and_what_became_of_it(shelf: Shelf) -> None:
    (machine,) = charts(shelf)["machines"]
    (step,) = machine["steps"]
    assert (machine["machine"], step["name"], step["runs"]) == ("whimbrel", "round.spin-up", DAYS)
    assert step["judged"]
    assert step["change"]["up"]
    assert step["change"]["at"].startswith("2026-09-1")
    assert shelf.path(step["change"]["recording"]) is not None


def test_what_a_page_says_of_a_step_is_what_the_command_says(shelf: Shelf) -> None:
    (folder, _), *_ = shelf.places()
    with Index.open(folder) as index:
        (one,) = step_sums(rows_of([index], ["steps"])).steps
    answer = step_chart(shelf, "whimbrel", "round.spin-up")
    assert [point["value"] for point in answer["points"]] == [round(run.took_s, 3) for run in one.runs]
    assert one.change is not None
    assert answer["change"]["began"] == one.change.began
    assert isinstance(one.drift, Drift)
    assert one.drift.basis.line in answer["says"]


def test_page_and_command_call_the_same_runs_far_off_among_all_steps_not_among_one_step_s(
    tmp_path: Path,
) -> None:
    folder = tmp_path / "days"
    folder.mkdir()
    chance = random.Random(4)
    writer = RecordingWriter(folder, an_opening(rate=1.0), reserve_bytes=SMALL_RESERVE_BYTES)
    script = kinds.ScriptStarted(script="round", title={}, by="the programme", round=1)
    writer.append(script, S_US)
    at_us = S_US
    for run in range(3000):
        name = "add" if run % 20 else "load"
        writer.append(kinds.StepStarted(script="round", step=name), at_us)
        # Twice 3.3 deviations: outside the limits for 150 runs, and inside those for 3,000.
        at_us += int((5.66 if run in (1000, 2000) else chance.gauss(5, 0.2)) * S_US)
        writer.append(kinds.StepEnded(script="round", step=name), at_us)
    writer.close("over", at_us)
    with Index.open(folder) as index:
        command = {one.name: len(one.far_off) for one in step_sums(rows_of([index], ["steps"])).steps}
    made = Shelf([folder], tmp_path / "cache")
    (machine,) = charts(made)["machines"]
    outside = [point for point in step_chart(made, "whimbrel", "round.load")["points"] if "outside" in point]
    made.close()
    assert {step["name"]: step["far_off"] for step in machine["steps"]} == command
    assert len(outside) == command["round.load"]


def test_a_step_s_times_are_in_the_order_of_their_days(shelf: Shelf) -> None:
    points = step_chart(shelf, "whimbrel", "round.spin-up")["points"]
    assert [point["at"][:10] for point in points] == [f"2026-09-{day:02}" for day in range(1, DAYS + 1)]
    assert all(shelf.path(point["recording"]) is not None for point in points)


def test_a_lasting_change_is_found_where_it_began(shelf: Shelf) -> None:
    answer = step_chart(shelf, "whimbrel", "round.spin-up")
    assert abs(answer["change"]["began"] - (SLOWER_FROM - 1)) <= 1  # its estimate may be a run early
    assert abs(answer["change"]["after"] / answer["change"]["before"] - 1.5) < 0.05
    assert any("most likely began on 2026-09-1" in line for line in answer["says"])
    assert any(f"n = {DAYS} runs" in line for line in answer["says"])


def test_of_too_few_runs_nothing_is_computed_and_that_is_said(tmp_path: Path) -> None:
    for day in (1, 2, 3):
        record(tmp_path, day, 20)
    shelf = Shelf([tmp_path], tmp_path / "cache")
    answer = step_chart(shelf, "whimbrel", "round.spin-up")
    assert (answer["limits"], answer["change"]) == (None, None)
    assert len(answer["points"]) == 3
    assert all("too little data" in line for line in answer["says"][1:])


def test_a_step_that_never_ran_has_no_points(shelf: Shelf) -> None:
    for name in ("round.nothing", "", "round", "."):
        assert step_chart(shelf, "whimbrel", name)["points"] == []


def test_days_and_summaries_count_what_was_recorded(shelf: Shelf) -> None:
    points = day_chart(shelf, "whimbrel", "rounds")["points"]
    assert [(point["at"][:10], point["value"]) for point in points][:2] == [
        ("2026-09-01", 1),
        ("2026-09-02", 1),
    ]
    had = summaries(shelf)["summaries"]
    assert set(had) == set(shelf.names())
    assert {(one["rounds"], one["failed"], len(one["notes"])) for one in had.values()} == {(1, 0, 1)}
    assert msgspec.json.encode(had)


def test_the_page_is_told_of_a_new_day_as_soon_as_it_is_there(
    needs: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    needs.that((ROOT / "web/built/faces.css").is_file(), "web/built, which `pip install` makes")
    worked = []
    real = pages.charts
    monkeypatch.setattr(pages, "charts", lambda shelf: worked.append(1) or real(shelf))
    record(tmp_path, 1, 20)
    shelf = Shelf([tmp_path], tmp_path / "cache")
    page = pages.make_app(shelf, ROOT / "web").test_client()

    def runs() -> int:
        (step,) = page.get("/charts").json["machines"][0]["steps"]
        return int(step["runs"])

    assert (runs(), runs()) == (1, 1)
    assert len(worked) == 1, "what is the same isn't worked out again"
    record(tmp_path, 2, 20)
    assert runs() == 2
    shelf.close()
