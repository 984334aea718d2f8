"""Divides the bytes from a line into complete items: text, control codes, control sequences.

    wire = Wire("parity", parity="even", flow_control=True)
    for item in wire.feed(data): ...

The result depends only on the bytes, never on how they were divided into pieces, except that a run of text
can be split where a piece ends.

ECMA-48 (5th ed.) s.5 gives the forms. What it leaves open follows common practice: CAN and SUB
abort a sequence, ESC begins a new one, other control codes inside a control sequence act at
once, BEL can end an operating system command. NUL and DEL are fillers and vanish.
"""

import re
from functools import lru_cache
from typing import Any, Literal, final

import msgspec

from exhibit.decisions.display.characters import SUBSTITUTE_MARK, Decoder, shown_for
from exhibit.facts.display import CharacterSet

EighthBit = Literal["parity", "drop", "data"]
ParityKind = Literal["none", "even", "odd"]

HIGHEST_PARAM = 9999
MOST_PARAMS = 32
LONGEST_PARAMS_BYTES = 128
MOST_INTERMEDIATES = 2


@final
class Text(msgspec.Struct, frozen=True, gc=False):
    """A run of printable characters, each of which takes one cell. Never empty."""

    text: str


@final
class Control(msgspec.Struct, frozen=True, gc=False):
    """One control code, 0x01 to 0x1F (ECMA-48 s.8.2: BS 8, HT 9, LF 10, FF 12, CR 13...)."""

    code: int


@final
class Escape(msgspec.Struct, frozen=True, gc=False):
    """A complete escape sequence: ESC, intermediates 0x20-0x2F, a final 0x30-0x7E."""

    intermediates: str
    final: str


@final
class Csi(msgspec.Struct, frozen=True, gc=False):
    """A complete control sequence (ECMA-48 s.5.4).

    private is "" or one of < = > ?. An absent parameter is 0, one above 9999 is 9999, one with
    sub-parameters is -1. At most 32 parameters are kept. There is always at least one.
    """

    final: str
    params: tuple[int, ...]
    private: str = ""
    intermediates: str = ""


@final
class FlowStop(msgspec.Struct, frozen=True):
    """XOFF (DC3): the machine asks us to stop typing."""


@final
class FlowGo(msgspec.Struct, frozen=True):
    """XON (DC1): typing may go on."""


STRING_TERMINATOR = Escape("", "\\")
"""The item for a whole device control or similar string, whose text is dropped, however it ended."""

Item = Text | Control | Escape | Csi | FlowStop | FlowGo

_ESC, _CAN, _SUB, _BEL, _DEL = "\x1b", "\x18", "\x1a", "\x07", "\x7f"
_CR, _LF = 13, 10
_XON, _XOFF = "\x11", "\x13"
_INTERMEDIATES = "".join(map(chr, range(0x20, 0x30)))
_STRING_OPENERS = "PX]^_"  # DCS, SOS, OSC, PM, APC (ECMA-48 s.5.6)
_CONTROLS = [Control(code) for code in range(32)]

_COMPLETE = re.compile(
    r"([^\x00-\x1f\x7f]+)"
    r"|([\x01-\x10\x12\x14-\x1a\x1c-\x1f])"
    rf"|\x1b\[([0-?]{{0,{LONGEST_PARAMS_BYTES}}}[ -/]{{0,{MOST_INTERMEDIATES}}}[@-~])"
    r"|\x1b([0-OQ-WYZ\\`-~])"
    rf"|\x1b([ -/]{{1,{MOST_INTERMEDIATES}}})([0-~])"
)
"""Matches items that are complete in one piece: a fast path. Everything else goes through the states below,
with the same result."""

_ODD_ONES = bytes(byte for byte in range(256) if byte.bit_count() % 2)
_EVEN_ONES = bytes(byte for byte in range(256) if not byte.bit_count() % 2)
_SOUND: dict[ParityKind, bytes] = {"none": bytes(range(256)), "even": _EVEN_ONES, "odd": _ODD_ONES}
_SEVEN_BITS = bytes(byte & 0x7F for byte in range(256))

_REMEMBERED = 32
_MOST_FAULTS = 6
"""A byte with wrong parity is damaged if at most this many of the last _REMEMBERED have it. With more, the
parity is another than the settings say, and the seven bits can be read all the same."""
_HISTORY = (1 << _REMEMBERED) - 1

_COUNTED = ("parity_faults", "unknown_sequences", "stray_flow_codes")


def with_parity(byte: int, kind: ParityKind) -> int:
    """The byte as it is sent on the line: seven bits of data and the parity bit in the eighth.

    "none" leaves the eighth bit clear. Even and odd refer to the number of ones in all eight bits.
    """
    byte &= 0x7F
    wants_bit = kind != "none" and byte.bit_count() % 2 == (1 if kind == "even" else 0)
    return byte | 0x80 if wants_bit else byte


