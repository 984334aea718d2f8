"""The job table: jobs are begun, followed and stopped here, and leave the table again."""

from collections.abc import Generator
from typing import Any, Literal

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.faults import Faults
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.processor import Processor
from exhibit.simulator.program import ENDED, LET_GO, Follow, Job, Pause, Request, Say, Steps, Work
from exhibit.simulator.tidebook.programs import Programs
from exhibit.simulator.truth import JobBegun, JobOver, TruthLog

MOST_JOBS = 6
KEEPS_ENDED = 4
HIGHEST_NUMBER = 999
PIECE_US = 2_000
LOOKALIKE_US = 2_000_000


class JobTable:
    """The jobs of all desks. `next_number`: the number from which the next job's is sought."""

    def __init__(
        self,
        agenda: Agenda,
        processor: Processor,
        keyboard: Keyboard,
        faults: Faults,
        truth: TruthLog,
        programs: Programs,
    ) -> None:
        self.next_number = 1
        self._agenda = agenda
        self._processor = processor
        self._keyboard = keyboard
        self._faults = faults
        self._truth = truth
        self._programs = programs

    def going(self) -> list[Job]:
        """The jobs that go on, of all desks."""
        return [job for job in self._processor.jobs.values() if not job.over]

    def going_at(self, desk: str) -> int:
        """How many jobs of a desk go on."""
        return sum(job.desk == desk for job in self.going())

    def text(self) -> str:
        """The job table, as JOBS prints it."""
        rows = [
            f"{job.number:3d}  {job.name:8s} {job.desk:8s} {job.seconds_text():>7s}"
            f"  {self._processor.state_of(job)}\r\n"
            for job in self._processor.jobs.values()
        ]
        return "JOB  NAME     DESK     SECONDS  STATE\r\n" + "".join(rows) if rows else "NO JOBS\r\n"

    # ---- beginning

    def begin(self, desk: str, words: list[str]) -> Generator[Request, Any, Job | None]:
        """Begin the job that the words ask for and say so; returns the job, or None if that can't be."""
        job = self._new_job(desk, words)
        if isinstance(job, str):
            yield Say(job + "\r\n")
            return None
        self._forget_oldest_ended()
        self._truth.add(
            JobBegun(at_us=self._agenda.now_us, number=job.number, name=job.name, desk=desk, text=job.text)
        )
        yield Say(f"JOB {job.number} BEGUN: {job.text}\r\n")
        self._processor.begin(job)
        return job

    def _new_job(self, desk: str, words: list[str]) -> Job | str:
        """The job that the words ask for, or the reply that says why it can't be begun."""
        going = len(self.going())
        if going >= MOST_JOBS:
            return f"CANNOT: {going} JOBS GO ON ALREADY"
        job = Job(self._free_number(), words[0] if words else "", desk, " ".join(words), _nothing())
        steps = self._programs.steps_of(job, words)
        if isinstance(steps, str):
            return steps
        job.steps = steps
        self.next_number = job.number % HIGHEST_NUMBER + 1
        return job

    def _free_number(self) -> int:
        """The next job's number; those that are still in the table are skipped."""
        number = self.next_number
        while number in self._processor.jobs:
            number = number % HIGHEST_NUMBER + 1
        return number

    def _forget_oldest_ended(self) -> None:
        ended = [job.number for job in self._processor.jobs.values() if job.over]
        for number in ended[: max(0, len(ended) - KEEPS_ENDED + 1)]:
            del self._processor.jobs[number]

    # ---- following and stopping

    def call(self, desk: str, number: str) -> Steps:
        """Call a job back to the console."""
        job = self._find(desk, number)
        if isinstance(job, str):
            yield Say(job)
        else:
            yield from self.follow(job)

    def follow(self, job: Job) -> Steps:
        """Print what the job prints, until it is over or CANCEL is typed."""
        self._keyboard.watch_cancel(self._processor.let_go)
        job.tray.set_followed(True)
        while True:
            piece = yield Follow(job)
            if piece is ENDED:
                self._processor.jobs.pop(job.number, None)
                yield Say(f"JOB {job.number} ENDED\r\n")
                break
            if piece is LET_GO:
                yield Say(f"JOB {job.number} LET GO\r\n")
                break
            yield Work(PIECE_US)
            yield Say(piece)
            if self._faults.lookalike:
                self._faults.lookalike = False
                yield Say(f"DESK {job.desk}: ")
                yield Pause(LOOKALIKE_US)
                yield Say("IS NOT WHAT IT LOOKS LIKE\r\n")
        job.tray.set_followed(False)
        self._keyboard.watch_cancel(None)

    def stop(self, desk: str, number: str) -> str:
        """Stop a job and clear it from the table; returns the reply."""
        job = self._find(desk, number)
        if isinstance(job, str):
            return job
        already_over = job.over
        if not already_over:
            self._end(job, desk)
        self._processor.jobs.pop(job.number, None)
        return (
            f"JOB {job.number} {'HAD ENDED' if already_over else 'STOPPED'}: {job.name}, {job.outcome()}\r\n"
        )

    def stop_all(self, jobs: list[Job], by: str) -> None:
        """Stop those of the jobs that still go on, and clear the whole table."""
        for job in jobs:
            if not job.over:
                self._end(job, by)
        self._processor.jobs.clear()

    def _find(self, desk: str, number: str) -> Job | str:
        """The job of that number, or the reply that says why this desk can't have it."""
        job = self._processor.jobs.get(int(number)) if number.isdigit() and len(number) <= 3 else None
        if job is None:
            return f"CANNOT: NO JOB {number}\r\n"
        if desk not in ("KEEPER", job.desk):
            return f"CANNOT: JOB {number} IS DESK {job.desk}'S\r\n"
        return job

    def _end(self, job: Job, by: str) -> None:
        self._processor.end(job)
        self.record_over(job, "stopped", by)

    # ---- the truth log

    def record_over(self, job: Job, how: Literal["ended", "stopped", "cut off"], by: str = "") -> None:
        """Record that a job is over; `by` is the desk that stopped it."""
        self._truth.add(
            JobOver(
                at_us=self._agenda.now_us,
                number=job.number,
                name=job.name,
                desk=job.desk,
                how=how,
                by=by,
                processor_us=job.processor_us,
                transfers=job.transfers,
                errors=job.errors,
                passes=job.passes,
            )
        )

    def record_all_cut_off(self) -> None:
        """Record that the machine stopped while jobs were going on."""
        for job in self.going():
            self.record_over(job, "cut off")


def _nothing() -> Steps:
    yield from ()
