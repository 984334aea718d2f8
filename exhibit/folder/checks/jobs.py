"""Checks that the tidy-up of a script stops each job that the script starts, by the job's number."""

from __future__ import annotations

from exhibit.decisions.machine.filling import numbers_named
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.step_drafts import ScriptDraft


def check_jobs(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add a mistake for each exerciser that the script starts and its tidy-up doesn't stop.

    Adds advice on each exerciser that doesn't end by itself.
    """
    stopped = {named for step in script.tidy_up for named in numbers_named(step.texts.get("type", ""))}
    for step in script.steps:
        waited = {name for name, _ in step.until}
        for exerciser, _ in machine.exercisers.values():
            if step.kind != "type" or not exerciser.begun or exerciser.begun not in waited:
                continue
            if exerciser.longest_us is None and exerciser.because:
                why = f"{exerciser.name} doesn't end by itself, because {exerciser.because}"
                step.table.advise(
                    "type",
                    f"{why}: if the line is lost, somebody has to stop it by hand",
                    "a command that ends it after some minutes or passes, if the machine has one",
                )
            if exerciser.job and (step.name, exerciser.job) not in stopped:
                number = f"{{{step.name}.{exerciser.job}}}"
                step.table.wrong(
                    "type",
                    f"this starts {exerciser.name}, but no tidy-up step stops it by its number {number}",
                    f'a [[tidy_up]] step such as type = "STOP {number}", as the machine expects it',
                )
                break
