"""At a desk: what somebody who has signed on may say."""

from collections.abc import Generator
from typing import TYPE_CHECKING, Any

from exhibit.simulator.dialogue import ask_yes
from exhibit.simulator.display import board
from exhibit.simulator.programs import MINUTE_US, Limits, reckon, shuttle, tide_table
from exhibit.simulator.truth import DeskLeft, JobBegun, JobOver
from exhibit.simulator.wishes import ENDED, LET_GO, Ask, Follow, Job, Pause, Say, Steps, Transfer, Wish, Work

if TYPE_CHECKING:
    from exhibit.simulator.core import Whimbrel

WORDS = {"TIDES": "GREBE519", "SURVEY": "SMEWS27Q", "KEEPER": "TWITE804"}
MOST_PASSES, MOST_MINUTES = 99, 60
TABLE_KEEPS_ENDED = 4
HIGHEST_NUMBER = 999
BOOK_TRACK = 100
COMMAND_US = 15_000
PIECE_US = 2_000
LOOKALIKE_US = 2_000_000


def at_desk(machine: "Whimbrel", desk: str) -> Steps:
    """Serve the desk until LEAVE, or until KEEPER closes the office."""
    book = machine.need_book()
    yield write_book(machine)
    here = _going(machine, desk)
    yield Say(f"DESK {desk} TAKEN AT {machine.time_text()}. {_count(here)} HERE\r\n")
    while True:
        command = yield Ask(f"DESK {desk}: ")
        yield Work(COMMAND_US)
        match command.split():
            case ["BEGIN", *what]:
                yield from begin(machine, desk, what)
            case ["RUN", *what]:
                job = yield from begin(machine, desk, what)
                if job is not None:
                    yield from follow(machine, job)
            case ["CALL", number]:
                yield from call(machine, desk, number)
            case ["STOP", number]:
                yield Say(stop(machine, desk, number))
            case ["JOBS"]:
                yield Say(job_table(machine))
            case ["BOARD"]:
                yield from board(machine)
            case ["LEAVE"]:
                here = _going(machine, desk)
                yield Say(f"DESK {desk} LEFT AT {machine.time_text()}. {_count(here)} GO ON\r\n")
                machine.truth.tell(DeskLeft(at_us=machine.agenda.now_us, desk=desk))
                yield write_book(machine)
                return
            case ["HELP"]:
                yield Say("BEGIN, RUN, CALL, STOP, JOBS, BOARD, LOG, DRIVES, TIME, LEAVE, HELP\r\n")
                if desk == "KEEPER":
                    yield Say("NOTICE, EMPTY LOG, WIPE, CLOSE THE OFFICE\r\n")
            case _ if desk == "KEEPER":
                yield from keeper(machine, command)
                if not book.open:
                    machine.truth.tell(DeskLeft(at_us=machine.agenda.now_us, desk=desk))
                    return
            case _:
                yield Say(machine.common_command(command))


def write_book(machine: "Whimbrel") -> Transfer:
    """Write down on the small disc who came or went."""
    second = machine.agenda.now_us // 1_000_000
    return Transfer("SMALL", BOOK_TRACK, second % machine.drives["SMALL"].geometry.sectors, second)


def _going(machine: "Whimbrel", desk: str) -> int:
    return sum(job.desk == desk and not job.over for job in machine.processor.jobs.values())


def _count(jobs: int) -> str:
    return f"{jobs or 'NO'} JOBS"


# ---- beginning a job


def begin(machine: "Whimbrel", desk: str, what: list[str]) -> Generator[Wish, Any, Job | None]:
    """Set a job going if that is possible, and say so. Gives the job, or None."""
    job = _new_job(machine, desk, what)
    if isinstance(job, str):
        yield Say(job + "\r\n")
        return None
    _forget_oldest_ended(machine)
    machine.truth.tell(
        JobBegun(at_us=machine.agenda.now_us, number=job.number, name=job.name, desk=desk, text=job.text)
    )
    yield Say(f"JOB {job.number} BEGUN: {job.text}\r\n")
    machine.processor.begin(job)
    return job


