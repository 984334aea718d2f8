"""What an engineer wants to know before the drive: what the recordings since the last visit say."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Final

from exhibit.decisions.machine.script import Folder
from exhibit.facts.errors import SetUpFault
from exhibit.records.given_folders import indexes_of
from exhibit.records.history import counts
from exhibit.records.history.comparing import StepCompared, Times, compare
from exhibit.records.history.incidents import OF_THE_RECORDING, History, Likes, history_of
from exhibit.records.history.step_runs import Compared, StepRuns
from exhibit.records.index.reading_files import Reading
from exhibit.records.index.rows import Day, NoteRow, StepRow, TroubleRow
from exhibit.records.reckoning.error_sums import WARM_S
from exhibit.records.reckoning.of_rows import Rows, moment, rows_of
from exhibit.records.reckoning.step_sums import FINEST_S, step_sums
from exhibit.records.reckoning.wear_sums import WearSums, wear_sums
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.drift import Drift, drift

FEWEST: Final = 3
LEAST: Final = 1.05
"""How many times as long a step must take to be called slower: a line that is a character longer than before
takes longer too, and by more than chance (our own choice)."""
DISC_ERRORS: Final = "disc errors"
LONGEST_NAME: Final = 90
"""Characters of a signature on paper."""


@dataclass
class Visit:
    """Everything that the report says, before it is put into words."""

    since: date
    until: str
    """The date of the last recording."""
    rows: Rows
    history: History
    """Since that date."""
    whole: History
    """From the first recording on."""
    wear: WearSums
    days: list[Day]
    steps: list[StepCompared]
    """Each step before that date and since."""
    warm: list[StepCompared]
    """Each step since that date, until the machine was warm and after that."""
    has_before: bool
    """Whether something was recorded before that date."""
    known_before: set[str]
    """The signatures of the incidents that there were before."""
    notes: list[NoteRow]
    open_troubles: list[TroubleRow]
    """Those of which nobody said, and nothing shows, that they are over."""
    not_ended: list[str]
    """Recordings that weren't closed, but for the last."""
    no_drift: frozenset[str] = frozenset()
    """Of the steps that took longer, those in whose runs the charts see no lasting change to longer times."""
    bring: list[tuple[str, list[str]]] = field(default_factory=list)
    """What to bring, and because of which troubles."""

    @property
    def slower(self) -> list[StepCompared]:
        """The steps that took longer since that date, the slowest first.

        Longer by more than chance, and by enough to be worth a look; and the charts of `exhibit sums steps`
        see it too, where a step ran often enough for them.
        """
        found = [one for one in self.steps if is_longer(one.times) and one.name not in self.no_drift]
        return sorted(found, key=lambda one: -(one.times.ratio if one.times else 0.0))

    @property
    def slower_warm(self) -> list[StepCompared]:
        """The steps that took longer once the machine was warm, by more than chance, the slowest first."""
        found = [one for one in self.warm if is_longer(one.times)]
        return sorted(found, key=lambda one: -(one.times.ratio if one.times else 0.0))

    @property
    def judged(self) -> int:
        """How many steps ran often enough to tell."""
        return sum(one.times is not None and not one.times.too_few for one in self.steps)


def visit_of(
    recordings: Sequence[Path],
    since: date,
    machine: str | None = None,
    folder: Folder | None = None,
    until: date | None = None,
    reading: Reading | None = None,
) -> Visit:
    """What was recorded since that date, up to and without `until`, beside what was recorded before it.

    `folder` describes the machine: its limits, and what its troubles say to bring. Raises RecordingFault; and
    SetUpFault if nothing was recorded, or the recordings are of several machines.
    """
    rows = rows_of(indexes_of(recordings, reading), machine=machine, since=since, until=until)
    if folder is not None and folder.machine.name != rows.machine:
        raise SetUpFault(
            f"These are recordings of {rows.machine}, and the folder describes {folder.machine.name}.",
            "What its troubles say to bring would be wrong.",
            f"Name the folder of {rows.machine}.",
        )
    began = since.isoformat()
    whole = _of_machine(history_of(indexes_of(recordings), rows.machine), rows)
    history = _of_machine(history_of(indexes_of(recordings), rows.machine, began), rows)
    if until is not None:
        _cut(history, until.isoformat())
    names = {row.recording for row in rows.recordings}
    days: list[Day] = []
    notes: list[NoteRow] = []
    before: list[StepRow] = []
    for index in indexes_of(recordings):
        days += [day for day in index.days(rows.machine) if _within(day.date, since, until)]
        notes += [
            row for row in index.rows(NoteRow, machine=rows.machine) if _within(row.at[:10], since, until)
        ]
        before += [row for row in index.rows(StepRow, machine=rows.machine) if row.at[:10] < began]
    found = Visit(
        since=since,
        until=rows.until,
        rows=rows,
        history=history,
        whole=whole,
        wear=wear_sums(rows, folder.limits if folder else None),
        days=[day for day in days if day.simulated == rows.simulated],
        steps=compare(_side(before, rows), _side(rows.steps, rows)),
        warm=compare(*(_side(steps, rows) for steps in _cold_and_warm(rows.steps))),
        has_before=any(row.opened_at[:10] < began for row in whole.recordings),
        known_before={
            likes.signature for likes in whole.likes if any(one.date < began for one in likes.incidents)
        },
        notes=[note for note in notes if note.recording in names],
        open_troubles=[row for row in rows.troubles if not row.over_at and not row.repeats],
        not_ended=[row.recording for row in rows.recordings[:-1] if not row.closed],
    )
    found.no_drift = _without_drift(
        found.steps, replace(rows, steps=sorted([*before, *rows.steps], key=moment))
    )
    if folder is not None:
        found.bring = _bring(folder, history.likes)
    return found


