"""Detects an echo that comes from nearer than the machine, and so doesn't prove what the machine took.

An adapter set to half duplex, or a current loop through both ends, sends back what is typed. Four signs:

- too soon: what was typed came back before the machine can have received all of it and sent its answer.
  This one is certain. It is looked for only on a line whose characters take the time that its settings say,
  only in what comes first after quiet, and it must occur twice in a row.
- as typed: a machine that folds to upper case would have folded it. Or the folder is wrong about that.
- twice: the machine's own echo came too. Or something before or after the machine doubles what is typed.
- silent machine: a key came back, and nothing else. Or the machine is on, but busy.

Only the first ends a script that could otherwise have succeeded. What `check` says about noise assumes the
machine's own echo, and the folder's author accepted no greater risk; a docent isn't asked to accept one, and
`go on` starts as if the adapter had been put right. Until then only the tidy-up is typed, as at a machine
without echo, because a job that was started must not run for ever. The other signs are reported only where
nothing can be typed anyway. An echo with none of these signs can still be a local one, if the machine doesn't
echo and the line is fast or goes over a network: that can't be detected here.
"""

from __future__ import annotations

from collections import deque
from typing import Final

from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import EchoSign, LocalEchoFound

TOO_SOON_CHARACTERS: Final = 1.5
"""A machine's echo takes two character times: one there, one back. Even without half a stop bit at each end
and with a fast clock, that is more than this. A local echo takes one."""
RUNNING: Final = 2
"""How many characters in a row must come back too soon. One could be the start of something else printed."""

WHY: Final = "what was typed came back before the machine can have received it, so it proves nothing"
"""Why the running script ends."""

_WHAT: Final[dict[EchoSign, str]] = {
    "too soon": "What was typed came back before the machine can have received it: something nearer than the "
    "machine is sending it back, so the echo doesn't prove what the machine took.",
    "as typed": "What was typed came back in small letters, although this machine makes capitals of them: "
    "something nearer than the machine may be sending it back.",
    "twice": "What was typed came back twice: something nearer than the machine may be sending it back too.",
    "silent machine": "The key that was typed came back, and nothing else. If the machine is off, something "
    "nearer than the machine sends back what is typed.",
}
_SWITCH_OFF: Final = (
    "Switch off the local echo of the adapter (often called half duplex), then start again. To test that it "
    "is off, switch the machine off and type something: nothing must come back."
)
_OR_SET: Final = (
    ' If it can\'t be switched off, an engineer can set echo = "none" in machine.toml; `exhibit check` then '
    "says what noise on the line could do."
)


def local_echo(sign: EchoSign) -> LocalEchoFound:
    """The fact, with a docent's explanation and advice."""
    return LocalEchoFound(sign=sign, what=_WHAT[sign], do=_SWITCH_OFF + _OR_SET)


def sign_in(typed: str, folded: str, came_back: str) -> EchoSign | None:
    """The sign in what came back of a command that came back wrong; None if there is none.

    `typed` was sent; `folded` is how the machine would echo it.
    """
    if not came_back or folded.startswith(came_back):
        return None
    if typed.startswith(came_back):
        return "as typed"
    return "twice" if len(came_back) > 1 and _interwoven(came_back, typed, folded) else None


def _interwoven(text: str, first: str, second: str) -> bool:
    """Whether this could be the beginning of two texts sent at the same time, their characters mixed."""
    places = {(0, 0)}
    for character in text:
        places = {(a + 1, b) for a, b in places if first[a : a + 1] == character} | {
            (a, b + 1) for a, b in places if second[b : b + 1] == character
        }
    return bool(places)


class TooSoon:
    """Detects that what is typed comes back too soon for a machine. Times are on the recording's clock.

    `judges`: false in a rehearsal, where an invented echo comes back at once.
    """

    def __init__(self, machine: Machine, rate: float, *, judges: bool = True) -> None:
        # On a clock slower than real time, an honest echo would seem faster than it is.
        self._judges = judges and machine.typing.echo == "full" and rate >= 1
        self._char_us = machine.line.char_us
        self._quiet_us = machine.settle_us(rate)
        self._mask = 0xFF if machine.eighth_bit == "data" else 0x7F
        self.keeps_time = False
        self.begin(keeps_time=False)

    def begin(self, *, keeps_time: bool) -> None:
        """Starts afresh. `keeps_time`: characters take the time on the line that its settings say."""
        self.keeps_time = keeps_time
        self._awaited: deque[tuple[int, int]] = deque()
        """The typed bytes that can still come back, each with the time from which that isn't too soon."""
        self._running = 0
        self._free_us = 0.0
        """When the line will have carried everything that was typed."""
        self._heard_us: int | None = None
        self._judged = True
        """Since the line was last quiet, only characters that were too soon have been received."""

    def typed(self, text: str, at_us: int) -> None:
        """This was typed, and sent then or later. For a secret the text is empty."""
        if not (self.keeps_time and self._judges):
            return
        self._late(at_us)
        if self._heard_us is None or at_us - self._heard_us >= self._quiet_us:
            self._judged = True
        for byte in text.encode("latin-1"):
            begun_us = max(self._free_us, at_us)
            self._free_us = begun_us + self._char_us
            if self._judged:
                too_soon_us = int(begun_us + TOO_SOON_CHARACTERS * self._char_us)
                self._awaited.append((byte & self._mask, too_soon_us))

    def heard(self, data: bytes, at_us: int) -> bool:
        """This was received, at `at_us` or a little earlier. True once a local echo is certain."""
        if not (self.keeps_time and self._judges):
            return False
        self._heard_us = at_us
        for byte in data:
            self._late(at_us)
            if self._awaited and self._awaited[0][0] == byte & self._mask:
                self._awaited.popleft()
                self._running += 1
            else:
                self._judged = False
                self._awaited.clear()
        return self._running >= RUNNING

    def _late(self, at_us: int) -> None:
        """Drops the bytes for which it is no longer too soon: no local echo sent them back."""
        while self._awaited and self._awaited[0][1] <= at_us:
            self._awaited.popleft()
            self._running = 0
