"""The numbers of the charts: how long a step took each time, and what each day had. All from the indexes.

The sums of the steps are those of `exhibit sums steps` (exhibit/records/reckoning), so page and command line
never say different things. With too few runs nothing is computed, and that is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, Final

from exhibit.records.index.asking import Index
from exhibit.records.index.rows import Day, DayRow, HandsOnRow, NoteRow, RecordingRow, StepRow
from exhibit.records.reckoning.of_rows import Rows, moment
from exhibit.records.reckoning.step_sums import FINEST_S, StepSum, StepSums, became, step_sums
from exhibit.records.study.shelf import Shelf
from exhibit.records.went_wrong import went_wrong
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import Individuals, individuals
from exhibit.sums.statistical.drift import Drift

MOST_POINTS: Final = 5_000
DAYS: Final = {
    "rounds": "rounds done in a day",
    "failed": "scripts that failed in a day",
    "troubles": "troubles in a day",
    "hours": "hours recorded in a day",
}
"""The charts that have a point for each day, and what they count."""


def charts(shelf: Shelf) -> dict[str, Any]:
    """Which charts there are, by machine: what each day had, and each step with what became of its times."""
    with _opened(shelf) as indexes:
        machines = [*_machines(shelf, [index for _, index in indexes])]
    return {"days": [[name, says] for name, says in DAYS.items()], "machines": machines}


def _machines(shelf: Shelf, indexes: list[Index]) -> Iterator[dict[str, Any]]:
    names = dict.fromkeys(row["machine"] for row in shelf.rows() if "machine" in row)
    for machine in names:
        history = _History(indexes, machine)
        sums = [one for key in history.steps() if (one := history.sum_of(*key)) is not None]
        yield {
            "machine": machine,
            "of": history.rows().line if history.recordings else "",
            "steps": [_listed(shelf, one) for one in sums],
        }


def _listed(shelf: Shelf, one: StepSum) -> dict[str, Any]:
    change = one.change
    listed: dict[str, Any] = {
        "name": one.name,
        "runs": len(one.runs),
        "judged": isinstance(one.drift, Drift),
        "late": one.late,
        "failed": one.failed,
        "median_s": one.median_s,
        "far_off": len(one.far_off),
        "change": None,
    }
    if change is not None and change.in_latest:
        began = one.runs[change.began]
        listed["change"] = {
            "up": change.up,
            "before": change.before,
            "after": change.after,
            "at": began.at,
            "recording": shelf.name_of_file(began.recording),
            "seq": began.seq,
        }
    return listed


class _History:
    """The recordings of one machine: of the real one, if there are any, or else of a simulated one."""

    def __init__(self, indexes: list[Index], machine: str) -> None:
        self._indexes, self._machine = indexes, machine
        self.recordings: list[RecordingRow] = []
        self._by_hand: set[tuple[str, str]] = set()
        self._counts: dict[tuple[str, str], int] = {}
        for index in indexes:
            self.recordings += index.recordings(machine, practice=False)
            self._by_hand |= {(row.script, row.step) for row in index.rows(HandsOnRow, machine=machine)}
            for _, script, step, count in index.step_counts(machine):
                self._counts[script, step] = self._counts.get((script, step), 0) + count
        self.simulated = all(one.simulated for one in self.recordings)
        self.recordings = [one for one in self.recordings if one.simulated == self.simulated]
        self.recordings.sort(key=lambda one: (one.opened_at, one.recording))
        self._names = {one.recording for one in self.recordings}
        self._among = sum(index.number_of_runs(machine, simulated=self.simulated) for index in indexes)

    def steps(self) -> list[tuple[str, str]]:
        """Script and step of those that were done, in the order in which they first ran."""
        return [key for key in self._counts if key not in self._by_hand]

    def rows(self, steps: list[StepRow] | None = None) -> Rows:
        """As the sums want them."""
        return Rows(self._machine, self.simulated, self.recordings, steps or [])

    def sum_of(self, script: str, step: str) -> StepSum | None:
        """The sums of one step; None if it was never done well."""
        found: list[StepRow] = []
        for index in self._indexes:
            found += index.rows(StepRow, machine=self._machine, script=script, step=step)
        found = sorted((row for row in found if row.recording in self._names), key=moment)
        sums: StepSums = step_sums(self.rows(found), among=self._among)
        return sums.steps[0] if sums.steps else None


def summaries(shelf: Shelf) -> dict[str, Any]:
    """What each recording had, by its name: rounds, scripts that failed, damage, and when what
    went wrong and notes were."""
    found: dict[str, dict[str, Any]] = {}
    names = shelf.names_by_path()
    with _opened(shelf) as indexes:
        for folder, index in indexes:
            of: dict[str, dict[str, Any]] = {}
            for one in index.recordings():
                of[one.recording] = {
                    "rounds": 0,
                    "failed": 0,
                    "troubles": [],
                    "notes": [],
                    "damaged": one.damaged,
                }
                if (name := names.get(folder / one.recording)) is not None:
                    found[name] = of[one.recording]
            for day in index.rows(DayRow, practice=True):
                of[day.recording]["rounds"] += day.rounds_done
                of[day.recording]["failed"] += day.scripts_failed
            for wrong in went_wrong(index, practice=True):
                of[wrong.recording]["troubles"].append(wrong.at_us)
            for note in index.rows(NoteRow, practice=True):
                of[note.recording]["notes"].append(note.at_us)
    return {"summaries": found}


def step_chart(shelf: Shelf, machine: str, name: str) -> dict[str, Any]:
    """Each good run of a step, oldest first, with its limits and the change that was found."""
    script, _, step = name.partition(".")
    with _opened(shelf) as indexes:
        history = _History([index for _, index in indexes], machine)
        one = history.sum_of(script, step) if script and step else None
    answer: dict[str, Any] = {
        "title": f"How long {name} took",
        "unit": "s",
        "points": [],
        "says": [],
        "limits": None,
        "change": None,
    }
    if one is None:
        return answer
    far_off = set() if one.changed else set(one.off)
    answer["points"] = [
        {
            "recording": shelf.name_of_file(run.recording),
            "seq": run.seq,
            "at": run.at,
            "value": round(run.took_s, 3),
            **({"outside": True} if place in far_off else {}),
        }
        for place, run in enumerate(one.runs)
    ]
    answer["says"].append(history.rows().line + ".")
    limits = _limits(one)
    if isinstance(limits, TooFew):
        answer["says"].append(limits.line)
    else:
        before = " Only the runs before the change count for the limits." if one.changed else ""
        answer["limits"] = {
            "centre": limits.centre,
            "lower": max(0.0, limits.lower),
            "upper": limits.upper,
        }
        answer["says"].append(limits.basis.line + before)
    answer["says"].append(one.drift.basis.line if isinstance(one.drift, Drift) else one.drift.line)
    if (change := one.change) is not None and change.in_latest:
        answer["change"] = {"began": change.began, "before": change.before, "after": change.after}
        began = one.runs[change.began].at[:16].replace("T", " ")
        answer["says"].append(
            f"It {became(one, change)} It most likely began on {began}; {change.by} noticed it."
        )
    elif isinstance(one.drift, Drift):
        answer["says"].append("It has not become slower or quicker for good.")
    return _newest(answer)


def _limits(one: StepSum) -> Individuals | TooFew:
    """The limits of single runs: of all, or of those before a lasting change, since it would widen them."""
    if not one.changed or one.change is None:
        return one.single
    return individuals([run.took_s for run in one.runs[: one.change.began]], finest=FINEST_S)


def _newest(answer: dict[str, Any]) -> dict[str, Any]:
    """The same with no more points than a chart can show."""
    left_out = len(answer["points"]) - MOST_POINTS
    if left_out > 0:
        answer["points"] = answer["points"][left_out:]
        answer["says"].append(f"The oldest {left_out:,} runs aren't drawn.")
        if answer["change"] is not None:
            answer["change"]["began"] = max(0, answer["change"]["began"] - left_out)
    return answer


def day_chart(shelf: Shelf, machine: str, name: str) -> dict[str, Any]:
    """What each day had, oldest first. `name` is one of DAYS."""
    with _opened(shelf) as indexes:
        days = [day for _, index in indexes for day in index.days(machine)]
    points = [
        {"recording": None, "seq": 0, "at": f"{day.date}T12:00:00", "value": round(_of_day(day, name), 2)}
        for day in days
    ]
    points.sort(key=lambda one: str(one["at"]))
    return {
        "title": DAYS[name][:1].upper() + DAYS[name][1:],
        "unit": "h" if name == "hours" else "",
        "points": points,
        "says": [f"Counted from the recordings; n = {len(points)} days."],
        "limits": None,
        "change": None,
    }


def _of_day(day: Day, name: str) -> float:
    return {
        "rounds": day.rounds_done,
        "failed": day.scripts_failed,
        "troubles": day.troubles,
        "hours": day.recorded_s / 3600,
    }[name]


@contextmanager
def _opened(shelf: Shelf) -> Iterator[list[tuple[Path, Index]]]:
    """The indexes of all folders, each with its folder."""
    with ExitStack() as stack:
        places = shelf.places()
        yield [(folder, stack.enter_context(shelf.indexing.asked(folder, only))) for folder, only in places]
