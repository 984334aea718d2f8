"""The Dunlin's load display: a screen on which only the cells that change are painted, every two seconds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from exhibit.simulator.agenda import Booking
from tests.foreign import dunlin_screen as screen
from tests.foreign.jobs import Jobs

if TYPE_CHECKING:
    from tests.foreign.dunlin import Dunlin

EVERY_US = 2_000_000
BAR_CHARS = 30


class LoadDisplay:
    """The display, and what it has shown."""

    def __init__(self, machine: Dunlin, jobs: Jobs) -> None:
        self.figures: list[tuple[int, dict[str, int]]] = []
        """What each frame was to show, and when it was begun."""
        self.shown = False
        self.tear = ""
        """A notice that waits until it can break into a frame."""
        self._machine = machine
        self._jobs = jobs
        self._cells = screen.Cells()
        self._next: Booking | None = None
        self._reads = 0

    def begin(self) -> None:
        """From now on the display is on the screen."""
        self.shown = True
        self._next = self._machine.agenda.after(EVERY_US, self._update)

    def end(self) -> None:
        """The display is put away."""
        self.shown = False
        self.tear = ""
        if self._next is not None:
            self._next.call_off()

    def count_anew(self) -> None:
        """The machine halts: what it read counts from its next loading."""
        self._reads = 0

    def painted(self) -> str:
        """What paints all of it."""
        self._cells.forget()
        head = screen.CLEAR + screen.reversed_row(1, " LOAD OF THE HOST") + screen.at(3, 4) + "processor"
        head += screen.at(5, 4) + "store" + screen.at(8, 4) + screen.REVERSE
        head += "unit    reads   waits" + screen.PLAIN + screen.at(9, 4) + "d0" + screen.at(10, 4) + "d1"
        head += screen.at(13, 4) + "jobs" + screen.at(22) + "q: leave   CONTROL and W: paint again"
        return head + self._frame()

    def _update(self) -> None:
        # A frame that can't go out yet is left out: the line may be stopped by XOFF.
        line, agenda = self._machine.line, self._machine.agenda
        if line.idle:
            line.put(screen.sequences(self._frame() + screen.at(screen.PROMPT_ROW)), echo=True)
            if self.tear:
                agenda.after(line.waiting_chars * line.char_us // 2, self._break_in)
        self._next = agenda.after(EVERY_US, self._update)

    def _break_in(self) -> None:
        if self.tear:
            self._machine.break_in(self.tear)
            self.tear = ""

    def _frame(self) -> str:
        figures = self._figures()
        self.figures.append((self._machine.agenda.now_us, figures))
        return "".join(self._cells.changed(self._cells_of(figures)))

    def _figures(self) -> dict[str, int]:
        chance = self._machine.chance
        sieves = sum(job.kind == "sieve" for job in self._jobs)
        weaves = len(self._jobs) - sieves
        self._reads += weaves * chance.randint(80, 120) + chance.randint(0, 3)
        return {
            "processor": min(99, 2 + 38 * sieves + 9 * weaves + chance.randint(0, 4)),
            "store": 21 + 6 * len(self._jobs) + chance.randint(0, 2),
            "reads": self._reads % 100_000,
            "waits": weaves * chance.randint(0, 5),
            "jobs": len(self._jobs),
        }

    def _cells_of(self, figures: dict[str, int]) -> Iterator[tuple[int, int, str]]:
        yield 1, screen.CLOCK_COLUMN, f"{self._machine.clock():%H:%M:%S}"
        for row, name in ((3, "processor"), (5, "store")):
            filled = round(figures[name] * BAR_CHARS / 100)
            yield row, 16, "=" * filled + "." * (BAR_CHARS - filled)
            yield row, 18 + BAR_CHARS, f"{figures[name]:3} %"
        yield 9, 10, f"{0:7} {0:7}"
        yield 10, 10, f"{figures['reads']:7} {figures['waits']:7}"
        yield 13, 16, f"{figures['jobs']:3}"
