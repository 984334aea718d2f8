"""Who starts a run sees all that happens in it, even after midnight, when the next recording begins."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from exhibit.commands import running
from exhibit.commands.running import Run
from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import RecordingWriter
from tests.commands.made_page import MadePage
from tests.decisions.heron import opened

Turn = Callable[[], None]


class Bridge:
    """Takes one turn each time that its status is asked for, and has ended after the last."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.writer = RecordingWriter(folder, opened())
        self.turns: list[Turn] = []
        self.end_is_asked = False

    def another_day(self) -> None:
        self.writer = RecordingWriter(self.folder, opened())

    def closes(self) -> None:
        self.writer.close("another day has begun", 1)

    def asks(self, step: str) -> Turn:
        asked = kinds.HandsOnAsked(script="round", step=step, words={"en": "Turn the key."}, caution={})
        return lambda: self.writer.append(asked, 1) and None

    # what Run needs of a process

    def first_line(self, meanwhile: Turn = lambda: None) -> str:
        return json.dumps(f"{self.writer.path}")

    def status(self) -> int | None:
        if self.turns:
            self.turns.pop(0)()
        return None if self.turns else 0

    def ask_to_end(self) -> None:
        self.end_is_asked = True

    def end(self, within_s: float) -> None:
        self.turns.clear()
        self.writer.abandon()


@pytest.fixture
def bridge(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bridge:
    made = Bridge(tmp_path)
    monkeypatch.setattr(running, "LOOK_EVERY_S", 0.0)
    monkeypatch.setattr(running, "Child", lambda arguments, **others: made)
    return made


def steps_asked(bridge: Bridge, *turns: Turn) -> list[str]:
    """The steps that the person at the terminal is asked to do during these turns."""
    bridge.turns += turns
    seen: list[kinds.Entry] = []
    status = Run(["bridge"], MadePage()).execute(lambda address, path: None, seen.append)
    assert status == 0
    return [entry.fact.step for entry in seen if isinstance(entry.fact, kinds.HandsOnAsked)]


def nothing() -> None:
    pass


@pytest.mark.parametrize("later", [0, 1, 5], ids=lambda later: f"{later} turns later")
def test_the_terminal_follows_on_after_midnight_however_late_the_next_recording_begins(
    bridge: Bridge, later: int
) -> None:
    asked = steps_asked(
        bridge,
        bridge.asks("before"),
        bridge.closes,
        *[nothing] * later,
        bridge.another_day,
        bridge.asks("after"),
    )
    assert asked == ["before", "after"]


def test_the_terminal_follows_on_after_each_midnight(bridge: Bridge) -> None:
    nights = [
        turn
        for day in ("tuesday", "wednesday", "thursday")
        for turn in (bridge.closes, nothing, bridge.another_day, bridge.asks(day))
    ]
    assert steps_asked(bridge, bridge.asks("monday"), *nights) == [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
    ]


def test_what_was_recorded_just_before_the_end_is_shown_even_from_the_next_day(bridge: Bridge) -> None:
    def all_at_once() -> None:
        for turn in (bridge.asks("before"), bridge.closes, bridge.another_day, bridge.asks("after")):
            turn()

    assert steps_asked(bridge, all_at_once) == ["before", "after"]


def test_a_second_run_in_the_same_folder_is_not_taken_for_the_next_day(bridge: Bridge) -> None:
    def another_run() -> None:
        other = RecordingWriter(bridge.folder, opened())
        asked = kinds.HandsOnAsked(script="round", step="theirs", words={"en": "Turn."}, caution={})
        other.append(asked, 1)
        other.close("over", 1)

    assert steps_asked(bridge, another_run, nothing, nothing, bridge.asks("ours")) == ["ours"]


def test_a_recording_that_is_cut_while_it_is_followed_ends_the_run_and_is_explained(bridge: Bridge) -> None:
    def cut() -> None:
        bridge.writer.path.write_bytes(b"")

    with pytest.raises(RecordingFault, match="has become shorter"):
        steps_asked(bridge, bridge.asks("before"), nothing, cut, nothing, nothing)
