"""A stream of bytes as it may arrive, and what our screen shows of it."""

from collections.abc import Sequence

from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Wire
from tests.decisions.display.oracles.headless_terminal import Shown

UNFINISHED = b"\x1b[3;1"
"""The beginning of a sequence: following a stream, it must not change what that one shows."""


def feeds(stream: bytes) -> dict[str, list[bytes]]:
    """The same stream whole, byte by byte, and with trailing bytes in the same piece."""
    return {
        "whole": [stream],
        "byte by byte": [stream[at : at + 1] for at in range(len(stream))],
        "with trailing bytes": [stream + UNFINISHED],
    }


def shown_after(pieces: Sequence[bytes], rows: int = 24, columns: int = 80) -> Shown:
    """What a fresh screen of ours shows after these pieces."""
    wire, screen = Wire("drop"), Screen(rows, columns)
    for piece in pieces:
        screen.apply(wire.feed(piece))
    return shown_by(screen)


def shown_by(screen: Screen) -> Shown:
    """What a screen shows; its cursor as terminals count it, a waiting wrap past the last column."""
    row, column, _, *_ = screen.snapshot()["cursor"]
    return Shown(screen.rows(), (row, column))