def is_longer(times: Times | None) -> bool:
    """Whether the second side took longer by more than chance, and by LEAST and what can be measured."""
    if times is None or not times.differs:
        return False
    return times.ratio >= LEAST and times.second_us - times.first_us >= FINEST_S * 1e6


def _without_drift(steps: Iterable[StepCompared], rows: Rows) -> frozenset[str]:
    """Of the steps that took longer, those in whose runs the charts could see a lasting change, but don't.

    They could if they saw one in just as many runs that are all longer since that day than any before it.
    """
    longer = {one.name: one for one in steps if is_longer(one.times)}
    found = set()
    for one in step_sums(rows, longer).steps if longer else ():
        sides = longer[one.name]
        clear = drift([0.0] * len(sides.first.took_us) + [1.0] * len(sides.second.took_us))
        is_seen = one.change is not None and one.change.up
        if isinstance(clear, Drift) and clear.change is not None and not is_seen:
            found.add(one.name)
    return frozenset(found)


def verdicts(visit: Visit) -> list[str]:
    """Whether what erred is seldomer after work that was done since that day, the clearest first.

    What erred less than three times in all says nothing, and is left out.
    """
    said: list[tuple[float, str]] = []
    for likes in visit.whole.likes:
        if likes.kind in OF_THE_RECORDING:
            continue
        for one in counts.by_work(likes, visit.whole):
            if one.at[:10] < visit.since.isoformat() or one.before.times + one.after.times < FEWEST:
                continue
            compared = counts.comparison_of(one.before, one.after)
            work = ", ".join(" ".join(filter(None, (done.part, done.board, done.act))) for done in one.work)
            before = f"{one.before.times} in {one.before.hours or 0:.1f} h before"
            figures = (
                f"{shortened(likes.signature)}: {before}, "
                f"{one.after.times} in {one.after.hours or 0:.1f} h after {work} on {one.at[:10]}"
            )
            if compared is None or isinstance(compared, TooFew):
                said.append((2.0, f"{figures}. Too little to tell."))
            elif not compared.differs:
                said.append((compared.chance, f"{figures}. That can be chance (p = {compared.chance:.2g})."))
            else:
                how = "Seldomer" if compared.ratio < 1 else "More often"
                words = f"{figures}. {how} by more than chance (p = {compared.chance:.2g})."
                said.append((compared.chance, words))
    return [words for _, words in sorted(said)]


def shortened(name: str) -> str:
    """A signature on paper: of LONGEST_NAME characters at most, cut behind a whole word."""
    if len(name) <= LONGEST_NAME:
        return name
    cut = name[: LONGEST_NAME - 1]
    whole = cut.rpartition(" ")[0]
    return f"{whole} …" if len(whole) > LONGEST_NAME // 2 else f"{cut}…"


def _within(day: str, since: date, until: date | None) -> bool:
    return day >= since.isoformat() and (until is None or day < until.isoformat())


def _of_machine(histories: Iterable[History], rows: Rows) -> History:
    return next(
        (one for one in histories if (one.machine, one.simulated) == (rows.machine, rows.simulated)),
        History(rows.machine, rows.simulated),
    )


def _cut(history: History, until: str) -> None:
    """Leaves out what was on that date and later."""
    for likes in history.likes:
        likes.incidents = [one for one in likes.incidents if one.date < until]
    history.likes = [likes for likes in history.likes if likes.incidents]


def _cold_and_warm(steps: Iterable[StepRow]) -> tuple[list[StepRow], list[StepRow]]:
    """Those that ran before the machine had been on for WARM_S, and those after; not where nobody knows."""
    known = [(row, row.on_s) for row in steps if row.on_s is not None]
    return [row for row, on_s in known if on_s < WARM_S], [row for row, on_s in known if on_s >= WARM_S]


def _side(rows: Iterable[StepRow], of: Rows) -> Compared:
    """The steps that no person does, as one side of a comparison."""
    found = Compared("", [of.machine], 0, 0, {})
    for row in rows:
        if row.script and (row.script, row.step) not in of.by_hand:
            runs = found.steps.setdefault(f"{row.script}.{row.step}", StepRuns())
            if row.outcome == "done" and not row.typed_again:
                runs.done += 1
                runs.took_us.append(row.took_us)
    return found


def _bring(folder: Folder, likes: Iterable[Likes]) -> list[tuple[str, list[str]]]:
    """What the folder says to bring, each thing once, with the troubles that ask for it."""
    asked = {trouble.name: trouble.bring for trouble in folder.machine.troubles}
    asked |= {DISC_ERRORS: folder.machine.error_signs.bring}
    found: dict[str, list[str]] = {}
    for one in likes:
        name = one.signature.partition(":")[0] if one.kind == "trouble" else one.kind
        for thing in asked.get(name, ()):
            because = found.setdefault(thing, [])
            if name not in because:
                because.append(name)
    return [*found.items()]
