"""Withholds secrets from what a machine sends, before anything else sees it.

    for part in withholding.take(byte, at_us): ...     # let through, or withheld
    due_us = withholding.due_us()                      # when to call `overdue`

Decisions, recording and pages get only what is let through. Two kinds of thing are withheld:

- a known secret of at least SHORTEST characters, wherever it is: in any case, with parity bits, split by
  control sequences, cursor moves or a new line, struck over or corrected with backspaces;
- whatever is printed on the line of a secret prompt, from its settling, or from the first character of a
  secret that is typed there, until the next new line. A broadcast known to the folder is let through.

What may be the beginning of a secret is held back until that is clear: for the settling time, and if four or
more of its characters have come, for as long as a slow typist takes. MARKS replace whatever is withheld. They
are the same for every secret, and so are the times, so that nothing tells how long a secret is.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import msgspec

from exhibit.decisions.display.wire import with_parity
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.withholding.secret_search import Search, SecretsByHand, as_sent, in_capitals
from exhibit.decisions.withholding.sequences import Kind, Sequences, opens_string
from exhibit.facts import kinds

MARKS: Final = b"****"
PATIENCE_US: Final = 2_000_000
"""How long to wait for the next character of a secret that seems to be typed by hand."""
LONGEST_LINE: Final = 200
MOST_HELD: Final = 2_000
"""So many bytes at most are held back, whatever a machine sends."""
_SEQUENCE_ENDS: Final = (Kind.END, Kind.MOVE, Kind.ALONG, Kind.BACK)
_XON, _XOFF, _LF, _CR, _ESC = 0x11, 0x13, 0x0A, 0x0D, 0x1B


class Passed(msgspec.Struct, frozen=True):
    """A byte that is let through, and when it was received."""

    byte: int
    at_us: int


class Withheld(msgspec.Struct, frozen=True):
    """Something was withheld; the marks in its place have just been let through."""

    was_typed: bool
    """Whether it was the secret that was being typed."""
    at_us: int


Part = Passed | Withheld


class _Held(msgspec.Struct, frozen=True):
    byte: int
    at_us: int
    kind: Kind


class _Line(msgspec.Struct):
    """The line of a secret prompt."""

    text: str = ""
    shown: bool = False
    """The marks are on it, so that nothing more is let through."""
    blank: bool = False
    """The prompt's last blank has come late."""
    sequences: set[bytes] = msgspec.field(default_factory=set)


