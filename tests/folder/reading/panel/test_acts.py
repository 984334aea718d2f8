"""What a step has people do at the machine's front is read, fits the front, and is filled into the words."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.folder.files import read_files
from exhibit.folder.whole import examine, folder_from

HERON = read_files(Path("scripts/heron"))
FRONT = """
[switches]
count = 16
start = "000017"
keys.start = "START"
keys.deposit = "DEPOSIT"
load = "deposit"
lamps.address = "ADDRESS"
"""
STEP = 'hands_on = "Switch the machine on at its front."'
ACTS = 'hands_on = "Set {value}, wait for {lamps}, press {key}. {up}"'


def files(acts: str, front: str = FRONT, words: str = ACTS) -> dict[str, bytes]:
    opening = HERON["opening.toml"].decode()
    first, second = opening.split("[[step]]\nwait")
    opening = f"{first.replace(STEP, words)}{acts}\n[[step]]\nwait{second}"
    machine = HERON["machine.toml"].decode() + front
    return {**HERON, "opening.toml": opening.encode(), "machine.toml": machine.encode()}


def act(**keys: str) -> str:
    return "[[step.panel]]\n" + "".join(f'{key} = "{value}"\n' for key, value in keys.items())


def test_acts_are_read_in_order_and_fill_the_words():
    step = (
        folder_from(files(act(set="100017") + act(lamps="100017") + act(press="start")), "heron")
        .scripts["opening"]
        .steps[0]
    )
    assert [one.act for one in step.panel] == ["set", "lamps", "press"]
    assert step.panel[0].positions == "1 000 000 000 001 111"
    assert step.panel[1].name == "ADDRESS"
    assert step.words["en"].startswith("Set 100017, wait for 100017, press START. Up, counted from the left")


def test_load_sets_the_switches_and_presses_the_key_that_loads():
    words = 'hands_on = "Do it with {key}."'
    step = folder_from(files(act(load="000001"), words=words), "heron").scripts["opening"].steps[0]
    assert [(one.act, one.name or one.value) for one in step.panel] == [
        ("set", "000001"),
        ("press", "DEPOSIT"),
    ]
    assert step.words == {"en": "Do it with DEPOSIT."}


def test_start_is_the_number_that_stands_once_in_the_folder():
    words = 'hands_on = "Set {value}."'
    step = folder_from(files(act(set="start"), words=words), "heron").scripts["opening"].steps[0]
    assert step.words == {"en": "Set 000017."}


@pytest.mark.parametrize(
    ("acts", "what", "write"),
    [
        (act(set="200017"), "has only 1 of the 3", "set = a first digit from 0 to 1"),
        (act(set="17"), "take 6 digits", 'set = "000017"'),
        (act(press="strat"), 'is named "strat"; did you mean "start"?', 'press = "start"'),
        (act(lamps="000017", on="adress"), 'is named "adress"', 'on = "address"'),
        (act(sett="000017"), "sett", "set"),
        (act(set="000017", press="start"), "only one thing", "of its own for press"),
        ("[[step.panel]]\n", "doesn't say what to do", "one of: set, load, press, lamps"),
    ],
)
def test_an_act_that_cannot_be_is_a_mistake_with_what_to_write(acts, what, write):
    words = STEP
    found = [m for m in examine(files(acts, words=words)).mistakes if not m.is_advice]
    assert len(found) == 1
    assert what in found[0].what
    assert write in found[0].write_instead
    assert found[0].file == "opening.toml"


@pytest.mark.parametrize(
    ("front", "acts", "what"),
    [
        ("", act(set="000017"), "how many switches"),
        ("", act(lamps="000017"), "names no row of lamps"),
        ('[switches]\ncount = 16\nstart = "000017"\n', act(load="000017"), "which key loads"),
    ],
)
def test_a_front_that_says_too_little_is_a_mistake(front, acts, what):
    found = [m for m in examine(files(acts, front, STEP)).mistakes if not m.is_advice]
    assert [what in m.what for m in found] == [True]


def test_a_place_that_nothing_fills_is_a_mistake():
    found = [m for m in examine(files(act(press="start"))).mistakes if not m.is_advice]
    assert [m.write_instead for m in found] == ["one of: {key}"]


def test_any_base_and_grouping_can_be_described():
    for count, group, value in ((22, 4, "3FFFFF"), (24, 6, "1" * 24), (36, 3, "777777777777")):
        front = f'[switches]\ncount = {count}\ngroup = {group}\nstart = "{value}"\n'
        words = 'hands_on = "Set {value}."'
        step = folder_from(files(act(set="start"), front, words), "heron").scripts["opening"].steps[0]
        assert step.panel[0].positions.replace(" ", "") == "1" * count


def test_a_base_that_does_not_go_with_the_groups_is_a_mistake():
    front = '[switches]\ncount = 16\ngroup = 4\nbase = "octal"\nstart = "000017"\n'
    found = [m.what for m in examine(files("", front, STEP)).mistakes if not m.is_advice]
    assert found == ["in octal a digit takes 3 switches, but groups have 4"]
