"""Gathers incidents, each with its like.

Troubles, late steps, disc errors, a machine that fell silent, lost lines, garbled commands, scripts that
failed; and what makes a recording itself doubtful: broken off, damaged, its clock set, characters missed.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final, Literal, cast

from exhibit.facts.kinds import DueFrom, ReadingMeasured, WorkDone
from exhibit.records.history.machine_hours import MachineHours, seconds
from exhibit.records.history.signatures import signature
from exhibit.records.history.wrong_echo import Wrong, how_wrong
from exhibit.records.index.asking import Index
from exhibit.records.index.fact_words import WAS_DUE
from exhibit.records.index.rows import (
    ErrorsRow,
    GapRow,
    GarbledRow,
    JobRow,
    LineErrorsRow,
    PartRow,
    Placed,
    RecordingRow,
    ScriptRow,
    StepRow,
    TroubleRow,
)
from exhibit.records.work.reading import WrittenDown, written_down
from exhibit.streams.recording import writer_state

IncidentKind = Literal[
    "trouble",
    "late step",
    "disc errors",
    "silent",
    "line lost",
    "garbled",
    "script failed",
    "part stopped",
    "broken off",
    "damaged",
    "clock stepped",
    "characters missed",
]
OF_THE_RECORDING: Final = frozenset(("broken off", "damaged", "clock stepped", "characters missed"))
"""The kinds that say something of the museum's computer and its recording, and nothing of the machine."""
DAMAGES: Final = ("parity", "framing", "overrun", "breaks")
"""How a character can come damaged, as the computer's port counts it."""
_PART_STOPPED: Final = re.compile(
    r"the (.+) has stopped, and nothing has shown since that it was started again"
)
"""Why rounds are held, as exhibit.decisions.session.limits says it."""
TEMPERATURE_HOLDS_S: Final = 2 * 3600.0
"""A measured temperature counts for incidents so long before and after it (our own choice)."""


@dataclass(frozen=True, kw_only=True)
class Incident:
    """One incident, and how it was then."""

    folder: Path
    recording: str
    seq: int
    at: str
    kind: IncidentKind
    signature: str
    line: str
    """What the console said, or what is known of it."""
    words: str
    """What the machine's folder says about it; empty if nothing."""
    count: int
    """How many there were at once: of a trouble that was raised again within a minute, or of disc errors."""
    step: str
    """SCRIPT.STEP; empty if none ran."""
    parts: str
    """The parts that exercisers kept busy."""
    on_s: float | None
    """How long the machine had been on; None if unknown."""
    exercised: bool
    temperature_c: float | None
    """As measured closest to it in time; None if nobody measured."""
    command: str = ""
    """Of a garbled command: what was typed, and what became of its first wrong character."""
    wrong: Wrong | Literal[""] = ""

    @property
    def date(self) -> str:
        """The local date."""
        return self.at[:10]


@dataclass
class Likes:
    """Incidents of one signature, in the order of their times."""

    signature: str
    kind: IncidentKind
    incidents: list[Incident] = field(default_factory=list)

    @property
    def title(self) -> str:
        """The signature, with the line itself where all of them said the same one."""
        lines = {one.line for one in self.incidents}
        said = signature("", next(iter(lines))).removeprefix(": ") if len(lines) == 1 else ""
        if not said or not self.signature.endswith(f": {said}"):
            return self.signature
        return f"{self.signature.removesuffix(said)}{' '.join(next(iter(lines)).split())}"

    @property
    def times(self) -> int:
        """How often it happened."""
        return sum(one.count for one in self.incidents)

    @property
    def days(self) -> list[str]:
        """The dates on which it happened."""
        return sorted({one.date for one in self.incidents})


@dataclass
class History:
    """What the recordings of one machine say, over all their days."""

    machine: str
    simulated: bool
    recordings: list[RecordingRow] = field(default_factory=list)
    likes: list[Likes] = field(default_factory=list)
    """The most frequent first."""
    hours: MachineHours = field(default_factory=lambda: MachineHours((), ()))
    runs: dict[str, int] = field(default_factory=dict)
    """How often each step ran, by SCRIPT.STEP."""
    recorded_h: dict[str, float] = field(default_factory=dict)
    """How many hours were recorded, by date."""
    received_damaged: dict[str, int] = field(default_factory=dict)
    """How many characters came damaged over the line by the computer's own count, by kind."""
    written: WrittenDown = field(default_factory=lambda: WrittenDown([], [], []))

    @property
    def work(self) -> list[WorkDone]:
        """What was done to the machine."""
        return self.written.work


