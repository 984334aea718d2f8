"""The programs that jobs run: two exercisers and the tides. They use processor and disc like real ones."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from exhibit.simulator.agenda import Agenda
from exhibit.simulator.dialogue import WEEKDAYS, day_text
from exhibit.simulator.disc import BIG, Drive, Outcome
from exhibit.simulator.program import Job, Say, Steps, Transfer, Work
from exhibit.simulator.tidebook import tides
from exhibit.simulator.tidebook.clock import Clock
from exhibit.simulator.truth import TidesWorked, TruthLog

WORD = 1 << 24
MINUTE_US = 60_000_000
MOST_PASSES, MOST_MINUTES = 99, 60

PLACES_A_PASS = 60
PATTERN_US = 2_000
"""Processor time to make a pattern, and again to compare it (invented)."""

SUMS_TRACK = 60
SUMS_PARTS = 50
SUMS_PART_US = 40_000
SUMS_STEPS_A_PART = 200
MULTIPLIER, ADDEND = 5_517_445, 1_234_567

TERM_US = 4_500
"""One cosine, multiplied and added, on a machine without floating point (invented)."""
MARCH_MINUTES = 2
CONSTANTS_TRACK = 30


@dataclass
class Limits:
    """When an exerciser ends by itself: after `passes`, or at `until_us`. None means no such limit."""

    passes: int | None = None
    until_us: int | None = None


@dataclass(frozen=True)
class Programs:
    """Finds the program that somebody at a desk asks for. `system_drive`: where TIDEBOOK was loaded from."""

    agenda: Agenda
    clock: Clock
    drives: Mapping[str, Drive]
    system_drive: str
    truth: TruthLog

    def steps_of(self, job: Job, words: list[str]) -> Steps | str:
        """The program's steps, to be run as `job`; or the reply that says why it can't be run."""
        not_understood = f"NOT UNDERSTOOD: {job.text}"
        match words:
            case ["TIDES"]:
                today = self.clock.now().date()
                return tide_table(job, self.system_drive, today, self._now_us, self.truth)
            case ["SUMS", *rest]:
                limits = self._limits(rest)
                if limits is None:
                    return not_understood
                return sums(job, self.system_drive, limits, self._now_us)
            case ["SHUTTLE", name, *rest] if name in ("UPPER", "LOWER"):
                limits = self._limits(rest)
                if limits is None:
                    return not_understood
                drive = self.drives[name]
                if drive.state != "ready":
                    return f"CANNOT: {name} NOT READY"
                if not drive.may_be_written:
                    return f"CANNOT: {name} HOLDS NO PACK THAT MAY BE WRITTEN"
                return shuttle(job, name, limits, self._now_us)
        return not_understood

    def _limits(self, words: list[str]) -> Limits | None:
        """The limits that the words mean, or None if they mean nothing."""
        match words:
            case []:
                return Limits()
            case [number, "PASSES"] if number.isdigit() and 1 <= int(number) <= MOST_PASSES:
                return Limits(passes=int(number))
            case [number, "MINUTES"] if number.isdigit() and 1 <= int(number) <= MOST_MINUTES:
                return Limits(until_us=self._now_us() + int(number) * MINUTE_US)
        return None

    def _now_us(self) -> int:
        return self.agenda.now_us


def shuttle(job: Job, drive: str, limits: Limits, now_us: Callable[[], int]) -> Steps:
    """Write and read back at near and far places in turn, so that the arm crosses the pack."""
    while limits.passes is None or job.passes < limits.passes:
        transfers = 0
        for place in range(PLACES_A_PASS):
            if limits.until_us is not None and now_us() >= limits.until_us:
                return
            step = place * (BIG.tracks // 2) // PLACES_A_PASS
            track = step if place % 2 == 0 else BIG.tracks - 1 - step
            sector = (place * 7) % BIG.sectors
            pattern = (track * 65_537 + sector * 4_099 + job.passes) % WORD
            yield Work(PATTERN_US)
            wrote: Outcome = yield Transfer(drive, track, sector, pattern)
            read: Outcome = yield Transfer(drive, track, sector)
            yield Work(PATTERN_US)
            transfers += 2
            if not wrote.worked or not read.worked:
                yield Say(f"SHUTTLE: TRACK {track} SECTOR {sector} FAILED\r\n")
                if job.errors > 200:
                    yield Say("SHUTTLE: TOO MANY ERRORS\r\n")
                    return
            elif read.word != pattern:
                job.errors += 1
                yield Say(f"SHUTTLE: TRACK {track} SECTOR {sector} READ {read.word or 0:08o}\r\n")
        job.passes += 1
        yield Say(f"SHUTTLE PASS {job.passes}: {transfers} TRANSFERS, ERRORS {job.errors}\r\n")


def sums_come_to(steps: int, start: int) -> int:
    """The result of `steps` steps of SUMS, computed by repeated doubling instead of one by one."""
    factor, term, multiplier, addend = 1, 0, MULTIPLIER, ADDEND
    while steps:
        if steps & 1:
            factor, term = factor * multiplier % WORD, (term * multiplier + addend) % WORD
        multiplier, addend = multiplier * multiplier % WORD, (multiplier + 1) * addend % WORD
        steps >>= 1
    return (factor * start + term) % WORD


def sums(job: Job, drive: str, limits: Limits, now_us: Callable[[], int]) -> Steps:
    """Multiply and add, over and over, and compare the result with the right one."""
    while limits.passes is None or job.passes < limits.passes:
        # The program has been swapped out since its last pass, so it is read from the system's pack again.
        yield Transfer(drive, SUMS_TRACK, job.passes % BIG.sectors)
        word = start = (job.number * 1_000 + job.passes) % WORD
        for _ in range(SUMS_PARTS):
            if limits.until_us is not None and now_us() >= limits.until_us:
                return
            for _ in range(SUMS_STEPS_A_PART):
                word = (word * MULTIPLIER + ADDEND) % WORD
            yield Work(SUMS_PART_US)
        if word != sums_come_to(SUMS_PARTS * SUMS_STEPS_A_PART, start):
            job.errors += 1
        job.passes += 1
        yield Say(f"SUMS PASS {job.passes}: CAME TO {word:08o}, ERRORS {job.errors}\r\n")


def tide_table(job: Job, drive: str, today: date, now_us: Callable[[], int], truth: TruthLog) -> Steps:
    """Work out and print tomorrow's tides: the height each hour, and the times of high and low water."""
    day = today + timedelta(days=1)
    yield Say(f"TIDES AT SALLOWMOUTH BAR, {WEEKDAYS[day.weekday()]} {day_text(day)}\r\n")
    yield Say("METRES ABOVE CHART DATUM\r\n")
    for place, _ in enumerate(tides.SALLOWMOUTH_BAR):
        constants: Outcome = yield Transfer(drive, CONSTANTS_TRACK + place, place)
        if not constants.worked:
            yield Say(f"TIDES: CANNOT READ {drive}\r\n")
            return
    first = (day - date(1970, 1, 1)).days * 24 * 60
    heights: list[int] = []
    turns: list[tuple[int, int, bool]] = []
    evaluation_us = TERM_US * len(tides.SALLOWMOUTH_BAR)
    rising = tides.rate(first) > 0
    for hour in range(24):
        heights.append(tides.height_mm(first + 60 * hour))
        yield Work(evaluation_us)
        for minute in range(60 * hour, 60 * hour + 60, MARCH_MINUTES):
            later = first + minute + MARCH_MINUTES
            yield Work(evaluation_us)
            if (tides.rate(later) > 0) != rising:
                turn = tides.turn_between(later - MARCH_MINUTES, later)
                yield Work(2 * evaluation_us)
                if turn - first < 24 * 60:
                    turns.append((turn - first, tides.height_mm(turn), rising))
                rising = not rising
        if hour % 3 == 2:
            yield Transfer(drive, CONSTANTS_TRACK + hour, 0)
            yield Say(f"{hour + 1:2d} OF 24 HOURS WORKED\r\n")
    truth.add(
        TidesWorked(
            at_us=now_us(),
            number=job.number,
            day=day.isoformat(),
            heights_mm=tuple(heights),
            turns=tuple(turns),
        )
    )
    for third in range(0, 24, 8):
        yield Say(
            "HOUR   " + "".join(f"  {hour:02d}  " for hour in range(third, third + 8)).rstrip() + "\r\n"
        )
        row = "".join(f" {tides.metres(mm)}" for mm in heights[third : third + 8])
        yield Say(f"METRES {row}\r\n")
    for minute, mm, high in turns:
        name = "HIGH WATER" if high else "LOW WATER"
        yield Say(f"{name:10s}  {minute // 60:02d}.{minute % 60:02d} {tides.metres(mm)}\r\n")
