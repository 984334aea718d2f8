"""The fixed store, and the starter that it reads from the small disc."""

from calendar import isleap
from collections.abc import Generator
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from exhibit.simulator.dialogue import check, read_with_dots
from exhibit.simulator.programs import WEEKDAYS
from exhibit.simulator.tidebook import tidebook
from exhibit.simulator.wishes import Ask, News, Say, Steps, Wish, Work

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

STARTER_SWITCHES = 0o14000200
CORE_TEST_US = 500_000
STARTER_SECTORS = 64
TIDEBOOK_SECTORS = 320
EARLIEST_YEAR, LATEST_YEAR = 1970, 1989


def fixed_store(machine: "Whimbrel", *, halted: bool = False) -> Steps:
    """What the processor does by itself: say when drives are ready, and start what it is told to."""
    machine.enter("fixed store")
    if halted:
        yield Say("\r\nHALTED\r\nSET THE SWITCHES AND PRESS START\r\n")
    else:
        # Later ones are news, and come by themselves.
        ready_before = [drive for drive in machine.drives.values() if drive.state == "ready"]
        yield Work(CORE_TEST_US)
        yield Say("WHIMBREL FIXED STORE. CORE 65536 WORDS SOUND\r\nSET THE SWITCHES AND PRESS START\r\n")
        for drive in ready_before:
            yield Say(f"{machine.ready_text(drive)}\r\n")
    while True:
        what, subject = yield News()
        if what == "drive":
            yield Say(f"{subject}\r\n")
        elif machine.switches != STARTER_SWITCHES:
            yield Say("NOTHING STARTS THERE\r\n")
        elif machine.drives["SMALL"].state != "ready":
            yield Say("SMALL NOT READY\r\n")
        else:
            if (yield from read_with_dots(machine, "SMALL", range(STARTER_SECTORS), 0)):
                yield from starter(machine)
                # What drives did meanwhile was not for the fixed store to say.
                machine.processor.drop_news()
            else:
                yield Say("CANNOT READ SMALL\r\n")


def starter(machine: "Whimbrel") -> Steps:
    """Ask for the day, then do as told until HALT, or until TIDEBOOK has run and stopped."""
    machine.enter("starter")
    machine.keyboard.forget_ahead()
    yield Say("\r\nSTARTER, SEVENTH EDITION. HARBOUR OFFICE OF SALLOWMOUTH\r\n")
    day = None
    while day is None:
        day = read_day_of_year((yield Ask("DAY OF YEAR AND YEAR? ")))
        if day is None:
            yield Say(f"THE STARTER HOLDS {EARLIEST_YEAR} TO {LATEST_YEAR}, AS IN 60 1973\r\n")
    number = day.timetuple().tm_yday
    yield Say(f"DAY {number} OF {day.year}, {WEEKDAYS[day.weekday()]}\r\n")
    while True:
        command = yield Ask("STARTER: ")
        yield Work(10_000)
        match command.split():
            case []:
                pass
            case ["DRIVES"]:
                yield Say(machine.drive_table())
            case ["LOAD", "TIDEBOOK"]:
                if (yield from load(machine)):
                    yield from tidebook(machine)
                    return
            case ["CHECK", name] if name in machine.drives:
                yield from check(machine, name)
            case ["HALT"]:
                machine.enter("fixed store")
                yield Say("SET THE SWITCHES AND PRESS START\r\n")
                return
            case ["HELP"]:
                yield Say("DRIVES, LOAD TIDEBOOK, CHECK SMALL (UPPER, LOWER), HALT, HELP\r\n")
            case _:
                yield Say(f"NOT UNDERSTOOD: {command}\r\n")


def read_day_of_year(answer: str) -> date | None:
    """The day that an answer such as `329 1970` means, or None if it is not one the starter holds."""
    parts = answer.split()
    if len(parts) != 2 or not all(part.isdigit() and len(part) <= 4 for part in parts):
        return None
    number, year = int(parts[0]), int(parts[1])
    if not EARLIEST_YEAR <= year <= LATEST_YEAR or not 1 <= number <= 365 + isleap(year):
        return None
    return date(year, 1, 1) + timedelta(days=number - 1)


def load(machine: "Whimbrel") -> Generator[Wish, Any, bool]:
    """Ask which drive, and read TIDEBOOK from it. False if that could not be."""
    while True:
        name = (yield Ask("FROM WHICH DRIVE, SMALL UPPER OR LOWER (UPPER)? ")) or "UPPER"
        if name in machine.drives:
            break
        yield Say("SMALL, UPPER OR LOWER, OR RETURN ALONE\r\n")
    drive = machine.drives[name]
    if drive.state != "ready" or drive.pack is None:
        yield Say(f"{name} NOT READY\r\n")
        return False
    if not drive.pack.holds_tidebook:
        yield Say(f"NO TIDEBOOK ON {name}\r\n")
        return False
    machine.loaded_from = name
    yield Say(f"LOADING FROM {drive.pack.label} ")
    if not (yield from read_with_dots(machine, name, range(TIDEBOOK_SECTORS), 20)):
        yield Say(f" CANNOT READ {name}\r\n")
        return False
    yield Say(" LOADED\r\n")
    return True