def history_of(indexes: Iterable[Index], machine: str | None = None, since: str = "") -> list[History]:
    """The history of each machine in these indexes, in the order of their names, real and simulated apart.

    `since`: a date, such as 2026-11-01; what was before it is left out. Raises RecordingFault if a folder
    can't be read.
    """
    found: dict[tuple[str, bool], History] = {}
    rows: dict[tuple[str, bool], tuple[list[PartRow], list[JobRow], list[Incident]]] = {}
    folders: list[Path] = []
    steps: dict[tuple[Path, str], list[StepRow]] = {}
    ends: dict[tuple[Path, str, int], int] = {}
    for index in indexes:
        folders.append(index.folder)
        which: dict[str, tuple[str, bool]] = {}
        for one in index.recordings(machine, practice=False):
            key = one.machine, one.simulated
            which[one.recording] = key
            found.setdefault(key, History(*key)).recordings.append(one)
            rows.setdefault(key, ([], [], []))
        for part in index.rows(PartRow, machine=machine):
            rows[which[part.recording]][0].append(part)
        for job in index.rows(JobRow, machine=machine):
            rows[which[job.recording]][1].append(job)
        for incident in _incidents(index, machine):
            rows[which[incident.recording]][2].append(incident)
        for script in index.rows(ScriptRow, machine=machine):
            ends[index.folder, script.recording, script.seq] = script.ended_seq
        for step in index.rows(StepRow, machine=machine):
            # A step whose end isn't recorded ended with its script.
            ended = step.ended_seq or ends.get((index.folder, step.recording, step.script_seq), 0)
            steps.setdefault((index.folder, step.recording), []).append(replace(step, ended_seq=ended))
            if step.at[:10] >= since:
                runs = found[which[step.recording]].runs
                runs[f"{step.script}.{step.step}"] = runs.get(f"{step.script}.{step.step}", 0) + 1
        for errors in index.rows(LineErrorsRow, machine=machine):
            if errors.at[:10] >= since:
                damaged = found[which[errors.recording]].received_damaged
                for kind in DAMAGES:
                    damaged[kind] = damaged.get(kind, 0) + getattr(errors, kind)
        for day in index.days(machine):
            if day.date >= since:
                recorded = found[day.machine, day.simulated].recorded_h
                recorded[day.date] = recorded.get(day.date, 0.0) + day.recorded_s / 3600
    for key, (parts, jobs, incidents) in rows.items():
        history = found[key]
        history.written = written_down(folders, key[0])
        history.hours = MachineHours(
            (part for part in parts if part.ended_at[:10] >= since),
            (job for job in jobs if job.ended_at[:10] >= since),
        )
        whole = (
            _placed(one, history, steps.get((one.folder, one.recording), []))
            for one in incidents
            if one.date >= since
        )
        history.likes = _likes(sorted(whole, key=lambda one: (one.at, one.seq)))
    return [found[key] for key in sorted(found)]


def temperature_at(at: str, measured: Iterable[ReadingMeasured]) -> float | None:
    """The temperature in °C that was measured closest to this moment; None if none was within two hours."""
    moment = seconds(at)
    closest: tuple[float, float] | None = None
    for one in measured:
        then = seconds(one.at) if one.unit == "°C" else None
        if moment is None or then is None or abs(then - moment) > TEMPERATURE_HOLDS_S:
            continue
        if closest is None or abs(then - moment) < closest[0]:
            closest = abs(then - moment), one.value
    return closest[1] if closest else None


def _incidents(index: Index, machine: str | None) -> Iterator[Incident]:
    """All of an index, without what only the whole history tells."""
    yield from _troubles(index, index.rows(TroubleRow, machine=machine))
    for step in index.rows(StepRow, machine=machine):
        if step.overdue:
            name = _step(step.script, step.step)
            line = step.why or "it was not done in its time"
            late = replace(step, seq=step.overdue_seq or step.seq, at=step.overdue_at or step.at)
            yield _incident(index, late, "late step", f"late: {name}", line, step=name)
    for errors in index.rows(ErrorsRow, machine=machine):
        if errors.count:
            line = errors.entry or f"{errors.by} went up by {errors.count} to {errors.stands_at:g}"
            name = signature(f"disc errors, {errors.by}", errors.entry)
            incident = _incident(index, errors, "disc errors", name, line, on_s=errors.on_s)
            yield replace(incident, count=errors.count, parts=errors.parts)
    for gap in index.rows(GapRow, machine=machine, kind="line lost"):
        yield _incident(index, gap, "line lost", signature("line lost", gap.why), gap.why)
    for garbled in index.rows(GarbledRow, machine=machine):
        line = f"{garbled.command} came back as {garbled.came_back}"
        step_name = _step(garbled.script, garbled.step)
        incident = _incident(
            index, garbled, "garbled", "garbled: a command came back wrong", line, step=step_name
        )
        wrong = how_wrong(garbled.expected, garbled.came_back)
        yield replace(incident, command=garbled.command, wrong=wrong)
    for gap in index.rows(GapRow, machine=machine, kind="machine silent"):
        due = WAS_DUE.get(cast(DueFrom, gap.why), "something")
        line = f"nothing came any more, although {due} was due"
        steps = index.rows(StepRow, machine=machine, recording=gap.recording)
        began_in = [one for one in steps if one.at_us <= gap.at_us <= one.at_us + one.took_us][-1:]
        step_name = _step(began_in[0].script, began_in[0].step) if began_in else ""
        yield _incident(index, gap, "silent", "silent: the machine fell silent", line, step=step_name)
    for script in index.rows(ScriptRow, machine=machine, outcome="failed"):
        name = signature(f"{script.script} failed", script.why.partition(";")[0])
        ended = replace(script, seq=script.ended_seq or script.seq, at=script.ended_at or script.at)
        yield _incident(index, ended, "script failed", name, script.why)
    for script in index.rows(ScriptRow, machine=machine, outcome="stopped"):
        if found := _PART_STOPPED.fullmatch(script.why):
            ended = replace(script, seq=script.ended_seq or script.seq, at=script.ended_at or script.at)
            name = f"part stopped: {found[1]}, during {script.script}"
            yield _incident(index, ended, "part stopped", name, script.why)
    yield from _broken_off(index, machine)
    yield from _doubtful(index, machine)


