"""Checks that a late step's further tries fit into the time limit of its whole script.

The script's limit goes on running while a late step is given its time again. If it is over first, the script
fails in the middle of a try, and what `late` promises never happens in full. The tidy-up isn't checked: the
script's limit cuts none of its steps short.
"""

from __future__ import annotations

from exhibit.decisions.machine.script import WhenLate
from exhibit.facts.units import MIN_US, S_US
from exhibit.folder.reading.scripts import LATE, STEP_KINDS, late_of
from exhibit.folder.reading.step_drafts import ScriptDraft


def check_late_steps(script: ScriptDraft) -> None:
    """Add advice on each step whose tries can take longer than the limit of the script.

    A step of which even one try is too long is a mistake, which `check_whole` reports.
    """
    for step in script.steps:
        if "within" not in STEP_KINDS.get(step.kind, ()):
            continue
        tries, fitting = _tries(late_of(step, script)), script.within_us // step.within_us
        if 1 <= fitting < tries and step.within_us > 1:
            step.table.advise(
                LATE if LATE in step.table else "within",
                f"if it is late, the step gets its time {tries} times, {_formatted(tries * step.within_us)} "
                f"in all, longer than the limit of the script, {_formatted(script.within_us)}",
                f"a shorter within, a longer one for the whole script, or {_that_fits(fitting)}",
            )


def _tries(late: WhenLate) -> int:
    """Return how many times a late step can get its time."""
    return 2 if late.then == "wait on" else 1 + late.times


def _that_fits(tries: int) -> str:
    """Return the `late` with which a step gets its time this many times."""
    match tries:
        case 1:
            return f'{LATE} = "stop"'
        case 2:
            return f'{LATE} = "again once"'
    return f'{LATE} = "again {tries - 1} times"'


def _formatted(us: int) -> str:
    return f"{us / MIN_US:g} min" if us >= MIN_US else f"{us / S_US:g} s"
