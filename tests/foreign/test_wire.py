"""Each fault of the line does what its name says, in both directions, and nothing else."""

from itertools import pairwise
from random import Random

import pytest

from tests.foreign.bittern import Bittern
from tests.foreign.bittern_session import at_monitor, key, load, sign_on, signed_on
from tests.foreign.core import with_even_parity
from tests.foreign.hand import Hand, plain
from tests.foreign.wire import FAULTS, LOST_US, Plan, Wire

pytestmark = pytest.mark.pure

AFTER_US = 120_000_000
"""When the faults begin: the machine has been started by then."""


def typed_at_halted(fault: str, count: int, *, chance: float = 0.01) -> tuple[Wire, str]:
    """`count` letters are typed at a machine that runs nothing and copies them; returns what came back."""
    wire = Wire(Bittern(), fault, chance_of_each=chance)
    hand = Hand(wire, even_parity=True)
    hand.done("power on")
    for _ in range(count):
        hand.type("U")
        hand.run(0.1)
    hand.run(30)
    return wire, hand.heard


def test_without_a_fault_the_line_changes_nothing():
    straight, wired = signed_on(), signed_on(Wire(Bittern()))
    assert wired.stamped == straight.stamped
    assert wired.machine.truth == straight.machine.truth


def test_characters_are_lost_both_ways():
    wire, came = typed_at_halted("loss", 2000)
    ways = [way for _, way, _ in wire.spoilt]
    assert 5 < ways.count("in") < 40
    assert 5 < ways.count("out") < 40
    assert came == "U" * (2000 - len(ways))


def test_characters_are_doubled_both_ways():
    wire, came = typed_at_halted("doubling", 2000)
    ways = [way for _, way, _ in wire.spoilt]
    assert 5 < ways.count("in") < 40
    assert 5 < ways.count("out") < 40
    assert came == "U" * (2000 + len(ways))


def test_one_bit_of_some_characters_changes():
    wire, came = typed_at_halted("flips", 2000)
    assert len(came) == 2000
    assert 10 < len(wire.spoilt) < 80
    changed = [letter for letter in came if letter != "U"]
    assert all((ord(letter) ^ ord("U")).bit_count() == 1 for letter in changed)


def test_a_stalled_line_brings_everything_late_and_at_once():
    hand = at_monitor(Wire(Bittern(), "stall", begins_us=AFTER_US))
    for _ in range(40):
        hand.line("TIME", "\n-")
    assert plain(hand.heard).count("\n-TIME\nSUN 14 MAR 71") == 40
    times = [at_us for at_us, _ in hand.stamped]
    assert times == sorted(times)
    at_once = sum(before == after for before, after in pairwise(times))
    assert at_once > 10
    assert max(after - before for before, after in pairwise(times)) > 1_000_000


def test_a_stall_delays_what_is_typed():
    wire = Wire(Bittern(), "stall")
    hand = Hand(wire, even_parity=True)
    hand.done("power on")
    from_us = wire._stall.next_change_us(0)
    until_us = wire._stall.next_change_us(from_us)
    hand.run_to(from_us + 1)
    hand.type("AB")
    hand.run_to(until_us + 1_000_000)
    assert [at_us for at_us, _ in hand.stamped] == [until_us + 100_000, until_us + 200_000]
    assert hand.heard == "AB"


def test_while_the_machine_is_frozen_its_clock_stops_and_nothing_is_forgotten():
    wire = Wire(Bittern(), "freeze", begins_us=AFTER_US)
    hand = signed_on(wire)
    hand.line("BEGIN PACER 5", "\n*")
    begun = wire.truth.of("job begun")[0]
    hand.until("* JOB 1 OVER", 600)
    ended = wire.truth.of("job ended")[0]
    assert wire.core.truth.of("job ended")[0].at_us - wire.core.truth.of("job begun")[0].at_us == 300_000_000
    assert ended.at_us - begun.at_us > 303_000_000
    assert ended.at_us == begun.ends_us
    assert [at_us for at_us, _ in hand.stamped] == sorted(at_us for at_us, _ in hand.stamped)


