"""Distinguishes text from the noise that a line at the wrong speed or with the wrong parity delivers.

This is a heuristic, never proof. Its limits were chosen on a simulated wire, sampled bit by bit, that
carries the text of a printing console: there it recognises every pair of different usual speeds up to a
factor of 32 apart, and takes neither UTF-8 text nor text with the wrong parity for the wrong speed.

Fill characters aren't judged: NUL and DEL, any number of them, that follow a RETURN or a new line, while
the carriage of a printing terminal moves. Those at the beginning of what was received may follow one too,
so they count only if no text follows. Of a slow sender a fast receiver makes nothing but NULs, without any
line ends or text.
"""

from __future__ import annotations

from typing import Final, Literal

import msgspec

from exhibit.decisions.display.wire import with_parity
from exhibit.facts.line_settings import LineSettings

ENOUGH_BYTES = 32
"""With fewer characters than this, fill characters left out, nothing counts as noise."""
FIRST_BYTES = 64
"""About one or two lines of text."""
STRANGE_SHARE = 0.25
"""From this share of strange characters on, it is noise."""
CLEAN_SHARE = 0.1
"""Up to this share of strange characters, what follows noise is text. No wrong speed stays below 0.15."""
ALIKE_SHARE = 0.9
"""From this share of characters with the same parity on, or the same eighth bit, something sets that bit."""

_USUAL_CONTROLS = frozenset(b"\a\b\t\n\v\f\r\x0e\x0f\x11\x13\x1b")  # with shifts and flow control
_LINE_ENDS: Final = b"\n\v\f\r"
_NUL, _DEL = 0, 0x7F
_REPLACED = "\ufffd"

Wrong = Literal["", "speed", "parity"]
Heard = Literal["speed", "parity", "text"]


class Seen(msgspec.Struct, frozen=True):
    """What was found in `of` characters: `count` of them aren't text at these settings."""

    wrong: Wrong
    count: int = 0
    of: int = 0

    def words(self, which: Literal["first", "last"] = "first") -> str:
        """What was seen in these, as part of a sentence for a person; empty if nothing is wrong."""
        if not self.wrong:
            return ""
        if self.wrong == "parity":
            return (
                f"of the {which} {self.of} characters {self.count} have an eighth bit that these settings "
                "don't give; without it they are text"
            )
        return f"of the {which} {self.of} characters {self.count} aren't text"


class FirstWords:
    """Judges, once, the first characters on a newly opened line.

    If they weren't text, it goes on listening until text comes, and then says that too, once. Later damage
    has nothing to do with settings.
    """

    def __init__(self, settings: LineSettings) -> None:
        self._settings = settings
        self._fills = _Fills()
        self._heard = bytearray()
        self._over = False
        self.seen = Seen("")
        """What was wrong with the first characters."""

    def hear(self, data: bytes) -> list[Heard]:
        """Takes received bytes. Says what is wrong with the first FIRST_BYTES; later, that text has come."""
        said: list[Heard] = []
        for byte in data:
            if self._over:
                break
            if not self._fills.left_out(byte):
                self._heard.append(byte)
                said += self._text_again() if self.seen.wrong else self._judge()
        return said

    def _judge(self) -> list[Heard]:
        if self._fills.leading < FIRST_BYTES and len(self._heard) - self._fills.leading < FIRST_BYTES:
            return []
        self.seen = look_at(bytes(self._heard), self._settings)
        self._heard.clear()
        self._over = not self.seen.wrong
        return [self.seen.wrong] if self.seen.wrong else []

    def _text_again(self) -> list[Heard]:
        """Judges each ENOUGH_BYTES by themselves, so that it doesn't matter how the bytes are divided.

        If the parity was wrong it takes more of them: in a few characters the eighth bit can fit by chance.
        """
        if len(self._heard) < (ENOUGH_BYTES if self.seen.wrong == "speed" else 4 * ENOUGH_BYTES):
            return []
        now = bytes(self._heard)
        self._heard.clear()
        self._over = _is_text(now, self._settings) or (
            self.seen.wrong == "speed" and _is_text_but_for_eighth(now, CLEAN_SHARE)
        )
        return ["text"] if self._over else []


def what_is_wrong(data: bytes, settings: LineSettings) -> Wrong:
    """Which of the settings the received bytes, with their eighth bits, show to be wrong; empty if none.

    Pass at least ENOUGH_BYTES from one stretch: with fewer, the answer is always empty. If its end is text,
    what came before it was no matter of settings.
    """
    return look_at(data, settings).wrong


def look_at(data: bytes, settings: LineSettings) -> Seen:
    """The same, with what was seen."""
    fills = _Fills()
    kept = bytes(byte for byte in data if not fills.left_out(byte))
    rest = kept[fills.leading :]
    if rest and (len(rest) >= ENOUGH_BYTES or _strange_share(rest, settings) < STRANGE_SHARE):
        kept = rest
    if len(kept) < ENOUGH_BYTES or _strange_share(kept, settings) < STRANGE_SHARE:
        return Seen("")
    count = round(_strange_share(kept, settings) * len(kept))
    if _is_text_but_for_eighth(kept, STRANGE_SHARE):
        return Seen("parity", count, len(kept))
    end = kept[-ENOUGH_BYTES:]
    if _is_text(end, settings):
        return Seen("")
    return Seen("parity" if _is_text_but_for_eighth(end, CLEAN_SHARE) else "speed", count, len(kept))


class _Fills:
    """Recognises fill characters. `leading`: how many there were before anything else came."""

    def __init__(self) -> None:
        self._line_ended = self._begun = False
        self.leading = 0

    def left_out(self, byte: int) -> bool:
        """Whether this byte, the next one, is a fill character after a line end."""
        code = byte & 0x7F
        if code in (_NUL, _DEL):
            self.leading += not self._begun
            return self._line_ended
        self._begun = True
        self._line_ended = code in _LINE_ENDS
        return False


def _is_text(data: bytes, settings: LineSettings) -> bool:
    return _strange_share(data, settings) <= CLEAN_SHARE


def _is_text_but_for_eighth(data: bytes, less_than: float) -> bool:
    """Whether this is text with an eighth bit that follows a rule: even or odd parity, or always the same."""
    if _strange_text_share(_without_eighth(data)) >= less_than:
        return False
    odd = sum(byte.bit_count() % 2 for byte in data)
    marked = sum(byte >> 7 for byte in data)
    most_alike = max(odd, len(data) - odd, marked, len(data) - marked)
    return most_alike >= ALIKE_SHARE * len(data)


def _strange_share(data: bytes, settings: LineSettings) -> float:
    if settings.parity_in_software:
        wrong = sum(with_parity(byte, settings.parity) != byte for byte in data) / len(data)
        return max(wrong, _strange_text_share(_without_eighth(data)))
    if settings.data_bits == 7:
        return _strange_text_share(_without_eighth(data))
    return _strange_text_share(data)


def _without_eighth(data: bytes) -> bytes:
    return bytes(byte & 0x7F for byte in data)


def _strange_text_share(data: bytes) -> float:
    text = data.decode("utf-8", errors="replace")
    strange = sum(
        char == _REPLACED or (char < " " and ord(char) not in _USUAL_CONTROLS) or "\x80" <= char < "\xa0"
        for char in text
    )
    return strange / len(text)
