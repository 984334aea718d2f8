"""One contract for every kind of line: what enters at one end comes out at the other, and how it ends."""

import os
import queue
import random
import threading
import time

import pytest

from exhibit.decisions.display.characters import SUBSTITUTE_MARK
from exhibit.decisions.display.wire import Text, Wire, with_parity
from exhibit.facts.errors import LineFault
from exhibit.facts.line_settings import LineSettings
from exhibit.line.events import Lost, Opened, Readable, Received, Unreadable
from exhibit.line.port import open_line
from exhibit.line.typist import Typist
from tests.contracts.far_ends import KINDS, LONG_S, until, waiting_bytes

# pyserial's network client starts a thread in a way that Python has since deprecated.
pytestmark = [
    pytest.mark.waits,
    pytest.mark.filterwarnings("ignore:set(Daemon|Name)\\(\\) is deprecated:DeprecationWarning"),
]

PLAIN = LineSettings()
EVERY_VALUE = bytes(range(256))


def now_us() -> int:
    return time.monotonic_ns() // 1000


class Lines:
    """Opens lines, keeps their events, and stops them all at the end."""

    def __init__(self) -> None:
        self.opened = []

    def open(self, far_end, settings=PLAIN, typing=True, deliver=None):
        heard = queue.Queue()
        typist = Typist(far_end.url, settings) if typing else None
        line = open_line(far_end.url, settings, now_us, deliver or heard.put, borrower=typist)
        self.opened.append(line)
        far_end.meet()
        line.heard, line.typist, line.opening = heard, typist, 1
        line.type_byte = lambda byte: typist.type_byte(byte, line.opening)
        if deliver is None:
            assert isinstance(opened := heard.get(timeout=LONG_S), Opened)
            assert opened.opening == 1
        return line


@pytest.fixture(params=KINDS)
def far_end(request, tmp_path):
    end = KINDS[request.param](tmp_path)
    yield end
    end.close()


@pytest.fixture
def lines(far_end):  # after the far end, so that lines are stopped while it is still there
    kept = Lines()
    yield kept
    for line in kept.opened:
        assert line.stop(LONG_S)


def take(line, count: int) -> list[Received]:
    """The pieces in which the next `count` bytes arrived."""
    pieces, total = [], 0
    while total < count:
        event = line.heard.get(timeout=LONG_S)
        if isinstance(event, Unreadable | Readable):  # some tests send all values, which aren't text
            continue
        assert isinstance(event, Received), event
        pieces.append(event)
        total += len(event.data)
    return pieces


def joined(pieces) -> bytes:
    return b"".join(piece.data for piece in pieces)


def next_of_kind(line, kind):
    event = line.heard.get(timeout=LONG_S)
    while isinstance(event, Unreadable | Readable):
        event = line.heard.get(timeout=LONG_S)
    assert isinstance(event, kind), event
    return event


def test_every_value_arrives_as_it_was_sent(far_end, lines):
    line = lines.open(far_end)
    far_end.send(EVERY_VALUE)
    assert joined(take(line, 256)) == EVERY_VALUE


def test_noise_is_delivered_too_and_reported_once_as_the_wrong_speed(far_end, lines):
    line = lines.open(far_end)
    noise = random.Random(5).randbytes(400)
    far_end.send(noise)
    events = [line.heard.get(timeout=LONG_S)]
    while len(joined(pieces := [e for e in events if isinstance(e, Received)])) < len(noise):
        events.append(line.heard.get(timeout=LONG_S))
    line.stop(LONG_S)
    events += [line.heard.get() for _ in range(line.heard.qsize())]
    assert joined(pieces) == noise
    (unreadable,) = (event for event in events if isinstance(event, Unreadable))
    assert unreadable.cause == "speed"
    assert f"{far_end.url} at 9600 baud" in unreadable.fault.what
    assert "of the first 64 characters" in unreadable.fault.what


def test_text_after_noise_is_reported_once_too(far_end, lines):
    line = lines.open(far_end)
    sent = random.Random(5).randbytes(400) + b"GOOD MORNING FROM THE HARBOUR OFFICE\r\n" * 4
    far_end.send(sent)
    events = [line.heard.get(timeout=LONG_S)]
    while len(joined([e for e in events if isinstance(e, Received)])) < len(sent):
        events.append(line.heard.get(timeout=LONG_S))
    line.stop(LONG_S)
    events += [line.heard.get() for _ in range(line.heard.qsize())]
    judged = [event for event in events if isinstance(event, Unreadable | Readable)]
    assert [(type(event), event.cause) for event in judged] == [(Unreadable, "speed"), (Readable, "speed")]


