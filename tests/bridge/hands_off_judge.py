"""What is wrong after somebody has said hands off, by the machine's own log of the bytes that reached it."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from exhibit.facts import kinds
from exhibit.simulator.tidebook.desks import WORDS

RETURN, CANCEL, SHOW_AGAIN = 0x0D, 0x18, 0x0E
MOST_IN_PORT = max(map(len, WORDS.values()))
"""Three characters, or a desk's word, which isn't echoed, if the machine's process has to wait."""


class Byte(msgspec.Struct, frozen=True):
    """A byte, and when it was put into the port, or had arrived at the machine."""

    at_s: float
    byte: int


class Said(msgspec.Struct, frozen=True, kw_only=True):
    """Somebody has said hands off, a while ago. All times are of one clock."""

    asked_s: float
    """When the bridge had heard of it."""
    answered_s: float
    """When whoever asked had the answer."""
    accepted: bool
    put: Sequence[Byte]
    """What the bridge has put into the port, from the beginning on."""
    arrived: Sequence[Byte]
    """What has reached the machine, from the beginning on."""
    facts: Sequence[kinds.AnyFact]
    """What was recorded from the request on."""


def wrong(said: Said) -> list[str]:
    """What must not have happened."""
    found = []
    if not said.accepted:
        found.append("the request wasn't accepted")
    if [one.byte for one in said.put] != [one.byte for one in said.arrived]:
        found.append("what reached the machine isn't what was put into the port")
    late = said.arrived[_before(said.put, said.asked_s) :]
    if len(late) > 1:
        found.append(f"{len(late)} bytes were put into the port after the request")
    late = said.arrived[_before(said.put, said.answered_s) :]
    if late:
        found.append(f"{len(late)} bytes were put into the port after the answer")
    late = said.arrived[_before(said.arrived, said.answered_s) :]
    if len(late) > MOST_IN_PORT:
        found.append(f"{len(late)} bytes reached the machine after the answer")
    return found + _wrong_in_recording(said)


def _wrong_in_recording(said: Said) -> list[str]:
    off = [n for n, fact in enumerate(said.facts) if isinstance(fact, kinds.HandsOff)]
    if len(off) != 1:
        return [f"the recording says {len(off)} times that hands are off"]
    found, after = [], said.facts[off[0] :]
    if any(isinstance(fact, kinds.BytesTyped | kinds.SecretTyped) for fact in after):
        found.append("something was recorded as typed afterwards")
    if not any(isinstance(fact, kinds.SessionFailed) for fact in after):
        found.append("nobody is told to look")
    arrived = [one.byte for one in said.arrived]
    named, stands = after[0], standing(arrived)
    assert isinstance(named, kinds.HandsOff)
    # After the cancel key it is what stood before, until something shows that the machine took that key.
    before = standing(arrived[:-1]) if arrived[-1:] == [CANCEL] else stands
    if named.standing.upper() not in (stands, before):
        last = bytes(arrived[-40:])
        found.append(f'"{named.standing}" is named as standing there, but it is "{stands}", after {last!r}')
    return found


def _before(those: Sequence[Byte], at_s: float) -> int:
    """How many of them, from the beginning on, there were by then."""
    return sum(one.at_s <= at_s for one in those)


def standing(arrived: Sequence[int]) -> str:
    """What the machine has of a command without its RETURN; of a desk's word only that it has some of it."""
    command, line = "", ""
    for byte in arrived:
        if byte == RETURN:
            command, line = line, ""
        elif byte == CANCEL:
            command, line = "", ""
        elif byte != SHOW_AGAIN:
            line += chr(byte).upper()
    asks_word = command.removeprefix("TAKE ") in WORDS
    return "****" if asks_word and line else line
