"""A bridge that lags decides by the recording's time, and types only at the port that it knows of."""

from __future__ import annotations

import os

import pytest

from exhibit.bridge.inbox import StopWanted, wait_for_events
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.line.awake import Awake
from exhibit.line.events import Lost, Opened
from exhibit.line.typist import Typist
from tests.bridge.bridge_world import Staged, World
from tests.decisions.again import check_decided_again
from tests.decisions.heron import S, command, folder, machine, script

ONE = Wanted(before=(), rounds=1, after=())
TWO_UNDER_WAY = machine(typing={"window": 2})
OFF = command("off", "off", "ended")
BEGIN = folder(script("round", command("begin", "begin shuttle", "begun")), machine=TWO_UNDER_WAY)


# -- this computer was busy


@pytest.mark.parametrize("rate", [1.0, 20.0])
@pytest.mark.parametrize(("late_us", "listens_us"), [(40_000, 0), (60_000, 100_000)])
def test_only_a_bridge_that_wakes_up_late_listens_before_a_deadline_passes(rate, late_us, listens_us):
    """By how much is real time, at any rate."""
    world = World(rate=rate)
    world.now_us = S
    wait_for_events(world, world.clock, world.clock.now_us() - round(late_us * rate), Awake())
    assert world.now_us == S + listens_us


# -- the line holds up a byte


@pytest.mark.parametrize("slow", ["g", "n"])
def test_a_burst_behind_a_byte_that_the_line_held_up_is_decided_again_the_same(tmp_path, slow):
    """Two echoes arrive in one burst. Typing the byte after the first takes until after a heartbeat."""
    staged = Staged(tmp_path, BEGIN, ONE)

    def hold_up(byte: int) -> str:
        staged.world.now_us += 900_000 if chr(byte) == slow else 0
        return ""

    staged.while_typing = hold_up
    staged.receives_at(100_000, b"READY: ")
    staged.receives_at(1_900_000, b"BE")
    staged.receives_at(3_400_000, b"GI")
    staged.world.at(5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    facts = staged.facts(kinds.BytesReceived, kinds.BytesTyped, kinds.Heartbeat)
    typed = next(number for number, fact in enumerate(facts) if getattr(fact, "bytes", "") == slow)
    assert [type(fact) for fact in facts[typed + 1 : typed + 3]] == [kinds.Heartbeat, kinds.BytesReceived]
    check_decided_again(BEGIN, ONE, staged.entries())


# -- the line is lost and open again before the bridge has heard of it


class Port:
    """A port whose other end the test reads."""

    def __init__(self) -> None:
        self.far, self.near = os.pipe()
        os.set_blocking(self.far, False)

    def fileno(self) -> int:
        return self.near

    def write(self, data: bytes) -> int:
        return os.write(self.near, data)

    def typed(self) -> bytes:
        """What was typed since the last call."""
        try:
            return os.read(self.far, 100)
        except BlockingIOError:
            return b""

    def close(self) -> None:
        os.close(self.far)
        os.close(self.near)


class AtPorts(Staged):
    """Types by a real typist, at the port that it has been lent."""

    typist: Typist

    def type_byte(self, byte: int, opening: int) -> str:
        outcome = self.typist.type_byte(byte, opening)
        return str(outcome.fault) if outcome.sent != "yes" else ""


@pytest.fixture
def ports():
    made = Port(), Port(), Port()
    yield made
    for port in made:
        port.close()


def lagging(place, ports: tuple[Port, ...], losses: int, described: Folder = BEGIN) -> AtPorts:
    """Echo, loss and return wait in the bridge's inbox, while the line's reader has already handled them."""
    staged = AtPorts(place, described, ONE)
    staged.typist = Typist("the line", described.machine.line)
    staged.typist.lend(ports[0], 1)

    def lose_and_open_again() -> None:
        for opening in range(2, 2 + losses):
            staged.typist.take_back()
            staged.typist.lend(ports[opening - 1], opening)

    staged.receives_at(100_000, b"READY: ")
    staged.world.at(900_000, lose_and_open_again)
    staged.receives_at(S, b"B")
    for opening in range(2, 2 + losses):
        staged.world.at(S, Lost("unplugged", 950_000))
        staged.world.at(S, Opened("the line", 990_000, opening))
    return staged


@pytest.mark.parametrize("losses", [1, 2])
def test_nothing_is_typed_at_a_port_that_was_opened_after_what_was_decided_upon(tmp_path, ports, losses):
    staged = lagging(tmp_path, ports, losses)
    staged.world.at(2 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=True)
    assert [port.typed() for port in ports] == [b"be", b"", b""]
    why = staged.facts(kinds.TypingFailed)[0].why
    assert "the line" in why
    assert "opened again" in why
    check_decided_again(BEGIN, ONE, staged.entries())


def test_once_the_bridge_knows_of_the_return_it_types_at_the_new_port(tmp_path, ports):
    described = folder(
        script("round", command("begin", "begin shuttle", "begun"), tidy_up=(OFF,)), machine=TWO_UNDER_WAY
    )
    staged = lagging(tmp_path, ports, 1, described)
    staged.receives_at(3 * S, b"READY: ")
    staged.world.at(4 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=True)
    assert [port.typed()[:2] for port in ports] == [b"be", b"of", b""]
