"""`late`: what happens to a late step, as its script or the step itself says."""

import pytest

from exhibit.decisions.machine.script import STOP, WhenLate
from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

FRAME = 'late = "leave out"    # one frame is enough to go on'
ROUND = 'late = "stop"    # nobody may be there'
TABLE = 'late = "wait on"    # both exercisers take the processor and the discs from it'


def with_change(file: str, old: str, new: str) -> dict[str, bytes]:
    text = FILES[file].decode()
    assert text.count(old) == 1, old
    return {**FILES, file: text.replace(old, new).encode()}


def steps(files: dict[str, bytes], script: str) -> dict[str, WhenLate]:
    described = folder_from(files, "whimbrel").scripts[script]
    return {step.name: step.late for step in (*described.steps, *described.tidy_up)}


def test_a_step_can_have_another_late_than_its_script():
    late = steps(FILES, "round")
    assert late["tides-table"] == WhenLate("wait on")
    assert late["read-another-frame"] == WhenLate("leave out")
    assert late["begin-shuttle"] == STOP
    assert steps(FILES, "opening")["list-the-drives"] == WhenLate("again", 1)
    assert steps(FILES, "opening")["say-the-day"] == WhenLate("ask")


@pytest.mark.parametrize(
    ("value", "means"),
    [
        ("wait on", WhenLate("wait on")),
        ("again once", WhenLate("again", 1)),
        ("again 2 times", WhenLate("again", 2)),
        ("again 9 times", WhenLate("again", 9)),
        ("again, then ask", WhenLate("again", 1, True)),
        ("again once, then ask", WhenLate("again", 1, True)),
        ("again 3 times, then ask", WhenLate("again", 3, True)),
        ("leave out", WhenLate("leave out")),
        ("stop", STOP),
        ("ask", WhenLate("ask")),
    ],
)
def test_a_command_can_have_each_of_the_five(value, means):
    files = with_change("round.toml", 'type = "LOG"\n', f'type = "LOG"\nlate = "{value}"\n')
    assert steps(files, "round")["look-in-the-log"] == means


@pytest.mark.parametrize("value", ["again 1 times", "again 0 times", "again 10 times", "again", "later", ""])
def test_what_is_none_of_them_is_a_mistake(value):
    found = mistakes_in(with_change("round.toml", FRAME, f'late = "{value}"'))
    assert ["not something a late step can do" in mistake.what for mistake in found] == [True]


def test_a_scripts_late_does_not_apply_to_its_tidy_up_or_where_it_is_impossible():
    late = steps(with_change("round.toml", ROUND, 'late = "ask"'), "round")
    assert late["begin-shuttle"] == WhenLate("ask")
    assert late["stop-shuttle"] == STOP
    late = steps(with_change("round.toml", ROUND, 'late = "wait on"'), "round")
    assert (late["begin-shuttle"], late["stop-shuttle"]) == (WhenLate("wait on"), STOP)
    late = steps(with_change("opening.toml", 'late = "ask"', 'late = "leave out"'), "opening")
    assert late["say-the-day"] == WhenLate("leave out")
    assert late["turn-the-key"] == late["pack-in-upper"] == STOP
    late = steps(with_change("opening.toml", 'late = "ask"', 'late = "again once"'), "opening")
    assert late["say-the-day"] == WhenLate("again", 1)
    assert late["lower-up-to-speed"] == late["turn-the-key"] == STOP


def in_step(file: str, name: str, late: str) -> dict[str, bytes]:
    return with_change(file, f'name = "{name}"\n', f'name = "{name}"\nlate = "{late}"\n')


@pytest.mark.parametrize(
    ("files", "said"),
    [
        (
            with_change("round.toml", TABLE, 'late = "again once"'),
            "only a command or a secret can be typed again",
        ),
        (
            in_step("round.toml", "put-the-board-away", "again 2 times"),
            "only a command or a secret can be typed again",
        ),
        (in_step("opening.toml", "turn-the-key", "leave out"), "only that person knows"),
        (in_step("opening.toml", "pack-in-upper", "leave out"), "only that person knows"),
        (in_step("round.toml", "stop-shuttle", "ask"), "in a tidy-up no step is asked about"),
        (in_step("round.toml", "stop-shuttle", "leave out"), "in a tidy-up no step is left out"),
        (in_step("round.toml", "begin-shuttle", "again once"), "started twice"),
        (in_step("round.toml", "read-about-desks", "stop"), 'no key "late"'),
        (with_change("round.toml", FRAME, 'latr = "leave out"'), 'no key "latr"'),
    ],
)
def test_an_impossible_late_is_a_mistake(files, said):
    found = mistakes_in(files)
    assert [said in mistake.what for mistake in found] == [True]


def test_a_script_that_would_start_a_job_again_is_reported_at_each_such_step():
    found = mistakes_in(with_change("round.toml", ROUND, 'late = "again once"'))
    assert len(found) == 3
    assert all("started twice" in mistake.what for mistake in found)
