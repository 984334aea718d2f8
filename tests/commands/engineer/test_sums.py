"""`exhibit sums`, as a person uses it."""

from __future__ import annotations

import json
import shutil
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from tests.recordings.make_examples import EXAMPLES


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return Path(shutil.copytree(EXAMPLES, tmp_path_factory.mktemp("home") / "examples"))


def run(*arguments: object, status: int = 0) -> str:
    done = CliRunner().invoke(main, ["sums", *(f"{one}" for one in arguments)])
    assert done.exit_code == status, done.output
    return done.output


def test_steps_says_which_became_slower_and_draws_it(folder, tmp_path):
    said = run("steps", folder / "slow-drift", "--charts", tmp_path)
    assert "opening.lower-up-to-speed became slower and still is" in said
    assert "closing." not in said
    assert "opening.lower-drive ready became slower and still is" in said
    drawn = sorted(path.name for path in tmp_path.iterdir())
    assert drawn == ["step-opening.lower-drive-ready.svg", "step-opening.lower-up-to-speed.svg"]


def test_steps_prints_every_step_if_asked_or_a_named_one(folder):
    assert "closing.sure-to-close" in run("steps", folder / "slow-drift", "--all")
    one = run("steps", folder / "slow-drift", "--step", "sure-to-close")
    assert "closing.sure-to-close" in one
    assert "opening" not in one


@pytest.mark.parametrize(
    ("arguments", "keys"),
    [
        (("steps", "slow-drift"), {"of", "steps", "expected_false"}),
        (("errors", "warm-disc"), {"days", "whole", "warm", "bunching"}),
        (("faults", "power-cut"), {"on_h", "faults", "tests", "power_law"}),
        (("use", "warm-disc"), {"parts", "packs", "limits"}),
        (("alarms", "good-day"), {"hours", "whole", "days"}),
        (("line", "garbling-line"), {"days", "whole", "spans"}),
    ],
)
def test_each_prints_its_numbers_as_json(folder, arguments, keys):
    found = json.loads(run(arguments[0], folder / arguments[1], "--json"))
    assert keys <= found.keys()


def test_the_json_has_the_numbers_of_the_charts(folder):
    (step,) = json.loads(run("steps", folder / "slow-drift", "--step", "lower-up-to-speed", "--json"))[
        "steps"
    ]
    assert len(step["runs"]) == len(step["drift"]["cusum"]["high"]) == 16
    assert step["single"]["upper"] > step["single"]["centre"]


def test_errors_compares_before_and_after_a_date(folder):
    said = run("errors", folder / "warm-disc", "--before", "2026-10-27", "--part", "lower-drive")
    assert "Before 2026-10-27: 20 errors" in said
    assert "chance may do that" in said


def test_errors_can_be_told_when_the_machine_is_warm(folder):
    assert "the first 20 minutes after power-on: 0 errors" in run(
        "errors", folder / "warm-disc", "--warm", "20 min"
    )


def test_use_is_held_against_the_limits_of_a_folder(folder):
    said = " ".join(run("use", folder / "warm-disc", "--folder", "scripts/whimbrel").split())
    assert "exercise in an hour 56.1 min 100 min" in said


def test_line_says_which_commands_came_back_wrong(folder):
    said = run("line", folder / "garbling-line", "--after", "2026-11-03")
    assert "more than chance" in said
    assert "BEGIN SHUTTLE LOWER 4 MINUTES came back as" in said


def test_one_day_can_be_looked_at(folder):
    said = run("alarms", folder / "garbling-line", "--since", "2026-11-03", "--until", "2026-11-04")
    assert "1 recording from 2026-11-03 to 2026-11-03" in said


def test_without_scipy_it_says_in_a_sentence_how_to_install_it(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy", None)
    said = run("errors", folder / "warm-disc", status=2)
    assert "scipy isn't installed." in said
    assert ".venv/bin/pip install '.[sums]'" in said


def test_what_needs_no_scipy_runs_without_it(folder, monkeypatch):
    monkeypatch.setitem(sys.modules, "scipy", None)
    for command in ("steps", "use", "alarms"):
        assert "whimbrel (simulated)" in run(command, folder / "warm-disc")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--since", "soon"), "'soon' is no date, such as 2026-11-25"),
        (("--warm", "hot"), "no time, such as 30 min"),
        (("--machine", "heron"), "There is no recording of heron in "),
        (("--since", "2030-01-01"), "There is no recording in that time."),
    ],
)
def test_what_can_not_be_used_is_said(folder, arguments, words):
    assert words in run("errors", folder / "warm-disc", *arguments, status=2)
