"""Tells text from noise: what a line at the wrong speed, or with the wrong parity, hands over.

A heuristic, never called proof. Its limits were chosen on a simulated wire, sampled bit by bit, that
carries the text of a printing console: there all pairs of usual speeds up to a factor of 32 apart are
told apart, and text in UTF-8 is not taken for noise.
"""

from __future__ import annotations

from typing import Literal

from exhibit.decisions.display.wire import with_parity
from exhibit.facts.line_settings import LineSettings

ENOUGH_BYTES = 32
"""Fewer than this prove nothing."""
FIRST_BYTES = 64
"""As many as one to two lines of text."""
STRANGE_SHARE = 0.25
"""From this share of strange characters on it is no text."""
CLEAN_SHARE = 0.05
"""Up to this share of strange characters it is text, with the damage of a poor line."""

_USUAL_CONTROLS = frozenset(b"\a\b\t\n\v\f\r\x0e\x0f\x11\x13\x1b")  # with shifts and flow control
_REPLACED = "\ufffd"

Wrong = Literal["", "speed", "parity"]


class FirstWords:
    """Judges what comes first on a line just opened, once: later damage is no matter of settings."""

    def __init__(self, settings: LineSettings) -> None:
        self._settings = settings
        self._heard = b""
        self._judged = False

    def hear(self, data: bytes) -> Wrong:
        """Take what came; tells what is wrong with the first FIRST_BYTES when those are complete."""
        if self._judged:
            return ""
        self._heard += data
        if len(self._heard) < FIRST_BYTES:
            return ""
        self._judged = True
        return what_is_wrong(self._heard, self._settings)


def what_is_wrong(data: bytes, settings: LineSettings) -> Wrong:
    """What the received bytes, with their eighth bits, tell of the settings; empty when they fit.

    Give it what came in one stretch, at least ENOUGH_BYTES: with less nothing is ever wrong. A long
    run of NULs counts as noise, as a fast receiver makes of a slow sender.
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
