"""Jobs that run in a machine's background and end by themselves after some minutes."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from exhibit.simulator.agenda import Booking
from tests.foreign.core import Core


@dataclass
class Running:
    """A job that runs."""

    number: int
    kind: str
    begun_us: int
    ends_us: int
    ending: Booking
    errors: int = 0


class Jobs:
    """The jobs of one machine. `turn_us`: the kinds of job, and how long one turn of each takes."""

    def __init__(
        self, core: Core, first_number: int, turn_us: Mapping[str, int], over: Callable[[Running], None]
    ) -> None:
        self._core = core
        self._first_number = first_number
        self._next_number = first_number
        self._turn_us = turn_us
        self._over = over
        self._running: dict[int, Running] = {}

    def __len__(self) -> int:
        return len(self._running)

    def __iter__(self) -> Iterator[Running]:
        return iter(self._running.values())

    def begin(self, kind: str, minutes: int) -> Running:
        """Begin a job."""
        number, now_us = self._next_number, self._core.agenda.now_us
        self._next_number += 1
        ends_us = now_us + minutes * 60_000_000
        ending = self._core.agenda.at(ends_us, lambda: self._end(number))
        job = self._running[number] = Running(number, kind, now_us, ends_us, ending)
        self._core.note("job begun", kind, number, ends_us)
        return job

    def stop(self, number: int) -> Running | None:
        """Stop a job before its time; None if there is no such job."""
        job = self._running.pop(number, None)
        if job is not None:
            job.ending.call_off()
            self._core.note("job ended", job.kind, number)
        return job

    def stop_all(self) -> int:
        """Stop all jobs; returns how many."""
        count = len(self)
        self._core.note("jobs stopped", f"{count}")
        self._forget()
        return count

    def end_with_machine(self) -> None:
        """The machine halts, and with it all jobs. The next time it counts from the first number again."""
        self._forget()
        self._next_number = self._first_number

    def turns(self, job: Running) -> int:
        """How many turns the job has made."""
        return (self._core.agenda.now_us - job.begun_us) // self._turn_us[job.kind]

    def left_s(self, job: Running) -> int:
        """How many seconds the job will go on."""
        return (job.ends_us - self._core.agenda.now_us) // 1_000_000

    def _end(self, number: int) -> None:
        job = self._running.pop(number)
        self._core.note("job ended", job.kind, number)
        self._over(job)

    def _forget(self) -> None:
        for job in self:
            job.ending.call_off()
        self._running.clear()