def _new_job(machine: "Whimbrel", desk: str, what: list[str]) -> Job | str:
    """The job that the words ask for, or the reply that says why there can't be one."""
    book, text = machine.need_book(), " ".join(what)
    now_us = lambda: machine.agenda.now_us  # noqa: E731 a clock for the programs
    going = sum(not job.over for job in machine.processor.jobs.values())
    if going >= book.most_jobs:
        return f"CANNOT: {going} JOBS GO ON ALREADY"
    job = Job(machine.next_job_number(), what[0] if what else "", desk, text, _nothing())
    match what:
        case ["TIDES"]:
            today = book.clock(machine.agenda.now_us).date()
            job.steps = tide_table(job, machine.loaded_from, today, now_us, machine.truth)
        case ["RECKON", *rest]:
            limits = _limits(rest, machine.agenda.now_us)
            if limits is None:
                return f"NOT UNDERSTOOD: {text}"
            job.steps = reckon(job, machine.loaded_from, limits, now_us)
        case ["SHUTTLE", name, *rest] if name in ("UPPER", "LOWER"):
            limits = _limits(rest, machine.agenda.now_us)
            if limits is None:
                return f"NOT UNDERSTOOD: {text}"
            drive = machine.drives[name]
            if drive.state != "ready":
                return f"CANNOT: {name} NOT READY"
            if not drive.may_be_written:
                return f"CANNOT: {name} HOLDS NO PACK THAT MAY BE WRITTEN"
            job.steps = shuttle(job, name, limits, now_us)
        case _:
            return f"NOT UNDERSTOOD: {text}"
    book.next_number = job.number % HIGHEST_NUMBER + 1
    return job


def _nothing() -> Steps:
    yield from ()


def _limits(words: list[str], now_us: int) -> Limits | None:
    match words:
        case []:
            return Limits()
        case [number, "PASSES"] if number.isdigit() and 1 <= int(number) <= MOST_PASSES:
            return Limits(passes=int(number))
        case [number, "MINUTES"] if number.isdigit() and 1 <= int(number) <= MOST_MINUTES:
            return Limits(until_us=now_us + int(number) * MINUTE_US)
    return None


def _forget_oldest_ended(machine: "Whimbrel") -> None:
    ended = [job.number for job in machine.processor.jobs.values() if job.over]
    for number in ended[: max(0, len(ended) - TABLE_KEEPS_ENDED + 1)]:
        del machine.processor.jobs[number]


# ---- jobs that are there


def follow(machine: "Whimbrel", job: Job) -> Steps:
    """Print what the job prints, until it is over or CANCEL is typed."""
    machine.keyboard.watch_cancel(machine.processor.let_go)
    job.tray.set_followed(True)
    while True:
        piece = yield Follow(job)
        if piece is ENDED:
            machine.processor.jobs.pop(job.number, None)
            yield Say(f"JOB {job.number} ENDED\r\n")
            break
        if piece is LET_GO:
            yield Say(f"JOB {job.number} LET GO\r\n")
            break
        yield Work(PIECE_US)
        yield Say(piece)
        if machine.faults.lookalike:
            machine.faults.lookalike = False
            yield Say(f"DESK {job.desk}: ")
            yield Pause(LOOKALIKE_US)
            yield Say("IS NOT WHAT IT LOOKS LIKE\r\n")
    job.tray.set_followed(False)
    machine.keyboard.watch_cancel(None)


def _find(machine: "Whimbrel", desk: str, number: str) -> Job | str:
    """The job of that number, or the reply that says why not."""
    job = machine.processor.jobs.get(int(number)) if number.isdigit() and len(number) <= 3 else None
    if job is None:
        return f"CANNOT: NO JOB {number}\r\n"
    if desk not in ("KEEPER", job.desk):
        return f"CANNOT: JOB {number} IS DESK {job.desk}'S\r\n"
    return job


