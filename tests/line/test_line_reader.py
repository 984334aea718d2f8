"""The reader thread: in which order it opens, lends, takes back and closes, and how it tries again."""

import queue
import threading
import time

import pytest

from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line import reader as line_reader
from exhibit.line.events import ErrorsCounted, Lost, Opened, ReaderFailed, Received
from exhibit.line.faults import StillAway
from exhibit.line.reader import Line

LONG_S = 30.0


class MadePort:
    """A port that returns the given bursts, then fails or stays quiet."""

    def __init__(self, diary, bursts=(), breaks=None):
        self.diary, self.bursts, self.breaks = diary, list(bursts), breaks
        self.closed_by = None

    def burst(self):
        if self.bursts:
            return self.bursts.pop(0)
        if self.breaks is not None:
            raise self.breaks
        time.sleep(0.001)
        return b""

    def fileno(self):
        return -1

    def shut(self):
        self.diary.append("shut")
        self.closed_by = threading.current_thread().name


class MadeBorrower:
    def __init__(self, diary):
        self.diary = diary

    def lend(self, port, opening):
        self.diary.append("lent")

    def take_back(self):
        self.diary.append("taken back")


@pytest.fixture
def started():
    lines = []

    def start(openings, borrower=None, deliver=None):
        heard = queue.Queue()
        openings = iter(openings)

        def open_again():
            outcome = next(openings)
            if isinstance(outcome, Exception):
                raise outcome
            return outcome

        line = Line("made:line", LineSettings(), lambda: 7, deliver or heard.put, borrower, open_again)
        lines.append(line)
        line.heard = heard
        return line

    yield start
    for line in lines:
        assert line.stop(LONG_S)


def quickly(monkeypatch):
    monkeypatch.setattr(line_reader, "FIRST_PAUSE_S", 0.001)
    monkeypatch.setattr(line_reader, "LONGEST_PAUSE_S", 0.004)


def test_the_port_is_lent_before_opened_is_delivered_and_taken_back_before_it_is_closed(started, monkeypatch):
    quickly(monkeypatch)
    diary = []
    told = queue.Queue()

    def deliver(event):
        diary.append(type(event).__name__)
        told.put(event)

    ports = [MadePort(diary, [b"hello"], OSError("gone")), MadePort(diary)]
    line = started(ports, MadeBorrower(diary), deliver)
    while not isinstance(told.get(timeout=LONG_S), Lost):
        pass
    assert isinstance(told.get(timeout=LONG_S), Opened)
    assert line.stop(LONG_S)
    once = ["lent", "Opened", "Received", "taken back", "shut", "Lost"]
    assert diary == [*once, "lent", "Opened", "taken back", "shut"]


def test_a_port_that_is_gone_before_the_first_read_is_lost_like_any_other(started, monkeypatch):
    quickly(monkeypatch)
    gone = MadePort([])

    def fileno():
        raise OSError("the connection is closed")

    gone.fileno = fileno
    line = started([gone, MadePort([], [b"back"])])
    told = [line.heard.get(timeout=LONG_S) for _ in range(4)]
    assert [type(event) for event in told] == [Opened, Lost, Opened, Received]


@pytest.mark.parametrize(
    "breaks", [OSError("read failed"), TypeError("an integer is required"), ValueError("negative descriptor")]
)
def test_only_the_reader_thread_closes_whatever_the_port_throws(started, monkeypatch, breaks):
    quickly(monkeypatch)
    lost, waiting = MadePort([], breaks=breaks), MadePort([])
    line = started([lost, waiting])
    assert isinstance(line.heard.get(timeout=LONG_S), Opened)
    assert isinstance(line.heard.get(timeout=LONG_S), Lost)
    assert isinstance(line.heard.get(timeout=LONG_S), Opened)
    line.stop(LONG_S)
    assert lost.closed_by == waiting.closed_by == "reads made:line"


def test_a_first_opening_that_fails_is_raised_and_starts_no_thread(started):
    before = threading.active_count()
    with pytest.raises(LineFault):
        started([LineFault("No.", "Because.", "Do.")])
    assert threading.active_count() == before


