"""The processor: jobs take turns in time slices, wait for discs, and print.

Job 0 is the *front*: the lasting store, the starter or TIDEBOOK itself. Only the front reads the keyboard,
and it goes before the other jobs. Nothing here knows what a program is for.
"""

from collections import deque
from collections.abc import Callable
from typing import Any

from exhibit.simulator.agenda import Agenda, Booking
from exhibit.simulator.disc import Drive, Outcome
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.program import (
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
from exhibit.simulator.serial_line import SerialLine

SLICE_US = 40_000
SWITCH_US = 1_000
"""What changing from one job to another costs; charged to the front (invented)."""

_WAITS = object()


class Processor:
    """Shares the processor among the front and the jobs.

    The processor time charged to them never adds up to more than the time that has passed.
    """

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
        """Run `steps` as the front. Whatever ran before must have been stopped."""
        self.front = Job(0, "FRONT", "", "", steps)
        self._resume(self.front, None)

    def begin(self, job: Job) -> None:
        """Start a job."""
        self.jobs[job.number] = job
        job.tray.on_space = lambda: self._space(job)
        self._resume(job, None)

    def end(self, job: Job) -> None:
        """Stop a job; it stays in the table as ENDED. Only the front may do this: then no job is running."""
        if job in self._ready:
            self._ready.remove(job)
        job.over, job.state = True, "ENDED"
        job.steps.close()
        self._dispatch()

    def stop_all(self) -> None:
        """Stop everything at once: power lost, or HALT."""
        self._charge()
        for job in [*self.jobs.values(), *([self.front] if self.front else [])]:
            job.over = True
            job.steps.close()
        self._ready.clear()
        self._news.clear()
        self.jobs.clear()
        self.front = self._last = self._served = None

    def state_of(self, job: Job) -> str:
        """The job's state as tables show it: RUNS for the job from which the front took the processor."""
        return "RUNS" if job is self._served and job.state == "READY" else job.state

    def wake(self, news: Any) -> None:
        """Pass `news` to the front as soon as it asks for news. While nothing runs, news is lost."""
        front = self.front
        if front is None:
            return
        self._news.append(news)
        if isinstance(front.request, News):
            self._resume(front, self._news.popleft())

    def forget_news(self) -> None:
        """Forget the news that nobody has asked for."""
        self._news.clear()

    def let_go(self) -> None:
        """Stop following a job: CANCEL was typed."""
        front = self.front
        if front is not None and isinstance(front.request, Follow):
            self._resume(front, LET_GO)

    def cut_pause(self) -> None:
        """End the front's pause now, if there is one."""
        front = self.front
        if front is not None and isinstance(front.request, Pause) and self._pause is not None:
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
        slice_us = switch_us + min(job.remaining_us, SLICE_US)
        self._slice = self._agenda.after(slice_us, self._slice_over)

    def _charge(self) -> Job | None:
        """Charge the running job for the time it has used, and take the processor from it."""
        job, self._running = self._running, None
        if job is not None:
            spent_us = self._agenda.now_us - self._slice_from_us
            switch_us = min(spent_us, self._switch_us)
            if self.front is not None:
                self.front.processor_us += switch_us
            job.processor_us += spent_us - switch_us
            job.remaining_us -= spent_us - switch_us
            self.used_us += spent_us
        if self._slice is not None:
            self._slice.call_off()
        return job

    def _slice_over(self) -> None:
        job = self._charge()
        if job is not None and job.remaining_us > 0:
            self._make_ready(job)
        elif job is not None:
            self._resume(job, None)
        self._dispatch()

    def _make_ready(self, job: Job) -> None:
        job.state = "READY"
        self._ready.append(job)

    # ---- requests

    def _resume(self, job: Job, value: Any) -> None:
        """Send an outcome to a program and carry out its next requests, until it has to wait."""
        job.request = None
        while value is not _WAITS and not job.over:
            if job.hung:
                job.state = "DISC"
                break
            try:
                job.request = job.steps.send(value)
            except StopIteration:
                self._ended(job)
                break
            value = self._carry_out(job)
            if value is not _WAITS:
                job.request = None
        self._dispatch()

    def _carry_out(self, job: Job) -> Any:
        """Carry out the job's request; returns the outcome if there is one at once, else _WAITS."""
        match job.request:
            case Work(us):
                if us <= 0:
                    return None
                job.remaining_us = us
                self._make_ready(job)
                if job.back_from_disc:
                    # A job back from the disc goes before the others: that keeps the disc busy.
                    self._ready.rotate(1)
                    job.back_from_disc = False
            case Transfer(drive, track, sector, word):
                job.state = "DISC"
                self._drives[drive].ask(track, sector, word, lambda outcome: self._moved(job, outcome))
            case Say(text) if job is not self.front:
                # The reader may take the piece at once, so ask only afterwards whether the tray is full.
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
                self._pause = self._agenda.after(us, lambda: self._answered(job))
            case Ask(prompt, secret):
                job.state = "IDLE"
                self._keyboard.ask(prompt, secret, lambda answer: self._answered(job, answer))
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
            self._serve_follower()

    def _moved(self, job: Job, outcome: Outcome) -> None:
        if not job.over:
            job.transfers += 1
            job.errors += outcome.failures
            job.back_from_disc = True
            self._resume(job, outcome)

    def _answered(self, job: Job, answer: str | None = None) -> None:
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
        if front is not None and isinstance(front.request, Say):
            self._resume(front, None)

    # ---- following a job

    def _next_piece(self, job: Job) -> Any:
        job.tray.on_piece = self._serve_follower
        piece = job.tray.take()
        if piece is not None:
            return piece
        return ENDED if job.over else _WAITS

    def _serve_follower(self) -> None:
        front = self.front
        if front is None or not isinstance(front.request, Follow):
            return
        piece = self._next_piece(front.request.job)
        if piece is not _WAITS:
            self._resume(front, piece)

    def _space(self, job: Job) -> None:
        if job.state == "LINE" and isinstance(job.request, Say) and not job.over:
            job.remaining_us, job.request = 0, None
            self._make_ready(job)
            self._dispatch()
