"""TIDEBOOK, the operating system: its start, one operator, the open office, and its stop."""

from collections.abc import Generator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Any

from exhibit.simulator.desks import WORDS, at_desk
from exhibit.simulator.dialogue import ask_yes, check, read_with_dots
from exhibit.simulator.programs import WEEKDAYS, day_text
from exhibit.simulator.truth import DeskTaken
from exhibit.simulator.wishes import Ask, Say, Steps, Wish, Work

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

EARLIEST_YEAR, LATEST_YEAR = 1970, 1999
MOST_JOBS = 8
BOOK_SECTORS = 160
LOG_KEEPS = 200
LOG_SHOWS = 12
COMMAND_US = 15_000


@dataclass
class Book:
    """What TIDEBOOK knows while it runs."""

    began_us: int
    set_us: int = 0
    set_to: datetime = datetime(1970, 1, 1)  # noqa: DTZ001 the machine's own clock knows no zones
    dated: bool = False
    open: bool = False
    notices: bool = True
    most_jobs: int = 6
    next_number: int = 1
    desk: str = ""
    board_up: bool = False
    last_notice: str = ""
    late_notices: list[str] = field(default_factory=list)
    errors_before: dict[str, int] = field(default_factory=dict)
    transfers_before: dict[str, int] = field(default_factory=dict)

    def clock(self, now_us: int) -> datetime:
        """The time that the machine believes it is."""
        return self.set_to + timedelta(microseconds=now_us - self.set_us)


def tidebook(machine: "Whimbrel") -> Steps:
    """From its sign-on to STOP TIDEBOOK."""
    yield from start(machine)
    while True:
        machine.enter("one operator")
        if (yield from one_operator(machine)):
            return
        machine.enter("open")
        yield from open_office(machine)


def start(machine: "Whimbrel") -> Steps:
    """Sign on and ask what has to be known before anybody may use the machine."""
    book = machine.book = Book(machine.agenda.now_us)
    book.errors_before = {name: drive.errors for name, drive in machine.drives.items()}
    book.transfers_before = {name: drive.transfers for name, drive in machine.drives.items()}
    machine.enter("tidebook")
    label = machine.label_in(machine.loaded_from)
    yield Say(f"\r\nTIDEBOOK, THIRD EDITION, FROM {label}\r\n")
    while not book.dated:
        yield from ask_date(machine, book)
    if machine.left_open and (yield from ask_yes("THE BOOK WAS LEFT OPEN. CHECK IT", default=True)):
        yield from check(machine, "SMALL")
    machine.left_open = True
    if not (yield from ask_yes("KEEP THE ERROR LOG", default=True)):
        machine.error_log.clear()
    book.notices = yield from ask_yes("NOTICES ON THIS CONSOLE", default=True)
    yield Say("ONE OPERATOR. THE OFFICE IS CLOSED\r\n")


def ask_date(machine: "Whimbrel", book: Book) -> Steps:
    """Ask for date and time, and whether they are right; set the clock if so."""
    day = None
    while day is None:
        day = read_date((yield Ask("DATE, DAY.MONTH.YEAR? ")))
        if day is None:
            yield Say(f"TIDEBOOK HOLDS {EARLIEST_YEAR} TO {LATEST_YEAR}, AS IN 1.3.1973\r\n")
    moment = None
    while moment is None:
        moment = read_time((yield Ask("TIME, HOURS.MINUTES? ")), day)
        if moment is None:
            yield Say("00.00 TO 23.59, AS IN 9.05\r\n")
    book.set_us, book.set_to = machine.agenda.now_us, moment
    number = moment.timetuple().tm_yday
    text = f"{WEEKDAYS[moment.weekday()]} {day_text(moment)}, DAY {number}. RIGHT"
    book.dated = yield from ask_yes(text, default=True)


def _numbers(answer: str, lengths: tuple[int, ...]) -> list[int] | None:
    parts = answer.strip().split(".")
    if len(parts) != len(lengths):
        return None
    if not all(part.isdigit() and len(part) <= length for part, length in zip(parts, lengths, strict=True)):
        return None
    return [int(part) for part in parts]


def read_date(answer: str) -> datetime | None:
    """The day that an answer such as `25.11.1998` means, or None if it is not one TIDEBOOK holds."""
    numbers = _numbers(answer, (2, 2, 4))
    if numbers is None or not EARLIEST_YEAR <= numbers[2] <= LATEST_YEAR:
        return None
    try:
        return datetime(numbers[2], numbers[1], numbers[0])  # noqa: DTZ001 no zones here
    except ValueError:
        return None


