"""Types what a person types at the keyboard from elsewhere, a character at a time.

No fact says what it was: that comes only with the machine's own echo. Nor does one say how long a secret is.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import Final

from exhibit.decisions.decider import Decider
from exhibit.facts import kinds

BY: Final = "an engineer at the keyboard"
_ENDS: Final = b"\r\n"


class KeyedIn:
    """The characters that are still to be typed. `pause_us` is how long a character takes on the line."""

    def __init__(self, decider: Decider, return_key: bytes, pause_us: int) -> None:
        self._decider = decider
        self._return_key = return_key
        self._pause_us = pause_us
        self._left: deque[bytes] = deque()
        self._due_us = 0
        self._secret = False
        """The last character was part of a secret."""

    @property
    def due_us(self) -> int | None:
        """When the next character is to be typed; None if there is none."""
        return self._due_us if self._left else None

    def add(self, text: str, now_us: int) -> None:
        """This is to be typed from now on; RETURN is whatever key this machine has for it."""
        for byte in kinds.to_bytes(text):
            key = bytes((byte,))
            self._left.append(self._return_key if key in _ENDS else key)
        self._due_us = max(self._due_us, now_us)

    def next(self, now_us: int) -> tuple[bytes, bool, Sequence[kinds.AnyFact]] | None:
        """The character to type now, whether it is part of a secret, and the facts to record before.

        None if none is due, or if the machine blocks typing.
        """
        if not self._left or now_us < self._due_us or self._decider.blocked_by_xoff:
            return None
        key = self._left.popleft()
        self._due_us = now_us + self._pause_us
        begun, self._secret = self._secret, self._decider.asks_secret and key != self._return_key
        if not self._secret:
            return key, False, [kinds.BytesTyped(bytes="", count=len(key), by=BY)]
        return key, True, [] if begun else [kinds.SecretTyped(by=BY)]

    def forget(self) -> None:
        """Type nothing more of it: without a character that failed, the rest would be another command."""
        self._left.clear()

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Nothing more of it is typed after a stop, or once the keyboard isn't in this person's hands."""
        if isinstance(fact, kinds.KeyboardGivenBack | kinds.HandsOff | kinds.LineLost):
            self.forget()
        if isinstance(fact, kinds.RequestMade) and fact.request == "stop":
            self.forget()
