"""The script's steps as visitors are told of them, taken back while nobody hears the machine."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.page.day.steps import WAITS_US
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.decisions.page.day.work import (
    AGAIN,
    LOST,
    SILENT,
    after,
    caption,
    ended,
    line,
    opened,
    started,
    step,
)
from tests.recordings.make_sample import SAMPLE

pytestmark = pytest.mark.pure

ROUND = (started("round", 2), step("round", "take-the-desk"), step("round", "say-the-word"))


BEAT = kinds.Heartbeat(wall="2026-11-25T09:12:00.000+00:00")


def steps(*told, **changed):
    return after(*told, **changed)["steps"]


def test_a_chapter_lasts_until_the_next_one_begins():
    found = steps(*ROUND)
    assert (found["script"], found["round"], found["at"], found["name"]) == ("round", 2, 1, "signing-on")
    assert found["seq"] == 4
    assert steps(*ROUND, step("round", "begin-shuttle"), 1, BEAT)["at"] == 2


def test_it_says_of_how_many():
    assert steps(*ROUND)["of"] == len(opened().chapters["round"])


def test_before_the_first_chapter_there_is_none():
    assert steps(started("round", 2), step("round", "read-about-desks")) is None


@pytest.mark.parametrize("what", [ended("round"), kinds.SessionFailed(why="no", last_lines=[]), LOST, SILENT])
def test_they_end_with_the_script_and_while_nobody_hears_the_machine(what):
    assert steps(*ROUND, what) is None


NEXT = (*ROUND, caption(), step("round", "begin-shuttle"))


def test_a_chapter_is_announced_with_the_first_caption_that_tells_of_it():
    assert steps(*NEXT, 5, BEAT)["at"] == 1
    assert steps(*NEXT, 5, line("shuttle-begun"), caption())["at"] == 2


def test_a_caption_of_the_chapter_before_that_waited_for_its_turn_announces_nothing():
    waited = msgspec.structs.replace(caption(), because=[4])
    assert steps(*NEXT, 5, waited)["at"] == 1


def test_a_chapter_of_which_no_caption_tells_is_announced_after_eight_seconds():
    assert steps(*NEXT, 8, BEAT)["at"] == 2
    assert steps(*NEXT, 8, BEAT, first=opened(rate=20.0))["at"] == 1
    assert steps(*NEXT, 160, BEAT, first=opened(rate=20.0))["at"] == 2


def test_without_a_caption_a_chapter_waits_for_a_moment_alone():
    assert steps(*ROUND, step("round", "begin-shuttle"))["at"] == 1
    assert steps(*ROUND, step("round", "begin-shuttle"), 1, BEAT)["at"] == 2


def test_what_waits_to_be_announced_ends_with_its_script():
    assert steps(*NEXT, ended("round"), 9, BEAT) is None
    assert steps(*NEXT, SILENT, 9, AGAIN)["at"] == 2


def test_they_come_back_if_the_script_turns_out_to_have_gone_on():
    assert steps(*ROUND, SILENT, AGAIN)["at"] == 1
    assert steps(*ROUND, SILENT, kinds.BytesReceived(bytes="X", first_us=0))["at"] == 1
    assert steps(*ROUND, SILENT, ended("round"), AGAIN) is None


def test_a_script_without_chapters_has_none():
    assert steps(*ROUND, first=opened(chapters={})) is None


def test_in_the_sample_the_steps_and_the_caption_tell_of_the_same_chapter():
    view, began_us = View(), {}
    for entry in read_all(SAMPLE).entries:
        view.apply(entry)
        began_us[entry.seq] = entry.at_us
        items = view.batch(0, console=False).get("items", {})
        shown, told = items.get("caption"), items.get("steps")
        if shown and told and entry.at_us - began_us[told["seq"]] < WAITS_US:
            assert shown["trigger_seq"] >= told["seq"], (told["name"], shown["id"])
