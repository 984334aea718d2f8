"""Noise: a receiver at the wrong speed, simulated on the wire bit by bit, is told from text."""

import bisect
import random

import pytest

from exhibit.decisions.console.noise import (
    ENOUGH_BYTES,
    FIRST_BYTES,
    FirstWords,
    look_at,
    what_is_wrong,
)
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


def in_pieces_of(first: FirstWords, data: bytes, piece_bytes: int) -> list[str]:
    return [
        said for at in range(0, len(data), piece_bytes) for said in first.hear(data[at : at + piece_bytes])
    ]


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
    assert in_pieces_of(first, noise, piece_bytes) == ["speed"]


def test_noise_after_good_first_words_is_no_matter_of_settings():
    first = FirstWords(PLAIN)
    assert first.hear(CONSOLE[:FIRST_BYTES]) == []
    assert first.hear(random.Random(2).randbytes(400)) == []


# -- fill characters


MARK, SPACE = "mark", "space"


def with_fills(text: bytes, fill: bytes, fills: int) -> bytes:
    """A printing terminal gets these after each line, while its carriage returns."""
    return text.replace(b"\r\n", b"\r\n" + fill * fills)


def with_eighth(text: bytes, rule: str) -> bytes:
    """The text as a machine sends it that sets the eighth bit by this rule."""
    if rule == MARK:
        return bytes(byte | 0x80 for byte in text)
    return text if rule == SPACE else bytes(with_parity(byte, rule) for byte in text)


@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
@pytest.mark.parametrize("rule", [MARK, SPACE, "even", "odd"])
@pytest.mark.parametrize("fill", [b"\0", b"\x7f"], ids=["nul", "del"])
@pytest.mark.parametrize("fills", [*range(1, 11), 40, 300])
def test_text_with_fills_after_each_line_is_never_called_the_wrong_speed(fills, fill, rule, settings):
    sent = with_eighth(with_fills(CONSOLE, fill, fills), rule)
    fits = rule == SPACE if settings is PLAIN else rule == settings.parity
    # The line may be opened in the middle of anything. But nobody can tell so many fills from a slow sender.
    for start in range(0, 80, 7) if fills < FIRST_BYTES else (0, 7, 14):
        assert what_is_wrong(sent[start : start + 700], settings) in ("", "" if fits else "parity")
        said = FirstWords(settings).hear(sent[start:] + sent)
        assert said == ([] if fits else ["parity"]), (start, sent[start : start + 80])


@pytest.mark.parametrize("ends", [b"\r%s\n%s", b"\n%s\r%s", b"\r%s\n", b"\n%s"])
def test_fills_may_follow_each_part_of_a_line_end(ends):
    text = CONSOLE.replace(b"\r\n", ends.replace(b"%s", b"\0" * 20))
    assert what_is_wrong(text, PLAIN) == ""
    assert FirstWords(PLAIN).hear(text) == []


@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
@pytest.mark.parametrize(("sending_baud", "reading_baud"), UNLIKE)
@pytest.mark.parametrize("fills", [0, 4])
def test_two_unlike_speeds_are_noticed_by_the_first_words_with_and_without_fills(
    sending_baud, reading_baud, settings, fills
):
    lines = 8 * max(1, sending_baud // reading_baud)
    sent = as_sent(with_fills(console(lines), b"\0", fills), settings)
    first = FirstWords(settings)
    assert first.hear(received(on_the_wire(sent, sending_baud), reading_baud)) == ["speed"]
    assert first.seen.of >= ENOUGH_BYTES


def test_a_steady_stream_of_nuls_is_told_however_long_it_is():
    for length in (FIRST_BYTES, 10 * FIRST_BYTES):
        assert FirstWords(PLAIN).hear(bytes(length)) == ["speed"]
        assert what_is_wrong(bytes(length), PLAIN) == "speed"


@pytest.mark.parametrize("stray", [0x00, 0x7F, 0x80, 0xFF, 0x03])
@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
def test_one_stray_byte_is_never_a_diagnosis(stray, settings):
    sent = as_sent(CONSOLE, settings)
    for text in (bytes((stray,)) + sent, sent[:20] + bytes((stray,)) + sent[20:]):
        assert what_is_wrong(text, settings) == ""
        assert FirstWords(settings).hear(text) == []
    assert what_is_wrong(bytes((stray,)), settings) == ""


@pytest.mark.parametrize(
    ("sent_as", "read_as"),
    [(EVEN, PLAIN), (ODD, PLAIN), (EVEN, ODD), (ODD, EVEN), (PLAIN, EVEN), (PLAIN, ODD)],
)
def test_readable_text_with_the_wrong_parity_and_some_damage_is_not_called_the_wrong_speed(sent_as, read_as):
    damaged = bytearray(as_sent(CONSOLE, sent_as))
    for place in range(0, len(damaged), 12):
        damaged[place] = 0x03
    assert what_is_wrong(bytes(damaged), read_as) == "parity"


# -- what was seen, and text after all


def test_a_diagnosis_says_what_it_saw():
    seen = look_at(b"\x81" * 40 + b"GOOD MORNING TO ALL!"[:12] + b"\x81" * 12, PLAIN)
    assert seen.wrong == "speed"
    assert seen.words() == "of the first 64 characters 52 aren't text"
    assert look_at(CONSOLE, PLAIN).words() == ""
    first = FirstWords(EVEN)
    assert first.hear(as_sent(CONSOLE, ODD)) == ["parity"]
    assert first.seen.words() == (
        "of the first 64 characters 64 have an eighth bit that these settings don't give; "
        "without it they are text"
    )


@pytest.mark.parametrize("piece_bytes", [1, 7, 1000])
@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
def test_when_text_comes_after_noise_that_is_said_once(piece_bytes, settings):
    noise = received(on_the_wire(as_sent(console(8), settings), 300), 1200)
    heard = noise + as_sent(with_fills(CONSOLE * 2, b"\0", 5), settings)
    first = FirstWords(settings)
    assert in_pieces_of(first, heard, piece_bytes) == ["speed", "text"]
    assert first.hear(noise) == []


@pytest.mark.parametrize("settings", [PLAIN, EVEN, ODD], ids=LineSettings.description)
@pytest.mark.parametrize(("sending_baud", "reading_baud"), UNLIKE)
def test_noise_never_becomes_text_by_going_on(sending_baud, reading_baud, settings):
    lines = 20 * max(1, sending_baud // reading_baud)
    noise = received(on_the_wire(as_sent(console(lines), settings), sending_baud), reading_baud)
    assert in_pieces_of(FirstWords(settings), noise, 1) == ["speed"]


def test_what_ends_in_text_is_not_noise():
    noise = bytes(range(0x80, 0xC0))
    assert what_is_wrong(noise + CONSOLE[:ENOUGH_BYTES], PLAIN) == ""
    assert what_is_wrong(noise + CONSOLE[: ENOUGH_BYTES // 2], PLAIN) == "speed"


def test_text_with_parity_that_comes_after_noise_shows_that_the_speed_is_right():
    first = FirstWords(PLAIN)
    assert first.hear(bytes(FIRST_BYTES)) == ["speed"]
    assert first.hear(as_sent(CONSOLE, EVEN)) == ["text"]
