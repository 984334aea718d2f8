"""The bridge records before it acts, keeps order and time, survives faults, and stops when asked to."""

from __future__ import annotations

import errno
import threading
from datetime import timedelta
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge.bridge import Bridge
from exhibit.bridge.inbox import Asked, Inbox, StopWanted
from exhibit.bridge.request_door import Request, RequestDoor, ask
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.facts.errors import LineFault, RecordingFault
from exhibit.line.events import (
    ErrorsCounted,
    InVain,
    Lost,
    NotHeard,
    Opened,
    OthersFound,
    Readable,
    ReaderFailed,
    Received,
    TerminalHeard,
    TerminalSilent,
    Typed,
)
from exhibit.line.faults import reader_failed
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.recording import RecordingWriter, read_all
from tests.bridge.bridge_world import Staged
from tests.decisions.again import check_decided_again
from tests.decisions.deciders import decider_for
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import (
    CANCEL,
    ECHO_US,
    SECRET,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    script,
    secret,
)
from tests.streams.full_disc import FullDisc

ROUND = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    command("sign", "sign", "word"),
    secret("say-the-word"),
    command("leave", "leave", "ready", at="desk"),
    tidy_up=(command("end-shuttle", "end {begin.job}", "stopped"),),
)
LOOK = folder(script("round", pause("look", 30 * S)))
WORK = folder(ROUND)
ONE = Wanted(before=(), rounds=1, after=())
LONG_S = 60.0
"""Real time: longer than anything here takes, unless the computer stalls."""


@pytest.fixture
def working(tmp_path: Path) -> Staged:
    """One round against the machine."""
    return Staged(tmp_path, WORK, ONE, FarHeron())


# -- the record comes first


def test_a_round_is_run_recorded_and_closed(working):
    assert working.bridge.run(stay_when_failed=False) == "done"
    assert working.world.far_end.executed == ["BEGIN SHUTTLE", "SIGN", "LEAVE", "END 1"]
    entries = working.entries()
    assert [entry.seq for entry in entries] == list(range(1, len(entries) + 1))
    assert isinstance(entries[0].fact, kinds.RecordingOpened)
    assert entries[-1].fact == kinds.RecordingClosed(why="the scripts are over: done")


def assert_recorded(staged):
    """What was typed is in the recording; of a secret, only in how many parts. Commands are small letters."""
    secret = [byte for byte in staged.typed if byte in SECRET.encode()]
    recorded = sum(fact.count for fact in staged.facts(kinds.BytesTyped))
    assert len(staged.typed) - len(secret) == recorded
    assert len(staged.facts(kinds.SecretTyped)) >= min(2, len(secret))


def test_each_byte_is_in_the_file_before_it_is_typed(working):
    seen = []

    def look(byte: int) -> str:
        last = working.entries()[-1].fact
        if byte in SECRET.encode():  # commands are in small letters
            assert [type(fact) for fact in working.facts(kinds.SecretTyped)]
        else:
            assert isinstance(last, kinds.BytesTyped)
            assert last.bytes == chr(byte)
        seen.append(byte)
        return ""

    working.while_typing = look
    working.bridge.run(stay_when_failed=False)
    assert bytes(seen).count(b"BEGIN SHUTTLE".lower()) == 1


def test_all_that_was_received_is_in_the_file_before_any_decision_based_on_it(working):
    heron = working.world.far_end
    printed = bytearray()
    take = heron.take
    heron.take = lambda: printed.extend(data := take()) or data

    def look(byte: int) -> str:
        received = "".join(fact.bytes for fact in working.facts(kinds.BytesReceived))
        assert received.encode() == bytes(printed)
        return ""

    working.while_typing = look
    working.bridge.run(stay_when_failed=False)
    assert printed


