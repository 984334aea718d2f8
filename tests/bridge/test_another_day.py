"""At the first quiet moment of a new day, a new recording continues where the last one ended."""

from __future__ import annotations

import signal
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from exhibit.bridge import bridge
from exhibit.bridge import setup as bridge_setup
from exhibit.bridge.bridge import QUIET_US
from exhibit.bridge.inbox import StopWanted
from exhibit.bridge.setup import BridgeOrder, run_bridge
from exhibit.decisions.page.views import View
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.line.events import Lost, Opened, Received, Typed
from exhibit.streams.pacing import RecordingClock
from exhibit.streams.recording import RecordingFolder, RecordingWriter, follow_from, read_all, read_opened
from tests.bridge.bridge_world import Staged
from tests.decisions.again import check_decided_again
from tests.decisions.deciders import decider_for
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import S, caption, command, folder, machine, opened, pause, press, script, wait

LATE = datetime(2026, 11, 25, 23, 59, 50, tzinfo=UTC)
"""Ten seconds to midnight."""
ROUND = script(
    "round",
    command("begin", "begin shuttle", "begun"),
    tidy_up=(command("end", "end {begin.job}", "stopped"),),
)
OPENING = script("opening", wait("at-ready", "ready"))
WORK = folder(ROUND, OPENING, rest_us=20 * S)
ROUNDS = Wanted(before=("opening",), rounds=3, after=())


@pytest.fixture
def resting(tmp_path: Path) -> tuple[Staged, kinds.CarriedOver]:
    """The first round was before midnight; during the rest after it the day was over."""
    staged = Staged(tmp_path, WORK, ROUNDS, FarHeron(), begins=LATE)
    carried_over = staged.bridge.run(stay_when_failed=False)
    assert isinstance(carried_over, kinds.CarriedOver)
    return staged, carried_over


def test_a_rest_after_midnight_is_a_quiet_moment(resting):
    staged, carried_over = resting
    entries = staged.entries()
    assert entries[-1].fact == kinds.RecordingClosed(why="another day has begun")
    assert 10 * S <= entries[-1].at_us <= 12 * S
    assert (carried_over.line, carried_over.landmark, carried_over.scripts) == ("a line", "ready", 2)
    rests_until_us = staged.facts(kinds.SessionResting)[0].until_us
    assert carried_over.until_us == rests_until_us - entries[-1].at_us


def test_the_next_recording_names_the_one_before_it_and_begins_at_0(resting):
    staged, carried_over = resting
    before = staged.writer.path
    staged.another_day(carried_over)
    opened = staged.writer.opened
    assert (opened.at_us, opened.fact.previous_file) == (0, before.name)
    assert opened.fact.previous_crc == read_all(before).end.crc
    assert opened.fact.wall.startswith("2026-11-26T00:00:0")


def test_the_rounds_go_on_as_if_nothing_had_happened(resting):
    staged, carried_over = resting
    staged.another_day(carried_over)
    assert staged.bridge.run(stay_when_failed=False) == "done"
    started = staged.facts(kinds.ScriptStarted)
    assert [(fact.script, fact.round) for fact in started] == [("round", 2), ("round", 3)]
    assert staged.world.far_end.executed == [
        *("BEGIN SHUTTLE", "END 1", "BEGIN SHUTTLE", "END 2", "BEGIN SHUTTLE", "END 3")
    ]
    first = next(entry for entry in staged.entries() if isinstance(entry.fact, kinds.ScriptStarted))
    assert first.at_us == carried_over.until_us


def test_the_next_recording_decides_again_the_same_by_itself(resting):
    staged, carried_over = resting
    check_decided_again(WORK, ROUNDS, staged.entries())
    staged.another_day(carried_over)
    staged.bridge.run(stay_when_failed=False)
    check_decided_again(WORK, ROUNDS, staged.entries())


