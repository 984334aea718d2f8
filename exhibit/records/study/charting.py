"""The numbers of the charts: how long a step took each time, and what each day had. All from the index.

The limits are those of an individuals chart, the drift is found by CUSUM and EWMA (exhibit/sums/statistical);
with too few runs nothing is computed and that is said.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from exhibit.records.index.asking import Index
from exhibit.records.index.rows import Day, DayRow, NoteRow, StepRow, TroubleRow
from exhibit.records.study.shelf import Shelf
from exhibit.sums.statistical.basis import TooFew
from exhibit.sums.statistical.charts import individuals
from exhibit.sums.statistical.drift import drift

FINEST_S: Final = 0.01
"""Times differ by less than this for reasons of the computer's own (our own choice)."""
MOST_RUNS: Final = 5_000
DAYS: Final = {
    "rounds": "rounds done in a day",
    "failed": "scripts that failed in a day",
    "troubles": "troubles in a day",
    "hours": "hours recorded in a day",
}
"""The charts that have a point for each day, and what they count."""


def charts(shelf: Shelf) -> dict[str, Any]:
    """Which charts there are: those by the day, and each step with how often it was done."""
    runs: dict[tuple[str, str, str], int] = {}
    for index in _indexes(shelf):
        for machine, script, step, count in index.step_counts():
            runs[machine, script, step] = runs.get((machine, script, step), 0) + count
    machines = sorted({row["machine"] for row in shelf.rows() if "machine" in row})
    return {
        "days": [[name, says] for name, says in DAYS.items()],
        "machines": machines,
        "steps": [[machine, f"{script}.{step}", count] for (machine, script, step), count in runs.items()],
    }


def summaries(shelf: Shelf) -> dict[str, Any]:
    """What each recording had, by its name: rounds, scripts that failed, and when troubles and notes were."""
    found: dict[str, dict[str, Any]] = {}
    for folder, index in _with_folders(shelf):
        names = {one.recording: shelf.name_of(folder / one.recording) for one in index.recordings()}

        def of(recording: str, names: dict[str, str | None] = names) -> dict[str, Any]:
            empty = {"rounds": 0, "failed": 0, "troubles": [], "notes": []}
            return found.setdefault(names[recording] or "", empty)

        for day in index.rows(DayRow, practice=True):
            one = of(day.recording)
            one["rounds"] += day.rounds_done
            one["failed"] += day.scripts_failed
        for trouble in index.rows(TroubleRow, practice=True):
            of(trouble.recording)["troubles"].append(trouble.at_us)
        for note in index.rows(NoteRow, practice=True):
            of(note.recording)["notes"].append(note.at_us)
    return {"summaries": found}


def step_chart(shelf: Shelf, machine: str, name: str) -> dict[str, Any]:
    """Each run of a step that was done, oldest first, with the limits and what the drift charts found."""
    script, _, step = name.partition(".")
    points: list[dict[str, Any]] = []
    for folder, index in _with_folders(shelf):
        of = {one.recording: one for one in index.recordings(machine, practice=False)}
        for row in index.rows(StepRow, machine=machine, script=script, step=step, outcome="done"):
            took_s = row.took_us / 1e6 / of[row.recording].rate
            recording = shelf.name_of(folder / row.recording)
            points.append({"recording": recording, "seq": row.seq, "at": row.at, "value": round(took_s, 3)})
    points.sort(key=lambda one: one["at"])
    left_out = max(0, len(points) - MOST_RUNS)
    points = points[left_out:]
    values = [one["value"] for one in points]
    limits, change = individuals(values, finest=FINEST_S), drift(values, of="runs", finest=FINEST_S)
    answer: dict[str, Any] = {
        "title": f"How long {name} took",
        "unit": "s",
        "points": points,
        "says": [f"{limits.basis.line if not isinstance(limits, TooFew) else limits.line}"],
        "limits": None,
        "change": None,
    }
    if left_out:
        answer["says"].append(f"The oldest {left_out:,} runs are left out.")
    if not isinstance(limits, TooFew):
        answer["limits"] = {"centre": limits.centre, "lower": max(0.0, limits.lower), "upper": limits.upper}
        for place in limits.outside:
            points[place]["outside"] = True
    if isinstance(change, TooFew):
        answer["says"].append(change.line)
        return answer
    answer["says"].append(change.basis.line)
    if change.change is None:
        answer["says"].append("No lasting change was found.")
    else:
        found = change.change
        answer["change"] = {"began": found.began, "before": found.before, "after": found.after}
        answer["says"].append(
            f"From {points[found.began]['at'][:16].replace('T', ' ')} on it took about {found.after:.3g} s "
            f"instead of {found.before:.3g} s, by the {found.by}; noticed at run {found.noticed + 1}."
        )
    return answer


def day_chart(shelf: Shelf, machine: str, name: str) -> dict[str, Any]:
    """What each day had, oldest first. `name` is one of DAYS."""
    points = [
        {"recording": None, "seq": 0, "at": f"{day.date}T12:00:00", "value": round(_of_day(day, name), 2)}
        for folder_days in (index.days(machine) for index in _indexes(shelf))
        for day in folder_days
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


def _with_folders(shelf: Shelf) -> Iterator[tuple[Any, Index]]:
    for folder, only in shelf.places(None):
        with shelf.indexing.asked(folder, only) as index:
            yield folder, index


def _indexes(shelf: Shelf) -> Iterator[Index]:
    for _, index in _with_folders(shelf):
        yield index
