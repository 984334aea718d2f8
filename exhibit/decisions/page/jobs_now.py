"""The jobs that are running now, as far as facts show it, each with the fact that says so.

Unlike may_run, which keeps what may be running while nobody watches, this says only what is seen: it is empty
while the line is lost and while the machine is silent. A job in doubt is among them with `doubt`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.may_run import IN_DOUBT, MAY_RUN
from exhibit.facts import kinds

JOBS: Final = "jobs"
"""The name of the item."""


def none_known(items: ItemStore) -> None:
    """Nobody knows which jobs are running."""
    if items.value(JOBS) != []:
        items.set(JOBS, [])


def carry_over(items: ItemStore) -> None:
    """The recording continues the one before, without a gap: what ran runs on."""
    jobs = [
        _job(items, one["exerciser"], one["job"], one["ends_us"], "") for one in items.value(MAY_RUN) or []
    ]
    doubts = [_doubt(items, one, "") for one in items.value(IN_DOUBT) or [] if one["late"]]
    items.set(JOBS, [*jobs, *doubts])


def begin(items: ItemStore, job: dict[str, Any]) -> None:
    """This job has begun; one of the same kind and number is replaced."""
    items.set(JOBS, [*_others(items, job["exerciser"], job["plot"], job["job"]), job])


def end_of_plot(items: ItemStore, plot: str) -> None:
    """Whatever job of this plot was running has ended."""
    left = [one for one in items.value(JOBS) or [] if one["plot"] != plot]
    if left != (items.value(JOBS) or []):
        items.set(JOBS, left)


def end(items: ItemStore, job: str, exerciser: str) -> None:
    """The exerciser's job of this number has ended."""
    left = _others(items, exerciser, "", job)
    if left != (items.value(JOBS) or []):
        items.set(JOBS, left)


def end_overdue(items: ItemStore) -> None:
    """Takes back each job that must have ended by itself by now: its end may have come garbled."""
    jobs = items.value(JOBS) or []
    left = [one for one in jobs if one["doubt"] or not one["ends_us"] or one["ends_us"] > items.at_us]
    if left != jobs:
        items.set(JOBS, left)


def is_overdue(items: ItemStore, at_us: int) -> bool:
    """Whether a job must have ended by itself by then."""
    return any(
        one["ends_us"] and one["ends_us"] <= at_us for one in items.value(JOBS) or [] if not one["doubt"]
    )


def _others(items: ItemStore, exerciser: str, plot: str, job: str) -> list[dict[str, Any]]:
    same = exerciser, plot, job
    jobs = items.value(JOBS) or []
    return [one for one in jobs if one["doubt"] or (one["exerciser"], one["plot"], one["job"]) != same]


def _job(items: ItemStore, exerciser: str, job: str, ends_us: int, since: str) -> dict[str, Any]:
    known = ((items.value("recording") or {}).get("exercisers") or {}).get(exerciser) or {}
    return {
        "job": job,
        "name": known.get("called") or exerciser,
        "exerciser": exerciser,
        "plot": "",
        "part": known.get("part", ""),
        "since": since,
        "until": items.wall(ends_us) if ends_us else "",
        "seq": items.seq,
        "doubt": False,
        "ends_us": ends_us,
        "asked": 0,
    }


def _doubt(items: ItemStore, doubt: dict[str, Any], since: str) -> dict[str, Any]:
    """A job that may be running. Its number isn't known, or not whether it is still that job's."""
    names = doubt["exercisers"]
    job = _job(items, names[0] if len(names) == 1 else "", "", doubt["ends_us"], since)
    return {**job, "doubt": True, "asked": doubt["asked"]}


def _begun(items: ItemStore, fact: kinds.ExerciserBegun) -> None:
    if fact.asked:
        _known(items, fact.asked)
    job = _job(items, fact.exerciser, fact.job, fact.ends_us, items.now())
    begin(items, {**job, "part": fact.part})


def _doubted(items: ItemStore, fact: kinds.JobInDoubt) -> None:
    _known(items, fact.asked)
    if fact.exercisers and fact.job:
        for exerciser in fact.exercisers:
            end(items, fact.job, exerciser)
    doubt = {"exercisers": fact.exercisers, "ends_us": fact.ends_us, "asked": fact.asked}
    items.set(JOBS, [*(items.value(JOBS) or []), _doubt(items, doubt, items.now())])


def _known(items: ItemStore, asked: int) -> None:
    """It is known whether this job runs."""
    jobs = items.value(JOBS) or []
    left = [one for one in jobs if not (one["doubt"] and one["asked"] == asked)]
    if left != jobs:
        items.set(JOBS, left)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.ExerciserBegun: _begun,
    kinds.ExerciserEnded: lambda items, fact: end(items, fact.job, fact.exerciser),
    kinds.JobInDoubt: _doubted,
    kinds.JobDoubtOver: lambda items, fact: _known(items, fact.asked),
}
"""What each kind of fact does to the items. Jobs of plots use `begin` and `end_of_plot` from there."""
