"""Noise on a newly opened line, as from switching on, doesn't end scripts, but ends watching without text."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.events import Lost, Opened, Readable, Received, Unreadable
from exhibit.line.faults import wrong_speed
from tests.bridge.bridge_world import Staged
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import S, command, folder, pause, script

NOISE = bytes(range(0x80, 0xC0))
FAULT = wrong_speed("a line", LineSettings(), "of the first 64 characters 64 aren't text")
ROUND = folder(script("round", command("begin", "begin shuttle", "begun"), pause("look", 20 * S)))


def noisy(staged: Staged, at_us: int) -> None:
    staged.world.at(at_us, Received(NOISE, at_us))
    staged.world.at(at_us, Unreadable("speed", FAULT, at_us))


def test_scripts_continue_and_the_noise_is_recorded(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, Wanted(before=(), rounds=1, after=()), FarHeron())
    noisy(staged, 5 * S)
    assert staged.bridge.run(stay_when_failed=False) == "done"
    (told,) = staged.facts(kinds.LineUnreadable)
    assert (told.cause, told.what, told.do) == ("speed", FAULT.what, FAULT.do)


def test_when_text_comes_after_all_the_recording_takes_the_diagnosis_back(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, Wanted(before=(), rounds=1, after=()), FarHeron())
    noisy(staged, 5 * S)
    staged.world.at(9 * S, Readable("speed", 9 * S))
    assert staged.bridge.run(stay_when_failed=False) == "done"
    (told, taken_back) = staged.facts(kinds.LineUnreadable, kinds.LineReadable)
    assert told.cause == taken_back.cause == "speed"


def test_a_watch_that_never_read_anything_ends_and_says_what_to_try(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, None)
    noisy(staged, 5 * S)
    with pytest.raises(LineFault) as fault:
        staged.bridge.run(stay_when_failed=True)
    assert fault.value is FAULT
    assert staged.facts(kinds.RecordingClosed) == [kinds.RecordingClosed(why=FAULT.what)]


def test_a_watch_goes_on_when_the_noise_comes_after_a_loss(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, None)
    staged.world.at(2 * S, Lost("unplugged", 2 * S))
    staged.world.at(3 * S, Opened("a line", 3 * S, 2))
    noisy(staged, 5 * S)
    staged.world.at(9 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=True) == "stopped"


def test_a_watch_goes_on_when_the_noise_comes_after_a_loss_on_another_day(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, None, begins=datetime(2026, 11, 25, 23, 59, 50, tzinfo=UTC))
    carried_over = staged.bridge.run(stay_when_failed=True)
    assert isinstance(carried_over, kinds.CarriedOver)
    staged.another_day(carried_over)
    for event in (
        Lost("unplugged", S),
        Opened("a line", S, 2),
        Received(NOISE, S),
        Unreadable("speed", FAULT, S),
    ):
        staged.world.at(staged.world.now_us + S, event)
    staged.world.at(staged.world.now_us + 9 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=True) == "stopped"


def test_noise_where_a_person_s_typing_is_heard_is_reported_and_the_watch_goes_on(tmp_path: Path):
    staged = Staged(tmp_path, ROUND, None)
    staged.world.at(5 * S, Unreadable("speed", FAULT, 5 * S, at_terminal=True))
    staged.world.at(9 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=True) == "stopped"
    assert len(staged.facts(kinds.LineUnreadable)) == 1
