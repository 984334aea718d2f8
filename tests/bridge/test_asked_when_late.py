"""The terminal asks about a late step, and what a person types there reaches the script."""

from __future__ import annotations

import io
import threading
import time
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.bridge import Bridge
from exhibit.bridge.inbox import Inbox
from exhibit.bridge.request_door import RequestDoor
from exhibit.commands.terminal import Terminal
from exhibit.decisions.machine.script import WhenLate
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.line.events import Opened, Received
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.recording import RecordingWriter, Tail, read_all
from tests.decisions.deciders import decider_for
from tests.decisions.heron import MACHINE, folder, opened, pause, script, wait

LONG_S = 60.0
"""Real time: longer than anything here takes, unless the computer stalls."""
LATE = msgspec.structs.replace(wait("end", "ended", within_us=1_000), late=WhenLate("ask"))


class Asked:
    """A run whose only step is late at once, and the person at its terminal."""

    def __init__(self, place: Path) -> None:
        clock = RecordingClock()
        begun = opened(wall=clock.opened_wall)
        self.writer = RecordingWriter(place, begun)
        self.events = Inbox()
        described = folder(script("round", LATE, pause("look", 1_000)))
        decider = decider_for(described, begun, Wanted(before=(), rounds=1, after=()))
        bridge = Bridge(
            decider,
            self.writer,
            clock,
            lambda byte, opening: "",
            self.events,
            withholding=Withholding(MACHINE),
        )
        self.clock = clock
        self.door = RequestDoor(place / "door", bridge.ask)
        self.said = io.StringIO()
        self.terminal = Terminal(place / "door", MACHINE.site, self.said)
        self.outcomes: list[str] = []
        self.running = threading.Thread(
            target=lambda: self.outcomes.append(bridge.run(stay_when_failed=False)), daemon=True
        )
        self.running.start()
        self.events.put(Opened("a line", clock.now_us(), 1))
        tail, give_up_s = Tail(self.writer.path), time.monotonic() + LONG_S
        while "WHAT NOW" not in self.said.getvalue():
            assert time.monotonic() < give_up_s, self.said.getvalue()
            for entry in tail.read_new():
                self.terminal.report(entry)
            time.sleep(0.01)
        tail.close()

    def ends(self) -> list[kinds.AnyFact | kinds.UnknownFact]:
        self.running.join(LONG_S)
        self.door.close()
        return [entry.fact for entry in read_all(self.writer.path).entries]


@pytest.fixture
def asked(tmp_path: Path) -> Asked:
    return Asked(tmp_path)


def test_a_person_who_types_leave_out_has_the_script_go_on(asked):
    asked.terminal.answer("leave out\n")
    facts = asked.ends()
    answered = kinds.LateAnswered(step="end", answer="leave out", by="the person at the terminal")
    assert answered in facts
    assert asked.outcomes == ["done"]


def test_a_person_who_types_stop_ends_it(asked):
    asked.terminal.answer("stop\n")
    facts = asked.ends()
    assert [fact.outcome for fact in facts if isinstance(fact, kinds.ScriptEnded)] == ["stopped"]
    assert asked.outcomes == ["stopped"]


def test_a_person_who_types_wait_on_is_asked_again_and_what_comes_then_counts(asked):
    asked.terminal.answer("wait on\n")
    asked.events.put(Received(b"JOB 3 ENDED\r\n", asked.clock.now_us()))
    facts = asked.ends()
    assert [fact.step for fact in facts if isinstance(fact, kinds.StepEnded)] == ["end", "look"]
    assert asked.outcomes == ["done"]
    assert "That was not done" not in asked.said.getvalue()
