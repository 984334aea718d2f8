"""A bridge that wakes up listens first: nothing is typed by a deadline from before the sleep."""

from __future__ import annotations

import pytest

from exhibit.bridge.inbox import StopWanted
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.line.awake import Awake
from exhibit.line.events import Lost, Opened
from tests.bridge.bridge_world import Staged
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, command, folder, machine, pause, script

ONE = Wanted(before=(), rounds=1, after=())
WHY = "this computer was asleep for 2 h 0 min and heard nothing"
RESTS_S = 5
WORK = folder(
    script("round", pause("look", RESTS_S * S), command("begin", "begin shuttle", "begun")), machine=machine()
)
"""After a pause a command is typed: the pause's deadline is the one that a sleep holds up."""


class Sleeps(Staged):
    """The computer sleeps at `sleeps_at_us`; its steady clock stands still meanwhile, the other one doesn't.

    The line's reader, a thread of its own, notices that within 0.2 s.
    """

    def falls_asleep(self, at_us: int, for_s: float = 7200.0, noticed_us: int = 200_000) -> None:
        world, slept = self.world, [0.0]

        def steady_s() -> float:
            return world.now_us / S

        self.bridge._awake = self.bridge._sender._awake = Awake(steady_s, lambda: steady_s() + slept[0])

        def sleep() -> None:
            slept[0] = for_s
            self.asleep_until = len(self.typed)
            world.at(world.now_us + noticed_us, Lost(WHY, world.now_us + noticed_us))
            world.at(world.now_us + noticed_us, Opened("a line", world.now_us + noticed_us, 2))

        world.at(at_us, sleep)

    def type_byte(self, byte: int, opening: int) -> str:
        self.openings.append(opening)
        return super().type_byte(byte, opening)

    openings: list[int]


def begun(tmp_path) -> Sleeps:
    staged = Sleeps(tmp_path, WORK, ONE)
    staged.openings = []
    staged.receives_at(100_000, b"READY: ")
    return staged


def pause_ends_us(staged: Staged) -> int:
    (due,) = [fact.due_us for fact in staged.facts(kinds.DeadlineArmed) if fact.due_us > (RESTS_S - 1) * S][
        :1
    ]
    return due


@pytest.fixture
def undisturbed(tmp_path) -> Staged:
    staged = begun(tmp_path / "undisturbed")
    staged.world.at(20 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    return staged


def test_without_a_sleep_the_command_is_typed_when_the_pause_is_over(undisturbed):
    assert bytes(undisturbed.typed)[:1] == b"b"


@pytest.mark.parametrize("before_us", [150_000, 50_000, 1_000])
def test_a_deadline_that_is_due_on_waking_types_nothing_before_the_loss_is_known(
    tmp_path, undisturbed, before_us
):
    first = next(e for e in undisturbed.entries() if isinstance(e.fact, kinds.BytesTyped))
    staged = begun(tmp_path / "asleep")
    staged.falls_asleep(first.at_us - before_us)
    staged.world.at(20 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    facts = staged.facts(kinds.LineLost, kinds.BytesTyped)
    assert facts[0] == kinds.LineLost(why=WHY)
    assert 1 not in staged.openings
    check_decided_again(WORK, ONE, staged.entries())


def test_a_byte_that_was_decided_just_before_the_sleep_is_not_typed_after_it(tmp_path):
    staged = begun(tmp_path)
    staged.falls_asleep(10**12)
    world, really = staged.world, staged.bridge._decider.note
    slept = [0.0]
    staged.bridge._awake = staged.bridge._sender._awake = Awake(
        lambda: world.now_us / S, lambda: world.now_us / S + slept[0]
    )

    def note(entry):
        commands = really(entry)
        if isinstance(entry.fact, kinds.BytesTyped):  # it is recorded, and typed next
            slept[0] = 3600.0
        return commands

    staged.bridge._decider.note = note
    staged.world.at(20 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert staged.typed == []
    assert staged.facts(kinds.TypingFailed)[0].why == "this computer was asleep for 60 min"