def test_what_is_typed_at_a_frozen_machine_arrives_when_it_goes_on():
    wire = Wire(Bittern(), "freeze")
    hand = Hand(wire, even_parity=True)
    hand.done("power on")
    from_us = wire._freeze.next_change_us(0)
    until_us = wire._freeze.next_change_us(from_us)
    hand.run_to(from_us + 500_000)
    hand.type("A")
    assert hand.run_to(until_us) == ""
    hand.run(1)
    assert hand.stamped == [(until_us + 100_000, bytes((with_even_parity(ord("A")),)))]
    assert wire.at_machine(until_us) == wire.at_machine(from_us) == from_us


def test_what_passes_while_the_line_is_lost_is_gone_and_the_far_end_can_tell():
    wire = Wire(Bittern(), "lost")
    hand = Hand(wire, even_parity=True)
    hand.done("power on")
    from_us = wire._lost.next_change_us(0)
    hand.run_to(from_us - 1_000_000)
    assert not wire.lost
    for _ in range(60):
        hand.type("U")
        hand.run(0.1)
    assert [(at_us < from_us, from_us <= at_us < from_us + LOST_US) for at_us, _, _ in wire.spoilt] == [
        (False, True)
    ] * len(wire.spoilt)
    assert 29 <= len(wire.spoilt) <= 31
    assert len(hand.heard) + len(wire.spoilt) == 60
    due = Wire(Bittern(), "lost")
    changes = []
    while len(changes) < 2:
        due.advance(due.next_event_us() if due.next_event_us() > due.now_us else due.now_us + 1)
        if due.lost != bool(len(changes) % 2):
            changes.append(due.now_us)
    assert changes == [from_us, from_us + LOST_US]


def test_the_machine_makes_notices_every_twenty_to_sixty_seconds():
    hand = signed_on(Wire(Bittern(), "notices", begins_us=AFTER_US))
    hand.run(900)
    notices = hand.machine.truth.of("notice")
    gaps_us = [after.at_us - before.at_us for before, after in pairwise(notices)]
    assert len(notices) > 15
    assert all(20_000_000 <= gap_us <= 60_000_000 for gap_us in gaps_us)
    assert plain(hand.heard).count("\n\a* NOTE") == len(notices)


@pytest.mark.parametrize("fault", FAULTS)
def test_the_same_seed_gives_the_same_faults(fault):
    def session(seed: int) -> list[tuple[int, bytes]]:
        hand = at_monitor(Wire(Bittern(), fault, seed=seed, begins_us=AFTER_US))
        for _ in range(400):
            hand.type("TIME\r"[len(hand.stamped) % 5])
            hand.run(0.37)
        return hand.stamped

    assert session(1) == session(1)
    assert (session(1) == session(2)) == (fault == "none")


def test_the_two_clocks_of_a_machine_that_freezes_agree():
    plan = Plan("freeze", "freeze", 0, Random(3))
    for us in range(0, 3_600_000_000, 777_777):
        machine_us = us - plan.spent_us(us)
        assert plan.with_spans_us(machine_us) <= us
        assert plan.with_spans_us(machine_us) == us or plan.ends_us(us - 1) is not None


def test_a_whole_day_at_the_machine_survives_the_faults_that_spoil_no_character():
    for fault in ("freeze", "notices"):
        hand = Hand(Wire(Bittern(), fault), even_parity=True)
        hand.done("power on")
        hand.run(30)
        hand.done("start")
        hand.until("DEVICE\n?")
        load(hand)
        hand.run(20)
        if fault == "freeze":
            sign_on(hand)
            hand.line("CLOSE", "(Y/N) ")
            key(hand, "Y", "GO OFF")
        assert hand.machine.truth.of("harm") == []