def test_flow_control_characters_are_neither_swallowed_nor_obeyed_unrecorded(far_end, lines):
    line = lines.open(far_end, LineSettings(flow="xon/xoff"))
    far_end.send(b"a\x13b\x11c")
    assert joined(take(line, 5)) == b"a\x13b\x11c"
    far_end.send(b"\x13")
    take(line, 1)
    assert line.type_byte(0x41).sent == "yes"
    assert far_end.receive(1) == b"A"


def test_every_value_is_typed_as_it_is(far_end, lines):
    line = lines.open(far_end)
    assert {line.type_byte(byte).sent for byte in EVERY_VALUE} == {"yes"}
    assert far_end.receive(256) == EVERY_VALUE


def test_a_long_stream_keeps_its_order_while_typing_goes_the_other_way(far_end, lines):
    line = lines.open(far_end)
    stream = random.Random(3).randbytes(20_000)
    sending = threading.Thread(target=far_end.send, args=(stream,))
    sending.start()
    typed = stream[:500]
    for byte in typed:
        assert line.type_byte(byte).sent == "yes"
    assert joined(take(line, len(stream))) == stream
    assert far_end.receive(500) == typed
    sending.join(LONG_S)


def test_times_of_arrival_never_go_back_and_are_the_clock_s_own(far_end, lines):
    before_us = now_us()
    line = lines.open(far_end)
    pieces = []
    for byte in b"one by one":
        far_end.send(bytes([byte]))
        pieces += take(line, 1)
    times_us = [piece.at_us for piece in pieces]
    assert times_us == sorted(times_us)
    assert before_us <= times_us[0]
    assert times_us[-1] <= now_us()


def test_bytes_that_wait_together_are_delivered_together(far_end, lines):
    heard, arrived, go_on = queue.Queue(), threading.Event(), threading.Event()

    def hold_up_after_the_first_byte(event):
        heard.put(event)
        if isinstance(event, Received) and not arrived.is_set():
            arrived.set()
            assert go_on.wait(LONG_S)

    line = lines.open(far_end, deliver=hold_up_after_the_first_byte)
    far_end.send(b"x")
    assert arrived.wait(LONG_S)
    burst = EVERY_VALUE + b"and more"
    far_end.send(burst)
    until(lambda: waiting_bytes(line.typist._port) == len(burst), "the burst to arrive")
    go_on.set()
    assert isinstance(heard.get(timeout=LONG_S), Opened)
    assert [heard.get(timeout=LONG_S).data, heard.get(timeout=LONG_S).data] == [b"x", burst]


def test_a_character_is_delivered_without_waiting_for_another(far_end, lines):
    line = lines.open(far_end)
    far_end.send(b"?")
    assert joined(take(line, 1)) == b"?"


def test_opening_says_where_and_how(far_end, lines):
    heard = queue.Queue()
    lines.open(far_end, deliver=heard.put)
    opened = heard.get(timeout=LONG_S)
    assert opened.description == f"{far_end.url}, 9600 baud, 8 bits, no parity, 1 stop bit"


def test_what_a_device_held_before_is_dropped_but_a_connection_s_first_words_are_kept(far_end, lines):
    if far_end.is_device:
        far_end.send(b"stale")
        line = lines.open(far_end)
        far_end.send(b"fresh")
        assert joined(take(line, 5)) == b"fresh"
    else:
        speaking = threading.Thread(target=speak_first, args=(far_end,))
        speaking.start()
        heard = queue.Queue()
        lines.opened.append(open_line(far_end.url, PLAIN, now_us, heard.put))
        speaking.join(LONG_S)
        got = b""
        while len(got) < len(b"first words"):
            event = heard.get(timeout=LONG_S)
            got += event.data if isinstance(event, Received) else b""
        assert got == b"first words"


def speak_first(far_end) -> None:
    far_end.meet()
    far_end.send(b"first words")


def test_a_lost_far_end_is_reported_once_and_nothing_can_be_typed(far_end, lines):
    line = lines.open(far_end)
    far_end.send(b"before")
    take(line, 6)
    far_end.hang_up()
    lost = next_of_kind(line, Lost)
    assert far_end.url in lost.why
    assert line.type_byte(0x41).sent == "no"
    assert line.running


