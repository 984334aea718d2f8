"""The processor: jobs take turns at it in time slices, wait for discs, and print.

Job 0 is the *front*: the fixed store, the starter or TIDEBOOK itself, the only one that reads the
keyboard. It goes before the others. Nothing here knows what a program is for.
"""

from collections import deque
from collections.abc import Callable
from typing import Any

from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.disc import Drive, Outcome
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.serial_line import SerialLine
from exhibit.simulator.wishes import (
    ENDED,
    LET_GO,
    Ask,
    Drain,
    Follow,
    Job,
    News,
    Pause,
    Say,
    Steps,
    Transfer,
    Work,
)

SLICE_US = 40_000
SWITCH_US = 1_000
"""What changing from one job to another costs; counted to the front (invented)."""

_WAITS = object()


class Processor:
    """Shares the processor among the front and the jobs; their times never add up to over the clock's."""

    def __init__(
        self, agenda: Agenda, line: SerialLine, keyboard: Keyboard, drives: dict[str, Drive]
    ) -> None:
        self.jobs: dict[int, Job] = {}
        self.front: Job | None = None
        self.used_us = 0
        self.on_end: Callable[[Job], None] = lambda job: None
        self._agenda = agenda
        self._line = line
        self._keyboard = keyboard
        self._drives = drives
        self._ready: deque[Job] = deque()
        self._running: Job | None = None
        self._slice: Booking | None = None
        self._slice_from_us = 0
        self._switch_us = 0
        self._last: Job | None = None
        self._served: Job | None = None
        self._news: deque[Any] = deque()
        self._pause: Booking | None = None
        line.on_room = self._room

    # ---- beginning and ending

    def begin_front(self, steps: Steps) -> None:
        """Run `steps` as the front; whatever ran before has been stopped."""
        self.front = Job(0, "FRONT", "", "", steps)
        self._resume(self.front, None)

    def begin(self, job: Job) -> None:
        """Set a job going."""
        self.jobs[job.number] = job
        job.tray.on_space = lambda: self._space(job)
        self._resume(job, None)

    def end(self, job: Job) -> None:
        """Stop a job; it stays in the table as ENDED. Only the front asks: no job runs at that moment."""
        if job in self._ready:
            self._ready.remove(job)
        job.over, job.state = True, "ENDED"
        job.steps.close()
        self._dispatch()

    def stop_all(self) -> None:
        """Everything stops at once: power lost or HALT."""
        self._charge()
        for job in [*self.jobs.values(), *([self.front] if self.front else [])]:
            job.over = True
            job.steps.close()
        self._ready.clear()
        self._news.clear()
        self.jobs.clear()
        self.front = self._last = self._served = None

    def state_of(self, job: Job) -> str:
        """The job's state as tables show it: making the table has itself taken the processor away."""
        return "RUNS" if job is self._served and job.state == "READY" else job.state

    def wake(self, news: Any) -> None:
        """Give `news` to the front when it next wants some. What happens while nothing runs is no news."""
        front = self.front
        if front is None:
            return
        self._news.append(news)
        if isinstance(front.wanted, News):
            self._resume(front, self._news.popleft())

    def drop_news(self) -> None:
        """Forget news that nobody wanted."""
        self._news.clear()

    def let_go(self) -> None:
        """CANCEL was typed while a job is followed."""
        front = self.front
        if front is not None and isinstance(front.wanted, Follow):
            self._resume(front, LET_GO)

    def cut_pause(self) -> None:
        """The front's pause is over now, if it makes one."""
        front = self.front
        if front is not None and isinstance(front.wanted, Pause) and self._pause is not None:
            self._pause.call_off()
            self._resume(front, None)

    # ---- taking turns

    def _dispatch(self) -> None:
        if self._running is not None or not self._ready:
            return
        front = self.front
        job = front if front is not None and front in self._ready else self._ready[0]
        self._ready.remove(job)
        switch_us = SWITCH_US if self._last is not None and job is not self._last else 0
        self._running = self._last = job
        if job is not front:
            self._served = job
        job.state = "RUNS"
        self._slice_from_us = self._agenda.now_us
        self._switch_us = switch_us
        slice_us = switch_us + min(job.work_left_us, SLICE_US)
        self._slice = self._agenda.after(slice_us, self._slice_over)

    def _charge(self) -> Job | None:
        """Count what the running job has used so far and take the processor from it."""
        job, self._running = self._running, None
        if job is not None:
            spent_us = self._agenda.now_us - self._slice_from_us
            switch_us = min(spent_us, self._switch_us)
            if self.front is not None:
                self.front.processor_us += switch_us
            job.processor_us += spent_us - switch_us
            job.work_left_us -= spent_us - switch_us
            self.used_us += spent_us
        if self._slice is not None:
            self._slice.call_off()
        return job

    def _slice_over(self) -> None:
        job = self._charge()
        if job is not None and job.work_left_us > 0:
            self._make_ready(job)
        elif job is not None:
            self._resume(job, None)
        self._dispatch()

    def _make_ready(self, job: Job) -> None:
        job.state = "READY"
        self._ready.append(job)

    # ---- wishes

    def _resume(self, job: Job, value: Any) -> None:
        """Send a wish's outcome to a program and see what it wants next, until it must wait."""
        job.wanted = None
        while value is not _WAITS and not job.over:
            if job.hung:
                job.state = "DISC"
                break
            try:
                job.wanted = job.steps.send(value)
            except StopIteration:
                self._ended(job)
                break
            value = self._grant(job)
            if value is not _WAITS:
                job.wanted = None
        self._dispatch()

    def _grant(self, job: Job) -> Any:
        """Carry out what the job wants: the outcome if it is there at once, else _WAITS."""
        match job.wanted:
            case Work(us):
                if us <= 0:
                    return None
                job.work_left_us = us
                self._make_ready(job)
                if job.from_disc:
                    # Who comes from the disc goes before those who only reckon: it keeps the disc busy.
                    self._ready.rotate(1)
                    job.from_disc = False
            case Transfer(drive, track, sector, word):
                job.state = "DISC"
                self._drives[drive].ask(track, sector, word, lambda outcome: self._moved(job, outcome))
            case Say(text) if job is not self.front:
                # The reader may take the piece at once; only then is it known whether the job waits.
                job.tray.put(text)
                if not job.tray.full:
                    return None
                job.state = "LINE"
            case Say(text):
                job.state = "LINE"
                self._line.put(text)
                return None if self._line.has_room else _WAITS
            case Pause(us):
                job.state = "IDLE"
                self._pause = self._agenda.after(us, lambda: self._later(job))
            case Ask(prompt, secret):
                job.state = "IDLE"
                self._keyboard.ask(prompt, secret, lambda answer: self._later(job, answer))
            case Drain():
                job.state = "LINE"
                if self._line.idle:
                    return None
                self._agenda.after(self._line.char_us, lambda: self._drained(job))
            case News():
                job.state = "IDLE"
                if self._news:
                    return self._news.popleft()
            case Follow(followed):
                job.state = "IDLE"
                return self._next_piece(followed)
        return _WAITS

    def _ended(self, job: Job) -> None:
        job.over, job.state = True, "ENDED"
        if job is not self.front:
            self.on_end(job)
            self._tell_follower()

    def _moved(self, job: Job, outcome: Outcome) -> None:
        if not job.over:
            job.transfers += 1
            job.errors += outcome.failures
            job.from_disc = True
            self._resume(job, outcome)

    def _later(self, job: Job, answer: str | None = None) -> None:
        if not job.over:
            self._resume(job, answer)

    def _drained(self, job: Job) -> None:
        if job.over:
            return
        if self._line.idle:
            self._resume(job, None)
        else:
            self._agenda.after(self._line.char_us, lambda: self._drained(job))

    def _room(self) -> None:
        front = self.front
        if front is not None and isinstance(front.wanted, Say):
            self._resume(front, None)

    # ---- following a job

    def _next_piece(self, job: Job) -> Any:
        job.tray.on_piece = self._tell_follower
        piece = job.tray.take()
        if piece is not None:
            return piece
        return ENDED if job.over else _WAITS

    def _tell_follower(self) -> None:
        front = self.front
        if front is None or not isinstance(front.wanted, Follow):
            return
        piece = self._next_piece(front.wanted.job)
        if piece is not _WAITS:
            self._resume(front, piece)

    def _space(self, job: Job) -> None:
        if job.state == "LINE" and isinstance(job.wanted, Say) and not job.over:
            job.work_left_us, job.wanted = 0, None
            self._make_ready(job)
            self._dispatch()
