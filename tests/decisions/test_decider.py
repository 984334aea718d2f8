"""All decisions together: against a machine at the far end of a line, and again from the record alone."""

from __future__ import annotations

import random

import msgspec
import pytest

from exhibit.decisions.commands import Arm, Tell, Type
from exhibit.decisions.decider import Decider
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.again import check_decided_again, decided_again, decided_then, decider_again
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron, noisy
from tests.decisions.feeds import in_every_feed
from tests.decisions.heron import (
    MACHINE,
    SECRET,
    S,
    caption,
    command,
    folder,
    give,
    hands_on,
    opened,
    pause,
    press,
    read,
    script,
    secret,
)

ROUND = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    give("tell-of-it", "of-shuttle"),
    pause("look"),
    command("sign", "sign", "word"),
    secret("say-the-word"),
    command("leave", "leave", "ready", at="desk"),
    command("show", "board", "board"),
    press("put-away", "space", "ready", at="board"),
    tidy_up=(
        press("put-away-a-board", "space", "ready", at="board"),
        press("give-up-the-word", "cancel", "word", at="word"),
        command("leave-the-desk", "leave", "ready", at="desk"),
        command("end-shuttle", "end {begin.job}", "stopped"),
    ),
)
OPENING = script("opening", hands_on("key"))
CAPTIONS = (
    caption("at-ready", when="ready"),
    caption("of-shuttle", "Job {job}.", step_done="round.nothing"),
    caption("begun", "Job {job} runs.", step_done="round.begin"),
    caption("load-rises", "{value}", reading="board.load", change="rises"),
)
FOLDER = folder(ROUND, OPENING, captions=CAPTIONS)
WANTED = Wanted(before=("opening",), rounds=2, after=())
COMMANDS = {"BEGIN SHUTTLE", "SIGN", "LEAVE", "BOARD"}


def decider(described=FOLDER, wanted: Wanted | None = WANTED) -> Decider:
    return decider_for(described, opened(described.machine), wanted, {"word": SECRET})


def run(far_end: FarHeron, *, described=FOLDER, until=None) -> Driver:
    driver = Driver(decider(described), far_end, opened_as=opened(described.machine))
    driver.open_line()
    driver.asks("confirm", "key")
    driver.run(until)
    return driver


# -- against a machine


def test_two_rounds_run_and_everything_that_they_begin_is_ended():
    heron = FarHeron()
    driver = run(heron)
    assert driver.over == "done"
    assert heron.executed == [
        *("BEGIN SHUTTLE", "SIGN", "LEAVE", "BOARD", "END 1"),
        *("BEGIN SHUTTLE", "SIGN", "LEAVE", "BOARD", "END 2"),
    ]
    assert heron.jobs == {}
    assert heron.heard.count(SECRET.encode()) == 2


def test_the_readings_are_those_on_the_display():
    driver = run(FarHeron())
    readings = driver.facts(kinds.ReadingTaken)
    assert [fact.value for fact in readings if fact.name == "load"] == [1, 1]
    assert [fact.table for fact in readings if fact.name == "jobs"] == [
        [{"job": "1", "name": "SHUTTLE"}],
        [{"job": "2", "name": "SHUTTLE"}],
    ]


def test_nothing_is_typed_but_what_the_scripts_say():
    driver = run(FarHeron())
    lines = driver.typed.replace(b" \r", b"\r").split(b"\r")
    assert {line.strip(b" *").decode().upper() for line in lines} == {*COMMANDS, "END 1", "END 2", ""}


def test_each_echo_half_a_second_late_leads_to_no_false_second_attempt():
    heron = FarHeron()
    heron.echo_us = S // 2
    driver = run(heron)
    assert driver.over == "done"
    assert driver.facts(kinds.TypingGarbled) == []


@pytest.mark.parametrize("notice_at", range(1, 48))
def test_a_notice_at_any_moment_of_the_typing_changes_nothing_that_is_executed(notice_at):
    heron = FarHeron()
    heron.notices_at = {notice_at}
    driver = run(heron)
    assert set(heron.executed) <= {*COMMANDS, "END 1", "END 2"}
    assert driver.over == "done"
    heard = len(heron.heard) >= notice_at
    assert [fact.text for fact in driver.facts(kinds.InterruptionSeen)] == ["== GALE AT SEA =="] * heard


@pytest.mark.parametrize("kind", ["lose", "double", "garble"])
@pytest.mark.parametrize("seed", range(40))
def test_no_command_is_executed_that_isnt_whole_in_the_scripts(kind, seed):
    heron = FarHeron()
    heron.way_in = noisy(random.Random(f"{kind} {seed}"), 0.03, kind)
    driver = run(heron)
    assert driver.over in ("done", "failed")
    ends = {f"END {number}" for number in range(1, 5)}
    # The space that puts the board away has no echo: doubled, it stands before the next command.
    assert {command.lstrip() for command in heron.executed} <= COMMANDS | ends
    garbled = driver.facts(kinds.TypingGarbled)
    assert all(fact.attempt <= 3 for fact in garbled)