def test_a_loss_is_delivered_once_and_again_for_a_new_reason(started, monkeypatch):
    quickly(monkeypatch)
    away, busy = StillAway("Away.", "w", "d"), LineFault("Busy.", "w", "d")
    line = started(
        [MadePort([], breaks=OSError()), away, away, busy, busy, away, busy, MadePort([], [b"back"])]
    )
    told = [line.heard.get(timeout=LONG_S) for _ in range(5)]
    assert [type(event) for event in told] == [Opened, Lost, Lost, Opened, Received]
    assert told[2].why == "Busy."


class NotedPauses:
    """Replaces the reader's wait: notes each pause instead of waiting."""

    def __init__(self):
        self.pauses_s, self.stopped = [], False

    def set(self):
        self.stopped = True

    def is_set(self):
        return self.stopped

    def wait(self, pause_s):
        self.pauses_s.append(pause_s)
        return self.stopped


class HeldPort(MadePort):
    """Fails once `go_on` is set."""

    def __init__(self):
        super().__init__([], breaks=OSError())
        self.go_on = threading.Event()

    def burst(self):
        assert self.go_on.wait(LONG_S)
        return super().burst()


def test_pauses_between_attempts_grow_up_to_a_limit_even_if_openings_succeed(started, monkeypatch):
    monkeypatch.setattr(line_reader, "STEADY_S", 3600.0)  # however slow this computer is
    away = StillAway("Away.", "w", "d")
    first, second, third = HeldPort(), MadePort([], breaks=OSError()), MadePort([], breaks=OSError())
    line = started([first, *[away] * 6, second, third, MadePort([], [b"back"])])
    line._stopping = noted = NotedPauses()
    first.go_on.set()
    while not isinstance(line.heard.get(timeout=LONG_S), Received):
        pass
    assert noted.pauses_s == [0.25, 0.5, 1.0, 2.0, 4.0, 5.0, 5.0, 5.0, 5.0]


def test_a_line_that_worked_for_a_while_is_tried_again_at_once(started, monkeypatch):
    monkeypatch.setattr(line_reader, "STEADY_S", 0.0)
    pauses = []
    real_wait = line_reader.Line._wait_for_return

    def noted(self, pause_s):
        pauses.append(pause_s)
        return real_wait(self, 0.001)

    monkeypatch.setattr(line_reader.Line, "_wait_for_return", noted)
    ports = [MadePort([], breaks=OSError()) for _ in range(3)]
    line = started([*ports, MadePort([], [b"back"])])
    while not isinstance(line.heard.get(timeout=LONG_S), Received):
        pass
    assert pauses == [0.25, 0.25, 0.25]


def test_an_error_in_deliver_closes_the_port_and_is_shown(started, monkeypatch):
    shown = queue.Queue()
    monkeypatch.setattr(threading, "excepthook", shown.put)
    port = MadePort([])

    def deliver(event):
        raise KeyError("a mistake in the program")

    line = started([port], deliver=deliver)
    assert shown.get(timeout=LONG_S).exc_type is KeyError
    assert line.stop(LONG_S)
    assert port.closed_by == "reads made:line"


def test_an_unexpected_error_ends_the_reader_and_is_delivered(started, monkeypatch):
    quickly(monkeypatch)
    monkeypatch.setattr(threading, "excepthook", lambda shown: None)
    line = started([MadePort([], breaks=OSError()), RuntimeError("an odd adapter")])
    told = [line.heard.get(timeout=LONG_S) for _ in range(3)]
    assert [type(event) for event in told] == [Opened, Lost, ReaderFailed]
    assert "an odd adapter" in told[-1].fault.what


def test_errors_that_the_hardware_counts_are_delivered(started, monkeypatch):
    monkeypatch.setattr(line_reader, "COUNT_EVERY_S", 0.0)
    counts = iter([None, (0, 2, 0, 1)])

    class MadeCounter:
        def __init__(self, fd):
            assert fd == -1

        def increase(self):
            return next(counts, None)

    monkeypatch.setattr(line_reader, "ErrorCounter", MadeCounter)
    line = started([MadePort([])])
    assert isinstance(line.heard.get(timeout=LONG_S), Opened)
    told = line.heard.get(timeout=LONG_S)
    assert told == ErrorsCounted(parity=0, framing=2, overrun=0, breaks=1, at_us=7)