def _doubtful(index: Index, machine: str | None) -> Iterator[Incident]:
    """Places at which a recording doesn't say all, or from which its dates and times are others."""
    for gap in index.rows(GapRow, machine=machine, kind="damaged"):
        lost = f"; facts that are missing: {gap.lost_facts}" if gap.lost_facts else ""
        line = f"{gap.length_bytes} bytes at byte {gap.offset_bytes} can't be read ({gap.why}){lost}"
        yield _incident(index, gap, "damaged", "damaged: a part of a recording can't be read", line)
    for gap in index.rows(GapRow, machine=machine, kind="clock stepped"):
        line = f"it was set {gap.why}"
        yield _incident(index, gap, "clock stepped", "clock: the computer's date or time was set", line)
    for gap in index.rows(GapRow, machine=machine, kind="characters missed"):
        name = "characters missed: they aren't in the recording"
        yield _incident(index, gap, "characters missed", name, gap.why)


def _broken_off(index: Index, machine: str | None) -> Iterator[Incident]:
    """Recordings that just end: the computer lost its power, or the program was killed."""
    for row in index.recordings(machine, practice=False):
        if row.closed or writer_state(index.folder / row.recording) == "writing":
            continue
        last = Placed(recording=row.recording, seq=row.facts, at=row.ended_at, at_us=row.length_us)
        line = "the computer lost its power, or the program was killed"
        yield _incident(index, last, "broken off", "broken off: the recording just ends", line)


def _troubles(index: Index, rows: list[TroubleRow]) -> Iterator[Incident]:
    """Each trouble with its repeats, which the program counted without asking anybody anew."""
    first_of: dict[tuple[str, int], int] = {}
    times: dict[tuple[str, int], int] = {}
    for row in rows:
        first = first_of.get((row.recording, row.repeats), row.seq)
        first_of[row.recording, row.seq] = first
        times[row.recording, first] = times.get((row.recording, first), 0) + 1
    for row in rows:
        if first_of[row.recording, row.seq] == row.seq:
            incident = _incident(
                index, row, "trouble", signature(row.trouble, row.line), row.line, on_s=row.on_s
            )
            step = _step(row.script, row.step)
            count = times[row.recording, row.seq]
            yield replace(incident, words=row.words, step=step, parts=row.parts, count=count)


def _incident(
    index: Index,
    row: Placed,
    kind: IncidentKind,
    name: str,
    line: str,
    step: str = "",
    on_s: float | None = None,
) -> Incident:
    return Incident(
        folder=index.folder,
        recording=row.recording,
        seq=row.seq,
        at=row.at,
        kind=kind,
        signature=name,
        line=line,
        words="",
        count=1,
        step=step,
        parts="",
        on_s=on_s,
        exercised=False,
        temperature_c=None,
    )


def _placed(incident: Incident, history: History, steps: Sequence[StepRow]) -> Incident:
    """The incident with what the whole history tells of its moment, and the steps of its recording."""
    on_s = incident.on_s if incident.on_s is not None else history.hours.age_s(incident.at)
    return replace(
        incident,
        on_s=on_s,
        step=incident.step or _step_at(incident.seq, steps),
        parts=incident.parts or history.hours.parts_at(incident.at),
        exercised=bool(incident.parts) or history.hours.is_exercised(incident.at),
        temperature_c=temperature_at(incident.at, history.written.measured),
    )


def _step_at(seq: int, steps: Sequence[StepRow]) -> str:
    """The step that ran at this fact, as SCRIPT.STEP; empty if none did. `steps` are in order."""
    place = bisect_right(steps, seq, key=lambda one: one.seq) - 1
    if place < 0:
        return ""
    last = steps[place]
    return _step(last.script, last.step) if not last.ended_seq or seq <= last.ended_seq else ""


def _likes(incidents: Iterable[Incident]) -> list[Likes]:
    found: dict[str, Likes] = {}
    for one in incidents:
        found.setdefault(one.signature, Likes(one.signature, one.kind)).incidents.append(one)
    return sorted(found.values(), key=lambda likes: (-likes.times, likes.signature))


def _step(script: str, step: str) -> str:
    return f"{script}.{step}" if script and step else ""
