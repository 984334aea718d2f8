"""The board: the state of the machine, painted on the whole screen by cursor addressing.

It uses two control sequences of ECMA-48, 5th edition, and no others: ED (8.3.39) and CUP (8.3.21). A
frame ends with CUP 24;1, which is sent at no other time.
"""

from collections.abc import Mapping

import msgspec

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.dialogue import day_text
from exhibit.simulator.disc import Drive
from exhibit.simulator.keyboard import Keyboard
from exhibit.simulator.processor import Processor
from exhibit.simulator.program import Drain, Pause, Say, Steps, Work
from exhibit.simulator.tidebook.clock import Clock
from exhibit.simulator.tidebook.notices import Notices
from exhibit.simulator.truth import BoardShown, JobShown, TruthLog

ROWS, COLUMNS = 24, 80
EVERY_US = 5_000_000
COMPOSE_US = 8_000
FIRST_JOB_ROW, LAST_JOB_ROW, FOOT_ROW, NOTICE_ROW = 8, 15, 20, 23
SAME_RUN_CHARS = 8
"""Up to this many unchanged characters are cheaper to send again than a new cursor address."""
CLEAR, HOME, PARK = "\x1b[2J", "\x1b[1;1H", "\x1b[24;1H"


class Board:
    """Shows the board. Its totals count from when this object was made, at the loading of TIDEBOOK."""

    def __init__(
        self,
        agenda: Agenda,
        clock: Clock,
        processor: Processor,
        keyboard: Keyboard,
        drives: Mapping[str, Drive],
        notices: Notices,
        truth: TruthLog,
    ) -> None:
        self.began_us = agenda.now_us
        self.transfers_before = {name: drive.transfers for name, drive in drives.items()}
        self.errors_before = {name: drive.errors for name, drive in drives.items()}
        self._agenda = agenda
        self._clock = clock
        self._processor = processor
        self._keyboard = keyboard
        self._drives = drives
        self._notices = notices
        self._truth = truth

    def show(self) -> Steps:
        """Show the board until a key is pressed."""
        pressed: list[int] = []

        def press(byte: int) -> None:
            pressed.append(byte)
            self._processor.cut_pause()

        self._keyboard.watch_key(press)
        self._notices.on_board = ""
        used_before_us = self._job_times_us()
        last_us, last_used_us = self._agenda.now_us, self._processor.used_us
        shown = [" " * COLUMNS] * ROWS
        yield Say(CLEAR)
        while not pressed:
            yield Work(COMPOSE_US)
            now_us, used_us = self._agenda.now_us, self._processor.used_us
            frame = self._read(used_before_us, now_us - last_us, used_us - last_used_us)
            used_before_us = self._job_times_us()
            last_us, last_used_us = now_us, used_us
            lines = self._compose(frame)
            for row, (old, new) in enumerate(zip(shown, lines, strict=True), 1):
                if pressed:
                    break
                yield Say(repaint(row, old, new))
            shown = lines
            if pressed:
                break
            yield Say(PARK)
            yield Drain()
            self._truth.add(msgspec.structs.replace(frame, at_us=self._agenda.now_us))
            if not pressed:
                yield Pause(max(0, now_us + EVERY_US - self._agenda.now_us))
        self._keyboard.watch_key(None)
        self._notices.on_board = None
        yield Say(f"{CLEAR}{HOME}BOARD PUT AWAY\r\n")

    def _job_times_us(self) -> dict[int, int]:
        """The processor time that each job has used so far."""
        return {job.number: job.processor_us for job in self._processor.jobs.values()}

    def _read(self, used_before_us: dict[int, int], elapsed_us: int, used_us: int) -> BoardShown:
        """Read the counters. `used_before_us`: the processor time of each job at the last reading."""
        jobs = list(self._processor.jobs.values())
        span_us = max(1, elapsed_us)
        return BoardShown(
            at_us=self._agenda.now_us,
            processor_load=min(100, (100 * used_us + span_us // 2) // span_us),
            jobs_going=sum(not job.over for job in jobs),
            transfers={
                name: drive.transfers - self.transfers_before[name] for name, drive in self._drives.items()
            },
            disc_errors=sum(drive.errors - self.errors_before[name] for name, drive in self._drives.items()),
            up_s=(self._agenda.now_us - self.began_us) // 1_000_000,
            jobs=tuple(
                JobShown(
                    number=job.number,
                    name=job.name,
                    desk=job.desk,
                    share=(100 * (job.processor_us - used_before_us.get(job.number, 0)) + span_us // 2)
                    // span_us,
                    seconds=job.seconds_text(),
                    transfers=job.transfers,
                    errors=job.errors,
                    state=self._processor.state_of(job),
                )
                for job in jobs[-(LAST_JOB_ROW - FIRST_JOB_ROW + 1) :]
            ),
        )

    def _compose(self, frame: BoardShown) -> list[str]:
        """The 24 lines of 80 characters that show a frame."""
        now = self._clock.now()
        up = f"{frame.up_s // 3600}.{frame.up_s // 60 % 60:02d}.{frame.up_s % 60:02d}"
        drives = "".join(f"   {name}{count:8d}" for name, count in frame.transfers.items())
        lines = [""] * (ROWS + 1)
        lines[1] = f"TIDEBOOK BOARD    {day_text(now):10s}  DAY {now.timetuple().tm_yday:3d}"
        lines[1] += f"   TIME {now:%H.%M.%S}   UP {up:>8s}"
        lines[3] = f"PROCESSOR LOAD {frame.processor_load:3d} PER CENT   JOBS GOING {frame.jobs_going:2d}"
        lines[4] = f"DISC TRANSFERS{drives}"
        lines[5] = f"DISC ERRORS  {frame.disc_errors:8d}"
        lines[7] = "JOB  NAME     DESK     SHARE  SECONDS  TRANSFERS  ERRORS  STATE"
        for row, job in enumerate(frame.jobs, FIRST_JOB_ROW):
            lines[row] = f"{job.number:3d}  {job.name:8s} {job.desk:8s} {job.share:5d}  {job.seconds:>7s}"
            lines[row] += f"  {job.transfers:9d}  {job.errors:6d}  {job.state}"
        lines[FOOT_ROW] = "ANY KEY PUTS THE BOARD AWAY"
        lines[NOTICE_ROW] = self._notices.on_board or ""
        return [line[:COLUMNS].ljust(COLUMNS) for line in lines[1:]]


def repaint(row: int, old: str, new: str) -> str:
    """What to send so that line `row` (counted from 1), which shows `old`, shows `new`."""
    runs: list[list[int]] = []
    for column, (before, after) in enumerate(zip(old, new, strict=True)):
        if before == after:
            continue
        if runs and column - runs[-1][1] <= SAME_RUN_CHARS:
            runs[-1][1] = column + 1
        else:
            runs.append([column, column + 1])
    return "".join(f"\x1b[{row};{first + 1}H{new[first:last]}" for first, last in runs)