class Withholding:
    """Withholds these secrets at one machine. `rate` is the rate of the recording's clock.

    While it isn't `engaged`, a byte with `plain[byte]` can go past it. Tell it of what is typed (`typed`)
    before that is sent, and of each recorded fact (`note`).
    """

    def __init__(self, machine: Machine, secrets: Iterable[str] = (), rate: float = 1.0) -> None:
        self._machine = machine
        self._settle_us = max(1, machine.settle_us(rate))
        self._flow = machine.line.flow == "xon/xoff"
        self._asks = {prompt.name for prompt in machine.prompts if prompt.kind == "secret"}
        words = tuple(secrets)
        self._mask = 0xFF if machine.eighth_bit == "data" else 0x7F
        self._characters = machine.display.characters
        self._search = Search(words, self._characters)
        self.by_hand = SecretsByHand(words, self._characters)
        """What a person types at the machine's own terminal goes through this."""
        self._sequences = Sequences(machine.eighth_bit)
        first = self._search.first_characters
        # A sequence need not be followed before a secret has begun: at worst its letter is held for a moment.
        self.plain = bytes(in_capitals(bytes((byte,))) not in first for byte in range(256))
        self.engaged = False
        self._held: list[_Held] = []
        self._base = 0
        """The number of the first held byte, counted from the start."""
        self._line: _Line | None = None
        self._prompt = ""
        self._typed = ""
        """What was sent of the secret that is being typed, in capitals."""
        self._ending = False
        """RETURN or the cancel key has followed it."""
        self._last = ""
        """The last character of the secret that has just been withheld: it may be struck once more."""
        self._other = ""
        """What is on the present line, when it isn't the prompt's, while a secret is being typed."""

    # -- what happens ---------------------------------------------------------------------------

    def take(self, byte: int, at_us: int) -> list[Part]:
        """Takes the next received byte; returns what is let through or withheld now."""
        if self._flow and byte & self._mask in (_XON, _XOFF):
            return [Passed(byte, at_us)]
        kind = self._sequences.take(byte)
        self._held.append(_Held(byte, at_us, kind))
        parts = self._on_the_line(kind) if self._line is not None else self._elsewhere(kind)
        if len(self._held) > MOST_HELD:
            parts += self.settle_all()
        self._engage()
        return parts

    def due_us(self) -> int | None:
        """When to call `overdue`; None while nothing is held back."""
        if not self._held:
            return None
        patient = self._line is None and self._search.is_patient
        return self._held[-1].at_us + (PATIENCE_US if patient else self._settle_us)

    def overdue(self) -> list[Part]:
        """The time that `due_us` gave has come: nothing more has arrived."""
        if self._line is not None:
            parts = self._decide()
        elif self._other and self._other in self._typed:
            parts = self._withhold(0, was_typed=True)
        else:
            self._search.give_up()
            self._last = ""
            parts = self._let_go(len(self._held))
        self._engage()
        return parts

    def settle_all(self) -> list[Part]:
        """Something else happens, so nothing stays held back: what could be a secret's half is withheld."""
        if self._held and (self._line is not None or self._search.is_half):
            on_line = self._line is not None
            parts = self._decide() if on_line else self._withhold(0, was_typed=False, goes_on=True)
            self._engage()
            return parts
        return self.overdue() if self._held else []

    def typed(self, data: bytes, *, secret: bool) -> None:
        """These bytes are about to be typed."""
        if secret:
            self._typed = ("" if self._ending else self._typed) + in_capitals(data)
            self._ending = False
        elif self._typed:
            self._ending = True
        elif not self._held:
            # A script pressed a key: what comes now is the answer. What is held back came before that.
            self._line = None
        self._engage()

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """This fact has been recorded."""
        match fact:
            case kinds.LandmarkReached(landmark=name, line=line) if name in self._asks:
                self._line, self._prompt = _Line(), line.strip()
            case kinds.CarriedOver(landmark=name, printed=line) if name in self._asks:
                self._line, self._prompt = _Line(), line.strip()
            case kinds.LineLost() | kinds.LineOpened():
                self._line, self._typed, self._other, self._ending = None, "", "", False
                self._sequences = Sequences(self._machine.eighth_bit)
                self._search.forget()
            case _:
                return
        self._engage()

    def _engage(self) -> None:
        self.engaged = bool(
            self._held or self._line is not None or self._typed or self._search.candidates or self._last
        )

    # -- on the line of a secret prompt ------------------------------------------------------------

    def _on_the_line(self, kind: Kind) -> list[Part]:
        line = self._line
        assert line is not None
        if kind in (Kind.NEW_LINE, Kind.MOVE):
            return self._line_ends()
        if kind is Kind.TEXT:
            character = chr(self._held[-1].byte & 0x7F)
            if character == " " and not (line.text or line.blank):
                line.blank = True
                return self._let_go(len(self._held))
            line.text += character
            if line.shown:
                self._drop()
            return self._decide() if len(line.text) == LONGEST_LINE else []
        if not line.shown:
            return [] if line.text or kind is Kind.PART else self._let_go(len(self._held))
        if kind is Kind.END:
            sequence = bytes(held.byte & 0x7F for held in self._held)
            if sequence not in line.sequences:
                line.sequences.add(sequence)
                return self._let_go(len(self._held))
        # A RETURN stays for the new line that follows it.
        if kind is not Kind.PART and not _is_return(self._held[-1]):
            self._drop()
        return []

    def _line_ends(self) -> list[Part]:
        """Decides about the text before this new line, or this move to another place."""
        last: list[_Held] = [self._held.pop()]
        while self._held and last[0].kind in (Kind.MOVE, Kind.PART) and last[0].byte & 0x7F != _ESC:
            last.insert(0, self._held.pop())
        while self._held and last[0].kind is Kind.NEW_LINE and _is_return(self._held[-1]):
            last.insert(0, self._held.pop())
        parts = self._decide()
        self._line, self._other = None, ""
        if self._ending:
            self._typed, self._ending = "", False
        self._base += len(last)
        return [*parts, *(Passed(held.byte, held.at_us) for held in last)]

    def _decide(self) -> list[Part]:
        """Withholds the text on the secret prompt's line, or lets it through if it is a broadcast."""
        line = self._line
        assert line is not None
        shown = in_capitals(line.text.strip().encode("ascii"))
        if line.shown or not shown:
            return self._let_go(len(self._held))
        was_typed = shown in self._typed
        if not was_typed and any(i.starts.match(line.text) is not None for i in self._machine.interruptions):
            return self._let_go(len(self._held))
        line.shown = True
        return self._withhold(0, was_typed=was_typed)

    def _drop(self) -> None:
        self._base += len(self._held)
        self._held = []

    # -- anywhere else --------------------------------------------------------------------------------

    def _elsewhere(self, kind: Kind) -> list[Part]:
        character = in_capitals(bytes((self._held[-1].byte,))) if kind is Kind.TEXT else ""
        if self._last:
            if kind is Kind.BACK and len(self._held) == 1:
                return []
            if self._held[0].kind is Kind.BACK and character and character in self._last + " _":
                self._drop()
                return []
            self._last = ""
        if self._typed:
            self._follow_other_line(kind)
        number, in_string = self._base + len(self._held) - 1, self._sequences.in_string
        found = self._search.take(kind, character, number, in_string=in_string)
        if found is not None:
            self._last = found.word[-1]
            was_typed = found.word == self._typed
            return self._withhold(max(0, found.start - self._base), was_typed=was_typed)
        if self._line is not None or not (self._other and self._other in self._typed):
            return self._let_go(self._search.hold_from(self._base + len(self._held)) - self._base)
        return []

    def _follow_other_line(self, kind: Kind) -> None:
        """While a secret is typed, a broadcast can come, and after it the prompt again, or an echo."""
        if kind in (Kind.NEW_LINE, Kind.MOVE):
            self._other = ""
            if self._ending:
                self._typed, self._ending = "", False
        elif kind is Kind.TEXT and len(self._other) < LONGEST_LINE:
            self._other += in_capitals(bytes((self._held[-1].byte,)))
            if self._prompt and self._other.strip() == as_sent(self._prompt, self._characters).strip():
                self._line = _Line()

    # -- letting through ------------------------------------------------------------------------------

    def _let_go(self, count: int) -> list[Part]:
        """Lets the first held bytes through."""
        count = max(0, count)
        gone, self._held = self._held[:count], self._held[count:]
        self._base += len(gone)
        return [Passed(held.byte, held.at_us) for held in gone]

    def _withhold(self, begins: int, *, was_typed: bool, goes_on: bool = False) -> list[Part]:
        """Lets marks through in place of what is held from there on, and what has to act on the screen.

        `goes_on`: the rest of the secret may follow, and is withheld too.
        """
        parts = self._let_go(begins)
        held = self._held
        at_us = held[-1].at_us if held else 0
        self._drop()
        if goes_on:
            self._search.give_up()
        else:
            self._search.forget()
        self._other = ""
        parts += [Passed(byte, at_us) for byte in (*self._marks(), *acts_of(held))]
        parts.append(Withheld(was_typed, at_us))
        return parts

    def _marks(self) -> bytes:
        if self._machine.eighth_bit != "parity":
            return MARKS
        return bytes(with_parity(byte, self._machine.line.parity) for byte in MARKS)


