"""Sends a secret to the line byte by byte, at its pace, without a fact for each byte.

A fact or a deadline for each byte would tell everybody how long the secret is.
"""

from __future__ import annotations

from collections import deque

from exhibit.decisions.commands import Type
from exhibit.decisions.withholding.withholding import Withholding


class SecretTypist:
    """Knows which byte of a secret is to be sent when. `withholding` is told of each before it is sent."""

    def __init__(self, withholding: Withholding) -> None:
        self._withholding = withholding
        self._left: deque[int] = deque()
        self._pause_us = 0
        self._due_us = 0
        self.outdated = False
        """An earlier byte has failed, so these are not to be tried."""

    @property
    def due_us(self) -> int | None:
        """When the next byte is to be sent; None if there is none."""
        return self._due_us if self._left else None

    def begin(self, command: Type, at_us: int, *, outdated: bool) -> None:
        """This part of a secret is to be sent from now on."""
        self._left.extend(command.data)
        self._pause_us, self._due_us, self.outdated = command.pause_us, at_us, outdated

    def next(self, now_us: int, *, blocked: bool) -> int | None:
        """The byte to send now; None if none is due, or the machine blocks typing."""
        if blocked or not self._left or now_us < self._due_us:
            return None
        byte = self._left.popleft()
        self._due_us = now_us + self._pause_us
        self._withholding.typed(bytes((byte,)), secret=True)
        return byte

    def forget(self) -> None:
        """Nothing more of it is to be sent."""
        self._left.clear()
