"""The Dunlin's two loaders: one in its store, which takes an address digit by digit, and one on a unit."""

from __future__ import annotations

import re
from datetime import datetime
from typing import TYPE_CHECKING

from tests.foreign.core import Ask, Dialogue, Pause

if TYPE_CHECKING:
    from tests.foreign.dunlin import Dunlin

ADDRESS = "1F40"
"""Where the unit with the second loader is."""
DIGITS = "0123456789abcdefABCDEF"
FIRST_YEAR, LAST_YEAR = 75, 94
READING_US, CHECKING_US, STEP_US = 4_000_000, 25_000_000, 700_000


def fixed_loader(machine: Dunlin) -> Dialogue:
    """Take four digits without showing them, and go on with what is at that address."""
    machine.say("\r\nDUNLIN FIXED LOADER 3\r\n")
    while True:
        machine.say("unit address (hex) ")
        address = ""
        while len(address) < 4:
            digit = yield Ask("key", "", keys=DIGITS, name="unit address")
            if not digit:
                break
            address += digit.upper()
        machine.say("\r\n")
        if len(address) < 4:
            machine.note("refused", f"a key after {address}" if address else "a key")
            machine.say("?\r\n")
        elif address != ADDRESS:
            machine.note("refused", address)
            machine.say(f"no unit at {address}\r\n")
        else:
            machine.note("answer", f"unit address = {address}")
            break
    machine.say(f"unit at {ADDRESS}, reading\r\n")
    yield Pause(READING_US)
    yield from _second_loader(machine)


def _ask(machine: Dunlin, question: str) -> Dialogue:
    answer = (yield Ask("line", question + " ", name=question)).strip()
    machine.note("answer", f"{question} = {answer}")
    return answer


def _second_loader(machine: Dunlin) -> Dialogue:
    machine.say("\r\nLOADER B.2\r\nunits d0 d1 t0\r\n")
    while True:
        unit = (yield from _ask(machine, "boot from?")) or "d0"
        if unit == "d1" and not machine.unit_wiped:
            break
        machine.note("refused", unit)
        reason = (
            "no system on it" if unit in ("d0", "d1") else "not ready" if unit == "t0" else "no such unit"
        )
        machine.say(f"{unit}: {reason}\r\n")
    moment = yield from _moment(machine)
    if machine.unit_open:
        machine.say("d1 was in use, checking it\r\n")
        yield Pause(CHECKING_US)
        machine.say(f"checked, {machine.chance.randint(0, 5)} blocks repaired\r\n")
    machine.enter("loading")
    for percent in range(10, 101, 10):
        machine.say(f"loading {percent:3} %\r")
        yield Pause(STEP_US)
    machine.say("\r\n")
    machine.set_clock(moment)
    machine.unit_open = True
    machine.enter("system")
    yield from machine.host.dialogue()


def _moment(machine: Dunlin) -> Dialogue:
    while True:
        day = yield from _ask(machine, "date (yymmdd)?")
        reason = _wrong_day(day)
        if not reason:
            break
        machine.note("refused", day)
        machine.say(reason + "\r\n")
    while True:
        clock = yield from _ask(machine, "time (hhmm)?")
        if re.fullmatch("([01][0-9]|2[0-3])[0-5][0-9]", clock):
            return datetime.fromisoformat(f"19{day[:2]}-{day[2:4]}-{day[4:]} {clock[:2]}:{clock[2:]}")
        machine.note("refused", clock)
        machine.say("no such time\r\n")


def _wrong_day(answer: str) -> str:
    """What is wrong with the day, or nothing."""
    if re.fullmatch("[0-9]{6}", answer) is None:
        return "six digits please"
    if not FIRST_YEAR <= int(answer[:2]) <= LAST_YEAR:
        return f"the year must be {FIRST_YEAR} to {LAST_YEAR}"
    try:
        datetime.fromisoformat(f"19{answer[:2]}-{answer[2:4]}-{answer[4:]}")
    except ValueError:
        return "no such day"
    return ""
