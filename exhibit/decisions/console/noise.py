"""Distinguishes text from the noise that a line at the wrong speed or with the wrong parity delivers.

This is a heuristic, never proof. Its limits were chosen on a simulated wire, sampled bit by bit, that
carries the text of a printing console: there it recognises every pair of different usual speeds up to a
factor of 32 apart, and doesn't take UTF-8 text for noise.
"""

from __future__ import annotations

from typing import Literal

from exhibit.decisions.display.wire import with_parity
from exhibit.facts.line_settings import LineSettings

ENOUGH_BYTES = 32
"""With fewer bytes than this, nothing counts as noise."""
FIRST_BYTES = 64
"""About one or two lines of text."""
STRANGE_SHARE = 0.25
"""From this share of strange characters on, it is noise."""
CLEAN_SHARE = 0.05
"""Up to this share of strange characters, it is text that a poor line has damaged."""

_USUAL_CONTROLS = frozenset(b"\a\b\t\n\v\f\r\x0e\x0f\x11\x13\x1b")  # with shifts and flow control
_REPLACED = "\ufffd"

Wrong = Literal["", "speed", "parity"]


class FirstWords:
    """Judges, once, the first bytes on a newly opened line. Later damage has nothing to do with settings."""

    def __init__(self, settings: LineSettings) -> None:
        self._settings = settings
        self._heard = b""
        self._judged = False

    def hear(self, data: bytes) -> Wrong:
        """Takes received bytes; says what is wrong with the first FIRST_BYTES once they are complete."""
        if self._judged:
            return ""
        self._heard += data
        if len(self._heard) < FIRST_BYTES:
            return ""
        self._judged = True
        return what_is_wrong(self._heard, self._settings)


def what_is_wrong(data: bytes, settings: LineSettings) -> Wrong:
    """Which of the settings the received bytes, with their eighth bits, show to be wrong; empty if none.

    Pass at least ENOUGH_BYTES from one stretch: with fewer, the answer is always empty. A long run of NULs
    counts as noise, because that is what a fast receiver makes of a slow sender.
    """
    if len(data) < ENOUGH_BYTES or _strange_share(data, settings) < STRANGE_SHARE:
        return ""
    without_eighth = bytes(byte & 0x7F for byte in data)
    return "parity" if _strange_text_share(without_eighth) <= CLEAN_SHARE else "speed"


def _strange_share(data: bytes, settings: LineSettings) -> float:
    if settings.parity_in_software:
        wrong = sum(with_parity(byte, settings.parity) != byte for byte in data) / len(data)
        return max(wrong, _strange_text_share(bytes(byte & 0x7F for byte in data)))
    if settings.data_bits == 7:
        return _strange_text_share(bytes(byte & 0x7F for byte in data))
    return _strange_text_share(data)


def _strange_text_share(data: bytes) -> float:
    text = data.decode("utf-8", errors="replace")
    strange = sum(
        char == _REPLACED or (char < " " and ord(char) not in _USUAL_CONTROLS) or "\x80" <= char < "\xa0"
        for char in text
    )
    return strange / len(text)
