"""The Bittern's loader: asks what to load from, how much store there is, and the date."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING

from tests.foreign.core import XOFF, XON, Ask, Dialogue, Pause

if TYPE_CHECKING:
    from tests.foreign.bittern import Bittern

BLOCKS_THERE = 16
FEWEST_BLOCKS, MOST_BLOCKS = 4, 32
FIRST_YEAR, LAST_YEAR = 69, 88
LOADING_US, CHECKING_US = 18_000_000, 40_000_000


def work(machine: Bittern, us: int) -> Dialogue:
    """Be busy: the keyboard is told to stop, and later to go on."""
    machine.say(chr(XOFF))
    yield Pause(us)
    machine.say(chr(XON))


def yes_or_no(machine: Bittern, question: str) -> Dialogue:
    """Ask for one key; the machine prints the rest of the word. Returns whether it was Y."""
    key = yield Ask("key", question + " (Y/N) ", keys="YN", name=question)
    machine.say({"Y": "ES\n", "N": "O\n"}[key])
    machine.note("answer", f"{question} = {key}")
    return key == "Y"


def question(machine: Bittern, text: str) -> Dialogue:
    """Ask for a line, as often as it takes to get one that isn't empty. Returns it."""
    answer = ""
    while not answer:
        answer = (yield Ask("line", "?", name=text)).strip()
    machine.note("answer", f"{text} = {answer}")
    return answer


def loader(machine: Bittern) -> Dialogue:
    """What START starts; goes on with the monitor once that is loaded."""
    title = "BITTERN LOADER 2"
    machine.say(f"\n\n{title}\r{title}\n")
    yield from _device(machine)
    yield from _store(machine)
    day = yield from _day(machine)
    if machine.pack_open:
        machine.say("PACK WAS LEFT OPEN\nCHECKING\n")
        yield from work(machine, CHECKING_US)
        machine.say(f"CHECKED  {machine.chance.randint(0, 3)} LOST\n")
    machine.say("LOADING\n")
    machine.enter("loading")
    yield from work(machine, LOADING_US)
    machine.set_clock(day)
    machine.pack_open = True
    machine.enter("system")
    yield from machine.monitor.dialogue()


def _device(machine: Bittern) -> Dialogue:
    machine.say("WHICH DEVICE\n")
    while True:
        answer = yield from question(machine, "WHICH DEVICE")
        if answer == "PACK" and not machine.pack_cleared:
            return
        if answer == "PACK":
            reason = "?PACK IS EMPTY"
        elif answer == "TAPE":
            reason = "?NO TAPE ON"
        else:
            reason = "?CAPITALS" if answer != answer.upper() else "?NOT A DEVICE"
        machine.note("refused", answer)
        machine.say(reason + "\n")


def _store(machine: Bittern) -> Dialogue:
    machine.say("STORE, IN BLOCKS\n")
    while True:
        answer = yield from question(machine, "STORE, IN BLOCKS")
        blocks = int(answer) if re.fullmatch("[0-9]{1,4}", answer) else 0
        if FEWEST_BLOCKS <= blocks <= BLOCKS_THERE:
            machine.monitor.blocks = blocks
            return
        machine.note("refused", answer)
        if BLOCKS_THERE < blocks <= MOST_BLOCKS:
            machine.say(f"?STORE ENDS AT {BLOCKS_THERE}\n")
        else:
            machine.say(f"?{FEWEST_BLOCKS} TO {MOST_BLOCKS}\n")


def _day(machine: Bittern) -> Dialogue:
    while True:
        machine.say("DATE, DD-MM-YY\n")
        answer = yield from question(machine, "DATE, DD-MM-YY")
        day = _read_day(answer)
        if isinstance(day, str):
            machine.note("refused", answer)
            machine.say(day + "\n")
        elif (yield from yes_or_no(machine, f"{day:%a %d %b %Y}, RIGHT".upper())):
            return day


def _read_day(answer: str) -> date | str:
    """The day, or what the loader prints about the answer."""
    parts = re.fullmatch("([0-9]{2})-([0-9]{2})-([0-9]{2})", answer)
    if parts is None:
        return "?NOT A DATE"
    day, month, year = map(int, parts.groups())
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return f"?YEAR {FIRST_YEAR} TO {LAST_YEAR}"
    try:
        return date(1900 + year, month, day)
    except ValueError:
        return "?NO SUCH DAY"