@lru_cache(maxsize=4096)
def _sequence(whole: str) -> Csi | None:
    """A control sequence from what follows its ESC [, or None if the standard has no such form."""
    params = whole[:-1].rstrip(_INTERMEDIATES)
    intermediates, final = whole[len(params) : -1], whole[-1]
    private = ""
    if params and params[0] in "<=>?":
        private, params = params[0], params[1:]
    if any(character in "<=>?" for character in params):
        return None
    numbers = tuple(
        -1 if ":" in part else min(int(part), HIGHEST_PARAM) if part else 0
        for part in params.split(";", MOST_PARAMS)[:MOST_PARAMS]
    )
    return Csi(final, numbers, private, intermediates)


class Wire:
    """Bytes in, items out. It counts what was wrong.

    eighth_bit: "parity" checks it against `parity` and strips it; a byte that came damaged becomes
    SUBSTITUTE_MARK, because nobody knows what was sent. "drop" strips it, under "data" it belongs
    to the character. `characters` says which character a code stands for; a code of 0x80 or more is never a
    control code, and becomes SUBSTITUTE_MARK if it stands for none. flow_control: XON and XOFF become FlowGo
    and FlowStop; without it they are skipped and counted. adds_line_feed: each carriage return is followed by
    a line feed, as on a terminal for a machine that sends none. longest_string_bytes: a longer device control
    or operating system string must be noise, so what follows is shown again.

    parity_faults: bytes whose eighth bit was not the parity bit of the other seven.
    unknown_sequences: aborted, malformed or overlong sequences; they are skipped.
    substituted: characters under "data" that became SUBSTITUTE_MARK.
    stray_flow_codes: XON and XOFF received although there is no flow control.
    """

    def __init__(
        self,
        eighth_bit: EighthBit,
        *,
        parity: ParityKind = "none",
        flow_control: bool = False,
        longest_string_bytes: int = 1024,
        characters: CharacterSet = "ascii",
        adds_line_feed: bool = False,
    ) -> None:
        self.eighth_bit = eighth_bit
        self._decoder = Decoder(characters)
        self._shown = shown_for(characters)
        self.parity = parity
        self.flow_control = flow_control
        self.longest_string_bytes = longest_string_bytes
        self._returns = [Control(_CR), Control(_LF)] if adds_line_feed else [Control(_CR)]
        self.parity_faults = 0
        self._faults = 0
        """A bit for each of the last bytes, the newest lowest: whether its parity was wrong."""
        self.unknown_sequences = 0
        self.stray_flow_codes = 0
        self._state = "text"  # or: escape, sequence, skipping, string, command
        self._params = ""
        self._intermediates = ""
        self._string_bytes = 0
        self._alone = self._whole_alone()

    def _whole_alone(self) -> dict[bytes, list[Item]]:
        """The item of each byte that is one by itself, whatever came before it, between sequences.

        A slow line brings a byte at a time, and nearly all of them are these.
        """
        sound = (
            b""
            if self.eighth_bit == "data"
            else _SOUND[self.parity if self.eighth_bit == "parity" else "none"]
        )
        letters = ((byte, chr(byte & 0x7F)) for byte in sound)
        return {
            bytes((byte,)): [Text(letter.translate(self._shown))]
            for byte, letter in letters
            if " " <= letter < _DEL
        }

    @property
    def substituted(self) -> int:
        return self._decoder.substituted

    def feed(self, data: bytes) -> list[Item]:
        """The items that these bytes complete. An incomplete sequence is kept for the next feed."""
        if self._state == "text" and (alone := self._alone.get(data)) is not None:
            self._faults = self._faults << 1 & _HISTORY
            return alone
        text = self._characters(data)
        items: list[Item] = []
        place, end = 0, len(text)
        while place < end:
            if self._state == "text":
                place = self._take_complete(text, place, items)
            if place < end:
                self._take(text[place], items)
                place += 1
        return items

    def _characters(self, data: bytes) -> str:
        if self.eighth_bit == "data":
            return self._decoder.decode(data)
        if self.eighth_bit == "parity":
            faults = len(data.translate(None, _SOUND[self.parity]))
            self.parity_faults += faults
            if faults:
                return "".join(map(self._checked, data))
            self._faults = self._faults << len(data) & _HISTORY
        return data.translate(_SEVEN_BITS).decode("ascii")

    def _checked(self, byte: int) -> str:
        """The character of this byte if its parity is right, or is another throughout."""
        wrong = byte not in _SOUND[self.parity]
        self._faults = (self._faults << 1 | wrong) & _HISTORY
        damaged = wrong and self._faults.bit_count() <= _MOST_FAULTS
        return SUBSTITUTE_MARK if damaged else chr(byte & 0x7F)

    def _take_complete(self, text: str, place: int, items: list[Item]) -> int:
        """Takes the complete items from `place` on; returns the place after the last of them."""
        match = _COMPLETE.match
        while found := match(text, place):
            place = found.end()
            kind = found.lastindex
            if kind == 1:
                items.append(Text(found[1].translate(self._shown) if self._shown else found[1]))
            elif kind == 2:
                items += self._control(found[2])
            elif kind == 3:
                self._end_sequence(found[3], items)
            elif kind == 4:
                items.append(Escape("", found[4]))
            else:
                items.append(Escape(found[5], found[6]))
        return place

    def _control(self, character: str) -> list[Control]:
        return self._returns if character == "\r" else [_CONTROLS[ord(character)]]

    def _end_sequence(self, whole: str, items: list[Item]) -> None:
        sequence = _sequence(whole)
        if sequence is None:
            self.unknown_sequences += 1
        else:
            items.append(sequence)

    def _take(self, character: str, items: list[Item]) -> None:
        """Takes one character, in any state."""
        if character in (_XON, _XOFF):
            if self.flow_control:
                items.append(FlowGo() if character == _XON else FlowStop())
            else:
                self.stray_flow_codes += 1
        elif character == _ESC:
            if self._state in ("escape", "sequence", "skipping"):
                self.unknown_sequences += 1
            self._state, self._params, self._intermediates = "escape", "", ""
        elif character in (_CAN, _SUB):
            self._break_off()
            items.append(_CONTROLS[ord(character)])
        elif self._state in ("string", "command"):
            self._take_in_string(character, items)
        elif character in ("\x00", _DEL):
            pass
        elif character < " ":
            items += self._control(character)
        elif character > _DEL:  # noise: no sequence can contain it
            self._break_off()
            items.append(Text(character))
        elif self._state == "escape":
            self._take_in_escape(character, items)
        else:
            self._take_in_sequence(character, items)

    def _break_off(self) -> None:
        if self._state != "text":
            self.unknown_sequences += 1
            self._state = "text"

    def _take_in_string(self, character: str, items: list[Item]) -> None:
        if character == _BEL and self._state == "command":
            self._state = "text"
            items.append(STRING_TERMINATOR)
        else:
            self._string_bytes += 1
            if self._string_bytes >= self.longest_string_bytes:
                self._break_off()

    def _take_in_escape(self, character: str, items: list[Item]) -> None:
        if character < "0":
            self._intermediates = (self._intermediates + character)[: MOST_INTERMEDIATES + 1]
        elif self._intermediates or character not in "[" + _STRING_OPENERS:
            self._state = "text"
            if len(self._intermediates) > MOST_INTERMEDIATES:
                self.unknown_sequences += 1
            else:
                items.append(Escape(self._intermediates, character))
        elif character == "[":
            self._state = "sequence"
        else:
            self._state = "command" if character == "]" else "string"
            self._string_bytes = 0

    def _take_in_sequence(self, character: str, items: list[Item]) -> None:
        if character >= "@":
            skipping, self._state = self._state == "skipping", "text"
            if skipping:
                self.unknown_sequences += 1
            else:
                self._end_sequence(self._params + self._intermediates + character, items)
        elif self._state == "sequence":
            if character < "0":
                self._intermediates += character
            else:
                self._params += character
            malformed = character >= "0" and self._intermediates
            too_long = len(self._params) > LONGEST_PARAMS_BYTES
            if malformed or too_long or len(self._intermediates) > MOST_INTERMEDIATES:
                self._state = "skipping"

    def snapshot(self) -> dict[str, Any]:
        """The state between two feeds as plain JSON values, for a keyframe."""
        in_sequence = self._state in ("escape", "sequence", "skipping")
        return {
            "state": self._state,
            "params": self._params if in_sequence else "",
            "intermediates": self._intermediates if in_sequence else "",
            "string_bytes": self._string_bytes if self._state in ("string", "command") else 0,
            "pending": self._decoder.pending(),
            "faults": self._faults,
            "substituted": self.substituted,
            **{name: getattr(self, name) for name in _COUNTED},
        }

    def restore(self, kept: dict[str, Any]) -> None:
        """Continues from a snapshot of a Wire with the same settings."""
        self._state = kept["state"]
        self._params = kept["params"]
        self._intermediates = kept["intermediates"]
        self._string_bytes = kept["string_bytes"]
        self._decoder.resume(kept.get("pending", ""))
        self._faults = kept.get("faults", 0)
        self._decoder.substituted = kept["substituted"]
        for name in _COUNTED:
            setattr(self, name, kept[name])
