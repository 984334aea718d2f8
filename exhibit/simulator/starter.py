"""The lasting store, and the starter that it reads from the small disc."""

from calendar import isleap
from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from exhibit.simulator.dialogue import WEEKDAYS, check, read_with_dots
from exhibit.simulator.disc import Drive, drive_table
from exhibit.simulator.program import Ask, News, Request, Say, Steps, Work

STARTER_SWITCHES = 0o14000200
CORE_TEST_US = 500_000
COMMAND_US = 10_000
STARTER_SECTORS = 64
TIDEBOOK_SECTORS = 320
EARLIEST_YEAR, LATEST_YEAR = 1970, 1989


@dataclass(frozen=True)
class Starter:
    """Both programs, with what they use of the machine.

    `switches` reads the 24 switches. `enter` is called with the name of each state that the machine
    enters. `forget_typed_ahead` empties the keyboard's buffer; `forget_news` drops what drives have
    reported. `tidebook` is TIDEBOOK, loaded from the drive of that name.
    """

    drives: Mapping[str, Drive]
    switches: Callable[[], int]
    enter: Callable[[str], None]
    forget_typed_ahead: Callable[[], None]
    forget_news: Callable[[], None]
    tidebook: Callable[[str], Steps]

    def lasting_store(self, *, halted: bool = False) -> Steps:
        """What the processor does by itself: report drives that are ready, and start the starter."""
        self.enter("lasting store")
        if halted:
            yield Say("\r\nHALTED\r\nSET THE SWITCHES AND PRESS START\r\n")
        else:
            # Drives that become ready from now on report it by themselves, as news.
            ready_before = [drive for drive in self.drives.values() if drive.state == "ready"]
            yield Work(CORE_TEST_US)
            yield Say(
                "WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND\r\nSET THE SWITCHES AND PRESS START\r\n"
            )
            for drive in ready_before:
                yield Say(f"{drive.ready_text()}\r\n")
        while True:
            what, text = yield News()
            if what == "drive":
                yield Say(f"{text}\r\n")
            elif self.switches() != STARTER_SWITCHES:
                yield Say("NOTHING STARTS THERE\r\n")
            elif self.drives["SMALL"].state != "ready":
                yield Say("SMALL NOT READY\r\n")
            elif (yield from read_with_dots(self.drives["SMALL"], range(STARTER_SECTORS), 0)):
                yield from self._starter()
                # Changes of drives in the meantime are not for the lasting store to report.
                self.forget_news()
            else:
                yield Say("CANNOT READ SMALL\r\n")

    def _starter(self) -> Steps:
        """Ask for the day, then obey until HALT, or until TIDEBOOK has run and stopped."""
        self.enter("starter")
        self.forget_typed_ahead()
        yield Say("\r\nSTARTER, FIFTH ISSUE. HARBOUR OFFICE OF SALLOWMOUTH\r\n")
        day = None
        while day is None:
            day = read_day_of_year((yield Ask("DAY OF YEAR AND YEAR? ")))
            if day is None:
                yield Say(f"THE STARTER HOLDS {EARLIEST_YEAR} TO {LATEST_YEAR}, AS IN 60 1973\r\n")
        number = day.timetuple().tm_yday
        yield Say(f"DAY {number} OF {day.year}, {WEEKDAYS[day.weekday()]}\r\n")
        while True:
            command = yield Ask("STARTER: ")
            yield Work(COMMAND_US)
            match command.split():
                case []:
                    pass
                case ["DRIVES"]:
                    yield Say(drive_table(self.drives))
                case ["LOAD", "TIDEBOOK"]:
                    name = yield from self._load_tidebook()
                    if name is not None:
                        yield from self.tidebook(name)
                        return
                case ["CHECK", name] if name in self.drives:
                    yield from check(self.drives[name])
                case ["HALT"]:
                    self.enter("lasting store")
                    yield Say("SET THE SWITCHES AND PRESS START\r\n")
                    return
                case ["HELP"]:
                    yield Say("DRIVES, LOAD TIDEBOOK, CHECK SMALL (UPPER, LOWER), HALT, HELP\r\n")
                case _:
                    yield Say(f"NOT UNDERSTOOD: {command}\r\n")

    def _load_tidebook(self) -> Generator[Request, Any, str | None]:
        """Ask for a drive and read TIDEBOOK from it; returns the drive's name, or None if that failed."""
        while True:
            name: str = (yield Ask("FROM WHICH DRIVE, SMALL UPPER OR LOWER (UPPER)? ")) or "UPPER"
            if name in self.drives:
                break
            yield Say("SMALL, UPPER OR LOWER, OR RETURN ALONE\r\n")
        drive = self.drives[name]
        if drive.state != "ready" or drive.pack is None:
            yield Say(f"{name} NOT READY\r\n")
            return None
        if not drive.pack.holds_tidebook:
            yield Say(f"NO TIDEBOOK ON {name}\r\n")
            return None
        yield Say(f"LOADING FROM {drive.pack.label} ")
        if not (yield from read_with_dots(drive, range(TIDEBOOK_SECTORS), 20)):
            yield Say(f" CANNOT READ {name}\r\n")
            return None
        yield Say(" LOADED\r\n")
        return name


def read_day_of_year(answer: str) -> date | None:
    """The day that an answer such as `329 1970` means, or None if the starter can't hold it."""
    parts = answer.split()
    if len(parts) != 2 or not all(part.isdigit() and len(part) <= 4 for part in parts):
        return None
    number, year = int(parts[0]), int(parts[1])
    if not EARLIEST_YEAR <= year <= LATEST_YEAR or not 1 <= number <= 365 + isleap(year):
        return None
    return date(year, 1, 1) + timedelta(days=number - 1)
