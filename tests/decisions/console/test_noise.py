"""Noise: a receiver at the wrong speed, simulated on the wire bit by bit, is told from text."""

import bisect
import random

import pytest

from exhibit.decisions.console.noise import ENOUGH_BYTES, FIRST_BYTES, FirstWords, what_is_wrong
from exhibit.decisions.display.wire import with_parity
from exhibit.facts.line_settings import LineSettings

SPEEDS_BAUD = (110, 300, 600, 1200, 2400, 4800, 9600, 19200, 38400)
UNLIKE = [(a, b) for a in SPEEDS_BAUD for b in SPEEDS_BAUD if a != b and max(a, b) <= 32 * min(a, b)]
PLAIN = LineSettings()
EVEN = LineSettings(data_bits=7, parity="even")
ODD = LineSettings(data_bits=7, parity="odd")
WORDS = ["HARBOUR", "OFFICE", "TIDES", "JOB", "RUNNING", "ERRORS", "LIST", "09.14", "DAY", "212", "0", "?"]


def console(lines: int) -> bytes:
    """Lines as a printing console has them, no two stretches alike, always the same ones."""
    pick = random.Random(7)
    printed = (" ".join(pick.choices(WORDS, k=pick.randint(3, 8))) for _ in range(lines))
    return "".join(f"{line}\r\n" for line in printed).encode()


CONSOLE = console(8)


def on_the_wire(data: bytes, baud: int):
    """The level of the wire over time as (until when, level): start bit 0, low bits first, stop bit 1."""
    until_s, levels = 0.0, []
    for byte in data:
        for level in (0, *((byte >> place) & 1 for place in range(8)), 1):
            until_s += 1 / baud
            levels.append((until_s, level))
    levels.append((until_s + 100 / baud, 1))
    return levels


def received(levels, baud: int) -> bytes:
    """What a receiver makes of it that waits for a falling edge and samples the middle of each bit."""
    ends_s = [until_s for until_s, _ in levels]

    def level_at(time_s: float) -> int:
        return levels[min(bisect.bisect_right(ends_s, time_s), len(levels) - 1)][1]

    out, ready_s = bytearray(), 0.0
    while True:
        at = bisect.bisect_right(ends_s, ready_s)
        start_s = ready_s
        if ready_s or levels[0][1]:  # after the first character only an edge from 1 to 0 starts another
            while at < len(levels) and levels[at][1] == 0:
                at += 1
            while at < len(levels) and levels[at][1] == 1:
                at += 1
            if at == len(levels):
                return bytes(out)
            start_s = max(ready_s, ends_s[at - 1])
        out.append(sum(level_at(start_s + (1.5 + place) / baud) << place for place in range(8)))
        ready_s = start_s + 9.6 / baud


def as_sent(text: bytes, settings: LineSettings) -> bytes:
    if settings.parity_in_software:
        return bytes(with_parity(byte, settings.parity) for byte in text)
    return text


@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
@pytest.mark.parametrize("speed_baud", SPEEDS_BAUD)
def test_at_the_right_speed_the_simulated_wire_brings_the_text_and_nothing_is_wrong(speed_baud, settings):
    sent = as_sent(CONSOLE, settings)
    assert received(on_the_wire(sent, speed_baud), speed_baud) == sent
    assert what_is_wrong(sent, settings) == ""


@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
@pytest.mark.parametrize(("sending_baud", "reading_baud"), UNLIKE)
def test_two_unlike_speeds_look_like_noise(sending_baud, reading_baud, settings):
    lines = 8 * max(1, sending_baud // reading_baud)  # a slow receiver makes few characters of many
    heard = received(on_the_wire(as_sent(console(lines), settings), sending_baud), reading_baud)
    assert len(heard) >= ENOUGH_BYTES
    assert what_is_wrong(heard, settings) == "speed", heard[:60]


@pytest.mark.parametrize(
    ("sent_as", "read_as"),
    [(EVEN, PLAIN), (ODD, PLAIN), (EVEN, ODD), (ODD, EVEN), (PLAIN, EVEN), (PLAIN, ODD)],
)
def test_the_wrong_parity_is_not_called_the_wrong_speed(sent_as, read_as):
    assert what_is_wrong(as_sent(CONSOLE, sent_as), read_as) == "parity"


@pytest.mark.parametrize(
    "text",
    [
        "Вход в систему: добро пожаловать, сегодня среда\r\n",
        "今日は水曜日です。ようこそ。\r\nlogin: ようこそ\r\n",
        "Grüße aus Köln, heute ist Mittwoch, schöne Überfahrt\r\n",
        "\x1b[2J\x1b[1;1H\x1b[7mJOB\x1b[m  \x0e lqqqqk \x0f STATE\x1b[2;1H 4  RUN\r\n",
    ],
)
def test_text_of_other_kinds_is_not_noise(text):
    assert what_is_wrong(text.encode() * 2, PLAIN) == ""


def test_a_text_cut_in_the_middle_of_a_character_is_not_noise():
    cut = ("Добро пожаловать " * 3).encode()[1:-1]
    assert what_is_wrong(cut, PLAIN) == ""


def test_a_little_damage_is_not_noise():
    damaged = bytearray(as_sent(CONSOLE, EVEN))
    for place in range(0, len(damaged), 20):
        damaged[place] ^= 0x40
    assert what_is_wrong(bytes(damaged), EVEN) == ""


def test_few_bytes_prove_nothing():
    assert what_is_wrong(b"\x00" * (ENOUGH_BYTES - 1), PLAIN) == ""
    assert what_is_wrong(b"\x00" * ENOUGH_BYTES, PLAIN) == "speed"
    assert what_is_wrong(b"", PLAIN) == ""


@pytest.mark.parametrize("piece_bytes", [1, 7, FIRST_BYTES, 4 * FIRST_BYTES])
def test_the_first_words_are_judged_once_however_they_come(piece_bytes):
    noise = random.Random(2).randbytes(4 * FIRST_BYTES)
    first = FirstWords(PLAIN)
    verdicts = [first.hear(noise[at : at + piece_bytes]) for at in range(0, len(noise), piece_bytes)]
    assert [verdict for verdict in verdicts if verdict] == ["speed"]


def test_noise_after_good_first_words_is_no_matter_of_settings():
    first = FirstWords(PLAIN)
    assert first.hear(CONSOLE[:FIRST_BYTES]) == ""
    assert first.hear(random.Random(2).randbytes(400)) == ""
