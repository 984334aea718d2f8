"""Finds out an echo that comes from nearer than the machine: it proves nothing of what the machine took.

An adapter set to half duplex, and a current loop through both ends, send back what is typed. Four signs:

- too soon: what was typed came back before the machine can have heard all of it and sent all of its answer.
  Sure, and told from nothing else: it is judged only on a line whose characters take the time that its
  settings say, for what came first after quiet, and not before it came twice running.
- as typed: a machine that folds to upper case would have folded it. Or its folder is wrong about that.
- twice: the machine's own echo came too. Or something doubles what is typed, before the machine or behind.
- silent machine: a key came back and nothing else did. Or the machine is on, and busy.

Only the first ends a script that might have gone well. What `check` says of noise rests on the machine's own
echo, and whoever wrote the folder allowed no more than that; so a docent isn't asked to allow more, and
`go on` begins as if the adapter had been seen to. Only the tidy-up is typed then, as at a machine
without echo, for what was begun must not go on for ever. The other signs are told where nothing can be
typed anyway. An echo that shows none of these may still be a local one, of a machine that doesn't echo, on a
fast line or over a network: that can't be told here.
"""

from __future__ import annotations

from collections import deque
from typing import Final

from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import EchoSign, LocalEchoFound

TOO_SOON_CHARACTERS: Final = 1.5
"""A machine's echo takes two character times: one there, one back. Less half a stop bit at each end and
what its clock may be fast, that is still more than this; a local echo takes one."""
RUNNING: Final = 2
"""So many must come back too soon, one after the other: the machine may begin to print by itself."""

WHY: Final = "what was typed came back before the machine can have heard it, so nothing proves what it took"
"""Why the script ends that was running."""

_WHAT: Final[dict[EchoSign, str]] = {
    "too soon": "What was typed came back before the machine can have heard it: something nearer than the "
    "machine sends it back, so that what is seen of it proves nothing.",
    "as typed": "What was typed came back in small letters, although this machine makes capitals of them: "
    "something nearer than the machine may send it back.",
    "twice": "What was typed came back twice: something nearer than the machine may send it back too.",
    "silent machine": "The key that was typed came back, and nothing else. If the machine is off, something "
    "nearer than the machine sends back what is typed.",
}
_SWITCH_OFF: Final = (
    "Switch off the local echo of the adapter (often called half duplex), then start again. To see whether "
    "it is off: with the machine switched off nothing that is typed may come back."
)
_OR_SET: Final = (
    ' If it can\'t be switched off, an engineer may set echo = "none" in machine.toml, and then see what '
    "`exhibit check` says noise could do."
)


def local_echo(sign: EchoSign) -> LocalEchoFound:
    """The fact, in a docent's words."""
    return LocalEchoFound(sign=sign, what=_WHAT[sign], do=_SWITCH_OFF + _OR_SET)


def sign_in(typed: str, folded: str, came_back: str) -> EchoSign | None:
    """The sign in what came back, as far as it was looked at, of a command that came back wrong.

    `typed` has gone out, and `folded` is what the machine makes of it.
    """
    if not came_back or folded.startswith(came_back):
        return None
    if typed.startswith(came_back):
        return "as typed"
    return "twice" if len(came_back) > 1 and _interwoven(came_back, typed, folded) else None


def _interwoven(text: str, first: str, second: str) -> bool:
    """Whether this is a beginning of two texts that were sent at the same time."""
    places = {(0, 0)}
    for character in text:
        places = {(a + 1, b) for a, b in places if first[a : a + 1] == character} | {
            (a, b + 1) for a, b in places if second[b : b + 1] == character
        }
    return bool(places)


class TooSoon:
    """Tells whether what is typed comes back too soon to be the machine's. Times on the recording's clock.

    `judges`: false in a rehearsal, where the echo of what was never typed before comes back at once.
    """

    def __init__(self, machine: Machine, rate: float, *, judges: bool = True) -> None:
        # On a slower clock than the world's an honest echo would seem quicker than it is.
        self._judges = judges and machine.typing.echo == "full" and rate >= 1
        self._char_us = machine.line.char_us
        self._quiet_us = machine.settle_us(rate)
        self._mask = 0xFF if machine.eighth_bit == "data" else 0x7F
        self.keeps_time = False
        self.begin(keeps_time=False)

    def begin(self, *, keeps_time: bool) -> None:
        """Judges anew from here. `keeps_time`: characters take the time on the line that its settings say."""
        self.keeps_time = keeps_time
        self._awaited: deque[tuple[int, int]] = deque()
        """What was typed and may come back: each byte, with the time from which it isn't too soon."""
        self._running = 0
        self._free_us = 0.0
        """When the line will have carried all that was typed."""
        self._heard_us: int | None = None
        self._judged = True
        """Nothing has come since the last quiet but what came too soon."""

    def typed(self, text: str, at_us: int) -> None:
        """This was typed; it may have gone out later than that. Of a secret nothing is known."""
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
        """This came, at the latest at this time. True when by now it is sure: a local echo."""
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
        """What didn't come back too soon: no local echo sent it."""
        while self._awaited and self._awaited[0][1] <= at_us:
            self._awaited.popleft()
            self._running = 0
