"""Nothing is typed between a failure and its fact, nor after that until a person says "go on"."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.commands import Command, Tell, Type
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.bridge.bridge_world import Staged
from tests.bridge.test_another_day import LATE
from tests.decisions.again import check_decided_again
from tests.decisions.far_end import FarHeron, LocalEcho
from tests.decisions.heron import CANCEL, S, command, folder, machine, pause, script
from tests.decisions.session.test_homing import ROUNDS, described
from tests.streams.full_disc import FullDisc

BEGIN = folder(
    script("round", command("begin", "BEGIN SHUTTLE", "begun")), machine=machine(typing={"window": 3})
)
"""Three characters are on their way at a time, and nothing is tidied up after them."""


class Order:
    """What a bridge typed although a failure had been decided or recorded."""

    def __init__(self, staged: Staged) -> None:
        self._may_type: int | None = None
        """How many more bytes may be typed since a failure was decided; None if none was."""
        self.typed_after: list[int] = []
        self._decider = staged.bridge._decider
        self._received, self._note = self._decider.received, self._decider.note
        staged.bridge._decider.received = self._look_received  # type: ignore[method-assign]
        staged.bridge._decider.note = self._look_note  # type: ignore[method-assign]
        self._while_typing, staged.while_typing = staged.while_typing, self._typed

    def _look_received(self, data: bytes, at_us: int) -> list[Command]:
        return self._look(self._received(data, at_us))

    def _look_note(self, entry: kinds.Entry) -> list[Command]:
        if isinstance(entry.fact, kinds.SessionCleared):
            self._may_type = None
        return self._look(self._note(entry))

    def _look(self, commands: list[Command]) -> list[Command]:
        for number, order in enumerate(commands):
            if isinstance(order, Tell) and isinstance(order.fact, kinds.SessionFailed):
                # What is half typed is cancelled by the same decision.
                self._may_type = sum(len(o.data) for o in commands[:number] if isinstance(o, Type))
        return commands

    def _typed(self, byte: int) -> str:
        if self._may_type == 0:
            self.typed_after.append(byte)
        elif self._may_type is not None:
            self._may_type -= 1
        return self._while_typing(byte)


def check(staged: Staged) -> None:
    """Runs it to its end, without a failure."""
    order = Order(staged)
    staged.world.at(150 * S, StopWanted("enough"))
    staged.world.at(250 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=True)
    assert bytes(order.typed_after) == b""
    check_decided_again(staged.folder, staged.wanted, staged.entries())


# -- the disc becomes full


def asleep(place: str) -> FarHeron:
    """A machine that printed its prompt before anybody listened."""
    heron = FarHeron(place)
    while heron.next_us() is not None:
        heron.take()
    return heron


def nudged(place: Path) -> Staged:
    return Staged(place, described(), ROUNDS, asleep("ready"))


def goes_home(place: Path) -> Staged:
    return Staged(place, described(), ROUNDS, FarHeron("desk"))


def cancels(place: Path) -> Staged:
    half_typed = msgspec.structs.replace(NOTHING, recording="the last", half_typed="WI")
    return Staged(place, described(), ROUNDS, asleep("ready"), left=half_typed)


def without_tidy_up(place: Path) -> Staged:
    return Staged(place, BEGIN, ROUNDS, FarHeron())


@pytest.mark.parametrize("begin", [nudged, goes_home, cancels, without_tidy_up])
def test_whichever_fact_finds_the_disc_full_nothing_is_typed_before_the_failure_is_recorded(
    tmp_path, monkeypatch, begin: Callable[[Path], Staged]
):
    """While the state of the console is being found out, on the way home, and while a command is typed."""
    for fills_at in range(2, 40):
        with monkeypatch.context() as patch:
            FullDisc(patch).fills_at = fills_at
            staged = begin(tmp_path / f"{fills_at}")
            check(staged)
        failed = [fact.why for fact in staged.facts(kinds.SessionFailed)]
        assert len(failed) == 1, fills_at
        assert "the disc for the recordings is full" in failed[0]


def test_the_day_after_knows_of_a_disc_that_the_last_heartbeat_found_full(tmp_path, monkeypatch):
    def resting(place: Path) -> Staged:
        rests = folder(script("round", pause("look", S)), rest_us=20 * S)
        return Staged(place, rests, Wanted(before=(), rounds=2, after=()), begins=LATE)

    as_ever = resting(tmp_path / "as ever")
    assert isinstance(as_ever.bridge.run(stay_when_failed=True), kinds.CarriedOver)
    beats = [entry.seq for entry in as_ever.entries() if isinstance(entry.fact, kinds.Heartbeat)]
    FullDisc(monkeypatch).fills_at = beats[-1]
    staged = resting(tmp_path / "full")
    carried_over = staged.bridge.run(stay_when_failed=True)
    assert staged.facts(kinds.RecordNearlyFull) != []
    assert isinstance(carried_over, kinds.CarriedOver)
    assert carried_over.failed == "the disc for the recordings is full"


# -- other failures


def test_after_a_character_that_the_line_did_not_accept_the_rest_is_not_typed_either(tmp_path):
    staged = Staged(tmp_path, BEGIN, ROUNDS, FarHeron())
    staged.while_typing = lambda byte: "nothing was taken for 1 s" if chr(byte) == "E" else ""
    check(staged)
    assert bytes(staged.typed) == b"B" + CANCEL
    typed = staged.facts(kinds.BytesTyped, kinds.TypingFailed)
    assert [getattr(fact, "bytes", "failed") for fact in typed] == [
        *("B", "E", "failed", "G", "failed", CANCEL.decode()),
    ]


def test_a_local_echo_is_recorded_after_what_was_typed_because_of_it(tmp_path):
    heron = asleep("ready")
    heron.echoes = False
    staged = Staged(tmp_path, BEGIN, ROUNDS, LocalEcho(heron), keeps_time=True)
    staged.receives_at(100_000, b"READY: ")
    check(staged)
    assert staged.facts(kinds.LocalEchoFound) != []
    assert staged.facts(kinds.SessionFailed) != []
