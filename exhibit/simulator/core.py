"""The Whimbrel: a pure core, driven by virtual time. No thread, no clock, no input or output of its own.

    machine = Whimbrel(Options())
    machine.panel("key on", at_us=0)
    machine.receive(b"HELP\\r", at_us=2_000_000)
    for at_us, data in machine.advance(to_us=5_000_000): ...

Two machines with the same options behave the same if they get the same bytes and acts at the same times.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.disc import BIG, SMALL, Drive, Pack
from exhibit.simulator.faults import BadLine, Faults
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.panel import FaultActs, Panel
from exhibit.simulator.processor import Processor
from exhibit.simulator.program import Steps
from exhibit.simulator.serial_line import SerialLine
from exhibit.simulator.starter import Starter
from exhibit.simulator.tidebook.book import Book
from exhibit.simulator.tidebook.system import Tidebook
from exhibit.simulator.truth import DiscFailed, PlaceEntered, PowerChanged, Record, TruthLog

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

    `chance` seeds its dice. `notices_every_s` is the mean time between the harbour office's own notices while
    the office is open, in virtual seconds; 0 means none. `scatter` is how much the times in which the drives
    come up to speed vary, as a share of them (a normal deviation); 0 means not at all.
    """

    baud: int = 2400
    parity: Literal["none", "even"] = "none"
    one_char_buffer: bool = False
    chance: int = 1
    notices_every_s: float = 0.0
    scatter: float = 0.0
    keep_truth: bool = True


class Whimbrel:
    """The whole machine: it makes the parts, joins them, and gives each the few things it needs.

    `place` is the state it is in, as in `truth.PlaceEntered`; `tidebook` is None unless TIDEBOOK runs.
    """

    def __init__(
        self, options: Options | None = None, truth_sink: Callable[[Record], None] | None = None
    ) -> None:
        self.options = options or Options()
        self.agenda = Agenda()
        self.truth = TruthLog(keep=self.options.keep_truth, sink=truth_sink)
        self.faults = Faults()
        # Line and discs have dice of their own: a garbled character doesn't change where a disc fails.
        line_dice = random.Random(self.options.chance)
        disc_dice = random.Random(self.options.chance + 1)
        self._notice_dice = random.Random(self.options.chance + 2)
        self.line = SerialLine(
            self.agenda,
            self.truth,
            BadLine(self.faults, line_dice),
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
                disc_dice,
                self.truth,
                self._drive_changed,
                self._disc_failed,
                self.options.scatter,
            )
            for name, geometry in (("SMALL", SMALL), ("UPPER", BIG), ("LOWER", BIG))
        }
        self.drives["SMALL"].pack = Pack("STARTER 5")
        self.drives["SMALL"].protected = False
        self.processor = Processor(self.agenda, self.line, self.keyboard, self.drives)
        self.place = "off"
        self.book = Book()
        self.tidebook: Tidebook | None = None
        self._next_notice: Booking | None = None
        self._panel = Panel(
            self.agenda,
            self.truth,
            self,
            self.drives,
            [Pack("SALLOW 1", holds_tidebook=True), Pack("SALLOW 2")],
            FaultActs(self.faults, self.processor.jobs, self.line.send_flow, self._give_harbour_notice),
        )
        self._starter = Starter(
            drives=self.drives,
            switches=lambda: self._panel.switches,
            enter=self._enter,
            forget_typed_ahead=self.keyboard.forget_typed_ahead,
            forget_news=self.processor.forget_news,
            tidebook=self._run_tidebook,
        )

    # ---- from outside

    def receive(self, data: bytes, at_us: int) -> None:
        """Take bytes that were put on the line at its far end at `at_us`; each takes its character time."""
        self.line.receive(data, at_us)

    def panel(self, act: str, at_us: int) -> str:
        """Do something at the front of the machine; returns `done: ...` or `refused: ...`."""
        self.agenda.run_until(at_us)
        return self._panel.do(act)

    def advance(self, to_us: int) -> list[tuple[int, bytes]]:
        """Let time pass; returns each byte that reached the far end of the line, with its time."""
        self.agenda.run_until(to_us)
        out, self.line.outbox = self.line.outbox, []
        return out

    def next_event_us(self) -> int | None:
        """When something will next happen by itself, or None if nothing will."""
        return self.agenda.next_us()

    # ---- the processor's cabinet, as the front panel uses it

    @property
    def powered(self) -> bool:
        """The processor has power."""
        return self.line.powered

    def power_on(self) -> None:
        """Give the processor power: its lasting store runs."""
        self.truth.add(PowerChanged(at_us=self.agenda.now_us, on=True))
        self.line.powered = True
        self.processor.begin_front(self._starter.lasting_store())

    def power_off(self) -> None:
        """Take the processor's power away."""
        self._stop_everything()
        self.line.powered = False
        self.truth.add(PowerChanged(at_us=self.agenda.now_us, on=False))
        self._enter("off")

    def halt(self) -> None:
        """Stop whatever runs, and run the lasting store: HALT was pressed."""
        self._stop_everything()
        self.processor.begin_front(self._starter.lasting_store(halted=True))

    def start(self) -> None:
        """Start what the switches say: START was pressed."""
        self.processor.wake(("start", None))

    def _stop_everything(self) -> None:
        if self.tidebook is not None:
            self.tidebook.jobs.record_all_cut_off()
        self.processor.stop_all()
        for drive in self.drives.values():
            drive.forget(report=False)
        self.keyboard.reset()
        self.line.drop_queue()
        self.tidebook = None

    # ---- what the starter and TIDEBOOK ask of the machine

    def _enter(self, place: str) -> None:
        """The machine enters another state."""
        self.place = place
        self.truth.add(PlaceEntered(at_us=self.agenda.now_us, place=place))
        if self._next_notice is not None:
            self._next_notice.call_off()
        if place == "open" and self.options.notices_every_s:
            self._book_harbour_notice()

    def _run_tidebook(self, system_drive: str) -> Steps:
        self.tidebook = Tidebook(
            system_drive=system_drive,
            book=self.book,
            agenda=self.agenda,
            processor=self.processor,
            keyboard=self.keyboard,
            line=self.line,
            drives=self.drives,
            faults=self.faults,
            truth=self.truth,
            enter=self._enter,
        )
        yield from self.tidebook.run()
        self.tidebook = None
        self._enter("stopped")

    # ---- the harbour office

    def _give_harbour_notice(self, text: str) -> bool:
        """Give a notice from the harbour office; returns False if TIDEBOOK doesn't run or has no date yet."""
        if self.tidebook is None or not self.tidebook.clock.confirmed:
            return False
        self.tidebook.notices.give_from_harbour(text)
        return True

    def _book_harbour_notice(self) -> None:
        wait_s = self.options.notices_every_s * self._notice_dice.uniform(0.5, 1.5)
        self._next_notice = self.agenda.after(round(wait_s * 1_000_000), self._harbour_notice_due)

    def _harbour_notice_due(self) -> None:
        self._give_harbour_notice(self._notice_dice.choice(HARBOUR_SAYS))
        self._book_harbour_notice()

    # ---- what the drives report

    def _drive_changed(self, drive: Drive) -> None:
        if drive.state == "ready":
            news = drive.ready_text()
        elif drive.state == "standing":
            news = f"{drive.name} STOPPED"
        else:
            return
        if self.tidebook is not None:
            self.tidebook.notices.give(news)
        else:
            self.processor.wake(("drive", news))

    def _disc_failed(self, failure: DiscFailed) -> None:
        if self.tidebook is not None:
            self.tidebook.log_failure(failure)
