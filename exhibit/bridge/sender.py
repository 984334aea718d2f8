"""Carries out what is to be typed: records each byte, then types it, unless something has come between."""

from __future__ import annotations

from collections.abc import Callable, Sized
from typing import Final

from exhibit.bridge.halting import Halting
from exhibit.bridge.keyed_in import KeyedIn
from exhibit.bridge.secret_typist import SecretTypist
from exhibit.decisions.commands import Type
from exhibit.decisions.decider import HELD_BACK, Decider
from exhibit.decisions.withholding.withholding import Withholding
from exhibit.facts import kinds
from exhibit.line.awake import Awake
from exhibit.streams.pacing import RecordingClock

_NOT_TRIED: Final = "the line did not accept the character before it, so it was not tried"
TypeByte = Callable[[int, int], str]
"""Types a byte, unless the line has been opened again since the opening of this number. Returns why it
failed; empty if it didn't."""


class Sender:
    """Types for one recording. `type_byte` is None if the machine is only watched.

    `commands` are those that are still to be carried out; `record` writes a fact with its time, and `beat` a
    heartbeat if one is due, because the line may have held up a byte for a second.
    """

    def __init__(
        self,
        decider: Decider,
        around: tuple[Withholding, RecordingClock, Awake],
        type_byte: TypeByte | None,
        keyed_in: KeyedIn,
        commands: Sized,
        record: Callable[[kinds.AnyFact, int], None],
        beat: Callable[[], object],
    ) -> None:
        self._decider = decider
        self._withholding, self._clock, self._awake = around
        self._type_byte = type_byte
        self.halting = Halting(decider)
        self.keyed_in = keyed_in
        self._commands = commands
        self._record = record
        self._beat = beat
        self._secret = SecretTypist(self._withholding)
        self._outdated = 0
        """How many of the commands, from the front, were decided before it was known that a byte failed."""
        self.opening = 0
        """The number of the line's last opening that the decisions know of; 0 before the first."""

    @property
    def secret_due_us(self) -> int | None:
        """When the next byte of a secret is to be typed; None if none is. No deadline may pass before."""
        return None if self._decider.blocked_by_xoff else self._secret.due_us

    @property
    def keyed_due_us(self) -> int | None:
        """When the next character is to be typed that a person typed; None if there is none."""
        return None if self._decider.blocked_by_xoff else self.keyed_in.due_us

    def take_outdated(self) -> bool:
        """Whether the command that is carried out now was decided before it was known that a byte failed."""
        outdated, self._outdated = self._outdated > 0, max(0, self._outdated - 1)
        return outdated

    def forget_secret(self) -> None:
        """Nothing more of the secret is to be typed."""
        self._secret.forget()

    def carry_out(self, command: Type, at_us: int, *, outdated: bool) -> None:
        """Type what this command says."""
        if self.halting.holds:
            return
        if command.secret:
            self._record(kinds.SecretTyped(by=command.by), at_us)
            if self.halting.holds:
                self._record(kinds.TypingFailed(why=HELD_BACK), self._clock.now_us())
                return
            self._secret.begin(command, at_us, outdated=outdated)
            self.type_due(at_us)
            return
        self._withholding.typed(command.data, secret=False)
        for byte in command.data:
            if self.halting.holds:
                return
            typed = kinds.BytesTyped(bytes=kinds.to_text(bytes((byte,))), count=1, by=command.by)
            self._record(typed, at_us)
            outdated |= self._try(byte, outdated)

    def type_due(self, now_us: int) -> None:
        """Type those bytes of a secret, and those that a person typed, that are due."""
        blocked = self._decider.blocked_by_xoff
        while not self.halting.holds and (byte := self._secret.next(now_us, blocked=blocked)) is not None:
            if self._try(byte, self._secret.outdated):
                self._secret.forget()
            blocked = self._decider.blocked_by_xoff
        if not self.halting.holds and (keyed := self.keyed_in.next(now_us)) is not None:
            data, secret, facts = keyed
            for fact in facts:
                self._record(fact, now_us)
            self._withholding.typed(data, secret=secret)
            for byte in data:
                if self._try(byte, False):
                    self.keyed_in.forget()
                    break

    def _try(self, byte: int, outdated: bool) -> bool:
        """Type it, unless an earlier one failed. Record and return whether it failed, for whatever reason."""
        why = _NOT_TRIED if outdated else self._why_not(byte)
        if why and not outdated:
            self._outdated = len(self._commands)
        if why:
            self._record(kinds.TypingFailed(why=why), self._clock.now_us())
        self._beat()
        return bool(why)

    def _why_not(self, byte: int) -> str:
        """Type it, unless this was decided before a sleep, or a stop has come since. Returns why not."""
        assert self._type_byte is not None, "nothing can be typed at a machine that is only watched"
        if self.halting.holds:  # the disc may have held up the fact
            return HELD_BACK
        return self._awake.gap() or self._type_byte(byte, self.opening)
