"""A late step's further tries fit into the limit of its script, or `exhibit check` gives advice.

The limits are those of the Whimbrel's files: 15 minutes for the round, 3 for the first step tried here.
"""

import pytest

from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.whole import examine
from tests.folder.folder_writing import FILES, with_edit

pytestmark = pytest.mark.pure

TABLE = 'within = "3 min"\nlate = "wait on"'
ROUND = 'late = "stop"    # nobody may be there'


def advice(files: dict[str, bytes]) -> list[Mistake]:
    """The advice of this check on these files, none of which may be mistaken."""
    found = examine(files).mistakes
    assert [mistake.what for mistake in found if not mistake.is_advice] == []
    return [mistake for mistake in found if "longer than the limit of the script" in mistake.what]


def in_step(name: str, within: str, late: str) -> dict[str, bytes]:
    """The files with another limit, and this `late`, in a step of the round that has 30 s and no `late`."""
    text = FILES["round.toml"].decode()
    before, named, step = text.partition(f'name = "{name}"')
    changed = step.replace('within = "30 s"', f'within = "{within}"\nlate = "{late}"', 1)
    assert changed.partition("[[")[0] != step.partition("[[")[0]
    return {**FILES, "round.toml": f"{before}{named}{changed}".encode()}


def test_the_demonstrations_scripts_have_room_for_their_late_steps():
    assert advice(FILES) == []


@pytest.mark.parametrize(("minutes", "found"), [("7.5", False), ("7.6", True), ("15", True)])
def test_a_step_that_is_waited_on_for_gets_its_time_twice(minutes, found):
    files, line = with_edit("round.toml", TABLE, f'within = "{minutes} min"\nlate = "wait on"')
    assert [(one.file, one.line) for one in advice(files)] == [("round.toml", line + 1)] * found


@pytest.mark.parametrize(
    ("late", "within", "write"),
    [
        ("again once", "7.5 min", ""),
        ("again once", "7.6 min", 'or late = "stop"'),
        ("again 4 times", "3 min", ""),
        ("again 5 times", "3 min", 'or late = "again 4 times"'),
        ("again 9 times", "7 min", 'or late = "again once"'),
    ],
)
def test_a_command_that_is_typed_again_gets_its_time_as_often(late, within, write):
    """And what is proposed instead is the most that fits."""
    found = advice(in_step("look-in-the-log", within, late))
    assert [one.write_instead.endswith(write) for one in found] == ([True] if write else [])


def test_what_the_whole_script_says_counts_for_a_step_that_says_nothing():
    """It's then reported at the step's limit. A pause has none."""
    files, _ = with_edit("round.toml", ROUND, 'late = "wait on"')
    assert advice(files) == []
    text = files["round.toml"].decode()
    before, log, step = text.partition('name = "look-in-the-log"')
    longer = f"{before}{log}{step.replace('30 s', '10 min', 1)}"
    line = longer[: longer.index('within = "10 min"')].count("\n") + 1
    found = advice({**files, "round.toml": longer.encode()})
    assert [(one.line, "20 min in all" in one.what) for one in found] == [(line, True)]


@pytest.mark.parametrize("late", ["stop", "ask", "leave out"])
def test_whatever_gives_no_more_time_is_in_order(late):
    files, _ = with_edit("round.toml", TABLE, f'within = "15 min"\nlate = "{late}"')
    assert advice(files) == []


def test_the_tidy_up_may_take_longer_for_the_scripts_limit_cuts_it_nowhere():
    assert advice(in_step("stop-shuttle", "10 min", "wait on")) == []


def test_a_way_home_has_a_limit_too():
    old = FILES["home.toml"].decode().partition("[[ways.")[2]
    old = old[old.index('within = "30 s"') :].splitlines()[0]
    files, line = with_edit("home.toml", old, 'within = "4 min"\nlate = "wait on"')
    assert [(one.file, one.line) for one in advice(files)] == [("home.toml", line + 1)]


def test_a_single_try_that_is_too_long_is_a_mistake_and_no_advice_besides():
    files, _ = with_edit("round.toml", TABLE, 'within = "20 min"\nlate = "wait on"')
    found = [one for one in examine(files).mistakes if one.file == "round.toml"]
    assert [("whole script" in one.what, one.is_advice) for one in found] == [(True, False)]
