"""The engineer's sums find what was planted in each of the sample recordings, and nothing in the good day.

All of it is invented: tests/recordings/make_examples.py plants it in the simulated machine.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from exhibit.records.given_folders import indexes_of
from exhibit.records.reckoning.error_sums import error_sums
from exhibit.records.reckoning.fault_sums import SILENT, fault_sums
from exhibit.records.reckoning.line_sums import line_sums
from exhibit.records.reckoning.of_rows import Rows, rows_of
from exhibit.records.reckoning.step_sums import StepSum, step_sums
from exhibit.records.reckoning.wear_sums import wear_sums
from exhibit.streams.recording import read_all
from exhibit.sums.statistical.drift import Drift
from exhibit.sums.statistical.rates import Comparison
from exhibit.sums.statistical.shares import Share, TwoShares
from exhibit.web.places import recordings_folder
from tests.recordings.make_examples import EXAMPLES, MAKERS, make

MOST_BYTES = 8_000_000


@pytest.fixture(scope="module", name="rows")
def all_rows(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Rows]:
    """The rows of each example, from copies, since an index is kept beside recordings."""
    folder = tmp_path_factory.mktemp("examples")
    shutil.copytree(EXAMPLES, folder, dirs_exist_ok=True)
    return {name: rows_of(indexes_of([folder / name])) for name in MAKERS}


def changed(rows: Rows) -> list[StepSum]:
    return [one for one in step_sums(rows).steps if one.change is not None]


def test_the_samples_are_small():
    assert sum(path.stat().st_size for path in recordings_folder().rglob("*.exhibit")) <= MOST_BYTES


@pytest.mark.parametrize("path", sorted(EXAMPLES.rglob("*.exhibit")), ids=lambda path: path.stem)
def test_each_can_be_read_from_end_to_end(path: Path):
    assert read_all(path).damages == []


def test_the_same_come_again_when_they_are_made_anew(tmp_path):
    made = []
    for to in (tmp_path / "once", tmp_path / "again"):
        make(to, ["power-cut"])
        made.append({path.name: path.read_bytes() for path in (to / "power-cut").iterdir()})
    assert made[0] == made[1]
    assert made[0].keys() == {path.name for path in (EXAMPLES / "power-cut").glob("*.exhibit")}


def test_the_slow_drift_is_found_in_its_step_and_the_drive_s_start_and_nowhere_else(rows):
    # Planted: from 11 October on the lower drive takes 0.4 s longer to come up to speed each morning.
    step, start = sorted(changed(rows["slow-drift"]), key=lambda one: one.name, reverse=True)
    assert (step.name, start.name) == ("opening.lower-up-to-speed", "opening.lower-drive ready")
    assert isinstance(step.drift, Drift)
    change = step.drift.change
    assert change is not None
    assert change.up
    assert change.in_latest
    assert "2026-10-09" <= step.runs[change.began].at[:10] <= "2026-10-12"
    assert 20 <= change.before < 20.7 < change.after


def test_the_drift_is_noticed_before_it_makes_a_step_late(rows):
    for step in changed(rows["slow-drift"]):
        assert step.late == 0
        assert isinstance(step.drift, Drift)
        assert step.drift.change is not None
        assert step.runs[step.drift.change.noticed].at[:10] < "2026-10-20"


def test_the_disc_fault_is_found_to_come_with_warmth(rows):
    # Planted: nothing in a drive's first 20 minutes, and 6 in 10,000 transfers from 40 minutes on.
    found = error_sums(rows["warm-disc"])
    assert isinstance(found.warm.result, Comparison)
    assert found.warm.result.differs
    assert found.warm.result.ratio_lower > 3


def test_the_two_days_of_the_disc_fault_do_not_differ(rows):
    found = error_sums(rows["warm-disc"], before=date(2026, 10, 27))
    assert found.spans is not None
    assert isinstance(found.spans.result, Comparison)
    assert not found.spans.result.differs
    assert [day.date for day in found.days] == ["2026-10-26", "2026-10-27"]


def test_the_errors_that_are_counted_are_those_that_the_machine_counted(rows):
    # Second computation: the last value of the board's count on each day.
    of_day = {row.at[:10]: row.stands_at for row in rows["warm-disc"].errors}
    assert {day.date: day.errors for day in error_sums(rows["warm-disc"]).days} == of_day


def test_the_garbling_line_is_found_and_when_it_began(rows):
    # Planted: on 3 November 8 in 1,000 characters are changed, and none on the 2nd.
    found = line_sums(rows["garbling-line"], before=date(2026, 11, 3))
    assert isinstance(found.spans, TwoShares)
    assert found.spans.differs
    assert [day.garbled > 0 for day in found.days] == [False, True]
    assert "BEGIN SHUTTLE LOWER" in found.last[0]


def test_the_power_cut_is_found_and_told_from_a_garbling_line(rows):
    # Planted: the mains fail 150 s after the recording began, on 9 November.
    (fault,) = fault_sums(rows["power-cut"]).faults
    assert fault.name == SILENT
    assert fault.at[:16] == "2026-11-09T10:02"
    assert "the machine is silent" in fault.why
    (other,) = fault_sums(rows["garbling-line"]).faults
    assert other.name == "script failed: round"


@pytest.mark.parametrize("name", ["good-day", "warm-disc", "garbling-line", "power-cut"])
def test_no_step_is_called_slower_where_none_became_slower(rows, name):
    assert changed(rows[name]) == []


def test_the_good_day_is_good(rows):
    good = rows["good-day"]
    line = line_sums(good).whole
    assert isinstance(line, Share)
    assert line.wrong == 0
    assert fault_sums(good).faults == []
    assert sum(day.errors for day in error_sums(good).days) == 0
    assert not any(used.over for used in wear_sums(good).limits)
