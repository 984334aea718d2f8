"""A day of the Whimbrel in virtual time: what visitors see of it, and when by the machine's own clock."""

from __future__ import annotations

import datetime

import pytest

from exhibit.decisions.page.views import View
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.units import S_US
from exhibit.folder.whole import read_folder
from exhibit.records.simulated_rehearsal import SimulatedRun
from tests.folder.folder_writing import ROOT

FOLDER = read_folder(ROOT / "scripts" / "whimbrel")
WALL = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
TWO_MINUTES_S = 120


@pytest.fixture(scope="module")
def day() -> list[kinds.Entry]:
    entries: list[kinds.Entry] = []
    SimulatedRun(FOLDER, Wanted(rounds=2), WALL, entries.append).run()
    return entries


def of_kind(day, kind):
    return [entry for entry in day if isinstance(entry.fact, kind)]


def rounds_s(day) -> list[tuple[float, float]]:
    """When each round began and ended."""
    began = [e.at_us / S_US for e in of_kind(day, kinds.ScriptStarted) if e.fact.script == "round"]
    ended = [e.at_us / S_US for e in of_kind(day, kinds.ScriptEnded) if e.fact.script == "round"]
    return list(zip(began, ended, strict=True))


def test_a_round_takes_less_than_three_minutes(day):
    assert all(ended - began < 180 for began, ended in rounds_s(day))


def test_in_any_two_minutes_of_a_round_there_are_three_compositions(day):
    view, scenes = View(), []
    for entry in day:
        view.apply(entry)
        if isinstance(entry.fact, kinds.CaptionShown):
            scenes.append((entry.at_us / S_US, view.batch(0)["items"]["scene"]["name"]))
    for began, ended in rounds_s(day):
        start = began
        while start + TWO_MINUTES_S <= ended:
            within = [scene for at, scene in scenes if at < start + TWO_MINUTES_S]
            before = sum(at < start for at, _ in scenes)
            assert len({*within[max(0, before - 1) :]}) >= 3, start
            start += 5


def test_the_board_is_seen_twice_in_a_round_first_with_two_jobs_and_then_with_three(day):
    for began, ended in rounds_s(day):
        going = [
            e.fact.value
            for e in of_kind(day, kinds.ReadingTaken)
            if e.fact.name == "jobs-going" and began < e.at_us / S_US < ended
        ]
        assert going == sorted(going)
        assert set(going) == {2, 3}
        assert going.count(2) >= 3
        assert going.count(3) >= 3


def test_something_moves_within_ten_seconds_and_what_the_machine_is_for_is_said_within_thirty(day):
    first_piece = of_kind(day, kinds.BytesReceived)[0]
    first_caption = of_kind(day, kinds.CaptionShown)[0]
    assert first_piece.at_us < 10 * S_US
    assert first_caption.at_us < 30 * S_US
    assert "tides" in first_caption.fact.words["en"]
    assert "Gezeiten" in first_caption.fact.words["de"]


def test_the_work_on_the_tides_is_one_caption_while_its_figures_move(day):
    for began, ended in rounds_s(day):
        shown = [e.fact.caption for e in of_kind(day, kinds.CaptionShown) if began < e.at_us / S_US < ended]
        printed = [
            e.fact.fields["hours"]
            for e in of_kind(day, kinds.PatternSeen)
            if e.fact.pattern == "hours-worked" and began < e.at_us / S_US < ended
        ]
        assert printed == ["3", "6", "9", "12", "15", "18", "21", "24"]
        assert shown.count("hours-worked") == 1


def test_the_board_is_explained_before_anything_is_told_of_it(day):
    of_the_board = {one.name for one in FOLDER.captions if one.trigger.reading}
    for began, ended in rounds_s(day):
        shown = [e.fact.caption for e in of_kind(day, kinds.CaptionShown) if began < e.at_us / S_US < ended]
        told = [name for name in shown if name in of_the_board or name == "board-shown"]
        assert told[0] == "board-shown"
        assert len(told) > 1


def test_no_caption_that_is_shown_has_more_than_76_characters_or_an_unfilled_place(day):
    for entry in of_kind(day, kinds.CaptionShown):
        for words in entry.fact.words.values():
            assert len(words) <= 76, words
            assert "{" not in words


def test_what_is_announced_usually_takes_as_long_as_the_folder_says(day):
    started = {}
    for entry in of_kind(day, kinds.StepStarted):
        started.setdefault(f"{entry.fact.script}.{entry.fact.step}", entry.at_us / S_US)
    for name, ahead in FOLDER.ahead.items():
        takes_s = started[ahead.step] - started[ahead.begins]
        assert takes_s == pytest.approx(ahead.usually_us / S_US, abs=2), name
