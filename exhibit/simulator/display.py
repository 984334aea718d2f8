"""The board: the state of the machine on the whole screen, by cursor addressing.

Controls are those of ECMA-48, 5th edition: ED (8.3.39) and CUP (8.3.21), nothing else. A frame
ends with CUP 24;1, which is sent at no other time.
"""

from typing import TYPE_CHECKING

import msgspec

from exhibit.simulator.programs import day_text
from exhibit.simulator.truth import BoardShown, JobShown
from exhibit.simulator.wishes import Drain, Pause, Say, Steps, Work

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

ROWS, COLUMNS = 24, 80
EVERY_US = 5_000_000
COMPOSE_US = 8_000
FIRST_JOB_ROW, LAST_JOB_ROW, FOOT_ROW, NOTICE_ROW = 8, 15, 20, 23
SAME_RUN_CHARS = 8
"""So many unchanged characters are cheaper to send again than a new cursor address."""
CLEAR, HOME, PARK = "\x1b[2J", "\x1b[1;1H", "\x1b[24;1H"


def board(machine: "Whimbrel") -> Steps:
    """Show the board until a key is pressed."""
    book = machine.need_book()
    pressed: list[int] = []

    def press(byte: int) -> None:
        pressed.append(byte)
        machine.processor.cut_pause()

    machine.keyboard.watch_key(press)
    book.board_up, book.last_notice = True, ""
    shares = {job.number: job.processor_us for job in machine.processor.jobs.values()}
    last_us, last_used_us = machine.agenda.now_us, machine.processor.used_us
    shown = [" " * COLUMNS] * ROWS
    yield Say(CLEAR)
    while not pressed:
        yield Work(COMPOSE_US)
        now_us, used_us = machine.agenda.now_us, machine.processor.used_us
        frame = take_reading(machine, shares, now_us - last_us, used_us - last_used_us)
        shares = {job.number: job.processor_us for job in machine.processor.jobs.values()}
        last_us, last_used_us = now_us, used_us
        lines = compose(machine, frame)
        for row, (old, new) in enumerate(zip(shown, lines, strict=True), 1):
            if pressed:
                break
            yield Say(repaint(row, old, new))
        shown = lines
        if pressed:
            break
        yield Say(PARK)
        yield Drain()
        machine.truth.tell(msgspec.structs.replace(frame, at_us=machine.agenda.now_us))
        if not pressed:
            yield Pause(max(0, now_us + EVERY_US - machine.agenda.now_us))
    machine.keyboard.watch_key(None)
    book.board_up = False
    yield Say(f"{CLEAR}{HOME}BOARD PUT AWAY\r\n")


def take_reading(machine: "Whimbrel", shares: dict[int, int], elapsed_us: int, used_us: int) -> BoardShown:
    """The counters now, and the shares since the last reading (`shares`: processor_us of each job then)."""
    book, jobs = machine.need_book(), list(machine.processor.jobs.values())
    span_us = max(1, elapsed_us)
    return BoardShown(
        at_us=machine.agenda.now_us,
        processor_load=min(100, (100 * used_us + span_us // 2) // span_us),
        jobs_going=sum(not job.over for job in jobs),
        transfers={
            name: drive.transfers - book.transfers_before[name] for name, drive in machine.drives.items()
        },
        disc_errors=sum(drive.errors - book.errors_before[name] for name, drive in machine.drives.items()),
        up_s=(machine.agenda.now_us - book.began_us) // 1_000_000,
        jobs=tuple(
            JobShown(
                number=job.number,
                name=job.name,
                desk=job.desk,
                state=machine.processor.state_of(job),
                share=(100 * (job.processor_us - shares.get(job.number, 0)) + span_us // 2) // span_us,
                seconds=job.seconds_text(),
                transfers=job.transfers,
                errors=job.errors,
            )
            for job in jobs[-(LAST_JOB_ROW - FIRST_JOB_ROW + 1) :]
        ),
    )


def compose(machine: "Whimbrel", frame: BoardShown) -> list[str]:
    """The 24 lines of 80 characters that show a reading."""
    book = machine.need_book()
    now = book.clock(machine.agenda.now_us)
    up = f"{frame.up_s // 3600}.{frame.up_s // 60 % 60:02d}.{frame.up_s % 60:02d}"
    drives = "".join(f"   {name}{count:8d}" for name, count in frame.transfers.items())
    lines = [""] * (ROWS + 1)
    lines[1] = f"TIDEBOOK BOARD    {day_text(now):10s}  DAY {now.timetuple().tm_yday:3d}"
    lines[1] += f"   TIME {now:%H.%M.%S}   UP {up:>8s}"
    lines[3] = f"PROCESSOR LOAD {frame.processor_load:3d} PER CENT   JOBS GOING {frame.jobs_going:2d}"
    lines[4] = f"DISC TRANSFERS{drives}"
    lines[5] = f"DISC ERRORS  {frame.disc_errors:8d}"
    lines[7] = "JOB  NAME     DESK     STATE    SHARE  SECONDS  TRANSFERS  ERRORS"
    for row, job in enumerate(frame.jobs, FIRST_JOB_ROW):
        lines[row] = f"{job.number:3d}  {job.name:8s} {job.desk:8s} {job.state:6s}"
        lines[row] += f"  {job.share:6d}  {job.seconds:>7s}  {job.transfers:9d}  {job.errors:6d}"
    lines[FOOT_ROW] = "ANY KEY PUTS THE BOARD AWAY"
    lines[NOTICE_ROW] = book.last_notice
    return [line[:COLUMNS].ljust(COLUMNS) for line in lines[1:]]


def repaint(row: int, old: str, new: str) -> str:
    """What to send so that line `row` (from 1), which shows `old`, shows `new`."""
    runs: list[list[int]] = []
    for column, (before, after) in enumerate(zip(old, new, strict=True)):
        if before == after:
            continue
        if runs and column - runs[-1][1] <= SAME_RUN_CHARS:
            runs[-1][1] = column + 1
        else:
            runs.append([column, column + 1])
    return "".join(f"\x1b[{row};{first + 1}H{new[first:last]}" for first, last in runs)
