"""Characters take their time on the line, both ways, and the one-character buffer loses what it must."""

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.keyboard import TAKE_US
from exhibit.simulator.serial_line import XOFF, XON, character_us, with_even_parity
from exhibit.simulator.truth import ByteArrived, BytesSent, CommandTaken
from tests.simulator.workbench import at_desk, at_no_desk, records

# Arithmetic: ten bits a character; the references' table for 8N1, 7E1, 7O1 and 7N2, in milliseconds.
TEN_BITS_MS = {110: 90.909, 300: 33.333, 1200: 8.3333, 2400: 4.1667, 9600: 1.0417, 19200: 0.5208}


@pytest.mark.parametrize("baud", TEN_BITS_MS)
def test_a_character_takes_ten_bits_of_the_lines_time(baud):
    assert character_us(baud) == pytest.approx(TEN_BITS_MS[baud] * 1000, abs=0.6)


@pytest.mark.parametrize("baud", [300, 2400, 9600])
def test_what_is_printed_comes_one_character_time_after_the_other(baud):
    bench = Bench(Options(baud=baud))
    bench.act("key on")
    bench.until("PRESS START\r\n")
    times = [at_us for at_us, _ in bench.stamped]
    assert times[0] == 500_000 + character_us(baud)
    assert {later - earlier for earlier, later in zip(times, times[1:], strict=False)} == {character_us(baud)}


def test_bytes_put_on_the_line_at_once_arrive_one_character_time_after_the_other():
    bench = at_no_desk()
    began_us = bench.now_us
    bench.send(b"ABC")
    bench.send(b"D")
    bench.run(1)
    arrived = [record.at_us - began_us for record in records(bench, ByteArrived)[-4:]]
    assert arrived == [character_us(2400) * number for number in (1, 2, 3, 4)]


def test_both_ways_are_busy_at_the_same_time():
    bench = at_no_desk()
    bench.send(b"A" * 60)
    bench.run(60 * 4.17 / 1000 + 0.01)
    assert bench.heard.endswith(b"A" * 60)


def fates_by_rule(typed: int, char_us: int) -> list[str]:
    """What the rule in the handbook says of characters typed at full speed at an idle prompt.

    Arrivals stand a character time apart; the one in the buffer is taken TAKE_US after it has
    arrived and the echo of the one before has gone; its own echo then takes a character time.
    """
    fates: list[str] = []
    echo_gone_us, in_buffer_until_us = 0, 0
    for number in range(1, typed + 1):
        arrives_us = number * char_us
        if arrives_us < in_buffer_until_us:
            fates.append("lost")
            continue
        fates.append("kept")
        in_buffer_until_us = max(arrives_us, echo_gone_us) + TAKE_US
        echo_gone_us = in_buffer_until_us + char_us
    return fates


def test_the_one_character_buffer_loses_exactly_what_comes_before_the_last_was_taken():
    bench = at_no_desk(one_char_buffer=True)
    before = len(records(bench, ByteArrived))
    bench.send(b"A" * 50)
    bench.run(2)
    fates = [record.fate for record in records(bench, ByteArrived)[before:]]
    assert fates == fates_by_rule(50, character_us(2400))
    assert 0 < fates.count("lost") < 25
    assert bench.heard.endswith(b": " + b"A" * fates.count("kept"))


def test_the_one_character_buffer_loses_nothing_from_who_waits_for_the_echo():
    bench = at_no_desk(one_char_buffer=True)
    before = len(records(bench, ByteArrived))
    bench.command("TIME", "NO DESK: ")
    arrived = records(bench, ByteArrived)[before:]
    assert [record.fate for record in arrived] == ["kept"] * 5


def test_the_one_character_buffer_keeps_one_character_while_the_machine_is_busy():
    bench = at_desk(one_char_buffer=True)
    bench.command("BEGIN SUMS 1 PASSES", "DESK TIDES: ")
    bench.command("CALL 1", "\r\n")
    before = len(records(bench, ByteArrived))
    bench.send(b"XYZ")
    bench.until("DESK TIDES: X", 20)
    assert [record.fate for record in records(bench, ByteArrived)[before:]] == ["kept", "lost", "lost"]


def test_without_that_option_what_is_typed_ahead_is_echoed_when_it_is_taken():
    bench = at_no_desk()
    bench.send(b"TIME\rTIME\r")
    came = bench.until("NO DESK: ") + bench.until("NO DESK: ")
    assert came.count("TIME\r\n25.11.1998") == 2


