"""The list of trials in docs/checks.md is the one of the tests, and what is sampled says so."""

import re
from pathlib import Path

from tests.sampling import WHOLE, sample

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "checks.md"
MARK = re.compile(r"mark\.trial\(name=\"([a-z-]+)\"")
ROW = re.compile(r"^\| `([a-z-]+)` \|", re.MULTILINE)
PAGES = ROOT / "tests" / "pages" / "conftest.py"
"""It takes a sample of the cases of all tests beside it."""
TESTS = {path: path.read_text("utf-8") for path in [*(ROOT / "tests").rglob("test_*.py"), PAGES]}


def test_the_page_lists_the_trials_that_there_are_and_no_other():
    marked = {name for text in TESTS.values() for name in MARK.findall(text)}
    listed = ROW.findall(PAGE.read_text("utf-8"))
    assert len(marked) > 10
    assert listed == sorted(marked)


def test_every_module_that_takes_a_sample_marks_a_trial_and_the_other_way_round():
    samples = {
        path.name for path, text in TESTS.items() if re.search(r"import .*\b(sample|number_of|WHOLE)\b", text)
    }
    marks = {path.name for path, text in TESTS.items() if MARK.search(text)}
    assert samples - {Path(__file__).name} == marks


def test_a_sample_has_one_of_each_kind_and_is_the_same_each_time():
    cases = [(number, number % 7) for number in range(100)]
    taken = sample(cases, 10, lambda case: [case[1]])
    assert taken == sorted(taken) == sample(cases, 10, lambda case: [case[1]])
    assert {kind for _, kind in taken} == set(range(7))
    assert len(taken) == (100 if WHOLE else 10)
    assert len(sample(cases, 3, lambda case: [case[1]])) == (100 if WHOLE else 7)