def test_a_far_end_that_returns_is_opened_again_unless_its_name_may_be_a_strangers_by_now(far_end, lines):
    line = lines.open(far_end)
    if far_end.url.startswith("/dev/pts/"):
        far_end.hang_up()
        next_of_kind(line, Lost)
        far_end.come_back()
        with pytest.raises(queue.Empty):
            line.heard.get(timeout=2.0)  # several times as long as the first try would take
        return
    far_end.hang_up()
    next_of_kind(line, Lost)
    far_end.come_back()
    reopened = threading.Thread(target=far_end.meet)
    reopened.start()
    opened = next_of_kind(line, Opened)
    reopened.join(LONG_S)
    far_end.send(b"hello again")
    assert joined(take(line, 11)) == b"hello again"
    # What was decided before the loss is not typed at the port that was opened since.
    assert line.type_byte(0x42).sent == "no"
    line.opening = opened.opening
    assert line.type_byte(0x41).sent == "yes"
    assert far_end.receive(1) == b"A"


def test_stopping_while_the_reader_waits_ends_it_and_leaves_nothing_open(far_end, lines):
    before = set(os.listdir("/proc/self/fd"))
    line = lines.open(far_end)
    assert line.stop(LONG_S)
    assert not line.running
    assert line.type_byte(0x41).sent == "no"
    far_end.hang_up()
    assert len(set(os.listdir("/proc/self/fd")) - before) == 0


def test_stopping_while_the_far_end_is_missing_ends_the_reader_too(far_end, lines):
    line = lines.open(far_end)
    far_end.hang_up()
    next_of_kind(line, Lost)
    assert line.stop(LONG_S)


def test_a_far_end_that_accepts_nothing_holds_up_one_byte_for_a_bounded_time(far_end, lines):
    line = lines.open(far_end)
    accepted = 0
    while (outcome := line.type_byte(0x41)).sent == "yes":
        accepted += 1
        assert accepted < 100_000, "far more is queued than pseudo-terminal or receiver can hold"
    assert isinstance(outcome.fault, LineFault)
    doubtful = 1 if outcome.sent == "perhaps" else 0
    far_end.send(b"still heard")  # receiving continues while typing is held up
    assert joined(take(line, 11)) == b"still heard"
    assert far_end.receive(accepted) == b"A" * accepted
    until(lambda: line.type_byte(0x42).sent == "yes", "typing to go on")
    rest = far_end.receive(1)
    rest = rest if rest == b"B" else rest + far_end.receive(1)
    assert rest in ([b"B"], [b"B", b"AB"])[doubtful]


def test_stopping_while_a_byte_is_held_up_ends_within_its_limit(far_end, lines):
    line = lines.open(far_end)
    while line.type_byte(0x41).sent == "yes":
        pass
    held_up = threading.Thread(target=line.type_byte, args=(0x41,))
    held_up.start()
    assert line.stop(LONG_S)
    held_up.join(LONG_S)
    assert not held_up.is_alive()


def test_a_second_opening_is_refused_in_one_clear_sentence(far_end, lines):
    lines.open(far_end)
    until(lambda: not far_end.listens, "the adapter to listen no more")
    with pytest.raises(LineFault) as refused:
        lines.open(far_end)
    if far_end.is_device:
        assert refused.value.what.startswith(f"The port {far_end.url} is busy")
    else:
        assert "refuses the connection" in refused.value.what
        assert "another computer is connected" in refused.value.do


@pytest.mark.parametrize("parity", ["even", "odd"])
def test_seven_bits_with_parity_work_in_both_directions_in_software(far_end, lines, parity):
    settings = LineSettings(data_bits=7, parity=parity)
    line = lines.open(far_end, settings)
    text = b"TIDES FOR DAY 212: 04.17"
    on_the_wire = bytes(with_parity(byte, parity) for byte in text)
    damaged = bytes([on_the_wire[0] ^ 0x80])
    far_end.send(on_the_wire + damaged)
    wire = Wire("parity", parity=parity)
    items = wire.feed(joined(take(line, len(text) + 1)))
    assert "".join(item.text for item in items if isinstance(item, Text)) == text.decode() + SUBSTITUTE_MARK
    assert wire.parity_faults == 1
    for byte in text:
        assert line.type_byte(byte).sent == "yes"
    assert far_end.receive(len(text)) == on_the_wire
    with pytest.raises(ValueError, match="doesn't fit into 7 bits"):
        line.type_byte(0x80)


def test_watching_hears_everything_and_puts_no_byte_on_the_line(far_end, lines):
    line = lines.open(far_end, typing=False)
    far_end.send(EVERY_VALUE + b"\x1b[c\x1b[6n\x05")  # the last are questions that a terminal would answer
    assert joined(take(line, 264)).startswith(EVERY_VALUE)
    assert line.stop(LONG_S)
    assert far_end.typed_so_far() == b""
