"""How much room a day takes: at most 150 MB for eight hours of continuous output at 9600 baud."""

import random

from exhibit.facts.codec import FIRST_CRC, encode_line
from exhibit.facts.kinds import Entry, Heartbeat
from exhibit.streams.pieces import PieceKeeper

BAUD = 9600
BITS_EACH = 10
"""Start, eight data bits (or seven and parity), stop."""
BYTES_PER_S = BAUD // BITS_EACH
DAY_S = 8 * 3600
LIMIT_BYTES = 150_000_000
HOUR_US = 3_600_000_000


def printed_text(chance: random.Random) -> bytes:
    hour, minute = chance.randrange(24), chance.randrange(60)
    return f"{chance.randrange(99999):05} HIGH WATER {hour:02}:{minute:02} M\r\n".encode()


def status_display(chance: random.Random) -> bytes:
    """Cursor addressing with few characters each: control characters take six bytes in JSON."""
    at = f"\x1b[{chance.randrange(1, 25)};{chance.randrange(1, 80)}H"
    return f"{at}\x1b[7m{chance.randrange(1000):4}\x1b[m".encode()


def bytes_for_a_day(output, begin_us: int) -> float:
    """Record ten minutes late in the day, when numbers are long; returns what eight hours would take."""
    chance = random.Random(9600)
    keeper, crc, seq, size_bytes = PieceKeeper(1_000_000 / BYTES_PER_S), FIRST_CRC, 700_000, 0
    stream = b"".join(output(chance) for _ in range(40_000))
    seconds = 600
    count = seconds * BYTES_PER_S
    stream = (stream * (count // len(stream) + 1))[:count]
    heartbeat_due_us = begin_us

    def record(fact, at_us):
        nonlocal crc, seq, size_bytes
        seq += 1
        line, crc = encode_line(Entry(seq, at_us, fact), crc)
        size_bytes += len(line)

    for number in range(count):
        at_us = begin_us + number * 1_000_000 // BYTES_PER_S
        if (piece := keeper.take_due(at_us)) is not None:
            record(piece.fact, piece.at_us)
        if at_us >= heartbeat_due_us:
            if (piece := keeper.take()) is not None:
                record(piece.fact, piece.at_us)
            record(Heartbeat(wall="2026-11-25T17:30:00.123456+01:00"), at_us)
            heartbeat_due_us += 2_000_000
        for piece in keeper.add(stream[number : number + 1], at_us):
            record(piece.fact, piece.at_us)
    assert size_bytes > count
    return size_bytes * DAY_S / seconds


def test_a_day_of_printing_fits():
    assert bytes_for_a_day(printed_text, 7 * HOUR_US) < LIMIT_BYTES


def test_a_day_of_status_displays_fits():
    assert bytes_for_a_day(status_display, 7 * HOUR_US) < LIMIT_BYTES
