"""Rows about use: parts, exercisers, readings, disc errors and transfers, packs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import msgspec

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.records.index.moments import Here, Moments
from exhibit.records.index.rows import (
    ErrorsRow,
    JobRow,
    PackRow,
    PartRow,
    Placed,
    ReadingRow,
    TransfersRow,
)


@dataclass
class _Job:
    here: Here
    exerciser: str
    job: str
    part: str
    ends_us: int
    carried: bool
    on_s: float | None


@dataclass
class _Part:
    here: Here
    by: str
    carried: bool


@dataclass
class _Reading:
    here: Here
    fact: kinds.ReadingTaken
    on_s: float | None
    until_us: int
    times: int = 1


class WearRows:
    """Follows one recording; each call gives the rows that are complete now."""

    def __init__(self, moments: Moments) -> None:
        self._now = moments
        self._jobs: dict[tuple[str, str], _Job] = {}
        self._parts: dict[str, _Part] = {}
        self._readings: dict[tuple[str, str], _Reading] = {}
        self._counting: dict[str, str] = {}
        """By reading that counts transfers: the part."""
        self._stood_at: dict[str, float] = {}
        self._transfers: dict[tuple[str, str], float] = {}
        """By local day and reading."""

    def take(self, fact: kinds.AnyFact | kinds.UnknownFact) -> Iterator[Placed]:
        """Takes the next fact."""
        now = self._now
        match fact:
            case kinds.RecordingOpened():
                self._open(fact)
            case kinds.ReadingTaken():
                yield from self._reading(fact)
            case kinds.PartStarted(part=part, by=by):
                self._parts.setdefault(part, _Part(now.here(), by, carried=False))
            case kinds.PartStopped(part=part) if part in self._parts:
                yield self._part_row(part, stopped=True)
            case kinds.ExerciserBegun(exerciser=exerciser, job=job, part=part, ends_us=ends_us):
                key = exerciser, job
                if key in self._jobs:
                    yield self._job_row(key, "", now.at_us)
                self._jobs[key] = _Job(now.here(), exerciser, job, part, ends_us, False, now.on_s)
                now.exercised[key] = part
            case kinds.ExerciserEnded(exerciser=exerciser, job=job) if (exerciser, job) in self._jobs:
                yield self._job_row((exerciser, job), "machine", now.at_us)
            case kinds.DiscErrorsCounted(by=by, count=count, stands_at=stands_at, entry=entry):
                yield ErrorsRow(
                    **now.here(),
                    by=by,
                    count=count,
                    stands_at=stands_at,
                    entry=entry,
                    parts=now.parts,
                    on_s=now.on_s,
                )
            case kinds.PackMounted(label=label, drive=drive, by=by):
                yield PackRow(
                    **now.here(),
                    label=label,
                    drive=drive,
                    mounted=True,
                    may_be_written=fact.may_be_written,
                    original=fact.original,
                    by=by,
                )
            case kinds.PackRemoved(label=label, drive=drive, by=by):
                yield PackRow(
                    **now.here(),
                    label=label,
                    drive=drive,
                    mounted=False,
                    may_be_written=False,
                    original=False,
                    by=by,
                )

    def pass_time(self) -> Iterator[Placed]:
        """Ends the exercisers whose time is up. To be called before each fact is taken."""
        if self._jobs:
            for key, job in [*self._jobs.items()]:
                if 0 < job.ends_us <= self._now.at_us:
                    yield self._job_row(key, "time", max(job.ends_us, job.here["at_us"]))

    def end(self) -> Iterator[Placed | TransfersRow]:
        """The recording is over."""
        for key in [*self._jobs]:
            yield self._job_row(key, "", self._now.at_us)
        for part in [*self._parts]:
            yield self._part_row(part, stopped=False)
        for reading in self._readings.values():
            yield self._reading_row(reading)
        for (date, name), count in self._transfers.items():
            yield TransfersRow(
                recording=self._now.recording,
                date=date,
                reading=name,
                part=self._counting[name],
                transfers=int(count),
            )

    def _open(self, opened: kinds.RecordingOpened) -> None:
        now = self._now
        self._counting = dict.fromkeys(opened.now.transfers, "")
        self._counting |= {one.transfers: part for part, one in opened.drawn.items() if one.transfers}
        for part, used in now.before.parts.items():
            if used.running_since:
                self._parts[part] = _Part(now.here(), " ".join(used.running_since), carried=True)
        for running in now.before.running:
            key = running.exerciser, running.job
            words = opened.exercisers.get(running.exerciser)
            part = words.part if words is not None else ""
            self._jobs[key] = _Job(now.here(), *key, part, self._ends_us(running.ends), True, now.on_s)
            now.exercised[key] = part

    def _ends_us(self, ends: str) -> int:
        """When an exerciser ends that was started before this recording; 0 if it doesn't end by itself."""
        opened = self._now.opened
        if not ends or opened is None:
            return 0
        real_s = (read_wall(ends) - read_wall(opened.wall)).total_seconds()
        return max(1, round(real_s * 1e6 * opened.rate))

    def _job_row(self, key: tuple[str, str], ended: str, ended_us: int) -> JobRow:
        job = self._jobs.pop(key)
        self._now.exercised.pop(key, None)
        return JobRow(
            **job.here,
            exerciser=job.exerciser,
            job=job.job,
            part=job.part,
            ended_at=self._now.times.wall(ended_us),
            ran_s=self._now.real_s(ended_us - job.here["at_us"]),
            ended=ended,
            carried=job.carried,
            on_s=job.on_s,
        )

    def _part_row(self, name: str, *, stopped: bool) -> PartRow:
        part, now = self._parts.pop(name), self._now
        return PartRow(
            **part.here,
            part=name,
            by=part.by,
            ended_at=now.times.wall(now.at_us),
            ran_s=now.real_s(now.at_us - part.here["at_us"]),
            stopped=stopped,
            carried=part.carried,
        )

    def _reading(self, fact: kinds.ReadingTaken) -> Iterator[ReadingRow]:
        now = self._now
        key = fact.display, fact.name
        self._count_transfers(f"{fact.display}.{fact.name}", fact.value)
        last = self._readings.get(key)
        if last is not None and last.fact.value == fact.value and last.fact.table == fact.table:
            last.times += 1
            last.until_us = now.at_us
            return
        if last is not None:
            yield self._reading_row(last)
        self._readings[key] = _Reading(now.here(), fact, now.on_s, until_us=now.at_us)

    def _count_transfers(self, name: str, value: float | str) -> None:
        if name not in self._counting or isinstance(value, str):
            return
        before, self._stood_at[name] = self._stood_at.get(name), float(value)
        if before is None:
            return
        # A reading that fell has started from zero again, so all that it shows is new.
        more = value - before if value >= before else float(value)
        day = self._now.times.wall(self._now.at_us)[:10]
        self._transfers[day, name] = self._transfers.get((day, name), 0.0) + more

    def _reading_row(self, reading: _Reading) -> ReadingRow:
        value = reading.fact.value
        table = reading.fact.table
        text = f"{value}" if table is None else msgspec.json.encode(table).decode()
        return ReadingRow(
            **reading.here,
            display=reading.fact.display,
            name=reading.fact.name,
            value=None if table is not None or isinstance(value, str) else float(value),
            text=text,
            times=reading.times,
            until_at=self._now.times.wall(reading.until_us),
            until_us=reading.until_us,
            on_s=reading.on_s,
        )
