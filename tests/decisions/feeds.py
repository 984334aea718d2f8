"""The three feeds: bytes given whole, one at a time, and in pieces that cut anywhere must mean the same."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

PRIME = 7


def whole(data: bytes) -> Iterator[bytes]:
    yield data


def byte_by_byte(data: bytes) -> Iterator[bytes]:
    for byte in data:
        yield bytes((byte,))


def in_pieces(data: bytes) -> Iterator[bytes]:
    """Each piece trails into what comes next: a prime length cuts everything somewhere."""
    for start in range(0, len(data), PRIME):
        yield data[start : start + PRIME]


FEEDS = [whole, byte_by_byte, in_pieces]
in_every_feed = pytest.mark.parametrize("feed", FEEDS, ids=lambda feed: feed.__name__)
