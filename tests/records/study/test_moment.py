"""How everything stood at a moment follows from the facts up to it, and a keyframe changes nothing of it."""

from __future__ import annotations

import random
from pathlib import Path

import msgspec
import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.records.study.moment import MOST_KEPT, MomentView
from exhibit.streams.recording import read_all
from tests.decisions.heron import S, machine, opened

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"


@pytest.fixture(scope="module")
def entries() -> list[Entry]:
    return read_all(SAMPLE).entries


def after(*facts: kinds.AnyFact) -> dict:
    view = MomentView()
    for seq, fact in enumerate([opened(machine()), *facts], 1):
        view.apply(Entry(seq, seq * S, fact))
    return view.shown(0)


def test_the_screen_is_the_one_that_visitors_saw(entries: list[Entry]) -> None:
    mine, theirs = MomentView(), View()
    for entry in entries:
        mine.apply(entry)
        theirs.apply(entry)
        if entry.seq % 500 == 0:
            assert mine.shown(0)["console"] == theirs.batch(0)["console"]
            assert mine.shown(0)["at"] == theirs.batch(0)["at"]


def test_going_on_from_a_keyframe_is_the_same_as_reading_everything(entries: list[Entry]) -> None:
    chance = random.Random(3)
    (first, *_) = entries
    whole = MomentView()
    place = 0
    for until in sorted(chance.sample(range(1, len(entries)), 12)):
        for entry in entries[place:until]:
            whole.apply(entry)
        place = until
        kept = msgspec.json.decode(msgspec.json.encode(whole.snapshot()))
        again = MomentView(first.fact)
        again.restore(kept)
        for entry in entries[until : until + 200]:
            again.apply(entry)
        straight = MomentView(first.fact)
        straight.restore(msgspec.json.decode(msgspec.json.encode(whole.snapshot())))
        for entry in entries[until : until + 200]:
            straight.apply(entry)
        there = MomentView()
        for entry in entries[: until + 200]:
            there.apply(entry)
        assert msgspec.json.encode(again.shown(0)) == msgspec.json.encode(straight.shown(0))
        assert msgspec.json.decode(msgspec.json.encode(again.shown(0))) == msgspec.json.decode(
            msgspec.json.encode(there.shown(0))
        )


def test_what_has_ended_is_no_longer_said() -> None:
    started = kinds.ScriptStarted(script="round", title={}, by="the programme", round=3)
    step = kinds.StepStarted(script="round", step="add")
    assert after(started, step)["now"]["step"][0] == "add"
    assert after(started, step, kinds.StepEnded(script="round", step="add"))["now"]["step"] is None
    ended = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
    assert after(started, step, ended)["now"]["script"] is None
    taken = kinds.KeyboardTaken(by="engineer")
    assert after(taken, kinds.KeyboardGivenBack(by="engineer"))["now"]["keyboard"] is None


def test_a_trouble_stands_until_it_is_over_and_again_counts_as_the_same() -> None:
    first = kinds.TroubleRaised(trouble="disc", line="DISC ERROR", words={}, do={})
    again = kinds.TroubleRaised(trouble="disc", line="DISC ERROR", words={}, do={}, repeats=2, times=2)
    assert [one[:2] for one in after(first, again)["troubles"]] == [[3, "disc"]]
    assert after(first, kinds.TroubleOver(raised=2, by="docent 1"))["troubles"] == []


def test_a_deadline_that_has_passed_or_is_past_is_not_shown() -> None:
    armed = kinds.DeadlineArmed(name="step", due_us=100 * S)
    assert after(armed)["deadlines"] == [["step", 100 * S]]
    assert after(armed, kinds.DeadlinePassed(name="step"))["deadlines"] == []
    assert after(kinds.DeadlineArmed(name="step", due_us=S), kinds.TypingHeld())["deadlines"] == []


def test_a_limit_is_over_with_its_step_and_one_of_another_kind_is_not_said() -> None:
    step, script = (kinds.DeadlineArmed(name=name, due_us=100 * S) for name in ("step", "script"))
    ended = kinds.StepEnded(script="opening", step="turn-the-key")
    assert after(step, script, ended)["deadlines"] == [["script", 100 * S]]
    over = kinds.ScriptEnded(script="opening", outcome="done", why="", tidy=True)
    assert after(step, script, over)["deadlines"] == []
    assert after(kinds.DeadlineArmed(name="echo", due_us=2 * S))["deadlines"] == []


def test_no_recording_makes_it_grow_without_end() -> None:
    many = [kinds.ReadingTaken(display="d", frame=1, name=f"n{number}", value=1) for number in range(500)]
    shown = after(*many)
    assert len(shown["readings"]) == MOST_KEPT
    assert shown["readings"][-1][0] == "d: n499"


def test_the_machine_is_silent_since_its_last_character() -> None:
    silent = kinds.MachineSilent(heard_us=1 * S, due_us=2 * S, due="step")
    assert after(kinds.Heartbeat(wall="2026-11-25T09:00:02+00:00"), silent)["now"]["silent"] == [1 * S, 3]
