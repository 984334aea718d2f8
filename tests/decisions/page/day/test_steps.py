"""The script's steps as visitors are told of them, taken back while nobody hears the machine."""

from __future__ import annotations

import pytest

from exhibit.facts import kinds
from tests.decisions.page.day.work import AGAIN, LOST, SILENT, after, ended, opened, started, step

pytestmark = pytest.mark.pure

ROUND = (started("round", 2), step("round", "take-the-desk"), step("round", "say-the-word"))


def steps(*told, **changed):
    return after(*told, **changed)["steps"]


def test_a_chapter_lasts_until_the_next_one_begins():
    found = steps(*ROUND)
    assert (found["script"], found["round"], found["at"], found["name"]) == ("round", 2, 1, "signing-on")
    assert found["seq"] == 4
    assert steps(*ROUND, step("round", "begin-shuttle"))["at"] == 2


def test_it_says_of_how_many():
    assert steps(*ROUND)["of"] == len(opened().chapters["round"])


def test_before_the_first_chapter_there_is_none():
    assert steps(started("round", 2), step("round", "read-about-desks")) is None


@pytest.mark.parametrize("what", [ended("round"), kinds.SessionFailed(why="no", last_lines=[]), LOST, SILENT])
def test_they_end_with_the_script_and_while_nobody_hears_the_machine(what):
    assert steps(*ROUND, what) is None


def test_they_come_back_if_the_script_turns_out_to_have_gone_on():
    assert steps(*ROUND, SILENT, AGAIN)["at"] == 1
    assert steps(*ROUND, SILENT, kinds.BytesReceived(bytes="X", first_us=0))["at"] == 1
    assert steps(*ROUND, SILENT, ended("round"), AGAIN) is None


def test_a_script_without_chapters_has_none():
    assert steps(*ROUND, first=opened(chapters={})) is None
