"""After "hands off" nothing more is typed at all, and after "stop" only the tidy-up: whenever it is said.

Measured at the machine's own log of what reached it, at 300 baud, with a disc that holds up one fact in ten
for half a second: only what was in the port already, and one character, may still reach it.
"""

from __future__ import annotations

import random
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.bridge.halting import Halting
from exhibit.bridge.inbox import StopWanted
from exhibit.bridge.request_door import Answer, Request
from exhibit.decisions.decider import HELD_BACK
from exhibit.decisions.machine.script import Folder, Script
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.line_settings import LineSettings
from exhibit.streams.recording import RecordingWriter
from tests.bridge.bridge_world import Staged
from tests.decisions import far_end
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import AT_REST, S, command, folder, machine, press, read, script, secret
from tests.decisions.session.test_homing import LANDMARKS
from tests.sampling import sample

CHARACTER_US = 33_333
SYNC_US = 500_000
"""How long the disc takes now and then."""
ONE = Wanted(before=(), rounds=1, after=())
ROUND: Script = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    command("sign", "sign", "word"),
    secret("say-the-word"),
    command("leave", "leave", "ready", at="desk"),
    command("show", "board", "board"),
    read("look"),
    press("away", "space", "ready", at="board"),
    tidy_up=(
        press("put-away", "space", "ready", at="board"),
        press("no-word", "enter", "ready", at="word"),
        command("leave-too", "leave", "ready", at="desk"),
        command("end-shuttle", "end {begin.job}", "stopped"),
    ),
)
WHOLE_US = 30 * S


def slow() -> Folder:
    there = machine(
        line=LineSettings(baud=300, flow="xon/xoff"),
        landmarks=LANDMARKS,
        typing={"nudge": b"\r", "window": 3},
    )
    home = msgspec.structs.replace(AT_REST, begins={"round": ("signed-out",)})
    return msgspec.structs.replace(folder(ROUND, machine=there), way_home=home)


class AtSlowPort(FarHeron):
    """The Heron behind a port that holds what is typed until the line has sent it."""

    def __init__(self) -> None:
        super().__init__()
        self.log: list[tuple[int, int, int]] = []
        """When each byte had arrived whole, when it was put into the port, and which it was."""

    def typed(self, byte: int, at_us: int) -> None:
        begins_us = max(at_us, self.log[-1][0] if self.log else 0)
        self.log.append((begins_us + CHARACTER_US, at_us, byte))
        super().typed(byte, begins_us)

    @property
    def half_typed(self) -> str:
        return self._line


class Said:
    """A round during which this is said at this moment, on a disc whose every tenth fact waits for a sync."""

    def __init__(self, place: Path, request: str, at_us: int, seed: int) -> None:
        self.at_us, self.answers = at_us, list[Answer]()
        chance = random.Random(seed)
        self.machine = AtSlowPort()

        class Disc(RecordingWriter):
            def append(writer, fact: kinds.AnyFact, at_us: int) -> kinds.Entry:  # noqa: N805
                entry = super().append(fact, at_us)
                if chance.random() < 0.1 and hasattr(self, "staged"):
                    self._wait(SYNC_US)
                return entry

        self.staged = Staged(place, slow(), ONE, self.machine, Disc, character_us=CHARACTER_US)
        self.asked = False
        self.request = Request(request=request, by="a docent")  # type: ignore[arg-type]
        self.staged.world.at(at_us, self._ask)
        self.staged.world.at(at_us + 60 * S, self._ask_to_end)
        self.outcome = self.staged.bridge.run(stay_when_failed=True)

    def _ask(self) -> None:
        if not self.asked:  # as the door's thread does it, whatever the bridge waits for
            self.asked, self.asked_us = True, self.staged.world.now_us
            self.staged.bridge.ask(self.request, self.answers.append)

    def _ask_to_end(self) -> None:
        self.staged.world.put(StopWanted("the test is over"))

    def _wait(self, us: int) -> None:
        world = self.staged.world
        until_us = world.now_us + us
        if world.now_us <= self.at_us < until_us:
            world.now_us = self.at_us
            self._ask()
        world.now_us = until_us

    def after(self) -> list[int]:
        """What reached the machine that wasn't in the port at that moment."""
        return [byte for _, put_us, byte in self.machine.log if put_us > self.asked_us]


