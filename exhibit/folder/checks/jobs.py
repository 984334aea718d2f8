"""Checks that the tidy-up of a script stops each job that the script starts, by the job's number."""

from __future__ import annotations

from exhibit.decisions.machine.filling import numbers_named
from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft


def check_jobs(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add a mistake for each exerciser that the script starts and its tidy-up doesn't stop.

    Adds advice on each exerciser that doesn't end by itself.
    """
    stopped = {named for step in script.tidy_up for named in numbers_named(step.texts.get("type", ""))}
    for step in script.steps:
        for exerciser in _begun_by(step, machine) if step.kind == "type" else ():
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


def _begun_by(step: StepDraft, machine: MachineDraft) -> list[Exerciser]:
    """Return the exercisers for whose start the step waits; with the same line, the command decides."""
    waited = {name for name, _ in step.until}
    begun = [one for one, _ in machine.exercisers.values() if one.begun and one.begun in waited]
    command = step.texts.get("type", "")
    fitting = [one for one in begun if one.typed.match(command) is not None]
    decided = {one.begun for one in fitting}
    return [one for one in begun if one in fitting or one.begun not in decided]
