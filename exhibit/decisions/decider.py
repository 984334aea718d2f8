"""All decisions in one: bytes and facts in, commands out.

The same objects decide live, in a rehearsal and in a check. They do no I/O, so that deciding again
over the facts of a recording gives the commands that were given then:

    for entry in recording:
        if isinstance(entry.fact, BytesReceived):
            commands += decider.received(to_bytes(entry.fact.bytes), entry.at_us)
        commands += decider.note(entry)

For that, whatever a decider learns live must be in the recording: it never sees a withheld byte, only the
fact that some were withheld.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, Protocol

from exhibit.decisions.commands import Command
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore

REST: Final = "rest"
"""The deadline between two rounds: alone of all, it can be armed when a recording ends at another day."""


class Decides(Protocol):
    """Decides for one machine as its recording grows."""

    def withholds(self, byte: int) -> bool:
        """Whether this byte may be part of a secret: then neither the recording nor `received` gets it."""

    def received(self, data: bytes, at_us: int) -> Sequence[Command]:
        """The machine sent this."""

    def note(self, entry: kinds.Entry) -> Sequence[Command]:
        """This fact is in the recording now. Received bytes have been through `received` before."""


class Decider(Decides, Protocol):
    """Decides for a bridge. `Watching` only watches a machine; `Operating` runs scripts on it too."""

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """The fact with which the next recording begins, so that this one can end; None if it can't yet."""

    def left_open(self, recording: str) -> kinds.LastRecordingRead | None:
        """What is open, for the recording after the one of this name; None where nobody types."""

    def use_before(self, now_us: int) -> UseBefore:
        """What was used up to now, with which the next recording begins."""

    def parity_faults(self) -> int:
        """Characters received with the wrong parity, since the start."""