def test_the_page_shows_the_last_display_and_that_the_machine_rests(resting):
    staged, carried_over = resting
    before = View()
    for entry in staged.entries():
        before.apply(entry)
    staged.another_day(carried_over)
    staged.world.at(staged.world.now_us + 3 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    after = View()
    for entry in staged.entries()[:3]:
        after.apply(entry)
    assert after.text_rows() == before.text_rows() == carried_over.rows
    assert any("READY:" in row for row in carried_over.rows)
    items = after.batch(0)["items"]
    assert items["line"]["state"] == "open"
    assert (items["session"]["state"], bool(items["session"]["until"])) == ("resting", True)
    assert after.batch(0)["console"]["cursor"] == before.batch(0)["console"]["cursor"]


def test_a_display_in_an_unknown_form_is_left_blank():
    view = View()
    view.apply(kinds.Entry(1, 0, opened()))
    for number, form in enumerate(("{}", "no JSON", '{"rows": 7}', "[]", "7"), start=2):
        fact = kinds.CarriedOver(
            line="a line", rows=["READY:"], wire=form, display=form, printed="", landmark="", fields={},
            scripts=0, until_us=0, failed="",
        )  # fmt: skip
        view.apply(kinds.Entry(number, 0, fact))
        assert view.text_rows() == [""] * 24
    view.apply(kinds.Entry(9, 0, kinds.BytesReceived(bytes="HELLO", first_us=0)))
    assert view.text_rows()[0] == "HELLO"


def test_before_midnight_no_moment_is_quiet_enough(tmp_path):
    staged = Staged(tmp_path, WORK, ROUNDS, FarHeron())
    assert staged.bridge.run(stay_when_failed=False) == "done"


def test_a_script_that_runs_over_midnight_is_not_disturbed(tmp_path):
    long = folder(script("round", pause("look", 60 * S)), rest_us=20 * S)
    staged = Staged(tmp_path, long, Wanted(before=(), rounds=2, after=()), FarHeron(), begins=LATE)
    carried_over = staged.bridge.run(stay_when_failed=False)
    assert isinstance(carried_over, kinds.CarriedOver)
    names = [type(entry.fact).__name__ for entry in staged.entries()]
    assert names.index("ScriptEnded") < names.index("RecordingClosed")
    assert names.count("ScriptStarted") == 1


def test_after_the_computers_clock_was_set_back_a_day_the_next_midnight_counts(tmp_path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)

    def set_back() -> None:
        staged.world.wall_ahead = timedelta(days=-1)

    staged.world.at(2 * S, set_back)
    assert isinstance(staged.bridge.run(stay_when_failed=False), kinds.CarriedOver)
    assert staged.entries()[-1].at_us < 60 * S


def test_a_machine_that_prints_is_not_quiet(tmp_path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    for second in range(30):
        staged.receives_at(second * S + 500_000, b"TICK\r\n")
    assert isinstance(staged.bridge.run(stay_when_failed=False), kinds.CarriedOver)
    last = [entry.at_us for entry in staged.entries() if isinstance(entry.fact, kinds.BytesReceived)][-1]
    assert last == 29_500_000
    assert staged.entries()[-1].at_us - last >= QUIET_US


@pytest.mark.parametrize("half", [b"\x1b[", b"\r\nSTORM WARNING 1\r\n"])
def test_a_recording_does_not_end_in_the_middle_of_a_sequence_or_a_broadcast(tmp_path, half):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    staged.receives_at(2 * S, half)
    staged.receives_at(40 * S, b"K\r\nEND OF WARNING\r\n")
    assert isinstance(staged.bridge.run(stay_when_failed=False), kinds.CarriedOver)
    assert staged.entries()[-1].at_us > 40 * S


def test_a_caption_that_waits_for_its_turn_at_midnight_is_shown_before_the_recording_ends(tmp_path):
    captions = caption("long", "Word " * 30, when="ended"), caption("waits", when="stopped")
    staged = Staged(tmp_path, folder(captions=captions), None, begins=LATE)
    staged.receives_at(7 * S, b"JOB 3 ENDED\r\n")
    staged.receives_at(8 * S, b"JOB 4 STOPPED\r\n")
    assert isinstance(staged.bridge.run(stay_when_failed=False), kinds.CarriedOver)
    assert [fact.caption for fact in staged.facts(kinds.CaptionShown)] == ["long", "waits"]


def test_while_the_line_is_lost_the_recording_continues(tmp_path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    staged.world.at(5 * S, Lost("unplugged", 5 * S))
    staged.opens_at(60 * S)
    assert isinstance(staged.bridge.run(stay_when_failed=False), kinds.CarriedOver)
    assert staged.entries()[-1].at_us > 60 * S


def test_a_watched_machine_is_watched_on(tmp_path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    staged.receives_at(2 * S, b"JOB 3 EN")
    carried_over = staged.bridge.run(stay_when_failed=False)
    staged.another_day(carried_over)
    staged.receives_at(staged.world.now_us + 3 * S, b"DED\r\n", stamped_us=3 * S)
    staged.world.at(staged.world.now_us + 5 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=False) == "stopped"
    assert [fact.fields for fact in staged.facts(kinds.PatternSeen)] == [{"job": "3"}]
    check_decided_again(WORK, None, staged.entries())


def test_a_session_that_failed_stays_failed(tmp_path):
    late = folder(script("round", command("begin", "x", "begun", within_us=S)))
    staged = Staged(tmp_path, late, Wanted(before=(), rounds=1, after=()), begins=LATE)
    carried_over = staged.bridge.run(stay_when_failed=True)
    why = staged.facts(kinds.SessionFailed)[0].why
    staged.another_day(carried_over)
    staged.receives_at(staged.world.now_us + S, b"READY: ", stamped_us=S)
    staged.world.at(staged.world.now_us + 60 * S, StopWanted("enough"))
    assert staged.bridge.run(stay_when_failed=True) == "failed"
    assert [fact.why for fact in staged.facts(kinds.SessionFailed)] == [why]
    assert staged.typed == []


def test_parity_faults_are_not_counted_twice(tmp_path):
    described = machine(eighth_bit="parity", line=machine().line.__class__(data_bits=7, parity="even"))
    staged = Staged(tmp_path, folder(script("round", pause("look")), machine=described), None, begins=LATE)
    staged.receives_at(2 * S, b"\xc1")
    staged.another_day(staged.bridge.run(stay_when_failed=False))
    staged.receives_at(staged.world.now_us + 3 * S, b"A", stamped_us=3 * S)
    staged.world.at(staged.world.now_us + 5 * S, StopWanted("enough"))
    staged.bridge.run(stay_when_failed=False)
    assert staged.facts(kinds.LineErrorsCounted) == []


def test_times_by_the_old_clock_are_not_in_the_future_of_the_new_one(resting):
    staged, carried_over = resting
    staged.world.at(staged.world.now_us, Received(b"X", 10**12))
    staged.another_day(carried_over)
    staged.bridge.run(stay_when_failed=False)
    assert staged.entries()[-1].at_us < 120 * S


# -- as a whole


class Midnight(RecordingClock):
    """The first clock is made ten seconds before midnight; setting `jumps` moves it past midnight."""

    jumps = threading.Event()

    def __init__(self, rate: float, wall_now: object = None) -> None:
        super().__init__(rate, wall_now=lambda: LATE + timedelta(days=1 if self.jumps.is_set() else 0))


class FakeLine:
    def __init__(self, deliver, clock_us) -> None:
        self.deliver, self.clock_us = deliver, clock_us

    def stop(self) -> bool:
        return True


def test_a_bridge_continues_after_midnight_in_a_second_recording_which_a_run_follows(
    tmp_path, monkeypatch, capsys
):
    lines: list[FakeLine] = []

    def open_line(url, settings, clock_us, deliver, borrower):
        lines.append(FakeLine(deliver, clock_us))
        deliver(Opened("a line", clock_us(), 1))
        deliver(Received(b"READY: ", clock_us()))
        return lines[0]

    Midnight.jumps.clear()
    monkeypatch.setattr(bridge_setup, "open_line", open_line)
    monkeypatch.setattr(bridge_setup, "RecordingClock", Midnight)
    monkeypatch.setattr(signal, "signal", lambda number, handler: stops.append(handler))
    stops: list = []
    earlier = RecordingWriter(tmp_path, opened(machine_is="real", rate=50.0))
    earlier.append(kinds.PackMounted(label="REEDS 1", drive="left", may_be_written=True, by="1"), S)
    earlier.close("over", S)
    order = BridgeOrder(folder=WORK, line="a line", recordings=tmp_path, rate=50.0)
    statuses: list[int] = []
    running_bridge = threading.Thread(
        target=lambda: statuses.append(
            run_bridge(order, "nothing", lambda opened: decider_for(WORK, opened), None, None)
        )
    )
    running_bridge.start()
    recordings = RecordingFolder(tmp_path)
    _until(lambda: len(recordings.recordings()) == 2)
    followed = follow_from(recordings.recordings()[1].path)
    _until(lambda: any(isinstance(entry.fact, kinds.LineOpened) for entry in followed.read_new()))
    Midnight.jumps.set()
    _until(lambda: any(isinstance(entry.fact, kinds.CarriedOver) for entry in followed.read_new()))
    assert followed.path == recordings.recordings()[2].path
    lines[0].deliver(Received(b"HELLO", lines[0].clock_us()))
    _until(lambda: any(isinstance(entry.fact, kinds.BytesReceived) for entry in followed.read_new()))
    stops[0](signal.SIGTERM, None)
    running_bridge.join(60)
    followed.close()
    assert statuses == [0]
    # What was used before is known at the start, and over midnight too.
    _, first, second = [read_opened(file.path) for file in recordings.recordings()]
    assert list(first.use_before.packs) == list(second.use_before.packs) == ["left"]
    assert first.use_before.at < first.wall < second.use_before.at
    assert len(capsys.readouterr().out.splitlines()) == 1


def test_after_midnight_it_types_at_the_line_that_was_opened_the_day_before(tmp_path, monkeypatch):
    lines: list[FakeLine] = []
    openings: list[int] = []

    def open_line(url, settings, clock_us, deliver, borrower):
        lines.append(FakeLine(deliver, clock_us))
        deliver(Opened("a line", clock_us(), 1))
        deliver(Received(b"READY: ", clock_us()))
        return lines[0]

    def type_byte(byte: int, opening: int) -> str:
        openings.append(opening)
        Midnight.jumps.set()
        lines[0].deliver(Received(b"\r\nREADY: ", lines[0].clock_us()))
        return ""

    Midnight.jumps.clear()
    monkeypatch.setattr(bridge_setup, "open_line", open_line)
    monkeypatch.setattr(bridge_setup, "RecordingClock", Midnight)
    monkeypatch.setattr(bridge, "HEARTBEAT_EVERY_S", 0.02)  # by which it sees that the day is over
    monkeypatch.setattr(signal, "signal", lambda number, handler: None)
    described = folder(script("round", press("on", "enter", "ready", at="ready")), rest_us=100 * S)
    wanted = Wanted(before=(), rounds=2, after=())
    order = BridgeOrder(folder=described, line="a line", recordings=tmp_path, rate=50.0)
    status = run_bridge(
        order, "scripts", lambda opened: decider_for(described, opened, wanted), None, type_byte
    )
    assert (status, openings) == (0, [1, 1])
    assert len(RecordingFolder(tmp_path).recordings()) == 2


def _until(true) -> None:
    """Checks repeatedly; a minute is far more than it takes."""
    give_up = threading.Event()
    timer = threading.Timer(60, give_up.set)
    timer.start()
    try:
        while not true():
            assert not give_up.wait(0.01), "it never came"
    finally:
        timer.cancel()


def test_what_is_unfinished_is_carried_into_the_recording_of_the_next_day(resting):
    staged, _ = resting
    left = staged.bridge._decider.left_open("yesterday")
    assert left is not None
    assert (left.recording, left.closed, left.script, left.numbers) == ("yesterday", True, "", {})


def test_half_a_line_that_a_person_typed_before_midnight_is_in_the_next_recording(tmp_path: Path):
    staged = Staged(tmp_path, WORK, None, begins=LATE)
    staged.receives_at(S, b"READY: ")
    staged.world.at(3 * S, Typed(b"WI", 3 * S))
    carried_over = staged.bridge.run(stay_when_failed=True)
    assert isinstance(carried_over, kinds.CarriedOver)
    (by_hand,) = staged.facts(kinds.TypedByHand)
    assert (by_hand.bytes, by_hand.secret) == ("WI", False)
    left = staged.bridge._decider.left_open(staged.writer.path.name)
    assert (left.half_typed, left.closed) == ("WI", True)
    check_decided_again(staged.folder, None, staged.entries())
