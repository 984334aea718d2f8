"""All decisions behind one interface: bytes and facts in, commands out.

The same objects decide live, in a rehearsal and in a check. They do no I/O, so that deciding again
over the facts of a recording returns the same commands:

    for entry in recording:
        if isinstance(entry.fact, BytesReceived):
            commands += decider.received(to_bytes(entry.fact.bytes), entry.at_us)
        commands += decider.note(entry)

So whatever a decider learns live must be in the recording too: it never sees a withheld byte, only the marks
in its place, and the fact that a secret was withheld.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from exhibit.decisions.commands import Command
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore

THIS_COMPUTER: Final = "this computer"
"""Whose word it is if the program is ended by a signal, as Ctrl-C ends it."""
HELD_BACK: Final = "somebody has just asked that nothing more be typed"
"""Why a byte wasn't typed that had been recorded: the request that asks for it follows."""
REST: Final = "rest"
"""The deadline between two rounds. Only it and NOTHING_HEARD may be armed when a new recording begins."""


class Decides(Protocol):
    """Decides for one machine as its recording grows."""

    def received(self, data: bytes, at_us: int) -> Sequence[Command]:
        """The machine sent this."""

    def note(self, entry: kinds.Entry) -> Sequence[Command]:
        """This fact has been recorded. Received bytes have already been through `received`."""


class Decider(Decides, Protocol):
    """Decides for a bridge. `Watching` only watches a machine; `Operating` also runs scripts on it."""

    def typed_by_hand(self, data: bytes) -> Sequence[kinds.TypedByHand]:
        """A person typed this at the machine's own terminal. Returns what of it may be recorded."""

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """The fact with which the next recording begins; None while this recording can't end."""

    def left_open(self, recording: str) -> kinds.LastRecordingRead | None:
        """What the recording of this name leaves open, for the next one; None if nothing is typed."""

    def use_before(self, now_us: int) -> UseBefore:
        """The use up to now, with which the next recording begins."""

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing."""

    @property
    def heeds_stop(self) -> bool:
        """Whether a stop ends what is being typed now. It doesn't end a tidy-up, which follows a stop."""

    @property
    def asks_secret(self) -> bool:
        """Whether what a person types now could be a secret."""

    def why_not_typed(self, text: str, by: str, at_us: int, *, sure: bool) -> str:
        """Why this person must not type this at the keyboard; empty if it may be typed."""

    def parity_faults(self) -> int:
        """How many characters had the wrong parity since the start."""
