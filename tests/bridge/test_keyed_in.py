"""What a person types at the keyboard reaches the machine, and no fact but its echo says what it was."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from exhibit.bridge.inbox import Asked, StopWanted
from exhibit.bridge.keyed_in import BY
from exhibit.bridge.request_door import Answer, Request
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.line.events import Received
from tests.bridge.bridge_world import Staged
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import SECRET, S, folder, hands_on, script

ONE = Wanted(before=(), rounds=1, after=())
ENGINEER = "an engineer of the museum"


class Day:
    """A session that has failed, and an engineer who takes the keyboard at 3 s."""

    def __init__(self, place: Path) -> None:
        self.machine = FarHeron()
        self.staged = Staged(place, folder(script("round", hands_on("key"))), ONE, self.machine)
        self.answers: list[Answer] = []
        self.asks(S, "refuse", step="key")
        self.asks(2 * S, "here")
        self.asks(3 * S, "take keyboard")

    def asks(self, at_us: int, request: str, **more: Any) -> None:
        asked = Request(request=request, by=ENGINEER, **more)  # type: ignore[arg-type]
        self.staged.world.at(at_us, Asked(asked, self.answers.append))

    def keys(self, at_us: int, text: str, **more: Any) -> None:
        self.asks(at_us, "key in", text=text, **more)

    def run(self, until_us: int) -> None:
        self.staged.world.at(until_us, StopWanted("the test is over"))
        self.staged.bridge.run(stay_when_failed=True)

    def text(self) -> str:
        return self.staged.writer.path.read_text("utf-8")


def test_it_is_typed_one_at_a_time_with_the_machines_own_return(tmp_path):
    day = Day(tmp_path)
    day.keys(4 * S, "begin shuttle\n")
    day.run(10 * S)
    assert day.machine.executed == ["BEGIN SHUTTLE"]
    typed = [entry for entry in day.staged.entries() if isinstance(entry.fact, kinds.BytesTyped)]
    assert {(entry.fact.bytes, entry.fact.count, entry.fact.by) for entry in typed} == {("", 1, BY)}
    times = [entry.at_us for entry in typed]
    assert times == sorted(set(times))
    assert len(times) == len("begin shuttle\r")


def test_after_a_character_that_could_not_be_typed_nothing_of_the_line_follows(tmp_path):
    day = Day(tmp_path)
    day.keys(4 * S, "stop 12\n")
    day.staged.while_typing = lambda byte: "the line is held up" if byte == ord("1") else ""
    day.run(10 * S)
    assert (day.machine.executed, len(day.staged.facts(kinds.TypingFailed))) == ([], 1)
    assert bytes(day.staged.typed) == b"stop "


def test_stop_ends_what_a_person_types_too(tmp_path):
    day = Day(tmp_path)
    day.keys(4 * S, "begin shuttle\n")
    day.asks(4 * S + 3, "stop")
    day.run(10 * S)
    assert day.machine.executed == []
    assert [fact.by for fact in day.staged.facts(kinds.HandsOff)] == [ENGINEER]


def test_only_the_machines_echo_says_what_was_typed(tmp_path):
    day = Day(tmp_path)
    day.keys(4 * S, "secretplan\n")
    day.run(10 * S)
    assert "secretplan" not in day.text()
    received = "".join(fact.bytes for fact in day.staged.facts(kinds.BytesReceived))
    assert "SECRETPLAN" in received


def test_of_a_secret_not_even_its_length_is_recorded(tmp_path):
    lengths = []
    for number, word in enumerate((SECRET, "X")):
        place = tmp_path / f"{number}"
        place.mkdir()
        day = Day(place)
        day.keys(4 * S, "sign\n")
        day.keys(6 * S, f"{word}\n")
        day.run(10 * S)
        facts = day.staged.facts(kinds.BytesTyped, kinds.SecretTyped, kinds.RequestMade)
        lengths.append([type(fact).__name__ for fact in facts])
        assert len(day.staged.facts(kinds.SecretTyped)) == 1
    assert lengths[0] == lengths[1]
    assert day.machine.place == "ready"


def test_xoff_holds_it_until_xon(tmp_path):
    day = Day(tmp_path)
    day.staged.world.at(3_500_000, Received(b"\x13", 3_500_000))
    day.keys(4 * S, "go")
    day.staged.world.at(8 * S, Received(b"\x11", 8 * S))
    day.run(12 * S)
    typed = [entry.at_us for entry in day.staged.entries() if isinstance(entry.fact, kinds.BytesTyped)]
    assert len(typed) == 2
    assert min(typed) >= 8 * S


def test_what_the_folder_bars_is_refused_with_the_reason_and_typed_only_at_a_second_word(tmp_path):
    day = Day(tmp_path)
    day.keys(4 * S, "halt\n")
    day.keys(5 * S, "halt\n", why="I mean it")
    day.run(10 * S)
    assert [answer.accepted for answer in day.answers[-2:]] == [False, True]
    assert "bars such a command (HALT)" in day.answers[-2].why
    assert day.machine.executed == ["HALT"]


def test_nothing_more_is_typed_once_it_was_given_back_or_hands_off_was_said(tmp_path):
    for request in ("give back", "hands off"):
        place = tmp_path / request
        place.mkdir()
        day = Day(place)
        day.keys(4 * S, "begin a shuttle that takes long to type\n")
        day.asks(4 * S + 100_000, request)
        day.run(10 * S)
        assert day.machine.executed == []
        assert 0 < len(day.staged.typed) < 20
