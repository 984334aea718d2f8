"""An echo from nearer than the machine is found out where that is sure, and no honest one is taken for it."""

from __future__ import annotations

import random

import msgspec
import pytest

from exhibit.decisions.console.local_echo import RUNNING, TooSoon, sign_in
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron, LocalEcho
from tests.decisions.heron import (
    AT_REST,
    CHAR_US,
    ECHO_US,
    RETURN,
    SECRET,
    SETTLE_US,
    S,
    command,
    folder,
    machine,
    opened,
    pause,
    script,
)
from tests.decisions.typed import Typed

ROUND = script(
    "round",
    command("begin", "BEGIN SHUTTLE", "begun"),
    command("board", "BEGIN SUMS", "begun"),
    tidy_up=(command("end", "END {begin.job}", "stopped", within_us=200 * S),),
)


def described(nudge: bytes = b"", **typing: object) -> Folder:
    heron = machine(typing={"nudge": nudge, **typing}, landmarks={"signed-out": ("ready",)})
    scripts = (script("opening", pause("open")), ROUND, script("closing", pause("close")))
    return msgspec.structs.replace(folder(*scripts, machine=heron), way_home=AT_REST)


def at_prompt(
    far_end: FarHeron | LocalEcho, keeps_time: bool = True, where: Folder | None = None, rate: float = 1.0
) -> Driver:
    """The line has been opened, and the prompt came by itself."""
    where = where or described()
    begun = opened(where.machine, rate=rate)
    wanted = Wanted(before=(), rounds=2, after=())
    driver = Driver(decider_for(where, begun, wanted, {"word": SECRET}), far_end, opened_as=begun)
    driver.note(NOTHING)
    driver.open_line(keeps_time=keeps_time)
    driver.run(lambda: bool(driver.over) or bool(driver.facts(kinds.SessionFailed)))
    return driver


def silent() -> FarHeron:
    """A Heron that doesn't echo, though its folder says that it does."""
    heron = FarHeron()
    heron.echoes = False
    return heron


def signs(driver: Driver) -> list[str]:
    return [fact.sign for fact in driver.facts(kinds.LocalEchoFound)]


def why_failed(driver: Driver) -> str:
    return driver.facts(kinds.SessionFailed)[-1].why


# -- what comes back too soon


def test_a_local_echo_of_a_machine_without_one_is_found_before_any_return_is_typed():
    driver = at_prompt(LocalEcho(silent()))
    assert signs(driver) == ["too soon"]
    assert driver.far_end.executed == []
    assert RETURN not in driver.typed
    assert "before the machine can have received it" in why_failed(driver)


def test_without_that_finding_such_a_machine_would_have_been_taken_at_its_adapters_word():
    driver = at_prompt(LocalEcho(silent()), keeps_time=False)
    assert signs(driver) == []
    assert driver.far_end.executed[:1] == ["BEGIN SHUTTLE"]


def test_a_local_echo_besides_the_machines_own_is_found_by_its_time():
    driver = at_prompt(LocalEcho(FarHeron()))
    assert "too soon" in signs(driver)
    assert driver.far_end.executed == []


def test_an_honest_machine_is_never_taken_for_a_local_echo():
    driver = at_prompt(FarHeron())
    assert signs(driver) == []
    assert driver.over == "done"


@pytest.mark.parametrize("window", [1, 2, 4, 8])
def test_nor_is_one_with_several_characters_on_their_way(window):
    driver = at_prompt(FarHeron(), where=described(window=window))
    assert signs(driver) == []
    assert driver.far_end.executed[:1] == ["BEGIN SHUTTLE"]


def test_nor_where_notices_break_into_what_is_typed():
    for seed in range(40):
        heron = FarHeron()
        heron.notices_at = set(random.Random(seed).sample(range(1, 60), 4))
        assert signs(at_prompt(heron)) == [], seed


def test_nothing_is_judged_on_a_line_that_does_not_keep_time():
    assert signs(at_prompt(LocalEcho(silent()), keeps_time=False)) == []