def read_time(answer: str, day: datetime) -> datetime | None:
    """The moment of `day` that an answer such as `9.05` means, or None."""
    numbers = _numbers(answer, (2, 2))
    if numbers is None or numbers[0] > 23 or numbers[1] > 59:
        return None
    return day.replace(hour=numbers[0], minute=numbers[1])


def one_operator(machine: "Whimbrel") -> Generator[Wish, Any, bool]:
    """Serve the one operator until the office is opened (gives False) or TIDEBOOK stopped (True)."""
    while True:
        command = yield Ask("ONE OPERATOR: ")
        yield Work(COMMAND_US)
        match command.split():
            case ["OPEN", "THE", "OFFICE"]:
                machine.need_book().most_jobs = yield from ask_most_jobs()
                machine.need_book().open = True
                desks = " ".join(sorted(WORDS))
                yield Say(f"OFFICE OPEN AT {machine.time_text()}. DESKS: {desks}\r\n")
                return False
            case ["STOP", "TIDEBOOK"]:
                if (yield from ask_yes("STOP TIDEBOOK, SURE", default=False)) and (yield from stop(machine)):
                    return True
            case ["CHECK", name] if name in machine.drives:
                yield from check(machine, name)
            case ["HELP"]:
                yield Say("OPEN THE OFFICE, DRIVES, LOG, CHECK, TIME, STOP TIDEBOOK, HELP\r\n")
            case _:
                yield Say(common_command(machine, command))


def ask_most_jobs() -> Generator[Wish, Any, int]:
    """Ask how many jobs may go on at once; gives the number."""
    while True:
        answer = (yield Ask(f"HOW MANY JOBS AT ONCE, 1 TO {MOST_JOBS} (6)? ")).strip() or "6"
        if answer.isdigit() and len(answer) == 1 and 1 <= int(answer) <= MOST_JOBS:
            return int(answer)
        yield Say(f"A NUMBER FROM 1 TO {MOST_JOBS}, OR RETURN ALONE\r\n")


def common_command(machine: "Whimbrel", command: str) -> str:
    """The reply to what may be said anywhere under TIDEBOOK; NOT UNDERSTOOD if it is nothing."""
    match command.split():
        case []:
            return ""
        case ["DRIVES"]:
            return machine.drive_table()
        case ["TIME"]:
            return machine.moment_text() + "\r\n"
        case ["LOG"]:
            return "".join(f"{line}\r\n" for line in machine.error_log[-LOG_SHOWS:]) or "LOG IS EMPTY\r\n"
    return f"NOT UNDERSTOOD: {command}\r\n"


def stop(machine: "Whimbrel") -> Generator[Wish, Any, bool]:
    """Write the book back; then the drives may be stopped. Gives whether it could be written."""
    yield Say("WRITING THE BOOK BACK ")
    if not (yield from read_with_dots(machine, "SMALL", range(BOOK_SECTORS), 10, writing=True)):
        yield Say("\r\nCANNOT: SMALL CANNOT BE WRITTEN\r\n")
        return False
    yield Say(" WRITTEN\r\n")
    yield Say(f"TIDEBOOK STOPPED AT {machine.time_text()}. THE DRIVES MAY BE STOPPED\r\n")
    machine.left_open = False
    machine.book = None
    machine.enter("stopped")
    return True


def open_office(machine: "Whimbrel") -> Steps:
    """Serve whoever takes a desk, until the office is closed again."""
    book = machine.need_book()
    while book.open:
        command = yield Ask("NO DESK: ")
        yield Work(COMMAND_US)
        match command.split():
            case ["TAKE", desk] if desk in WORDS:
                word = yield Ask(f"WORD FOR DESK {desk}? ", secret=True)
                machine.tell_late_notices()
                yield Work(COMMAND_US)
                if word == WORDS[desk]:
                    book.desk = desk
                    machine.truth.tell(DeskTaken(at_us=machine.agenda.now_us, desk=desk))
                    yield from at_desk(machine, desk)
                    book.desk = ""
                elif word is not None:
                    yield Say("THAT IS NOT THE WORD\r\n")
            case ["TAKE", desk]:
                yield Say(f"CANNOT: NO DESK {desk}\r\n")
            case ["HELP"]:
                yield Say("TAKE DESK, TIME, HELP\r\n")
            case ["DRIVES"] | ["LOG"]:
                yield Say(f"NOT UNDERSTOOD: {command}\r\n")
            case _:
                yield Say(common_command(machine, command))