@pytest.fixture(autouse=True)
def _at_300_baud(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(far_end, "CHAR_US", CHARACTER_US)


CHANCE = random.Random(300)
ALL = [CHANCE.randrange(S, WHOLE_US) for _ in range(100)]


def moments() -> list[int]:
    return sample(ALL, 5)


@pytest.mark.trial(name="hands-off")
@pytest.mark.parametrize("at_us", moments())
def test_hands_off_leaves_what_stands_there_and_types_nothing_more(tmp_path: Path, at_us: int):
    said = Said(tmp_path, "hands off", at_us, seed=at_us)
    assert said.after() == []
    assert [answer.accepted for answer in said.answers] == [True]
    facts = said.staged.facts()
    (off,) = (fact for fact in facts if isinstance(fact, kinds.HandsOff))
    after = facts[facts.index(off) :]
    assert not [fact for fact in after if isinstance(fact, kinds.BytesTyped | kinds.SecretTyped)]
    assert [fact for fact in after if isinstance(fact, kinds.SessionFailed)]
    stands, named = said.machine.half_typed, off.standing.upper()
    assert named == (stands if said.machine.place != "word" else "****" * bool(stands))


@pytest.mark.trial(name="hands-off")
@pytest.mark.parametrize("at_us", moments())
def test_stop_types_nothing_more_of_the_script_and_then_tidies_up(tmp_path: Path, at_us: int):
    said = Said(tmp_path, "stop", at_us, seed=at_us)
    facts = said.staged.facts()
    began = [n for n, fact in enumerate(facts) if isinstance(fact, kinds.TidyUpStarted)]
    asked = next(n for n, fact in enumerate(facts) if isinstance(fact, kinds.RequestMade))
    until = began[0] if began else len(facts)  # it may have been said before the script began
    typed_between = [
        fact for fact in facts[asked:until] if isinstance(fact, kinds.BytesTyped | kinds.SecretTyped)
    ]
    assert [fact for fact in typed_between if getattr(fact, "bytes", "") != "\x18"] == []
    assert said.machine.jobs == {}
    assert {fact.outcome for fact in facts if isinstance(fact, kinds.ScriptEnded)} <= {"stopped", "done"}
    commands = {"BEGIN SHUTTLE", "SIGN", "LEAVE", "BOARD", "END 1"}
    assert set(said.machine.executed) <= commands


def asked_at(place: Path, request: str, nth: int, described: Folder) -> Staged:
    """A round in which this is said when the fact of the nth byte is written, before the byte is typed."""
    seen: list[kinds.AnyFact] = []

    class Disc(RecordingWriter):
        def append(writer, fact: kinds.AnyFact, at_us: int) -> kinds.Entry:  # noqa: N805
            entry = super().append(fact, at_us)
            if isinstance(fact, kinds.BytesTyped | kinds.SecretTyped):
                seen.append(fact)
                if len(seen) == nth:
                    staged.bridge.ask(Request(request=request, by="a docent"), lambda answer: None)  # type: ignore[arg-type]
            return entry

    staged = Staged(place, described, ONE, AtSlowPort(), Disc, character_us=CHARACTER_US)
    staged.world.at(60 * S, StopWanted("the test is over"))
    staged.bridge.run(stay_when_failed=True)
    assert len(seen) >= nth
    return staged


@pytest.mark.parametrize(("request_", "why"), [("hands off", [HELD_BACK]), ("here", [])])
def test_a_byte_whose_fact_was_already_written_is_held_back_and_the_recording_says_why(
    tmp_path: Path, request_: str, why: list[str]
):
    staged = asked_at(tmp_path, request_, 1, slow())
    assert [fact.why for fact in staged.facts(kinds.TypingFailed)] == why
    assert bool(staged.typed) == (not why)


@pytest.mark.parametrize(
    ("nth", "standing"),
    [
        (1, ""),
        (9, "begin sh"),
        (14, "begin shuttle"),  # its RETURN
        (19, "sign"),
        (20, ""),  # the secret's first character
        (21, "****"),
        (22, "****"),
    ],
)
def test_a_byte_that_was_held_back_neither_stands_there_nor_ends_what_does(
    tmp_path: Path, nth: int, standing: str
):
    staged = asked_at(tmp_path, "hands off", nth, slow())
    (off,) = staged.facts(kinds.HandsOff)
    assert off.standing == standing
    far_end = staged.world.far_end
    assert isinstance(far_end, AtSlowPort)
    assert len(far_end.half_typed) == (len(standing) if "*" not in standing else [1, 8][nth - 21])


@pytest.mark.parametrize(
    ("nth", "told"), [(14, '"begin shuttle" is half typed on the console'), (15, "nothing was tidied up")]
)
def test_where_nothing_cancels_it_a_return_that_was_held_back_is_not_told_as_typed(
    tmp_path: Path, nth: int, told: str
):
    without = msgspec.structs.replace(slow().machine.typing, cancel=b"")
    described = msgspec.structs.replace(
        slow(), machine=msgspec.structs.replace(slow().machine, typing=without)
    )
    staged = asked_at(tmp_path, "hands off", nth, described)
    (failed,) = staged.facts(kinds.SessionFailed)
    assert told in failed.why
    assert "RETURN were typed" not in failed.why


def test_without_looking_for_who_asks_a_byte_would_still_be_typed(tmp_path: Path, monkeypatch: Any):
    monkeypatch.setattr(Halting, "holds", False)

    def is_late(at_us: int) -> bool:
        (tmp_path / f"{at_us}").mkdir()
        return bool(Said(tmp_path / f"{at_us}", "hands off", at_us, seed=at_us).after())

    assert any(map(is_late, ALL))