def test_the_noise_of_these_tests_is_noticed_at_all():
    noticed = 0
    for seed in range(20):
        heron = FarHeron()
        heron.way_in = noisy(random.Random(seed), 0.03, "garble")
        noticed += len(run(heron).facts(kinds.TypingGarbled))
    assert noticed > 20


# -- secrets


def everything_recorded(driver: Driver) -> str:
    received = "".join(fact.bytes for fact in driver.facts(kinds.BytesReceived))
    return repr(driver.entries) + received


def holds_four_of(secret: str, text: str) -> bool:
    folded = text.upper()
    return any(secret[start : start + 4].upper() in folded for start in range(len(secret) - 3))


@pytest.mark.parametrize("late_us", [0, S // 2, 3 * S])
@pytest.mark.parametrize("echoes", [True, False])
def test_no_four_characters_of_a_secret_are_recorded_also_when_it_is_echoed(echoes, late_us):
    heron = FarHeron()
    heron.echoes_secrets, heron.secret_echo_us = echoes, late_us
    driver = run(heron)
    assert driver.over == ("failed" if echoes else "done")
    assert not holds_four_of(SECRET, everything_recorded(driver))
    assert bool(driver.facts(kinds.SecretWithheld)) == echoes


def test_a_search_that_finds_nothing_could_find_something():
    assert holds_four_of(SECRET, "...xrenqu...")


def test_a_prompts_last_blank_that_comes_late_is_no_echo_of_the_secret():
    driver = Driver(decider(folder(script("round", secret("sign"))), Wanted(before=(), rounds=1, after=())))
    driver.open_line()
    driver.prints(b"SIGN WORD?")
    driver.passes("settle")
    driver.prints(b" ")
    assert driver.facts(kinds.SecretWithheld, kinds.StepFailed) == []


def test_the_adapter_holds_characters_back_in_real_time_however_fast_the_clock_runs():
    described = folder(script("round")).machine
    typing = msgspec.structs.replace(described.typing, adapter_latency_us=16_000)
    described = msgspec.structs.replace(described, typing=typing)
    assert described.settle_us(20.0) - described.settle_us(1.0) == 19 * 16_000


def test_a_control_sequence_is_let_through_whole_while_a_secret_is_typed():
    driver = Driver(decider(folder(script("round", secret("sign"))), Wanted(before=(), rounds=1, after=())))
    driver.open_line()
    driver.stands(b"SIGN WORD? ")
    driver.prints(b"\x1b[?2004l")
    driver.prints(b"\x1bPtext\x1b\\")
    driver.run()
    received = "".join(fact.bytes for fact in driver.facts(kinds.BytesReceived))
    assert received.startswith("SIGN WORD? \x1b[?2004l\x1bP****")


# -- watching only


def test_if_no_script_is_wanted_nothing_is_ever_typed_or_fails():
    driver = Driver(decider(wanted=None), FarHeron())
    driver.open_line()
    driver.run()
    for prompt in (b"SIGN WORD? ", b"DESK TERN: ", b"READY: "):
        driver.prints(b"\r\n" + prompt)
        driver.run()
    assert driver.typed == b""
    assert driver.facts(kinds.ScriptStarted, kinds.SessionFailed) == []
    assert driver.facts(kinds.LandmarkReached) != []
    assert driver.facts(kinds.CaptionShown) != []


@pytest.mark.parametrize("request_", ["stop", "confirm", "refuse"])
def test_if_no_script_is_wanted_requests_are_refused(request_):
    driver = Driver(decider(wanted=None))
    driver.open_line()
    driver.asks(request_, "key")
    (refused,) = driver.facts(kinds.RequestRefused)
    assert (refused.request, "watched" in refused.why) == (request_, True)


# -- three feeds


PRINTED = (
    b"JOB 3 BEGUN: X\r\nJO\r\n== GALE ==\r\nB 3 ENDED\r\nDRIVE LEFT FAILED\r\n"
    b"\x1b[2J\x1b[1;1HHERON BOARD 09.15\x1b[3;1HLOAD 4\x1b[24;1H\x1b[3;1HLOAD 7\x1b[24;1H"
    b"\x1b[2JBOARD PUT AWAY\r\nREA\r\n== CALM ==\r\nDY: "
)


@in_every_feed
def test_whatever_is_printed_every_way_of_feeding_it_gives_the_same_facts(feed):
    def told(cut) -> list:
        watching, facts = decider(wanted=None), []
        armed: dict[str, int] = {}

        def take(commands) -> None:
            for ordered in commands:
                assert not isinstance(ordered, Type)
                if isinstance(ordered, Arm):
                    armed[ordered.name] = ordered.due_us
                elif isinstance(ordered, Tell):
                    facts.append(ordered.fact)
                    take(watching.note(kinds.Entry(len(facts), 0, ordered.fact)))

        for piece in cut(PRINTED):
            take(watching.received(piece, 0))
        while armed:
            name = min(armed, key=armed.__getitem__)
            due_us = armed.pop(name)
            take(watching.note(kinds.Entry(len(facts), due_us, kinds.DeadlinePassed(name=name))))
        return facts

    found = told(feed)
    assert [type(fact).__name__ for fact in found if not isinstance(fact, kinds.CaptionShown)] == [
        *("PatternSeen", "InterruptionSeen", "PatternSeen", "TroubleRaised"),
        *("ReadingTaken", "ReadingTaken", "LandmarkReached"),
        *("ReadingTaken", "ReadingTaken", "LandmarkReached"),
        *("InterruptionSeen", "LandmarkReached"),
    ]
    assert found == told(lambda data: [data])


# -- deciding again


def disturbed(seed: int) -> Driver:
    """A run with noise, notices, lost lines, stops, a full disc and stuck typing, by the seed."""
    dice = random.Random(seed)
    heron = FarHeron()
    heron.way_in = noisy(dice, 0.01, "lose", "double", "garble")
    heron.notices_at = {dice.randrange(1, 200)}
    heron.echoes_secrets = dice.random() < 0.2
    heron.echo_us = dice.choice([0, 0, S // 10])
    driver = Driver(decider(), heron)
    driver.open_line()
    driver.asks("confirm", "key")
    for _ in range(dice.randrange(3)):
        wait_us = dice.randrange(1, 60 * S)
        driver.run(within_us=wait_us)
        match dice.randrange(7):
            case 0:
                driver.lose_line()
                driver.open_line()
            case 1:
                driver.lose_line()
            case 2:
                driver.asks("stop")
            case 3:
                driver.note(kinds.RecordNearlyFull(left_bytes=4096))
                driver.note(kinds.Heartbeat(wall="2026-11-25T09:05:00+00:00"))
            case 4:
                driver.typing_fails = "stuck"
            case 5:
                driver.note(kinds.ClockStepped(by_us=3600 * S, wall="2026-11-25T10:05:00+00:00"))
            case 6:
                driver.prints(b"\x13")
                driver.run(within_us=dice.randrange(1, 40 * S))
                driver.prints(b"\x11")
    driver.run()
    return driver


def test_a_recording_decides_again_the_same():
    driver = run(FarHeron())
    driver.note(kinds.RecordingClosed(why="done"))
    assert {type(fact).__name__ for fact in decided_then(driver.entries)} >= {
        *("CaptionShown", "StepMatched", "DeadlineArmed", "BytesTyped", "ReadingTaken", "ScriptEnded"),
    }
    check_decided_again(FOLDER, WANTED, driver.entries)


@pytest.mark.parametrize("seed", range(60))
def test_a_recording_of_a_disturbed_run_decides_again_the_same(seed):
    driver = disturbed(seed)
    driver.note(kinds.RecordingClosed(why="done"))
    check_decided_again(FOLDER, WANTED, driver.entries)


@pytest.mark.parametrize("seed", range(10))
def test_a_recording_that_ends_anywhere_decides_again_the_same(seed):
    entries = disturbed(seed).entries
    for end in random.Random(seed).sample(range(1, len(entries)), 10):
        check_decided_again(FOLDER, WANTED, entries[:end])


def test_a_recording_of_watching_only_decides_again_the_same():
    driver = Driver(decider(wanted=None), FarHeron())
    driver.open_line()
    driver.run()
    driver.prints(PRINTED)
    driver.run()
    check_decided_again(FOLDER, None, driver.entries)


def test_the_comparison_finds_a_changed_script():
    entries = run(FarHeron()).entries
    changed = folder(
        script("round", command("begin", "begin shuttles", "begun"), *ROUND.steps[1:], tidy_up=ROUND.tidy_up),
        OPENING,
        captions=CAPTIONS,
    )
    with pytest.raises(AssertionError, match="decision"):
        check_decided_again(changed, WANTED, entries)


def test_the_comparison_finds_a_changed_caption():
    entries = run(FarHeron()).entries
    changed = folder(
        ROUND, OPENING, captions=(caption("at-ready", "Other words.", when="ready"), *CAPTIONS[1:])
    )
    with pytest.raises(AssertionError, match="Other words"):
        check_decided_again(changed, WANTED, entries)


def test_deciding_again_needs_no_secret():
    entries = run(FarHeron()).entries
    again = decided_again(decider_again(FOLDER, WANTED, entries), entries)
    assert not holds_four_of(SECRET, repr(again))
    assert sum(isinstance(fact, kinds.SecretTyped) for fact in again) == 2 * 2


def test_the_machine_of_these_tests_is_the_one_described():
    assert FOLDER.machine is MACHINE
    assert read("frame").display in {display.name for display in MACHINE.displays}
