"""The Whimbrel: a pure core, stepped by virtual time. No thread, no clock, no input or output of its own.

    machine = Whimbrel(Options())
    machine.panel("key on", at_us=0)
    machine.receive(b"HELP\\r", at_us=2_000_000)
    for at_us, data in machine.advance(to_us=5_000_000): ...

Two machines with the same options, given the same bytes and acts at the same times, do the same.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from exhibit.simulator import desks
from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.disc import BIG, SMALL, Drive, Pack
from exhibit.simulator.faults import BadLine, Faults
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.panel import Panel
from exhibit.simulator.processor import Processor
from exhibit.simulator.serial_line import SerialLine
from exhibit.simulator.starter import fixed_store
from exhibit.simulator.tidebook import LOG_KEEPS, Book, common_command
from exhibit.simulator.truth import NoticeGiven, PlaceEntered, PowerChanged, Record, TruthLog
from exhibit.simulator.wishes import Job

HARBOUR_SAYS = (
    "SWELL ON THE BAR",
    "PILOT BOAT IS OUT",
    "FOG AT THE OUTER MARK",
    "COASTER DUE ON THE NEXT TIDE",
    "LOCK GATE WORKED BY HAND TODAY",
)


@dataclass(frozen=True)
class Options:
    """How the machine is set up.

    `chance` picks the run of its dice; `notices_every_s` is the mean time between the harbour
    office's own notices while the office is open, in virtual seconds, 0 for none.
    """

    baud: int = 2400
    parity: Literal["none", "even"] = "none"
    one_char_buffer: bool = False
    chance: int = 1
    notices_every_s: float = 0.0
    keep_truth: bool = True


class Whimbrel:
    """The whole machine: processor, drives, line, front panel."""

    def __init__(
        self, options: Options | None = None, truth_sink: Callable[[Record], None] | None = None
    ) -> None:
        self.options = options or Options()
        self.agenda = Agenda()
        self.truth = TruthLog(keep=self.options.keep_truth, sink=truth_sink)
        self.faults = Faults()
        # Dice of their own for line and discs: a garbled character doesn't change where a disc errs.
        self._line_dice = random.Random(self.options.chance)
        self._disc_dice = random.Random(self.options.chance + 1)
        self._notice_dice = random.Random(self.options.chance + 2)
        self.line = SerialLine(
            self.agenda,
            self.truth,
            BadLine(self.faults, self._line_dice),
            baud=self.options.baud,
            parity=self.options.parity,
        )
        self.keyboard = Keyboard(
            self.agenda,
            self.line,
            self.faults,
            self.truth,
            one_char_buffer=self.options.one_char_buffer,
        )
        self.drives = {
            name: Drive(
                name,
                geometry,
                self.agenda,
                self.faults,
                self._disc_dice,
                self.truth,
                self._drive_changed,
                self._disc_failed,
            )
            for name, geometry in (("SMALL", SMALL), ("UPPER", BIG), ("LOWER", BIG))
        }
        self.drives["SMALL"].pack = Pack("STARTER 7")
        self.drives["SMALL"].protected = False
        self.shelf = [Pack("SALLOW 1", holds_tidebook=True), Pack("SALLOW 2")]
        self.processor = Processor(self.agenda, self.line, self.keyboard, self.drives)
        self.processor.on_end = self._job_ended
        self.switches = 0
        self.place = "off"
        self.book: Book | None = None
        self.loaded_from = "UPPER"
        # The error log and this mark stand on the small disc, and outlast the power.
        self.error_log: list[str] = []
        self.left_open = False
        self._next_notice: Booking | None = None
        self._panel = Panel(self)

    # ---- from outside

    def receive(self, data: bytes, at_us: int) -> None:
        """Bytes were put on the line at its far end at `at_us`; each takes its character time."""
        self.line.receive(data, at_us)

    def panel(self, act: str, at_us: int) -> str:
        """Do something at the front of the machine; gives `done: ...` or `refused: ...`."""
        self.agenda.run_until(at_us)
        return self._panel.do(act)

    def advance(self, to_us: int) -> list[tuple[int, bytes]]:
        """Let time pass; gives each byte that reached the line's far end, with its time."""
        self.agenda.run_until(to_us)
        out, self.line.outbox = self.line.outbox, []
        return out

    def next_event_us(self) -> int | None:
        """When something will happen by itself, or None if nothing will."""
        return self.agenda.next_us()

    # ---- power

    def power_on(self) -> None:
        """The processor has power: its fixed store runs."""
        self.truth.tell(PowerChanged(at_us=self.agenda.now_us, on=True))
        self.line.powered = True
        self.processor.begin_front(fixed_store(self))

    def power_off(self) -> None:
        """The processor's power is gone."""
        self._stop_everything()
        self.line.powered = False
        self.truth.tell(PowerChanged(at_us=self.agenda.now_us, on=False))
        self.enter("off")

    def halt(self) -> None:
        """HALT was pressed: whatever ran is gone, the fixed store takes over."""
        self._stop_everything()
        self.processor.begin_front(fixed_store(self, halted=True))

    def _stop_everything(self) -> None:
        for job in self.processor.jobs.values():
            if not job.over:
                desks.tell_over(self, job, "cut off", "")
        self.processor.stop_all()
        for drive in self.drives.values():
            drive.forget(tell=False)
        self.keyboard.reset()
        self.line.drop_queue()
        self.book = None

    # ---- what programs ask of the machine

    def enter(self, place: str) -> None:
        """The machine is in another state now."""
        self.place = place
        self.truth.tell(PlaceEntered(at_us=self.agenda.now_us, place=place))
        if self._next_notice is not None:
            self._next_notice.call_off()
        if place == "open" and self.options.notices_every_s:
            self._book_notice()

    def need_book(self) -> Book:
        """TIDEBOOK's own knowledge, while it runs."""
        assert self.book is not None, "TIDEBOOK does not run"
        return self.book

    def time_text(self) -> str:
        """The time of day by the machine's clock: 09.14."""
        return f"{self.need_book().clock(self.agenda.now_us):%H.%M}"

    def moment_text(self) -> str:
        """Day and time by the machine's clock."""
        now = self.need_book().clock(self.agenda.now_us)
        return f"{now.day}.{now.month}.{now.year} {now:%H.%M.%S}"

    def label_in(self, name: str) -> str:
        """The label of the pack in a drive."""
        pack = self.drives[name].pack
        return pack.label if pack is not None else "EMPTY"

    def ready_text(self, drive: Drive) -> str:
        """What is said of a drive that is up to speed."""
        may = "MAY BE WRITTEN" if drive.may_be_written else "PROTECTED"
        return f"{drive.name} READY: {self.label_in(drive.name)}, {may}"

    def drive_table(self) -> str:
        """What DRIVES prints."""
        rows = []
        for drive in self.drives.values():
            may = "" if drive.pack is None else "MAY BE WRITTEN" if drive.may_be_written else "PROTECTED"
            row = f"{drive.name:6s} {drive.state.upper():9s} {self.label_in(drive.name):10s} {may}"
            rows.append(row.rstrip() + "\r\n")
        return "".join(rows)

    def common_command(self, command: str) -> str:
        """The reply to what may be said anywhere under TIDEBOOK."""
        return common_command(self, command)

    def next_job_number(self) -> int:
        """The number that the next job will have; one that is still in the table is passed over."""
        number = self.need_book().next_number
        while number in self.processor.jobs:
            number = number % desks.HIGHEST_NUMBER + 1
        return number

    # ---- notices

    def harbour_notice(self, text: str) -> None:
        """A notice from the harbour office or the keeper."""
        if self.need_book().notices:
            self.notify(f"NOTICE {self.time_text()} {text}")

    def notify(self, text: str) -> None:
        """Break into whatever is on the console, or stand on the board, or wait for a word to be typed."""
        book = self.need_book()
        self.truth.tell(NoticeGiven(at_us=self.agenda.now_us, text=text))
        if book.board_up:
            book.last_notice = f"== {text} =="
        elif self.keyboard.secret:
            book.late_notices.append(text)
        else:
            self.line.interrupt(f"\r\n== {text} ==\r\n")

    def tell_late_notices(self) -> None:
        """A desk's word is no longer being typed: give what was held back."""
        if self.book is not None:
            late, self.book.late_notices = self.book.late_notices, []
            for text in late:
                self.line.put(f"\r\n== {text} ==\r\n")

    def _book_notice(self) -> None:
        wait_s = self.options.notices_every_s * self._notice_dice.uniform(0.5, 1.5)
        self._next_notice = self.agenda.after(round(wait_s * 1_000_000), self._say_notice)

    def _say_notice(self) -> None:
        self.harbour_notice(self._notice_dice.choice(HARBOUR_SAYS))
        self._book_notice()

    # ---- what parts report

    def _drive_changed(self, drive: Drive) -> None:
        if drive.state == "ready":
            news = self.ready_text(drive)
        elif drive.state == "standing":
            news = f"{drive.name} STOPPED"
        else:
            return
        if self.book is not None:
            self.notify(news)
        else:
            self.processor.wake(("drive", news))

    def _disc_failed(
        self, drive: Drive, track: int, sector: int, writing: bool, failures: int, worked: bool
    ) -> None:
        if self.book is None or not self.book.dated:
            return
        self.error_log.append(
            f"{self.moment_text()} {drive.name} TRACK {track} SECTOR {sector} "
            f"{'WRITE' if writing else 'READ'} FAILED {failures} TIMES, {'MENDED' if worked else 'LOST'}"
        )
        del self.error_log[:-LOG_KEEPS]

    def _job_ended(self, job: Job) -> None:
        desks.tell_over(self, job, "ended", "")
        if job.desk == self.need_book().desk and not job.tray.followed:
            self.notify(f"JOB {job.number} {job.name} ENDED: {job.outcome()}")