def busy(bench: Bench) -> None:
    """Follow a job, so that nobody takes what is typed."""
    bench.command("RUN SUMS 3 PASSES", "BEGUN: SUMS 3 PASSES\r\n")


def test_the_sixty_fifth_character_typed_ahead_is_lost_with_a_bell():
    bench = at_desk()
    busy(bench)
    before = len(records(bench, ByteArrived))
    bench.send(b"A" * 66)
    bench.run(1)
    fates = [record.fate for record in records(bench, ByteArrived)[before:]]
    assert fates == ["kept"] * 64 + ["lost"] * 2
    assert bench.heard.count(b"\a") == 2


def test_the_machine_asks_for_a_pause_above_48_waiting_and_goes_on_at_16():
    bench = at_desk()
    busy(bench)
    bench.send(b"A" * 48)
    bench.run(1)
    assert XOFF not in bench.heard
    bench.send(b"A")
    bench.run(0.1)
    assert bench.heard.count(XOFF) == 1
    assert bench.machine.keyboard.waiting_chars == 49
    bench.until("\x11", 20)
    # While XON itself was on the line, at most so many more were taken.
    assert 16 - 2 * character_us(2400) // TAKE_US <= bench.machine.keyboard.waiting_chars <= 16
    bench.run(2)
    assert bench.heard.endswith(b"A" * 32)
    assert bench.heard.count(XON) == 1


def test_xoff_holds_printing_and_xon_lets_it_go_on_where_it_was():
    bench = at_desk()
    bench.send(b"DRIVES\r")
    bench.until("SMALL ")
    bench.send(bytes([XOFF]))
    bench.run(0.02)
    assert bench.run(30) == ""
    bench.send(bytes([XON]))
    bench.until("DESK TIDES: ")
    table = bench.heard.decode().split("DRIVES\r\n")[-1]
    assert table.startswith("SMALL  READY     STARTER 5  MAY BE WRITTEN\r\nUPPER  READY")


def test_xoff_and_xon_are_no_part_of_a_command():
    bench = at_no_desk()
    bench.send(b"TI\x13\x11ME\r")
    bench.until("NO DESK: ")
    assert records(bench, CommandTaken)[-1].text == "TIME"


def test_with_even_parity_every_byte_has_an_even_number_of_ones():
    bench = Bench(Options(parity="even"))
    bench.act("key on")
    bench.run(2)
    assert {byte.bit_count() % 2 for byte in bench.heard} == {0}
    assert bytes(byte & 0x7F for byte in bench.heard).endswith(b"PRESS START\r\n")


def test_with_even_parity_a_character_of_wrong_parity_is_not_taken_and_rings_the_bell():
    bench = Bench(Options(parity="even"))
    bench.act("key on")
    bench.run(2)
    bench.send(bytes([with_even_parity(ord("A")) ^ 0x80]))
    bench.run(1)
    assert records(bench, ByteArrived)[-1].fate == "bad parity"
    assert bench.heard[-1] & 0x7F == 7


def test_with_even_parity_a_whole_session_goes_as_without():
    plain, even = at_desk(), at_desk(parity="even")
    stripped = bytes(byte & 0x7F for byte in even.heard)
    assert stripped == plain.heard
    assert stripped != even.heard


def test_what_the_truth_log_says_was_sent_is_what_came():
    bench = at_no_desk()
    assert "".join(record.text for record in records(bench, BytesSent)).encode() == bench.heard


def test_the_truth_log_holds_characters_sent_without_a_gap_together_up_to_256():
    bench = at_desk()
    bench.command("RUN TIDES", "JOB 1 ENDED", 60)
    pieces = records(bench, BytesSent)
    assert max(len(piece.text) for piece in pieces) == 256
    char_us = character_us(2400)
    for piece in pieces:
        waits = len(piece.text) - 1
        assert waits * char_us <= piece.at_us - piece.first_us < max(1, waits) * 2 * char_us
    for one, two in zip(pieces, pieces[1:], strict=False):
        assert two.first_us - one.at_us >= char_us


def test_a_machine_that_is_off_takes_and_sends_nothing():
    bench = Bench()
    bench.send(b"HELP\r")
    assert bench.run(5) == ""
    assert {record.fate for record in records(bench, ByteArrived)} == {"off"}
