"""The charts draw the numbers that are printed, can be read without colour, and come out the same again."""

from __future__ import annotations

import re
import sys
import xml.etree.ElementTree as ET
from datetime import date

import pytest

from exhibit.facts.errors import SetUpFault
from exhibit.records.reckoning.charts import INK, error_chart, fault_chart, step_charts
from exhibit.records.reckoning.error_sums import error_sums
from exhibit.records.reckoning.fault_sums import fault_sums
from exhibit.records.reckoning.step_sums import StepSums, step_sums
from tests.records.reckoning import made_rows as made


def slowing(name: str = "add") -> StepSums:
    times = [5 + 0.01 * (day * 7 % 11) + 0.2 * max(0, day - 14) for day in range(28)]
    return step_sums(made.rows(28, steps=[made.step(day, took, step=name) for day, took in enumerate(times)]))


def words_of(path) -> str:
    return " ".join(text for text in ET.parse(path).getroot().itertext() if text.strip())


def test_a_step_that_changed_has_a_chart_that_says_what_it_rests_on(tmp_path):
    (path,) = step_charts(slowing(), tmp_path / "new", "svg")
    assert path.name == "step-round.add.svg"
    said = words_of(path)
    for words in (
        "round.add",
        "seconds",
        "CUSUM, slower",
        "EWMA",
        "most likely began",
        "n = 28 runs",
        "2026-03-02",
    ):
        assert words in said


def test_the_points_lie_where_the_numbers_say(tmp_path):
    # The heights of the runs' marks are a straight line of their times: second reading of the SVG.
    found = slowing()
    (path,) = step_charts(found, tmp_path, "svg")
    heights = [
        float(y) for y in re.findall(r'<use xlink:href="#[^"]+" x="[^"]+" y="([^"]+)"', path.read_text())
    ]
    times = [run.took_s for run in found.steps[0].runs]
    runs = next(
        heights[start : start + 28]
        for start in range(len(heights) - 27)
        if heights[start] - heights[start + 27] > 100
    )
    scale = (runs[0] - runs[27]) / (times[27] - times[0])
    for time, height in zip(times, runs, strict=True):
        assert runs[0] - height == pytest.approx(scale * (time - times[0]), abs=0.05)


def test_one_ink_draws_it_all(tmp_path):
    (path,) = step_charts(slowing(), tmp_path, "svg")
    colours = {colour.lower() for colour in re.findall(r"stroke: (#[0-9a-fA-F]{6})", path.read_text())}
    greys = {colour for colour in colours if len({colour[1:3], colour[3:5], colour[5:7]}) == 1}
    assert INK in colours
    assert colours == greys


def test_the_same_numbers_give_the_same_file(tmp_path):
    (one,) = step_charts(slowing(), tmp_path / "one", "svg")
    (other,) = step_charts(slowing(), tmp_path / "other", "svg")
    assert one.read_bytes() == other.read_bytes()


def test_a_png_is_one(tmp_path):
    (path,) = step_charts(slowing(), tmp_path, "png")
    assert path.read_bytes().startswith(b"\x89PNG\r\n")


def test_a_strangers_name_stays_text_and_inside_the_folder(tmp_path):
    (path,) = step_charts(slowing("../$x^2$</text><script>"), tmp_path, "svg")
    assert path.parent == tmp_path
    assert "<script" not in path.read_text()
    assert "../$x^2$</text><script>" in words_of(path)


def test_disc_errors_have_a_chart_of_their_days(tmp_path):
    jobs = [made.job(day, 0, 2) for day in range(3)]
    rows = made.rows(3, jobs=jobs, errors=[made.errors(1, 1, 4)])
    (path,) = error_chart(error_sums(rows, before=date(2026, 3, 3)), tmp_path, "svg")
    assert "errors per exerciser-hour" in words_of(path)
    assert error_chart(error_sums(made.rows()), tmp_path, "svg") == []


@pytest.mark.parametrize("count", [1, 8])
def test_faults_have_a_chart_with_the_power_law_if_there_is_one(tmp_path, count):
    troubles = [made.trouble(0, 1 + number**1.5) for number in range(count)]
    rows = made.rows(parts=[made.part(0, 0, 40)], troubles=troubles)
    (path,) = fault_chart(fault_sums(rows), tmp_path, "svg")
    assert ("power law" in words_of(path)) == (count == 8)
    assert fault_chart(fault_sums(made.rows()), tmp_path, "svg") == []


def test_without_matplotlib_a_sentence_says_how_to_install_it(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    with pytest.raises(SetUpFault, match=r"matplotlib isn.t installed.*pip install .\.\[sums\]"):
        step_charts(slowing(), tmp_path, "svg")


def test_where_it_can_not_be_written_it_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(SetUpFault, match="can't be written"):
        step_charts(slowing(), tmp_path / "file" / "in", "svg")


def test_names_that_look_alike_as_files_have_a_file_each(tmp_path):
    steps = [*slowing("add up").steps, *slowing("add-up").steps, *slowing("x" * 5000).steps]
    paths = step_charts(StepSums(of="heron", steps=steps, expected_false=0), tmp_path, "svg")
    assert len({path.name for path in paths}) == 3
    assert all(path.exists() for path in paths)
