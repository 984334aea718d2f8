"""Plants a secret in what a machine sends, in each way in which one could be shown without being noticed."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

from exhibit.decisions.display.wire import with_parity
from tests.sampling import SEED

IN_A_ROW = 4
LETTERS = "BCDFGHJKLMNPQRSTVWXZ"
"""No vowels, so that no word of ours has four of them in a row."""


def random_secret(dice: random.Random) -> str:
    """Another one each run. It has no letter twice, so that four in a row of it are never there by chance."""
    return "".join(dice.sample(LETTERS, dice.randrange(5, 13)))


def dice_for(what: str) -> random.Random:
    """Chance that is the same again with the same TESTS_SEED."""
    return random.Random(f"{SEED} {what}")


def four_in_a_row(secret: str, text: str) -> list[str]:
    """The parts of the secret, of four characters, that are in this text, in whatever case."""
    folded = text.upper()
    parts = [secret[start : start + IN_A_ROW].upper() for start in range(len(secret) - IN_A_ROW + 1)]
    return [part for part in parts if part in folded]


def _spaced(between: str) -> Callable[[str], str]:
    return lambda word: between.join(word)


def _each(before: str, after: str) -> Callable[[str], str]:
    return lambda word: "".join(f"{before}{character}{after}" for character in word)


def _cells(word: str) -> str:
    return "".join(f"\x1b[5;{column}H{character}" for column, character in enumerate(word, 20))


def _rubbed_out(word: str) -> str:
    place = len(word) // 2
    return f"{word[:place]}#\b \b{word[place:]}"


def _wrong_twice(word: str) -> str:
    place = len(word) - 1
    return f"{word[:place]}#=\b\b{word[place:]}"


WAYS: dict[str, Callable[[str], str]] = {
    "as it is": str,
    "in small letters": str.lower,
    "in mixed letters": lambda word: "".join(c.lower() if n % 2 else c for n, c in enumerate(word)),
    "each character in reverse video": _each("\x1b[7m", "\x1b[m"),
    "with control sequences in it": _spaced("\x1b[1;31m"),
    "broken at the right edge": lambda word: f"{word[:4]}\r\n{word[4:]}",
    "broken after a blank at the right edge": lambda word: f"{word[:3]} \b\r\n{word[3:]}",
    "struck twice": lambda word: "".join(f"{c}\b{c}" for c in word),
    "underlined from below": lambda word: "".join(f"_\b{c}" for c in word),
    "underlined afterwards": lambda word: "".join(f"{c}\b_" for c in word),
    "with a character rubbed out": _rubbed_out,
    "with two wrong characters struck over": _wrong_twice,
    "in the cells of a display": _cells,
    "moved along to": _spaced("\x1b[0C"),
    "with fillers": _spaced("\0"),
    "in a title string": lambda word: f"\x1b]0;{word}\x07",
    "with bells": _spaced("\x07"),
}
"""By its name: how the machine shows the secret."""

WHERE: dict[str, tuple[str, str]] = {
    "an ordinary line": ("\r\nYOUR WORD IS ", " FROM NOW ON\r\nREADY: "),
    "a known line": ("\r\nJOB 7 BEGUN: ", "\r\nREADY: "),
    "a trouble": ("\r\nDRIVE ", " FAILED\r\n"),
    "a broadcast": ("\r\n== THE WORD IS ", " ==\r\n"),
    "a broadcast of several lines": ("\r\nTWO LINES: AND\r\n", "\r\nREADY: "),
    "a prompt": ("\r\nDESK ", ": "),
    "the last row": ("\r\nNOW ", ""),
    "a display's title": ("\x1b[2J\x1b[1;1HHERON BOARD ", "\x1b[24;1H"),
    "a reading": ("\x1b[2J\x1b[1;1HHERON BOARD 9\x1b[4;1HMODE ", "\x1b[24;1H"),
    "a table": ("\x1b[2J\x1b[1;1HHERON BOARD 9\x1b[6;1H7 ", "\x1b[24;1H"),
    "an echo": ("\r\nREADY: ", ""),
}
"""By its name: what the machine sends before and after it."""


def with_even_parity(data: bytes) -> bytes:
    return bytes(with_parity(byte, "even") for byte in data)


def feeds(data: bytes, dice: random.Random) -> Iterator[list[bytes]]:
    """Whole, byte by byte, and in random pieces."""
    yield [data]
    yield [bytes((byte,)) for byte in data]
    pieces, rest = [], data
    while rest:
        size = dice.randrange(1, 9)
        pieces.append(rest[:size])
        rest = rest[size:]
    yield pieces
