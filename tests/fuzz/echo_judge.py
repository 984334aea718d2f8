"""Judges what is typed at a machine from what it printed, without the code that decided to type it.

The machine under test is made so that each key tells what it is for: RETURN only ends commands and secrets.
"""

from __future__ import annotations

import re
from typing import Final

from exhibit.decisions.commands import Command, Tell, Type
from exhibit.decisions.display.wire import Control, Item, Text, Wire
from exhibit.facts import kinds
from tests.decisions.heron import CANCEL, RETURN

NUDGE, SHOW_AGAIN, SPACE = b"\x05", b"\x0e", b" "
COMMANDS: Final = ("begin tern", "sign", "leave")
ENDS_A_JOB: Final = re.compile(rb"end [-+]?[0-9]{1,15}(\.[0-9]{1,9})?")
"""The command that has a number in it, which the machine gave."""
PROMPT: Final = re.compile(r"(READY:|SIGN WORD\?|DESK [A-Z]+:|SURE \(NO\)\?) *")
BROADCASTS: Final = ("== ", "STORM WARNING", "TIDE NEWS", "TWO LINES:")
MOST_SEARCH_KEYS: Final = 2
"""The nudge and the cancel key, once each."""


class Judge:
    """Takes every command that is carried out, and every byte that the decisions are given.

    `echoes`: the machine echoes what is typed. Each rule that is broken raises AssertionError.
    """

    def __init__(self, *, echoes: bool) -> None:
        self._echoes = echoes
        self._wire = Wire("drop", flow_control=True)
        self._line = b""
        """What has been typed since the last key that ended a line."""
        self._secret = False
        self._came: list[Item] = []
        """What was printed since the first character of the line."""
        self._shown_again: int | None = None
        self._searching = False
        self._search_keys = 0
        self._failed = False
        self.returns = 0

    def received(self, data: bytes) -> None:
        """The decisions get this from the machine."""
        self._came += self._wire.feed(data)

    def ordered(self, command: Command) -> None:
        """This is carried out."""
        match command:
            case Tell(fact=fact):
                self._told(fact)
            case Type(secret=True):
                self._is_wanted(command)
                self._secret = True
            case Type(data=data):
                self._typed(data, command)

    def _told(self, fact: kinds.AnyFact) -> None:
        match fact:
            case kinds.PlaceSought():
                self._searching, self._search_keys = True, 0
            case kinds.PlaceRecognised() | kinds.PersonAsked() | kinds.ScriptStarted():
                self._searching = False
            case kinds.TypingGarbled(thrown_away=True):
                self._is_thrown_away()
                self._ended()
            case kinds.SessionFailed():
                self._failed = True
            case kinds.SessionCleared():
                self._failed = False

    def _typed(self, data: bytes, command: Type) -> None:
        if data in (CANCEL, NUDGE):
            if self._searching:
                self._search_keys += 1
                assert self._search_keys <= MOST_SEARCH_KEYS, "a third key in one search"
            else:
                assert data == CANCEL, "a nudge although nothing is sought"
            self._ended()
            return
        self._is_wanted(command)
        if data == RETURN:
            self._return()
        elif data == SHOW_AGAIN:
            self._is_command()
            self._shown_again = len(self._came)
        elif data == SPACE and not self._line:
            self._ended()
        else:
            assert not self._secret, "a command behind a secret"
            if not self._line:
                self._came = []
            self._line += data
            begun = any(wanted.encode().startswith(self._line) for wanted in COMMANDS)
            assert begun or b"end ".startswith(self._line[:4]), self._line

    def _is_wanted(self, command: Type) -> None:
        assert not self._searching, f"{command.data!r} while the console's state is sought"
        assert not self._failed, f"{command.data!r} after the session failed"

    def _is_command(self) -> None:
        whole = self._line.decode() in COMMANDS or ENDS_A_JOB.fullmatch(self._line)
        assert whole, f"RETURN behind {self._line!r}"

    def _return(self) -> None:
        self.returns += 1
        if self._secret:
            assert not self._line
        else:
            self._is_command()
            if self._echoes:
                self._came_back(self._line.decode().upper())
        self._ended()

    def _is_thrown_away(self) -> None:
        """A prompt on a line of its own, and no broadcast, is all that came after the command's own line."""
        own, *lines = _lines(self._came)
        assert lines, f"thrown away after {own!r}"
        assert PROMPT.fullmatch(lines[-1]), f"thrown away after {lines}"
        assert not "".join(lines[:-1]).strip(), f"thrown away after {lines}"

    def _came_back(self, wanted: str) -> None:
        """What was printed must be the command, interrupted at most by a broadcast."""
        echo, again = self._came[: self._shown_again], self._came[self._shown_again or 0 :]
        self._is_echo(_lines(echo), wanted)
        if self._shown_again is not None:
            assert _lines(again)[-1].endswith(wanted), f"RETURN after it showed {again}"

    def _is_echo(self, lines: list[str], wanted: str) -> None:
        if len(lines) == 1:
            assert lines[0] == wanted, f"RETURN for {wanted!r} after {lines}"
            return
        assert any(begin in line for line in lines for begin in BROADCASTS), (
            f"RETURN for {wanted!r} after {lines}"
        )
        left = iter("".join(lines))
        assert all(character in left for character in wanted), f"RETURN for {wanted!r} after {lines}"

    def _ended(self) -> None:
        self._line, self._secret, self._came, self._shown_again = b"", False, [], None


def _lines(items: list[Item]) -> list[str]:
    lines = [""]
    for item in items:
        if isinstance(item, Text):
            lines[-1] += item.text
        elif isinstance(item, Control):
            # Whatever else a control code does on the console, the command on it is then another one.
            lines[-1] += {7: "", 13: "", 10: "\n"}.get(item.code, f"<{item.code}>")
    return "".join(lines).split("\n")
