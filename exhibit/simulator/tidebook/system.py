"""TIDEBOOK as a whole: its start, one operator, the open office, and its stop."""

from collections.abc import Callable, Generator, Mapping
from datetime import datetime
from typing import Any

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.dialogue import WEEKDAYS, ask_yes, check, day_text, read_with_dots
from exhibit.simulator.disc import Drive, drive_table
from exhibit.simulator.faults import Faults
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.processor import Processor
from exhibit.simulator.program import Ask, Job, Request, Say, Steps, Transfer, Work
from exhibit.simulator.serial_line import SerialLine
from exhibit.simulator.tidebook.board import Board
from exhibit.simulator.tidebook.book import Book
from exhibit.simulator.tidebook.clock import Clock
from exhibit.simulator.tidebook.desks import COMMAND_US, WORDS, Desk, Keeper
from exhibit.simulator.tidebook.jobs import JobTable
from exhibit.simulator.tidebook.notices import Notices
from exhibit.simulator.tidebook.programs import Programs
from exhibit.simulator.truth import DeskLeft, DeskTaken, DiscFailed, TruthLog

EARLIEST_YEAR, LATEST_YEAR = 1970, 1999
BOOK_SECTORS = 160
BOOK_TRACK = 100


class Tidebook:
    """TIDEBOOK from its loading until it stops or the machine does.

    `system_drive` is the drive it was loaded from. `enter` is called with the name of each state that the
    machine enters. `desk` is the one that is signed on now, or empty.
    """

    def __init__(
        self,
        *,
        system_drive: str,
        book: Book,
        agenda: Agenda,
        processor: Processor,
        keyboard: Keyboard,
        line: SerialLine,
        drives: Mapping[str, Drive],
        faults: Faults,
        truth: TruthLog,
        enter: Callable[[str], None],
    ) -> None:
        self.desk = ""
        self.clock = Clock(agenda)
        self.notices = Notices(agenda, self.clock, keyboard, line, truth)
        self.board = Board(agenda, self.clock, processor, keyboard, drives, self.notices, truth)
        programs = Programs(agenda, self.clock, drives, system_drive, truth)
        self.jobs = JobTable(agenda, processor, keyboard, faults, truth, programs)
        self._keeper = Keeper(self.clock, self.jobs, self.notices, drives, book, self._common_reply)
        self._system_drive = drives[system_drive]
        self._book = book
        self._agenda = agenda
        self._drives = drives
        self._truth = truth
        self._enter = enter
        processor.on_end = self._job_ended

    def run(self) -> Steps:
        """Everything from the sign-on to STOP TIDEBOOK."""
        yield from self._start()
        while True:
            self._enter("one operator")
            if (yield from self._one_operator()):
                return
            self._enter("open")
            yield from self._open_office()

    def log_failure(self, failure: DiscFailed) -> None:
        """Add a disc failure to the error log; without a date it can't be logged."""
        if self.clock.confirmed:
            self._book.add_failure(self.clock.moment_text(), failure)

    def _job_ended(self, job: Job) -> None:
        self.jobs.record_over(job, "ended")
        if job.desk == self.desk and not job.tray.followed:
            self.notices.give(f"JOB {job.number} {job.name} ENDED: {job.outcome()}")

    # ---- starting

    def _start(self) -> Steps:
        """Sign on, and ask the questions that must be answered before anybody can use the machine."""
        self._enter("tidebook")
        yield Say(f"\r\nTIDEBOOK, FOURTH ISSUE, FROM {self._system_drive.label}\r\n")
        while not self.clock.confirmed:
            yield from self._ask_date()
        if self._book.left_open and (yield from ask_yes("THE BOOK WAS LEFT OPEN. CHECK IT", default=True)):
            yield from check(self._drives["SMALL"])
        self._book.left_open = True
        if not (yield from ask_yes("KEEP THE ERROR LOG", default=True)):
            self._book.error_log.clear()
        self.notices.wanted = yield from ask_yes("NOTICES ON THIS CONSOLE", default=True)
        yield Say("ONE OPERATOR. THE OFFICE IS CLOSED\r\n")

    def _ask_date(self) -> Steps:
        """Ask for date and time, set the clock, and ask whether it is right."""
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
        self.clock.set(moment)
        number = moment.timetuple().tm_yday
        text = f"{WEEKDAYS[moment.weekday()]} {day_text(moment)}, DAY {number}. RIGHT"
        self.clock.confirmed = yield from ask_yes(text, default=True)

    # ---- one operator

    def _one_operator(self) -> Generator[Request, Any, bool]:
        """Serve the one operator; returns False once the office is open, True once TIDEBOOK has stopped."""
        while True:
            command = yield Ask("ONE OPERATOR: ")
            yield Work(COMMAND_US)
            match command.split():
                case ["OPEN", "THE", "OFFICE"]:
                    desks = " ".join(sorted(WORDS))
                    yield Say(f"OFFICE OPEN AT {self.clock.time_text()}. DESKS: {desks}\r\n")
                    return False
                case ["STOP", "TIDEBOOK"]:
                    sure = yield from ask_yes("STOP TIDEBOOK, SURE", default=False)
                    if sure and (yield from self._stop()):
                        return True
                case ["CHECK", name] if name in self._drives:
                    yield from check(self._drives[name])
                case ["HELP"]:
                    yield Say("OPEN THE OFFICE, DRIVES, LOG, CHECK, TIME, STOP TIDEBOOK, HELP\r\n")
                case _:
                    yield Say(self._common_reply(command))

    def _stop(self) -> Generator[Request, Any, bool]:
        """Write the book back, after which the drives may be stopped; returns whether that worked."""
        yield Say("WRITING THE BOOK BACK ")
        if not (yield from read_with_dots(self._drives["SMALL"], range(BOOK_SECTORS), 10, writing=True)):
            yield Say("\r\nCANNOT: SMALL CANNOT BE WRITTEN\r\n")
            return False
        yield Say(" WRITTEN\r\n")
        yield Say(f"TIDEBOOK STOPPED AT {self.clock.time_text()}. THE DRIVES MAY BE STOPPED\r\n")
        self._book.left_open = False
        return True

    def _common_reply(self, command: str) -> str:
        """The reply to a command that works anywhere under TIDEBOOK; else NOT UNDERSTOOD."""
        match command.split():
            case []:
                return ""
            case ["DRIVES"]:
                return drive_table(self._drives)
            case ["TIME"]:
                return self.clock.moment_text() + "\r\n"
            case ["LOG"]:
                return self._book.log_text()
        return f"NOT UNDERSTOOD: {command}\r\n"

    # ---- the open office

    def _open_office(self) -> Steps:
        """Serve whoever takes a desk, until the office is closed again."""
        closed = False
        while not closed:
            command = yield Ask("NO DESK: ")
            yield Work(COMMAND_US)
            match command.split():
                case ["TAKE", desk] if desk in WORDS:
                    closed = yield from self._sign_on(desk)
                case ["TAKE", desk]:
                    yield Say(f"CANNOT: NO DESK {desk}\r\n")
                case ["HELP"]:
                    yield Say("TAKE DESK, TIME, HELP\r\n")
                case ["DRIVES"] | ["LOG"]:
                    yield Say(f"NOT UNDERSTOOD: {command}\r\n")
                case _:
                    yield Say(self._common_reply(command))

    def _sign_on(self, desk: str) -> Generator[Request, Any, bool]:
        """Ask for the desk's word and serve the desk; returns True if the office was closed there."""
        word = yield Ask(f"WORD FOR DESK {desk}? ", secret=True)
        self.notices.give_delayed()
        yield Work(COMMAND_US)
        if word is None:
            return False
        if word != WORDS[desk]:
            yield Say("THAT IS NOT THE WORD\r\n")
            return False
        self.desk = desk
        self._truth.add(DeskTaken(at_us=self._agenda.now_us, desk=desk))
        yield self._enter_in_book()
        served = Desk(desk, self.clock, self.jobs, self.board, self._keeper, self._common_reply)
        closed = yield from served.serve()
        self._truth.add(DeskLeft(at_us=self._agenda.now_us, desk=desk))
        if not closed:
            yield self._enter_in_book()
        self.desk = ""
        return closed

    def _enter_in_book(self) -> Transfer:
        """Write in the book, on the small disc, that somebody has taken or left a desk."""
        second = self._agenda.now_us // 1_000_000
        return Transfer("SMALL", BOOK_TRACK, second % self._drives["SMALL"].geometry.sectors, second)


def read_date(answer: str) -> datetime | None:
    """The day that an answer such as `25.11.1998` means, or None if TIDEBOOK can't hold it."""
    numbers = _numbers(answer, (2, 2, 4))
    if numbers is None or not EARLIEST_YEAR <= numbers[2] <= LATEST_YEAR:
        return None
    try:
        return datetime(numbers[2], numbers[1], numbers[0])  # noqa: DTZ001 no zones here
    except ValueError:
        return None


def read_time(answer: str, day: datetime) -> datetime | None:
    """The moment of `day` that an answer such as `9.05` means, or None if it means none."""
    numbers = _numbers(answer, (2, 2))
    if numbers is None or numbers[0] > 23 or numbers[1] > 59:
        return None
    return day.replace(hour=numbers[0], minute=numbers[1])


def _numbers(answer: str, lengths: tuple[int, ...]) -> list[int] | None:
    """The numbers between the dots, or None unless there is one of at most each of these lengths."""
    parts = answer.strip().split(".")
    if len(parts) != len(lengths):
        return None
    if not all(part.isdigit() and len(part) <= length for part, length in zip(parts, lengths, strict=True)):
        return None
    return [int(part) for part in parts]
