"""A computer that slept, or a program that was stopped, heard nothing meanwhile: the line counts as lost."""

from __future__ import annotations

import queue
import threading

import pytest

from exhibit.facts.line_settings import LineSettings
from exhibit.line.awake import ASLEEP_S, STOPPED_S, Awake, since_start_s
from exhibit.line.events import Lost, Opened, Received
from exhibit.line.reader import Line
from exhibit.line.typist import Typist

LONG_S = 30.0


class Clocks:
    """The steady clock, and the one that runs on while the computer sleeps."""

    def __init__(self) -> None:
        self.steady_s, self.whole_s = 100.0, 5000.0

    def passes(self, seconds: float) -> None:
        self.steady_s += seconds
        self.whole_s += seconds

    def awake(self) -> Awake:
        return Awake(lambda: self.steady_s, lambda: self.whole_s)


def test_a_sleep_is_told_from_time_that_passes():
    clocks = Clocks()
    awake = clocks.awake()
    clocks.passes(STOPPED_S - 1)
    assert awake.look() == ""
    clocks.whole_s += ASLEEP_S
    assert awake.gap() == awake.look() == "this computer was asleep for 1 s"
    assert awake.look() == ""


def test_a_program_that_was_stopped_for_long_is_told_too():
    clocks = Clocks()
    awake = clocks.awake()
    clocks.passes(STOPPED_S)
    assert awake.look() == "this program was stopped for 30 s"


@pytest.mark.parametrize(
    ("seconds", "words"), [(119, "119 s"), (600, "10 min"), (7230, "2 h 0 min"), (86_400, "24 h 0 min")]
)
def test_how_long_it_was_is_said_as_people_say_it(seconds, words):
    clocks = Clocks()
    awake = clocks.awake()
    clocks.whole_s += seconds
    assert awake.look() == f"this computer was asleep for {words}"


def test_a_clock_set_back_or_forth_is_no_sleep(monkeypatch):
    """Neither clock is the one that can be set."""
    awake = Awake()
    monkeypatch.setattr("time.time", lambda: 0.0)
    assert awake.look() == ""
    assert since_start_s() > 0


def test_a_pause_between_the_readings_of_the_two_clocks_is_no_sleep():
    clocks, readings = Clocks(), [0]

    def reads(clock: str):
        def read() -> float:
            now_s = getattr(clocks, clock)
            readings[0] += 1
            clocks.passes(10 if readings[0] == 3 else 0)  # two readings are of the beginning
            return now_s

        return read

    awake = Awake(reads("steady_s"), reads("whole_s"))
    assert awake.look() == ""


class Port:
    """A port that stays quiet until the test gives it something; the bursts wait for each other."""

    def __init__(self) -> None:
        self.written, self.shut_by = b"", ""
        self.bursts: queue.Queue[bytes] = queue.Queue()

    def burst(self) -> bytes:
        try:
            return self.bursts.get(timeout=0.01)
        except queue.Empty:
            return b""

    def fileno(self) -> int:
        return 1

    def write(self, data: bytes) -> int:
        self.written += data
        return len(data)

    def shut(self) -> None:
        self.shut_by = threading.current_thread().name


def test_after_a_sleep_the_line_counts_as_lost_and_opened_and_what_was_decided_before_is_not_typed():
    heard: queue.Queue = queue.Queue()
    clocks, port = Clocks(), Port()
    typist = Typist("made:line", LineSettings())
    line = Line("made:line", LineSettings(), lambda: 7, heard.put, typist, lambda: port, awake=clocks.awake())
    try:
        assert heard.get(timeout=LONG_S).opening == 1
        assert typist.type_byte(ord("A"), 1).sent == "yes"
        clocks.whole_s += 7200
        lost, opened = heard.get(timeout=LONG_S), heard.get(timeout=LONG_S)
        assert lost == Lost("this computer was asleep for 2 h 0 min and heard nothing", 7)
        assert isinstance(opened, Opened)
        assert opened.opening == 2
        assert typist.type_byte(ord("B"), 1).sent == "no"
        assert typist.type_byte(ord("C"), 2).sent == "yes"
        assert port.written == b"AC"
        # It stays open: closing it would throw away what has arrived.
        assert port.shut_by == ""
        port.bursts.put(b"what the machine says now")
        assert isinstance(heard.get(timeout=LONG_S), Received)
    finally:
        assert line.stop(LONG_S)


def test_while_it_listens_no_sleep_is_found_however_long_the_machine_is_quiet():
    heard: queue.Queue = queue.Queue()
    clocks, port = Clocks(), Port()
    line = Line("made:line", LineSettings(), lambda: 7, heard.put, None, lambda: port, awake=clocks.awake())
    try:
        assert isinstance(heard.get(timeout=LONG_S), Opened)
        for _ in range(20):
            clocks.passes(STOPPED_S / 2)
            port.bursts.put(b"x")
            assert isinstance(heard.get(timeout=LONG_S), Received)
        assert heard.empty()
    finally:
        assert line.stop(LONG_S)
