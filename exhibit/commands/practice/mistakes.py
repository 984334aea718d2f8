"""What can be made to go wrong in a practice, with the Whimbrel's own acts at the simulated front."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final

from exhibit.facts import kinds

AnyFact = kinds.AnyFact | kinds.UnknownFact


@dataclass(frozen=True)
class Mistake:
    """Something that goes wrong once, at the first fact that `at` is true of."""

    at: Callable[[AnyFact], bool]
    acts: tuple[str, ...] = ()
    """What then happens at the front. {start} is what the switches are to be set to, {job} a job's number."""
    instead: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """By SCRIPT.STEP: what is done in place of the step's own acts, the first time."""
    mended: tuple[str, ...] = ()
    """What happens at the front once somebody has seen the trouble."""


def _start_is_asked_for(fact: AnyFact) -> bool:
    return isinstance(fact, kinds.HandsOnAsked) and (fact.script, fact.step) == ("opening", "press-start")


def _pack_can_be_written(fact: AnyFact) -> bool:
    return isinstance(fact, kinds.TroubleRaised) and fact.trouble == "upper-could-be-written"


def _sums_begin(fact: AnyFact) -> bool:
    return isinstance(fact, kinds.StepStarted) and (fact.script, fact.step) == ("round", "begin-sums")


def _job_has_begun(fact: AnyFact) -> bool:
    """The round waits for what this job prints, so that it shows that it hangs."""
    return isinstance(fact, kinds.StepMatched) and (fact.script, fact.step) == ("round", "begin-tides")


MISTAKES: Final[dict[str, Mistake]] = {
    "early": Mistake(
        at=_start_is_asked_for,
        acts=("start small", "switches {start}", "press start"),
        instead={"opening.start-small": ()},
    ),
    "pack": Mistake(
        at=_pack_can_be_written,
        instead={"opening.pack-in-upper": ("load SALLOW 1 upper writable",)},
        mended=("stop upper",),
    ),
    "power": Mistake(at=_sums_begin, acts=("fault power",)),
    "job": Mistake(at=_job_has_begun, acts=("fault hang {job}",)),
}
"""By the name with which --mistake asks for it."""