def _is_return(held: _Held) -> bool:
    # In text with eight bits a character may end in the same seven.
    return held.kind is Kind.CONTROL and held.byte & 0x7F == _CR


def acts_of(held: list[_Held]) -> bytes:
    """What these bytes do besides showing text: a new line, and each sequence once, without cursor moves.

    How often something was done would tell how many characters there were.
    """
    new_line = b""
    sequences: dict[bytes, None] = {}
    open_sequence = open_string = string_end = b""
    for one in held:
        byte = bytes((one.byte,))
        if one.kind is Kind.PART:
            open_sequence, open_string = open_sequence + byte, b""
        elif one.kind is Kind.END and not open_sequence:
            open_string, string_end = b"", byte
        elif one.kind in _SEQUENCE_ENDS and open_sequence:
            if opens_string(open_sequence + byte):
                open_string = open_sequence + byte
            elif one.kind is Kind.END:
                sequences.pop(open_sequence + byte, None)
                sequences[open_sequence + byte] = None
            open_sequence = b""
        elif (one.kind is Kind.NEW_LINE or _is_return(one)) and byte not in new_line:
            new_line += byte
    # A string that had been opened before must end, for a terminal would keep all that follows to itself.
    return string_end + new_line + b"".join(sequences) + open_sequence + open_string
