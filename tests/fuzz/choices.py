"""Reads small decisions from the front of some bytes: a fuzzer that changes bytes changes decisions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

Thing = TypeVar("Thing")


class Choices:
    """Takes one decision after another. When no bytes are left, each further one is the first possible."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._at = 0

    @property
    def remaining(self) -> int:
        """How many bytes are left."""
        return len(self._data) - self._at

    def below(self, count: int) -> int:
        """A number from 0 to `count` - 1, of at most 256."""
        number = self._data[self._at] % count if self.remaining else 0
        self._at += 1 if self.remaining else 0
        return number

    def one_of(self, things: Sequence[Thing]) -> Thing:
        """One of these things."""
        return things[self.below(len(things))]

    def take(self, count: int) -> bytes:
        """The next `count` bytes, or as many as there are."""
        taken = self._data[self._at : self._at + count]
        self._at += len(taken)
        return taken

    def rest(self) -> bytes:
        """All the bytes that are left."""
        return self.take(self.remaining)


def pieces(data: bytes, size: int) -> list[bytes]:
    """The bytes in pieces of this size; the last can be shorter."""
    return [data[start : start + size] for start in range(0, len(data), size)]