def test_nothing_is_judged_where_the_recordings_clock_is_slower_than_the_worlds():
    assert signs(at_prompt(LocalEcho(silent()), rate=0.5)) == []


def test_nothing_is_judged_where_the_folder_says_that_there_is_no_echo():
    where = described(echo="none", pause_after_us=3 * CHAR_US)
    driver = at_prompt(LocalEcho(silent()), where=where)
    assert signs(driver) == []
    assert driver.over == "done"


def test_an_adapter_that_is_slower_than_the_machine_could_be_is_not_found():
    assert signs(at_prompt(LocalEcho(silent(), late_us=CHAR_US))) == []


def test_it_is_found_by_the_nudge_and_the_first_character():
    driver = at_prompt(LocalEcho(silent()), where=described(nudge=RETURN))
    assert signs(driver) == ["too soon"]
    assert driver.typed.count(RETURN) <= 1, "the nudge's own"
    assert driver.far_end.executed == []


def test_who_goes_on_without_having_switched_it_off_meets_it_again_before_any_return():
    driver = at_prompt(LocalEcho(silent()), where=described(nudge=RETURN))
    driver.asks("clear")
    driver.run(lambda: len(driver.facts(kinds.SessionFailed)) == 2)
    assert signs(driver) == ["too soon", "too soon"]
    assert driver.far_end.executed == []


def test_who_goes_on_having_switched_it_off_is_believed():
    driver = at_prompt(LocalEcho(FarHeron()), where=described(nudge=RETURN))
    driver.far_end.echoes = False
    driver.asks("clear")
    driver.run()
    assert driver.over == "done"
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "BEGIN SUMS", "END 1"]
    assert driver.facts(kinds.TypingConfirmed)


def test_what_was_begun_before_it_was_found_is_put_away_as_at_a_machine_without_echo():
    adapter = LocalEcho(FarHeron())
    adapter.echoes = False
    heron = adapter.machine
    driver = Driver(decider_for(described(), opened(), Wanted(before=(), rounds=1, after=())), adapter)
    driver.note(NOTHING)
    driver.open_line(keeps_time=True)
    driver.run(lambda: heron.executed == ["BEGIN SHUTTLE"])
    adapter.echoes, heron.echoes = True, False
    driver.run(lambda: bool(driver.facts(kinds.SessionFailed)))
    assert "too soon" in signs(driver)
    assert heron.executed == ["BEGIN SHUTTLE", "END 1"]
    ending = [e.at_us for e in driver.entries if isinstance(e.fact, kinds.BytesTyped)][-5:]
    assert all(later - sooner >= ECHO_US for sooner, later in zip(ending, ending[1:], strict=False))


def test_the_recording_of_another_day_knows_that_the_line_keeps_time():
    adapter = LocalEcho(FarHeron())
    adapter.echoes = False
    driver = Driver(decider_for(described(), opened(), Wanted(before=(), rounds=2, after=())), adapter)
    driver.note(NOTHING)
    driver.open_line(keeps_time=True)
    driver.run(lambda: bool(driver.facts(kinds.SessionResting)))
    carried = driver.decider.carry_over(driver.now_us)
    assert carried is not None
    assert carried.keeps_time
    adapter.echoes, adapter.machine.echoes = True, False
    next_day = Driver(decider_for(described(), opened(), Wanted(before=(), rounds=2, after=())), adapter)
    next_day.now_us = driver.now_us
    next_day.note(NOTHING)
    next_day.note(carried)
    next_day.run(lambda: bool(next_day.facts(kinds.SessionFailed)))
    assert signs(next_day) == ["too soon"]
    assert adapter.executed == ["BEGIN SHUTTLE", "BEGIN SUMS", "END 1"]


def test_it_ends_no_script_by_itself_before_it_came_twice_running():
    heron = machine()
    judge = TooSoon(heron, 1.0)
    judge.begin(keeps_time=True)
    at_us = S
    for byte in b"ABA":
        judge.typed(chr(byte), at_us)
        assert not judge.heard(bytes((byte,)), at_us + CHAR_US)
        judge.typed(chr(byte), at_us + S)  # this one comes when the machine may have sent it
        assert not judge.heard(bytes((byte,)), at_us + S + 2 * CHAR_US)
        at_us += 2 * S
    for number, byte in enumerate(b"AB", 1):
        at_us += S
        judge.typed(chr(byte), at_us)
        assert judge.heard(bytes((byte,)), at_us + CHAR_US) == (number == RUNNING)


