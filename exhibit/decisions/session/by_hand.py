"""Steps that a person does: which facts a person's answer leads to."""

from __future__ import annotations

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import AnyStep, CheckPack
from exhibit.facts import kinds


def answer_to(made: kinds.RequestMade, asked: bool) -> kinds.AnyFact:
    """The fact that answers a person's word on a step. `asked`: whether it is being asked for now."""
    if not asked:
        why = f"nobody is being asked for the step {made.step} now"
        return kinds.RequestRefused(request=made.request, why=why)
    if made.request == "confirm":
        return kinds.HandsOnConfirmed(step=made.step, by=made.by)
    if made.request == "not yet":
        return kinds.HandsOnPutOff(step=made.step, by=made.by)
    return kinds.HandsOnRefused(step=made.step, by=made.by, why=made.why)


def mounted(step: AnyStep, machine: Machine, by: str) -> list[kinds.AnyFact]:
    """The facts about a pack once a person has confirmed this step; empty if the step isn't about a pack."""
    if not isinstance(step, CheckPack):
        return []
    pack = machine.packs[step.pack]
    if step.out:
        return [kinds.PackRemoved(label=pack.label, drive=pack.drive, by=by)]
    return [
        kinds.PackMounted(
            label=pack.label,
            drive=pack.drive,
            may_be_written=pack.may_be_written,
            by=by,
            original=pack.original,
        )
    ]
