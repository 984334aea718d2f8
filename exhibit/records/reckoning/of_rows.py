"""The rows of one machine's recordings that the sums are made of."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Literal, TypeVar, get_args

from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import (
    ErrorsRow,
    GapRow,
    GarbledRow,
    HandsOnRow,
    JobRow,
    PackRow,
    PartRow,
    Placed,
    RecordingRow,
    ScriptRow,
    StepRow,
    TroubleRow,
)
from exhibit.streams.recording_files import no_recording

R = TypeVar("R", bound=Placed)
Kind = Literal["steps", "scripts", "troubles", "errors", "use", "typing"]
KINDS: tuple[Kind, ...] = get_args(Kind)
NOTHING = "So there is nothing to calculate."


@dataclass
class Rows:
    """All rows are in the order of time."""

    machine: str
    simulated: bool
    recordings: list[RecordingRow]
    steps: list[StepRow] = field(default_factory=list)
    by_hand: frozenset[tuple[str, str]] = frozenset()
    """Script and step of those that people do."""
    scripts: list[ScriptRow] = field(default_factory=list)
    troubles: list[TroubleRow] = field(default_factory=list)
    errors: list[ErrorsRow] = field(default_factory=list)
    jobs: list[JobRow] = field(default_factory=list)
    parts: list[PartRow] = field(default_factory=list)
    packs: list[PackRow] = field(default_factory=list)
    gaps: list[GapRow] = field(default_factory=list)
    garbled: list[GarbledRow] = field(default_factory=list)
    confirmed: list[Placed] = field(default_factory=list)
    """Each command that came back right."""

    @property
    def from_(self) -> str:
        """The date of the first recording."""
        return self.recordings[0].opened_at[:10]

    @property
    def until(self) -> str:
        """The date on which the last one ended."""
        return max(row.ended_at or row.opened_at for row in self.recordings)[:10]

    @property
    def line(self) -> str:
        """What was looked at, in one line."""
        number = f"{len(self.recordings)} recording" + "s" * (len(self.recordings) != 1)
        kind = "simulated" if self.simulated else "real"
        return f"{self.machine} ({kind}): {number} from {self.from_} to {self.until}"


def moment(row: Placed) -> datetime:
    """When it was; the earliest of all moments if that isn't known."""
    return read_wall(row.at) if row.at else datetime.min.replace(tzinfo=UTC)


def rows_of(
    indexes: Iterable[Index],
    wanted: Collection[Kind] = KINDS,
    machine: str | None = None,
    since: date | None = None,
    until: date | None = None,
) -> Rows:
    """The rows of one machine, from local date to local date (without the latter); practice is left out.

    Raises SetUpFault if there is no recording, if there are several machines and none is named, or real and
    simulated ones.
    """
    found: Rows | None = None
    count = 0
    looked_in = list[Path]()
    for index in indexes:
        looked_in.append(index.folder)
        recordings = index.recordings(machine, practice=False)
        if not recordings:
            continue
        kinds = {(one.machine, one.simulated) for one in recordings}
        kinds |= {(found.machine, found.simulated)} if found else set()
        _check_one_kind(kinds)
        found = found or Rows(recordings[0].machine, recordings[0].simulated, [])
        _add(found, index, recordings, wanted)
        count += 1
    if found is None:
        raise no_recording(looked_in, NOTHING, machine or "")
    # An index gives its rows in the order of its recordings, which is that of time.
    _cut(found, since, until, ordered=count == 1)
    if not found.recordings:
        raise SetUpFault(
            "There is no recording in that time.",
            NOTHING,
            "`exhibit days` says on which days there are some.",
        )
    return found


def _check_one_kind(kinds: set[tuple[str, bool]]) -> None:
    names = sorted({name for name, _ in kinds})
    if len(names) > 1:
        raise SetUpFault(
            f"These are recordings of several machines: {', '.join(names)}.",
            "The times and errors of one say nothing about another.",
            f"Name one of them, such as --machine {names[0]}.",
        )
    if len(kinds) > 1:
        raise SetUpFault(
            "Some of these recordings are of the real machine and some of a simulated one.",
            "Times and errors of the simulated one would count as those of the real one.",
            "Name recordings of one kind.",
        )


def _add(found: Rows, index: Index, recordings: list[RecordingRow], wanted: Collection[Kind]) -> None:
    name = found.machine
    found.recordings += recordings
    for kind in wanted:
        match kind:
            case "steps":
                found.steps += index.rows(StepRow, machine=name)
                hands = index.rows(HandsOnRow, machine=name)
                found.by_hand |= {(row.script, row.step) for row in hands}
            case "scripts":
                found.scripts += index.rows(ScriptRow, machine=name)
                found.gaps += index.rows(GapRow, machine=name)
            case "troubles":
                found.troubles += index.rows(TroubleRow, machine=name)
            case "errors":
                found.errors += index.rows(ErrorsRow, machine=name)
            case "use":
                found.jobs += index.rows(JobRow, machine=name)
                found.parts += index.rows(PartRow, machine=name)
                found.packs += index.rows(PackRow, machine=name)
            case "typing":
                found.garbled += index.rows(GarbledRow, machine=name)
                found.confirmed += index.find(kind=("typing_confirmed",), machine=name)


def _cut(found: Rows, since: date | None, until: date | None, *, ordered: bool) -> None:
    """Leaves what is between the dates, in the order of time; `ordered`: the rows are already in it."""

    def within(day: str) -> bool:
        return (since is None or day >= since.isoformat()) and (until is None or day < until.isoformat())

    def cut(rows: list[R]) -> list[R]:
        left = rows if since is until is None else [row for row in rows if within(row.at[:10])]
        return left if ordered else sorted(left, key=moment)

    found.recordings = sorted(
        (row for row in found.recordings if within(row.opened_at[:10])),
        key=lambda row: (row.opened_at, row.recording),
    )
    found.steps, found.scripts, found.gaps = cut(found.steps), cut(found.scripts), cut(found.gaps)
    found.troubles, found.errors = cut(found.troubles), cut(found.errors)
    found.jobs, found.parts, found.packs = cut(found.jobs), cut(found.parts), cut(found.packs)
    found.garbled, found.confirmed = cut(found.garbled), cut(found.confirmed)
