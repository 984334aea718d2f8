"""Steps that a person does: which facts a person's answer leads to, and what to do now if it went wrong."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import AnyStep, CheckPack, Step, StepByHand
from exhibit.facts import kinds
from exhibit.facts.kinds import Words
from exhibit.facts.session_facts import PutOffBecause

PUT_OFF: Final[dict[str, PutOffBecause]] = {
    "not yet": "not yet",
    "too early": "too early",
    "didn't": "didn't",
}
"""The requests that give a step by hand its time again, with why."""
_GENERAL: Final[dict[str, Words]] = {
    "not yet": {},
    "too early": {
        "en": "Touch nothing more for now. Wait until everything that the step needs is ready, then do it "
        "once more.",
        "de": "Berühren Sie erst einmal nichts mehr. Warten Sie, bis alles bereit ist, was der Schritt "
        "braucht, und machen Sie es dann noch einmal.",
    },
    "didn't": {
        "en": "Look whether every switch and lamp is as the step says. Then do it once more, without haste.",
        "de": "Sehen Sie nach, ob jeder Schalter und jede Lampe so ist, wie der Schritt sagt. Machen Sie es "
        "dann in Ruhe noch einmal.",
    },
}
"""What is said if the folder says nothing for this answer."""
_CALL: Final[Words] = {
    "en": "If it doesn't work this time either, leave everything as it is and call: {keyholder}",
    "de": "Geht es auch diesmal nicht, lassen Sie alles, wie es ist, und rufen Sie an: {keyholder}",
}
CALLS_AFTER: Final = 2
"""From this many times "it didn't work" in a row on, the person is also told whom to call."""


class ByHand:
    """The answers to one step by hand after another. Pass each HandsOnPutOff to `note`."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._step = ""
        self._in_vain = 0
        """How often in a row a person has said of that step that it didn't work."""

    def answer_to(self, made: kinds.RequestMade, step: AnyStep | None) -> kinds.AnyFact:
        """The fact that answers a person's word on a step. `step`: the one being asked for, if it is that."""
        if step is None:
            why = f"nobody is being asked for the step {made.step} now"
            return kinds.RequestRefused(request=made.request, why=why)
        if made.request == "confirm":
            return kinds.HandsOnConfirmed(step=made.step, by=made.by)
        if made.request not in PUT_OFF:
            return kinds.HandsOnRefused(step=made.step, by=made.by, why=made.why)
        because = PUT_OFF[made.request]
        if because != "not yet" and not isinstance(step, StepByHand):
            why = "it is a question about a date, to be answered with yes, no or not yet"
            return kinds.RequestRefused(request=made.request, why=why)
        return self._put_off(step, because, made.by)

    def shown_too_early(self, step: StepByHand) -> kinds.HandsOnPutOff:
        """The fact that the machine itself shows that this step was done too early."""
        return self._put_off(step, "too early", MACHINE)

    def note(self, fact: kinds.HandsOnPutOff) -> None:
        """The step has its time again, for this reason."""
        before = self._in_vain if fact.step == self._step else 0
        self._step, self._in_vain = fact.step, before + 1 if fact.because == "didn't" else 0

    def _put_off(self, step: Step, because: PutOffBecause, by: str) -> kinds.HandsOnPutOff:
        words: Words = {}
        if isinstance(step, StepByHand):
            words = {"too early": step.too_early, "didn't": step.didnt}.get(because, {})
        words = words or self._in_each(_GENERAL[because])
        times = self._in_vain + 1 if step.name == self._step else 1
        if because == "didn't" and times >= CALLS_AFTER:
            call = self._in_each(_CALL)
            keyholder = self._machine.site.keyholder
            words = {
                tag: f"{said} {call[tag].format(keyholder=keyholder.get(tag, ''))}".strip()
                for tag, said in words.items()
            }
        return kinds.HandsOnPutOff(step=step.name, by=by, because=because, words=words)

    def _in_each(self, words: Words) -> Words:
        """The program's own words in each of the folder's languages; English where they aren't translated."""
        if not words:
            return {}
        return {tag: words.get(tag.split("-")[0], words["en"]) for tag in self._machine.languages}


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