def test_what_follows_from_bytes_is_recorded_after_them_with_their_time(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    staged.receives_at(100_000, b"JOB 3 ENDED\r")
    staged.receives_at(110_000, b"\nMORE")
    staged.world.at(S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    told = [
        (entry.at_us, getattr(entry.fact, "bytes", type(entry.fact).__name__))
        for entry in staged.entries()
        if isinstance(entry.fact, kinds.BytesReceived | kinds.PatternSeen)
    ]
    assert told == [
        (100_000, "J"),
        (100_000, "OB 3 ENDED"),  # a known line, if nothing more comes: a deadline is armed
        (110_000, "\r\n"),
        (110_000, "PatternSeen"),
        (110_000, "MORE"),
    ]


def test_a_piece_is_written_when_its_time_is_up_though_nothing_else_happens(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    staged.receives_at(100_000, b"AB")
    staged.world.at(200_000, lambda: recorded.extend(staged.facts(kinds.BytesReceived)))
    recorded: list = []
    staged.world.at(300_000, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert [fact.bytes for fact in recorded] == ["A", "B"]


def test_a_short_answer_is_written_as_soon_as_it_is_over(tmp_path):
    staged = Staged(tmp_path, LOOK, None, character_us=1_042)
    staged.receives_at(100_000, b"A")
    staged.receives_at(101_000, b"B")
    recorded: list = []
    staged.world.at(110_000, lambda: recorded.extend(staged.facts(kinds.BytesReceived)))
    staged.world.at(300_000, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert [fact.bytes for fact in recorded] == ["A", "B"]


def test_what_arrived_last_is_in_the_file_before_it_is_closed(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    staged.receives_at(100_000, b"AB")
    staged.world.at(120_000, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert staged.facts(kinds.BytesReceived, kinds.RecordingClosed)[-2:] == [
        kinds.BytesReceived(bytes="B", first_us=100_000),
        kinds.RecordingClosed(why="enough"),
    ]


class Failing(RecordingWriter):
    """Can't write any more after a number of facts."""

    def __init__(self, place, begun, lasts):
        self.lasts = lasts
        super().__init__(place, begun)

    def append(self, fact, at_us):
        self.lasts -= 1
        if self.lasts < 0:
            raise RecordingFault("The disc is gone.", "Nothing can be recorded.", "Look at it.")
        return super().append(fact, at_us)


@pytest.mark.parametrize("lasts", [*range(1, 60, 3), *range(60, 160, 10)])
def test_nothing_is_typed_that_isnt_recorded_wherever_the_recording_fails(tmp_path, lasts):
    staged = Staged(tmp_path, WORK, ONE, FarHeron(), lambda place, begun: Failing(place, begun, lasts))
    with pytest.raises(RecordingFault):
        staged.bridge.run(stay_when_failed=True)
    assert_recorded(staged)
    staged.writer.abandon()


# -- withheld


def test_that_a_secret_was_shown_is_recorded_before_anything_follows_from_it(tmp_path):
    heron = FarHeron("word")
    heron.echoes_secrets = True
    staged = Staged(tmp_path, folder(script("round", secret("say-the-word"))), ONE, heron)
    assert staged.bridge.run(stay_when_failed=False) == "failed"
    names = [type(entry.fact).__name__ for entry in staged.entries()]
    withheld = names.index("SecretWithheld")
    assert names[withheld - 2 : withheld + 3] == [
        "DeadlineArmed",
        "BytesReceived",
        "SecretWithheld",
        "BytesTyped",
        "StepFailed",
    ]
    assert bytes(staged.typed) == SECRET[:1].encode() + CANCEL


def test_what_arrives_together_with_withheld_bytes_is_recorded_after_them(tmp_path):
    """No one waits for more of a secret once its line has ended."""
    staged = Staged(tmp_path, folder(script("round", secret("say-the-word"))), ONE)
    staged.receives_at(10_000, b"SIGN WORD? ")
    staged.receives_at(100_000, b"WR\r\nREADY: ")
    staged.world.at(S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=True)
    entries = [entry.fact for entry in staged.entries() if entry.at_us == 100_000]
    # Only "W" had been typed, so these letters aren't what was typed, and nothing is cancelled.
    assert kinds.SecretWithheld(was_typed=False) in entries
    assert not [fact for fact in entries if isinstance(fact, kinds.BytesTyped)]
    received = "".join(fact.bytes for fact in entries if isinstance(fact, kinds.BytesReceived))
    assert received == "****\r\nREADY: "


def test_the_file_holds_no_four_characters_of_the_secret(tmp_path):
    for echoes in (True, False):
        heron = FarHeron()
        heron.echoes_secrets = echoes
        staged = Staged(tmp_path, WORK, ONE, heron)
        staged.bridge.run(stay_when_failed=False)
        kept = staged.writer.path.read_text().upper()
        assert [SECRET[at : at + 4] for at in range(5) if SECRET[at : at + 4] in kept] == []


@pytest.mark.parametrize(("pause_us", "shown"), [(10_000, ""), (S, SECRET[:3])])
def test_a_secret_that_a_person_types_is_withheld_though_each_key_is_heard_before_its_echo(
    tmp_path, pause_us, shown
):
    staged = Staged(tmp_path, WORK, None)
    staged.receives_at(10_000, b"READY: ")
    at_us = 2 * S
    events = [Readable("speed", 0), TerminalSilent("away", 0), InVain(1, 0), NotHeard(1, 1, "away", 0)]
    events += [OthersFound("a port", (), 0), TerminalHeard("a terminal", 0)]
    for number, letter in enumerate(SECRET.encode()):
        staged.world.at(at_us, Typed(bytes((letter,)), at_us))
        staged.receives_at(at_us + 1_000, bytes((letter,)))
        if number < len(events):
            staged.world.at(at_us + 2_000, msgspec.structs.replace(events[number], at_us=at_us + 2_000))
        at_us += pause_us
    staged.receives_at(at_us, b"\r\nREADY: ")
    staged.world.at(at_us + S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=True)
    received = "".join(fact.bytes for fact in staged.facts(kinds.BytesReceived))
    assert received == f"READY: {shown}****\r\nREADY: "


# -- deciding again


def test_a_bridges_recording_decides_again_the_same(working):
    working.bridge.run(stay_when_failed=False)
    check_decided_again(WORK, ONE, working.entries())


def test_events_that_were_stamped_before_the_last_heartbeat_decide_again_the_same(tmp_path):
    staged = Staged(tmp_path, WORK, ONE)
    for at_us, data in ((990_000, b"REA"), (1_001_500, b"DY: "), (1_060_000, b"B")):
        staged.receives_at(at_us, data, stamped_us=at_us - 2_000)
    staged.world.at(5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    entries = staged.entries()
    times = [entry.at_us for entry in entries]
    assert times == sorted(times)
    assert bytes(staged.typed)[:2] == b"be"
    check_decided_again(WORK, ONE, entries)


# -- time


def between_heartbeats(staged) -> list[int]:
    beats = [entry.at_us for entry in staged.entries() if isinstance(entry.fact, kinds.Heartbeat)]
    return [later - earlier for earlier, later in zip(beats, beats[1:], strict=False)]


def test_a_quiet_bridge_leaves_a_heartbeat_at_least_every_two_seconds(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    staged.world.at(60 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert len(between_heartbeats(staged)) >= 29
    assert max(between_heartbeats(staged)) <= 2 * S


def test_a_line_that_holds_up_each_byte_for_a_second_doesnt_stop_the_heartbeat(tmp_path):
    staged = Staged(tmp_path, WORK, ONE, FarHeron())

    def stuck(byte: int) -> str:
        staged.world.now_us += S
        return "nothing was taken for 1 s"

    staged.while_typing = stuck
    assert staged.bridge.run(stay_when_failed=False) == "failed"
    assert max(between_heartbeats(staged)) <= 2 * S
    assert staged.typed == []
    assert "nothing was taken" in staged.facts(kinds.StepFailed)[0].why


def test_a_machine_that_never_pauses_keeps_neither_heartbeat_nor_deadlines_waiting(tmp_path):
    staged = Staged(tmp_path, LOOK, ONE)
    staged.world.handling_us = 40_000
    for number in range(1_500):
        staged.receives_at(2_000 + 20_000 * number, b"X" * 60)
    assert staged.bridge.run(stay_when_failed=False) == "done"
    assert max(between_heartbeats(staged)) <= 2 * S


def test_a_deadline_passes_only_after_what_arrived_before_it(tmp_path):
    """The computer stalled for 10 s; what the machine printed meanwhile is read 50 ms later."""
    staged = Staged(tmp_path, WORK, ONE)
    staged.receives_at(10_000, b"READY: ")

    def stand_still() -> None:
        staged.world.now_us += 10 * S
        staged.receives_at(staged.world.now_us + 50_000, b"B")

    staged.world.at(100_000, stand_still)
    staged.world.at(11 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert ECHO_US < 10 * S
    assert staged.facts(kinds.TypingGarbled) == []
    assert bytes(staged.typed)[:2] == b"be"


def test_a_prompt_doesnt_settle_if_something_arrived_after_it(tmp_path):
    staged = Staged(tmp_path, WORK, ONE)

    def stand_still() -> None:
        staged.world.now_us += 10 * S
        staged.receives_at(staged.world.now_us + 50_000, b"IT ISN'T")

    staged.receives_at(10_000, b"READY: ")
    staged.world.at(11_000, stand_still)
    staged.world.at(12 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert staged.typed == []


def test_a_jump_of_the_computers_clock_is_recorded(tmp_path):
    staged = Staged(tmp_path, LOOK, None)

    def jump() -> None:
        staged.world.wall_ahead = timedelta(hours=1)

    staged.world.at(3 * S, jump)
    staged.world.at(10 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    (stepped,) = staged.facts(kinds.ClockStepped)
    assert stepped.by_us == 3600 * S


# -- the line


def test_a_loss_and_damaged_characters_are_recorded(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    staged.world.at(2 * S, ErrorsCounted(parity=1, framing=2, overrun=3, breaks=4, at_us=2 * S))
    staged.world.at(3 * S, Lost("unplugged", 3 * S))
    staged.world.at(4 * S, Opened("a line", 4 * S, 2, keeps_time=True))
    staged.world.at(5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert staged.facts(kinds.LineOpened, kinds.LineLost, kinds.LineErrorsCounted) == [
        kinds.LineOpened(line="a line"),
        kinds.LineErrorsCounted(parity=1, framing=2, overrun=3, breaks=4),
        kinds.LineLost(why="unplugged"),
        kinds.LineOpened(line="a line", keeps_time=True),
    ]


def test_a_reader_that_has_failed_ends_the_bridge_with_its_words(tmp_path):
    staged = Staged(tmp_path, folder(script("round", pause("look", 20 * S))), ONE)
    fault = reader_failed("a line", RuntimeError("an odd adapter"))
    staged.world.at(5 * S, ReaderFailed(fault))
    with pytest.raises(LineFault) as raised:
        staged.bridge.run(stay_when_failed=True)
    assert raised.value is fault
    assert staged.facts(kinds.RecordingClosed) == [kinds.RecordingClosed(why=fault.what)]


def test_told_to_stop_before_the_line_is_open_it_types_nothing(tmp_path):
    staged = Staged(tmp_path, folder(script("round", command("begin", "begin shuttle", "begun"))), ONE)
    staged.world.at(0, StopWanted("Ctrl-C"))
    assert staged.bridge.run(stay_when_failed=True) == "stopped"
    assert staged.typed == []


def test_characters_of_the_wrong_parity_are_counted(tmp_path):
    described = machine(eighth_bit="parity", line=machine().line.__class__(data_bits=7, parity="even"))
    staged = Staged(tmp_path, folder(script("round", pause("look")), machine=described), None)
    staged.receives_at(2 * S, b"AB\xc1\xc3")
    staged.receives_at(3 * S, b"AB")
    staged.receives_at(4 * S, b"\xc1")
    staged.world.at(5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert [fact.parity for fact in staged.facts(kinds.LineErrorsCounted)] == [1, 1]


# -- asked to stop


def stopped(staged, at_us: int, *, stay: bool = True) -> tuple[kinds.Outcome, int]:
    staged.world.at(at_us, StopWanted("it was told to end"))
    outcome = staged.bridge.run(stay_when_failed=stay)
    assert isinstance(staged.entries()[-1].fact, kinds.RecordingClosed)
    return outcome, staged.world.now_us


def test_a_bridge_that_only_watches_ends_at_once(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    assert stopped(staged, 2 * S) == ("stopped", 2 * S)
    assert staged.facts()[-1] == kinds.RecordingClosed(why="it was told to end")


def test_a_bridge_whose_line_never_opened_ends_at_once(tmp_path):
    staged = Staged(tmp_path, LOOK, ONE)
    staged.world._scheduled.clear()
    assert stopped(staged, 2 * S) == ("stopped", 2 * S)


def test_a_script_is_tidied_up_first(tmp_path):
    staged = Staged(
        tmp_path, folder(script("round", pause("look", 30 * S), tidy_up=(pause("tidy", 3 * S),))), ONE
    )
    assert stopped(staged, 2 * S) == ("stopped", 5 * S)
    assert staged.facts(kinds.ScriptEnded)[0].why == "it was told to end"


def test_a_half_typed_command_is_cancelled(tmp_path):
    staged = Staged(tmp_path, folder(script("round", command("begin", "begin", "begun"))), ONE)
    staged.receives_at(10_000, b"READY: ")
    assert stopped(staged, S)[0] == "stopped"
    assert bytes(staged.typed) == b"b" + CANCEL


def test_it_ends_even_while_the_line_is_lost(tmp_path):
    staged = Staged(tmp_path, LOOK, ONE)
    staged.world.at(2 * S, Lost("unplugged", 2 * S))
    assert stopped(staged, 3 * S, stay=False) == ("failed", 3 * S)
    assert staged.facts(kinds.ScriptEnded)[0].tidy is False


def test_after_a_failure_it_mirrors_on_until_it_is_told_to_stop(tmp_path):
    staged = Staged(tmp_path, folder(script("round", command("begin", "x", "begun", within_us=S))), ONE)
    staged.receives_at(5 * S, b"HELLO")
    assert stopped(staged, 10 * S) == ("failed", 10 * S)
    assert staged.typed == []
    assert "".join(fact.bytes for fact in staged.facts(kinds.BytesReceived)) == "HELLO"


def test_after_a_failure_it_ends_if_told_so_at_its_start(tmp_path):
    staged = Staged(tmp_path, folder(script("round", command("begin", "x", "begun", within_us=S))), ONE)
    assert staged.bridge.run(stay_when_failed=False) == "failed"
    assert staged.facts()[-1] == kinds.RecordingClosed(why="the scripts are over: failed")


# -- requests


def test_requests_are_answered_and_what_became_of_them_is_recorded(tmp_path):
    staged = Staged(tmp_path, folder(script("round", hands_on("key"))), ONE)
    answers = []
    for at_us, step in ((S, "other"), (2 * S, "key"), (3 * S, "key")):
        asked = Asked(Request(request="confirm", by="a docent", step=step), answers.append)
        staged.world.at(at_us, asked)
    staged.bridge.run(stay_when_failed=False)
    assert [answer.accepted for answer in answers] == [False, True]
    assert "other" in answers[0].why
    assert [
        type(fact).__name__
        for fact in staged.facts(kinds.RequestMade, kinds.RequestRefused, kinds.HandsOnConfirmed)
    ] == [
        *("RequestMade", "RequestRefused", "RequestMade", "HandsOnConfirmed"),
    ]


def test_where_nothing_is_typed_no_request_is_accepted(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    answers = []
    staged.world.at(S, Asked(Request(request="stop", by="a docent"), answers.append))
    staged.world.at(2 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert [answer.accepted for answer in answers] == [False]


def test_a_request_that_cant_be_recorded_is_refused(tmp_path):
    staged = Staged(tmp_path, LOOK, ONE)
    answers = []
    staged.world.at(499_000, lambda: staged.writer._syncer.__setattr__("failure", OSError(errno.EIO, "gone")))
    staged.world.at(500_000, Asked(Request(request="stop", by="a docent"), answers.append))
    with pytest.raises(RecordingFault):
        staged.bridge.run(stay_when_failed=True)
    staged.writer.abandon()
    (answer,) = answers
    assert not answer.accepted
    assert staged.writer.path.name in answer.why


def test_over_a_real_socket_a_step_is_confirmed_and_a_wrong_one_refused(tmp_path):
    described = folder(script("round", hands_on("key")))
    clock = RecordingClock()
    begun = opened(wall=clock.opened_wall)
    writer = RecordingWriter(tmp_path, begun)
    events = Inbox()
    bridge = Bridge(
        decider_for(described, begun, ONE),
        writer,
        clock,
        lambda byte, opening: "",
        events,
        withholding=Withholding(described.machine),
    )
    door = RequestDoor(tmp_path / "door", bridge.ask)
    outcomes = []
    running = threading.Thread(target=lambda: outcomes.append(bridge.run(stay_when_failed=True)))
    running.start()
    events.put(Opened("a line", clock.now_us(), 1))
    confirm = Request(request="confirm", by="a docent", step="key")
    wrong = ask(tmp_path / "door", Request(request="confirm", by="a docent", step="lid"))
    right = ask(tmp_path / "door", confirm)
    running.join(LONG_S)
    door.close()
    assert (wrong.accepted, right.accepted) == (False, True)
    assert outcomes == ["done"]
    assert kinds.HandsOnConfirmed(step="key", by="a docent") in [
        entry.fact for entry in read_all(writer.path).entries
    ]


# -- a full disc


@pytest.fixture
def disc(monkeypatch):
    return FullDisc(monkeypatch)


@pytest.mark.parametrize("fills_at", range(8, 160, 3))
def test_when_the_disc_is_full_what_runs_is_tidied_up_and_a_person_must_look(tmp_path, disc, fills_at):
    staged = Staged(tmp_path, WORK, ONE, FarHeron())
    disc.fills_at = fills_at
    outcome = staged.bridge.run(stay_when_failed=False)
    entries = staged.entries()
    names = [type(entry.fact).__name__ for entry in entries]
    assert names.count("RecordNearlyFull") == 1
    (ended,) = staged.facts(kinds.ScriptEnded)
    if names.index("RecordNearlyFull") < names.index("ScriptEnded") - 1:
        assert outcome == ended.outcome == "failed"
    # Jobs that were started are stopped; if that is impossible, the recording doesn't call it tidy.
    assert not staged.world.far_end.jobs or not ended.tidy
    check_decided_again(WORK, ONE, entries)


def test_on_a_disc_that_is_full_from_the_beginning_no_script_is_started(tmp_path, disc):
    staged = Staged(tmp_path, WORK, ONE, FarHeron())
    disc.fills_at = 2
    assert staged.bridge.run(stay_when_failed=False) == "failed"
    assert staged.typed == []
    assert staged.facts(kinds.ScriptStarted) == []


def test_when_the_reserve_is_used_up_too_nothing_is_typed_any_more(tmp_path, disc):
    staged = Staged(tmp_path, WORK, ONE, FarHeron())
    disc.fills_at, disc.full = 60, 10**9
    with pytest.raises(RecordingFault):
        staged.bridge.run(stay_when_failed=True)
    staged.writer.abandon()
    assert_recorded(staged)
    assert read_all(staged.writer.path).damages == []


def test_a_key_is_pressed_as_it_is_recorded(tmp_path):
    staged = Staged(
        tmp_path, folder(script("round", press("on", "enter", "ready", at="ready"))), ONE, FarHeron()
    )
    assert staged.bridge.run(stay_when_failed=False) == "done"
    assert bytes(staged.typed) == b"\r"
    assert [fact.by for fact in staged.facts(kinds.BytesTyped)] == ["script round"]


def test_received_bytes_of_any_value_are_recorded_unchanged(tmp_path):
    staged = Staged(tmp_path, LOOK, None)
    every = bytes(range(256))
    staged.world.at(S, Received(every, S))
    staged.world.at(2 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    received = "".join(fact.bytes for fact in staged.facts(kinds.BytesReceived))
    assert kinds.to_bytes(received) == every


# -- going on after a failure


def test_after_go_on_the_bridge_does_not_end_as_failed(tmp_path):
    staged = Staged(tmp_path, folder(script("round", hands_on("key"))), ONE, FarHeron())
    answers = []

    def ask_at(at_us: int, request: str, step: str = "") -> None:
        staged.world.at(at_us, Asked(Request(request=request, by="a docent", step=step), answers.append))

    ask_at(2 * S, "clear")
    ask_at(3 * S, "refuse", "key")
    ask_at(20 * S, "clear")
    assert staged.bridge.run(stay_when_failed=True) == "done"
    assert [answer.accepted for answer in answers] == [False, True, True]
    assert staged.facts(kinds.SessionCleared) == [kinds.SessionCleared(by="a docent")]


def test_without_anybody_to_say_go_on_a_failed_bridge_ends(tmp_path):
    staged = Staged(tmp_path, folder(script("round", hands_on("key"))), ONE, FarHeron())
    staged.world.at(3 * S, Asked(Request(request="refuse", by="a docent", step="key"), lambda answer: None))
    assert staged.bridge.run(stay_when_failed=False) == "failed"