def test_what_a_machine_that_prints_already_happens_to_print_is_not_judged():
    judge = TooSoon(machine(), 1.0)
    judge.begin(keeps_time=True)
    for at_us in range(S, 2 * S, CHAR_US):
        judge.typed(" ", at_us)
        assert not judge.heard(b"X" if at_us == S else b" ", at_us + CHAR_US)


def test_the_eighth_bit_makes_no_difference_where_it_is_none_of_the_text():
    judge = TooSoon(machine(), 1.0)
    judge.begin(keeps_time=True)
    for at_us in (S, S + SETTLE_US):
        judge.typed("A", at_us)
        found = judge.heard(b"\xc1", at_us + CHAR_US)
    assert found


# -- what comes back otherwise than from the machine


@pytest.mark.parametrize(
    ("typed", "folded", "came_back", "sign"),
    [
        ("g", "G", "g", "as typed"),
        ("go a", "GO A", "go", "as typed"),
        ("g", "G", "gG", "twice"),
        ("G", "G", "GG", "twice"),
        ("GO", "GO", "GOG", "twice"),
        ("GO", "GO", "GGO", "twice"),
        ("GO", "GO", "GOO", None),  # the second O alone is a doubled character
        ("GO", "GO", "X", None),
        ("go", "GO", "", None),
        ("GO", "GO", "G", None),
    ],
)
def test_each_sign_in_what_came_back(typed, folded, came_back, sign):
    assert sign_in(typed, folded, came_back) == sign


def test_small_letters_from_a_machine_that_makes_capitals_are_told_when_it_happened_each_time():
    typed = Typed().begin("go")
    for _ in range(3):
        assert not [fact for fact in typed.told if isinstance(fact, kinds.LocalEchoFound)]
        typed.prints(b"g")
        if typed.state == "cancelled":
            typed.again()
    assert [fact.sign for fact in typed.told if isinstance(fact, kinds.LocalEchoFound)] == ["as typed"]
    assert typed.state == "failed"


def test_a_flipped_bit_now_and_then_is_no_local_echo():
    typed = Typed().begin("go")
    for wrong in (b"g", b"GG", b"g"):
        typed.prints(wrong)
        if typed.state == "cancelled":
            typed.again()
    assert typed.state == "failed"
    assert not [fact for fact in typed.told if isinstance(fact, kinds.LocalEchoFound)]


def test_a_double_echo_is_told_on_any_line():
    driver = at_prompt(LocalEcho(FarHeron()), keeps_time=False)
    assert signs(driver) == ["twice"]
    assert driver.far_end.executed == []
    assert "came back wrong 3 times" in why_failed(driver)


# -- at a machine that is silent


def test_a_key_that_comes_back_from_a_silent_machine_is_told_and_stops_nothing():
    adapter = LocalEcho(FarHeron(), off=True)
    where = described(nudge=RETURN)
    driver = Driver(decider_for(where, opened(where.machine), Wanted(rounds=0, after=())), adapter)
    driver.note(NOTHING)
    driver.open_line()
    driver.run()
    assert signs(driver) == ["silent machine"]
    assert [fact.script for fact in driver.facts(kinds.ScriptStarted)] == ["opening"]
    assert driver.over == "done"


def test_a_machine_that_is_off_and_sends_nothing_back_is_told_of_nothing():
    adapter = LocalEcho(FarHeron(), off=True)
    adapter.echoes = False
    where = described(nudge=RETURN)
    driver = Driver(decider_for(where, opened(where.machine), Wanted(rounds=0, after=())), adapter)
    driver.note(NOTHING)
    driver.open_line()
    driver.run()
    assert signs(driver) == []
    assert driver.over == "done"
