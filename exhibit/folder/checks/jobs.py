"""Checks that what a script begins, its tidy-up stops by the number that the machine gave it."""

from __future__ import annotations

from exhibit.decisions.machine.filling import numbers_named
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import ScriptDraft


def check_jobs(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add each exerciser that the script begins and its tidy-up doesn't stop to the mistakes."""
    stopped = {named for step in script.tidy_up for named in numbers_named(step.texts.get("type", ""))}
    for step in script.steps:
        waited = {name for name, _ in step.until}
        for exerciser, _ in machine.exercisers.values():
            if step.kind != "type" or not exerciser.begun or exerciser.begun not in waited:
                continue
            if exerciser.longest_us is None:
                why = f"{exerciser.name} doesn't end by itself, because {exerciser.because}"
                step.table.advise(
                    "type",
                    f"{why}: if the line is lost, somebody must stop it by hand",
                    "a command by which it ends after so many minutes or passes, where there is one",
                )
            if (step.name, exerciser.job) not in stopped:
                number = f"{{{step.name}.{exerciser.job}}}"
                step.table.wrong(
                    "type",
                    f"this begins {exerciser.name}, and nothing in the tidy-up stops it by its number "
                    f"{number}",
                    f'a [[tidy_up]] step with type = "STOP {number}", in the words of the machine',
                )
                break