def call(machine: "Whimbrel", desk: str, number: str) -> Steps:
    """Call a job back to the console."""
    job = _find(machine, desk, number)
    if isinstance(job, str):
        yield Say(job)
    else:
        yield from follow(machine, job)


def stop(machine: "Whimbrel", desk: str, number: str) -> str:
    """Stop a job and clear it from the table; gives the reply."""
    job = _find(machine, desk, number)
    if isinstance(job, str):
        return job
    already = job.over
    if not already:
        end_job(machine, job, desk)
    machine.processor.jobs.pop(job.number, None)
    return f"JOB {job.number} {'HAD ENDED' if already else 'STOPPED'}: {job.name}, {job.outcome()}\r\n"


def end_job(machine: "Whimbrel", job: Job, by: str) -> None:
    """Stop a job that goes on, and put it on record."""
    machine.processor.end(job)
    tell_over(machine, job, "stopped", by)


def tell_over(machine: "Whimbrel", job: Job, how: str, by: str) -> None:
    """Put a job's end on record."""
    machine.truth.tell(
        JobOver(
            at_us=machine.agenda.now_us,
            number=job.number,
            name=job.name,
            desk=job.desk,
            how=how,  # type: ignore[arg-type]
            by=by,
            processor_us=job.processor_us,
            transfers=job.transfers,
            errors=job.errors,
            passes=job.passes,
        )
    )


def job_table(machine: "Whimbrel") -> str:
    """The job table, as JOBS prints it."""
    rows = [
        f"{job.number:3d}  {job.name:8s} {job.desk:8s} {machine.processor.state_of(job):6s}"
        f" {job.seconds_text():>8s}\r\n"
        for job in machine.processor.jobs.values()
    ]
    return "JOB  NAME     DESK     STATE   SECONDS\r\n" + "".join(rows) if rows else "NO JOBS\r\n"


# ---- the keeper's own


def keeper(machine: "Whimbrel", command: str) -> Steps:
    """What only the keeper may say."""
    match command.split():
        case ["NOTICE", *words] if words:
            machine.harbour_notice(" ".join(words))
        case ["EMPTY", "LOG"]:
            if (yield from ask_yes("EMPTY THE LOG, SURE", default=False)):
                machine.error_log.clear()
        case ["WIPE", name] if name in ("UPPER", "LOWER"):
            yield from wipe(machine, name)
        case ["CLOSE", "THE", "OFFICE"]:
            yield from close(machine)
        case _:
            yield Say(machine.common_command(command))


def wipe(machine: "Whimbrel", name: str) -> Steps:
    """Write over a whole pack."""
    drive = machine.drives[name]
    if drive.state != "ready" or drive.pack is None or not drive.may_be_written:
        yield Say(f"CANNOT: {name} HOLDS NO PACK THAT MAY BE WRITTEN\r\n")
        return
    if not (yield from ask_yes(f"WIPE {drive.pack.label}, SURE", default=False)):
        return
    drive.pack.holds_tidebook = False
    drive.pack.words.clear()
    yield Say("WIPING ")
    for track in range(drive.geometry.tracks):
        yield Transfer(name, track, 0, 0)
        if track % 24 == 23:
            yield Say(".")
    yield Say(" WIPED\r\n")


def close(machine: "Whimbrel") -> Steps:
    """Close the office: nobody but one operator from now on."""
    book = machine.need_book()
    if (yield from ask_yes("CLOSE THE OFFICE, SURE", default=False)):
        going = [job for job in machine.processor.jobs.values() if not job.over]
        question = f"{len(going)} JOBS STILL GO ON. STOP THEM"
        if not going or (yield from ask_yes(question, default=False)):
            for job in going:
                if not job.over:
                    end_job(machine, job, "KEEPER")
            machine.processor.jobs.clear()
            book.open = False
            yield Say(f"OFFICE CLOSED AT {machine.time_text()}. ONE OPERATOR FROM NOW\r\n")
            return
    yield Say("OFFICE STAYS OPEN\r\n")
