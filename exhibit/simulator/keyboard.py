"""The keyboard: typing ahead, echo, rubout and cancel, and no echo for a secret."""

from collections import deque
from collections.abc import Callable
from typing import Literal

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.faults import Faults
from exhibit.simulator.serial_line import XOFF, XON, SerialLine
from exhibit.simulator.truth import CommandTaken, TruthLog

RETURN, LINE_FEED, NUL, BELL = 0x0D, 0x0A, 0x00, "\a"
BACKSPACE, RUBOUT, CANCEL, SHOW_AGAIN = 0x08, 0x7F, 0x18, 0x0E
LONGEST_LINE_CHARS = 72
TYPE_AHEAD_CHARS = 64
XOFF_ABOVE_CHARS, XON_AT_CHARS = 48, 16
TAKE_US = 500
"""Time from a character's arrival until it is taken, while a line is asked for (invented)."""


class Keyboard:
    """Takes characters from the line when the running program asks for them.

    It is always in one of four states: nothing is asked for (characters wait), a line is asked for,
    any key is watched for, or CANCEL is watched for (other characters wait).
    """

    def __init__(
        self, agenda: Agenda, line: SerialLine, faults: Faults, truth: TruthLog, *, one_char_buffer: bool
    ) -> None:
        self._agenda = agenda
        self._truth = truth
        self._line = line
        self._faults = faults
        self._one_char = one_char_buffer
        self._waiting: deque[int] = deque()
        self._xoff_sent = False
        self._taking = False
        self._echoes_late = 0
        self._echo_due_us = 0
        self._epoch = 0
        self._prompt = ""
        self._typed = ""
        self._answer_to: Callable[[str | None], None] | None = None
        self._key_to: Callable[[int], None] | None = None
        self._cancel_to: Callable[[], None] | None = None
        self.secret = False
        line.on_arrival = self.arrived
        line.on_bad_parity = lambda: line.put(BELL)
        line.on_idle = self._take_soon

    def reset(self) -> None:
        """Forget everything (power lost, or the processor halted)."""
        self._waiting.clear()
        self._xoff_sent = self._taking = self.secret = False
        self._echoes_late = 0
        self._epoch += 1
        self._typed = ""
        self._answer_to = self._key_to = self._cancel_to = None

    # ---- for programs

    def ask(self, prompt: str, secret: bool, answer_to: Callable[[str | None], None]) -> None:
        """Print `prompt` and pass the next whole line to `answer_to`, or None if a secret was cancelled."""
        self._prompt, self.secret, self._typed = prompt, secret, ""
        self._answer_to = answer_to
        self._line.put(prompt)
        self._take_soon()

    def forget_typed_ahead(self) -> None:
        """Throw away the characters that wait: a program that starts has a new, empty buffer."""
        self._waiting.clear()
        if self._xoff_sent:
            self._xoff_sent = False
            self._line.send_flow(XON)

    @property
    def waiting_chars(self) -> int:
        """How many characters wait to be taken."""
        return len(self._waiting)

    def watch_key(self, key_to: Callable[[int], None] | None) -> None:
        """Pass every character to `key_to` at once, beginning with those that wait. None ends this."""
        self._key_to = key_to
        while self._waiting and self._key_to is not None:
            self._key_to(self._waiting.popleft())

    def watch_cancel(self, cancel_to: Callable[[], None] | None) -> None:
        """Call `cancel_to` when CANCEL arrives; other characters wait as usual. None ends this."""
        self._cancel_to = cancel_to

    # ---- for the line

    def arrived(self, byte: int) -> Literal["kept", "lost"]:
        """Take a character from the line; it is lost if there is no room for it."""
        if self._key_to is not None:
            self._key_to(byte)
            return "kept"
        if byte == CANCEL and self._cancel_to is not None:
            self._waiting.clear()
            self._cancel_to()
            return "kept"
        if len(self._waiting) >= (1 if self._one_char else TYPE_AHEAD_CHARS):
            if not self._one_char:
                self._line.put(BELL)
            return "lost"
        self._waiting.append(byte)
        if len(self._waiting) > XOFF_ABOVE_CHARS and not self._xoff_sent:
            self._xoff_sent = True
            self._line.send_flow(XOFF)
        self._take_soon()
        return "kept"

    def _take_soon(self) -> None:
        if self._taking or not self._waiting or self._answer_to is None:
            return
        if self._one_char and (self._echoes_late or not self._line.idle):
            return
        self._taking = True
        epoch = self._epoch
        self._agenda.after(TAKE_US, lambda: self._take(epoch))

    def _take(self, epoch: int) -> None:
        if epoch != self._epoch:
            return
        self._taking = False
        if self._answer_to is None or not self._waiting:
            return
        if self._one_char and not self._line.idle:
            return
        byte = self._waiting.popleft()
        if self._xoff_sent and len(self._waiting) <= XON_AT_CHARS:
            self._xoff_sent = False
            self._line.send_flow(XON)
        self._act_on(byte)
        self._take_soon()

    def _act_on(self, byte: int) -> None:
        if byte == RETURN:
            answer_to, answer = self._answer_to, self._typed
            self._record(answer)
            self._done()
            self._echo("\r\n", lambda: answer_to(answer) if answer_to else None)
        elif byte in (RUBOUT, BACKSPACE):
            if not self._typed:
                self._echo(BELL)
            else:
                self._typed = self._typed[:-1]
                self._echo("" if self._unechoed else "<")
        elif byte == CANCEL and self.secret:
            answer_to = self._answer_to
            self._done()
            self._echo(" CANCELLED\r\n", lambda: answer_to(None) if answer_to else None)
        elif byte == CANCEL:
            self._typed = ""
            self._echo(" CANCELLED\r\n" + self._prompt)
        elif byte == SHOW_AGAIN and not self.secret:
            self._echo(" AGAIN\r\n" + self._prompt + self._typed)
        elif byte in (LINE_FEED, NUL):
            pass
        elif byte < 0x20 or len(self._typed) >= LONGEST_LINE_CHARS:
            self._echo(BELL)
        else:
            letter = chr(byte).upper()
            self._typed += letter
            self._echo("" if self._unechoed else letter)

    def _record(self, answer: str) -> None:
        self._truth.add(
            CommandTaken(
                at_us=self._agenda.now_us,
                prompt=self._prompt,
                text="" if self.secret else answer,
                secret_length=len(answer) if self.secret else None,
            )
        )

    def _done(self) -> None:
        if self.secret:
            self._faults.echo_word = False
        self._answer_to = None
        self._typed = ""
        self.secret = False

    @property
    def _unechoed(self) -> bool:
        return self.secret and not self._faults.echo_word

    def _echo(self, text: str, then: Callable[[], None] | None = None) -> None:
        """Print the echo, late if that fault is on, and then call `then`."""
        if not self._faults.slow_echo_us and not self._echoes_late:
            self._line.put(text)
            if then is not None:
                then()
            return
        self._echoes_late += 1
        epoch = self._epoch

        def late() -> None:
            if epoch != self._epoch:
                return
            self._echoes_late -= 1
            self._line.put(text)
            if then is not None:
                then()
            self._take_soon()

        # Never before an earlier echo that is still due, even if the fault has just been turned off.
        self._echo_due_us = max(self._agenda.now_us + self._faults.slow_echo_us, self._echo_due_us)
        self._agenda.at(self._echo_due_us, late)
