"""Two recordings, days or machines are compared step by step: what was said, what took longer."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.records.history.comparing import StepCompared, as_json_text, compare, lines_of
from exhibit.records.history.differences import differences
from exhibit.records.history.step_runs import Side, runs_of, side_of
from tests.records.history.days_made import S_US, Timed, a_day, step

SAMPLE = Path(__file__).resolve().parents[3] / "recordings/whimbrel-one-round.exhibit"


def printed(text: str, at_s: float) -> Timed:
    return kinds.BytesReceived(bytes=f"{text}\r\n", first_us=round(at_s * S_US)), at_s


def a_test_of_core(at_s: float, took_s: float, errors: int, *more: str) -> list[Timed]:
    """A diagnostic that says how many errors it found, and when it was done."""
    said = [
        f"TEST OF CORE, DONE AT {9 + int(at_s) // 3600:02}:{int(at_s) // 60 % 60:02}:07",
        f"ERRORS {errors}",
        *more,
    ]
    lines = [printed(line, at_s + 0.5 + place / 10) for place, line in enumerate(said)]
    return step("test-core", at_s, took_s, *lines)


def days(
    folder: Path, runs: int, took_s: float, errors: int, *more: str, machine: str = "whimbrel", seed: int = 1
):
    """A day with so many runs of the diagnostic, which take about so long."""
    chance = random.Random(seed)
    facts: list[Timed] = [(kinds.ScriptStarted(script="round", title={"en": "Test"}, by="a person"), 1)]
    for run in range(runs):
        facts += a_test_of_core(100.0 + run * 60, took_s + chance.random() / 10, errors, *more)
    folder.mkdir(exist_ok=True)
    a_day(folder, seed, facts, machine)
    return folder


def compared(one: Path, other: Path) -> tuple[StepCompared, str]:
    first, second = runs_of(Side(one)), runs_of(Side(other))
    steps = compare(first, second)
    return steps[0], "\n".join(lines_of(first, second, steps))


# -- what was said


def test_a_result_that_is_always_the_same_on_each_machine_and_not_on_the_other_is_a_difference(tmp_path):
    good = days(tmp_path / "good", 5, 10, 0, machine="the good one")
    ours = days(tmp_path / "ours", 5, 10, 12, seed=2)
    step_, said = compared(good, ours)
    assert step_.said.other_numbers == ["ERRORS 0  |  ERRORS 12"]
    assert not step_.said.perhaps
    assert "A | B: ERRORS 0  |  ERRORS 12" in said
    assert "the good one" in said


def test_times_of_day_are_never_a_difference(tmp_path):
    one, other = (days(tmp_path / f"{n}", 3, 10, 0, seed=n) for n in (1, 2))
    step_, said = compared(one, other)
    assert not step_.said
    assert "Nothing, apart from what always varies." in said


def test_a_weekday_is_no_difference():
    assert not differences([["MONDAY 5.10.1998, RIGHT?"]] * 3, [["TUESDAY 6.10.1998, RIGHT?"]] * 3)


def test_a_counter_that_varies_from_run_to_run_is_left_out():
    first = [[f"JOB {n} BEGUN"] for n in (1, 2, 3, 4)]
    second = [[f"JOB {n} BEGUN"] for n in (2, 5, 1, 4)]
    assert not differences(first, second)


def test_a_count_that_varies_but_is_far_higher_on_one_side_is_a_difference():
    first = [[f"RETRIES {n}"] for n in (0, 1, 0, 2, 1)]
    second = [[f"RETRIES {n}"] for n in (31, 44, 38, 29, 52)]
    (found,) = differences(first, second).other_numbers
    assert "numbers differ, p = 0.0079" in found  # 2 of the 252 choices of 5 out of 10


def test_of_one_run_each_nobody_can_tell_a_counter_from_a_result():
    found = differences([["ERRORS 0", "AT 10:02:04"]], [["ERRORS 12", "AT 11:30:00"]])
    assert found.perhaps == ["ERRORS 0  |  ERRORS 12"]
    assert not found.other_numbers


def test_three_runs_that_agree_are_enough_against_one():
    assert differences([["ERRORS 0"]] * 3, [["ERRORS 12"]]).other_numbers
    assert not differences([["ERRORS 0"]] * 2, [["ERRORS 12"]]).other_numbers


def test_a_voltage_is_no_time_of_day():
    assert differences([["+5 V IS 5.02"]] * 3, [["+5 V IS 4.61"]] * 3).other_numbers


def test_a_line_that_only_one_side_says_is_told_with_how_often():
    found = differences(
        [["SOUND"], ["SOUND"]], [["SOUND", "PARITY AT 3FA0"], ["SOUND", "PARITY AT 3FB0"], ["SOUND"]]
    )
    assert found.only_second == ["in 2 of 3 runs: PARITY AT 3FB0"]
    assert not found.only_first


def test_the_same_line_twice_is_not_the_same_as_once():
    found = differences([["BELL", "BELL"]] * 3, [["BELL"]] * 3)
    assert found.only_first == ["in 3 of 3 runs: BELL"]


# -- what took longer


def test_a_step_that_took_longer_by_more_than_chance_is_said_with_p(tmp_path):
    one = days(tmp_path / "one", 8, 10, 0)
    other = days(tmp_path / "other", 8, 11, 0, seed=2)
    step_, said = compared(one, other)
    assert step_.times is not None
    # Eight against eight that don't overlap: 2 of the 12870 choices.
    assert step_.times.test.chance == pytest.approx(2 / 12870)
    assert step_.times.differs
    assert "1.1 times as long, p = 0.00016" in said
    assert "Exact rank-sum test, two-sided; n = 8 and 8 runs" in said


def test_the_same_machine_twice_differs_in_nothing(tmp_path):
    one, other = (days(tmp_path / f"{n}", 8, 10, 0, seed=n) for n in (3, 4))
    step_, said = compared(one, other)
    assert step_.times is not None
    assert not step_.times.differs
    assert "No step of 1 by more than chance." in said


def test_too_few_runs_are_said_and_nothing_is_claimed(tmp_path):
    one, other = days(tmp_path / "one", 3, 10, 0), days(tmp_path / "other", 3, 60, 0, seed=2)
    step_, said = compared(one, other)
    assert step_.times is not None
    assert step_.times.too_few
    assert not step_.times.differs
    assert "1 step ran too seldom to tell anything from chance" in said
    assert "times as long" not in said


def test_over_many_steps_that_are_alike_few_are_called_different(tmp_path):
    """Holm: of 40 steps without any difference, one or more is called different in at most 5 of 100 seeds."""
    called = 0
    for seed in range(100):
        chance = random.Random(seed)
        sides = []
        for _ in range(2):
            from exhibit.records.history.step_runs import Compared, StepRuns

            steps = {
                f"s{number}": StepRuns([round(chance.gauss(1e6, 1e5)) for _ in range(8)], done=8)
                for number in range(40)
            }
            sides.append(Compared("x", ["m"], 1, 1, steps))
        called += any(one.times is not None and one.times.differs for one in compare(*sides))
    assert called <= 9  # the 95 % limit of a binomial count with 5 expected of 100


# -- which recordings


def test_two_days_of_one_folder(tmp_path):
    for day, errors in ((1, 0), (2, 12)):
        facts: list[Timed] = []
        for run in range(3):
            facts += a_test_of_core(100.0 + run * 60, 10, errors)
        a_day(tmp_path, day, facts)
    one, other = (runs_of(side_of(f"{tmp_path}@2026-11-0{day}")) for day in (3, 4))
    assert compare(one, other)[0].said.other_numbers == ["ERRORS 0  |  ERRORS 12"]
    with pytest.raises(SetUpFault, match="has no steps of a script on 2026-11-09"):
        runs_of(side_of(f"{tmp_path}@2026-11-09"))


def test_a_file_whose_name_has_an_at_sign_is_that_file(tmp_path):
    odd = tmp_path / "a@2026-11-25"
    odd.mkdir()
    assert side_of(f"{odd}") == Side(odd)
    assert side_of("recordings@2026-11-25") == Side(Path("recordings"), "2026-11-25")


def test_one_script_alone(tmp_path):
    folder = days(tmp_path / "one", 2, 10, 0)
    assert list(runs_of(Side(folder), "round").steps) == ["round.test-core"]
    with pytest.raises(SetUpFault, match="of the script diagnostic"):
        runs_of(Side(folder), "diagnostic")


def test_a_step_that_only_one_side_ran_is_said(tmp_path):
    one = days(tmp_path / "one", 2, 10, 0)
    other = tmp_path / "other"
    other.mkdir()
    failed = kinds.StepFailed(script="round", step="more", why="no answer")
    begun = kinds.StepStarted(script="round", step="more")
    a_day(other, 2, [*a_test_of_core(100, 10, 0), (begun, 200), (failed, 210)])
    _, said = compared(one, other)
    assert "round.more: A never ran; B 1 not done" in said


def test_the_sample_against_itself_differs_in_nothing(tmp_path):
    sample = tmp_path / SAMPLE.name
    sample.write_bytes(SAMPLE.read_bytes())
    step_runs = runs_of(Side(sample))
    steps = compare(step_runs, runs_of(Side(sample)))
    assert len(steps) > 80
    assert not any(step.said for step in steps)
    table = next(step for step in steps if step.name == "round.tides-table")
    assert any("HIGH WATER" in line for line in table.first.lines[0])


def test_json_says_the_same(tmp_path):
    one, other = (runs_of(Side(days(tmp_path / f"{n}", 5, 10, n, seed=n))) for n in (1, 2))
    said = json.loads(as_json_text(one, other, compare(one, other)))
    assert said["steps"][0]["said"]["other_numbers"] == ["ERRORS 1  |  ERRORS 2"]
    assert said["steps"][0]["first"]["done"] == 5


def test_the_index_and_the_lines_agree_on_what_a_run_is(tmp_path):
    runs = runs_of(Side(days(tmp_path / "one", 4, 10, 0))).steps["round.test-core"]
    assert len(runs.took_us) == len(runs.lines) == runs.done == 4
    assert runs.took_us[0] / S_US == pytest.approx(10, abs=0.2)
