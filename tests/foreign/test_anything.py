"""Whatever is typed, turned and broken, a foreign machine goes on, and its log never contradicts itself."""

from itertools import pairwise
from random import Random

import pytest

from tests.foreign.bittern import Bittern
from tests.foreign.bittern_monitor import HARMFUL as BITTERN_HARMFUL
from tests.foreign.bittern_monitor import SHORTEST_CHARS
from tests.foreign.bittern_session import signed_on as signed_on_bittern
from tests.foreign.dunlin import Dunlin
from tests.foreign.dunlin_host import HARMFUL as DUNLIN_HARMFUL
from tests.foreign.dunlin_session import signed_on as signed_on_dunlin
from tests.foreign.hand import Hand
from tests.foreign.truths import KINDS, Truths
from tests.foreign.wire import FAULTS, Wire

pytestmark = pytest.mark.pure

ACTS = ("power on", "power off", "start", "crash", "notice tea is ready", "help", "")
ACTS += ("pack fault", "unit fault", "tear tea is ready")
LINES = {
    "bittern": (
        *(
            "TIME",
            "JOBS",
            "BEGIN PACER 1",
            "BEGIN RAKER",
            "BEG RAK 2",
            "STOP 1",
            "CEASE",
            "LEVELS",
            "SIGN OFF",
        ),
        *("SIGN GAUGER", "SEDGE14", "CLOSE", "ZERO", "HAL", "16", "Y", "N", "#", ""),
    ),
    "dunlin": (
        *(
            "date",
            "jobs",
            "list",
            "run sieve 1",
            "run weave 2",
            "run weave 1",
            "end 101",
            "end all",
            "load",
            "q",
        ),
        *("bye", "porter", "copper22", "down", "wipe", "stop", "d0", "yes", ""),
    ),
}
ANSWERS = {
    "WHICH DEVICE": "PACK\r",
    "STORE, IN BLOCKS": "16\r",
    "DATE, DD-MM-YY": "14-03-71\r",
    "MINUTES": "2\r",
    "-": "SIGN WARDEN\r",
    "WORD": "SEDGE14\r",
    "unit address": "\r1F40",
    "boot from?": "d1\r",
    "date (yymmdd)?": "780314\r",
    "time (hhmm)?": "0915\r",
    "name:": "fitter\r",
    "secret:": "copper22\r",
    "load display": "q",
}
"""What usually is typed at some prompts, so that the machine gets somewhere."""
START_US = 200_000_000
"""When anything begins to happen: somebody is signed on by then."""


def anything(hand: Hand, name: str, seed: int, count: int) -> None:
    """Type, turn and wait at random, `count` times."""
    chance = Random(seed)
    for _ in range(count):
        state = hand.machine.truth.at(hand.now_us)
        usual = ANSWERS.get(state.prompt or "", "Y" if "RIGHT" in (state.prompt or "") else "")
        choice = chance.random()
        if choice < 0.04:
            hand.act(chance.choice(ACTS))
        elif state.runs in ("off", "halted"):
            hand.act("start" if state.powered else "power on")
            hand.run(13)
        elif usual and choice < 0.7:
            slowly(hand, usual)
        elif choice < 0.85:
            slowly(hand, chance.choice(LINES[name]) + chance.choice(("\r", "\r", "\r", "")))
        else:
            hand.type("".join(chr(chance.randrange(128)) for _ in range(chance.randint(1, 6))))
        hand.run(chance.choice((0.05, 3, 8, 15, 30, 300)))


def slowly(hand: Hand, text: str) -> None:
    """Type as fast as a person."""
    for letter in text:
        hand.type(letter)
        hand.run(0.3)


def signed_on(name: str, fault: str, seed: int) -> Hand:
    """Somebody is signed on at a machine behind a line, whose fault begins only then."""
    if name == "bittern":
        return signed_on_bittern(Wire(Bittern(seed), fault, seed=seed, begins_us=START_US))
    return signed_on_dunlin(Wire(Dunlin(seed), fault, seed=seed, begins_us=START_US))


def contradictions(truths: Truths) -> list[str]:
    """What can't be true at once, at any of the moments of the log."""
    found = []
    for truth in truths:
        state = truths.at(truth.at_us)
        running = state.runs in ("system", "closing")
        for wrong, what in (
            (truth.what not in KINDS, "an unknown kind"),
            (state.powered != (state.runs != "off"), "power"),
            (state.jobs and not running, "jobs without a system"),
            (state.signed_on and not running, "signed on without a system"),
            (state.prompt and state.runs not in ("loader", "system"), "a prompt of nothing"),
            (state.prompt and state.asleep, "asleep at a prompt"),
            (state.asleep and state.runs != "system", "asleep without a system"),
            (any(job.ends_us < truth.at_us for job in state.jobs.values()), "a job beyond its end"),
        ):
            if wrong:
                found.append(f"{what}: {truth}")
    return found


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", ["bittern", "dunlin"])
def test_the_log_never_contradicts_itself(name, fault, seed):
    hand = signed_on(name, fault, seed)
    anything(hand, name, seed, 100)
    truths = hand.machine.truth
    assert contradictions(truths) == []
    times = [at_us for at_us, _ in hand.stamped]
    assert times == sorted(times)
    assert times[-1] <= hand.now_us


@pytest.mark.parametrize("name", ["bittern", "dunlin"])
def test_harm_is_in_the_log_exactly_where_a_harmful_command_was_carried_out(name):
    harmful = {"bittern": BITTERN_HARMFUL, "dunlin": DUNLIN_HARMFUL}[name]
    whats = set()
    for seed in range(8):
        hand = signed_on(name, "none", seed)
        anything(hand, name, seed, 150)
        commands = [truth.about for truth in hand.machine.truth.of("command")]
        words = [command.split()[0] for command in commands]
        shortest = SHORTEST_CHARS if name == "bittern" else 4
        carried_out = [word for word in words if any(h.startswith(word[:shortest]) for h in harmful)]
        assert [truth.about.split()[0] for truth in hand.machine.truth.of("harm")] == carried_out
        whats |= {truth.what for truth in hand.machine.truth}
    assert whats == set(KINDS)


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", ["bittern", "dunlin"])
def test_it_does_not_matter_how_time_is_cut(name, fault):
    def session(cut: bool) -> Hand:
        hand = signed_on(name, fault, 1)
        if cut:
            run_to = hand.run_to

            def in_steps(to_us: int) -> str:
                came = ""
                while (due_us := hand.machine.next_event_us()) is not None and due_us < to_us:
                    came += run_to(max(due_us, hand.now_us))
                return came + run_to(to_us)

            hand.run_to = in_steps
        anything(hand, name, 1, 50)
        return hand

    whole, cut = session(False), session(True)
    assert whole.stamped == cut.stamped
    assert whole.machine.truth == cut.machine.truth


def test_a_wire_s_times_never_run_backwards_for_whoever_waits_for_the_next_event():
    for fault in FAULTS:
        hand = signed_on("dunlin", fault, 1)
        dues = []
        while hand.now_us < START_US + 300_000_000:
            due_us = hand.machine.next_event_us()
            assert due_us is not None
            assert due_us >= hand.now_us
            dues.append(due_us)
            hand.run_to(max(due_us, hand.now_us + 1))
        assert all(before <= after for before, after in pairwise(dues))
