"""The progress of a rehearsed script: its step, and whether a person is asked, from what it decides now."""

from __future__ import annotations

from exhibit.decisions.machine.script import AnyStep, CheckPack, HandsOn, Script, TypeSecret
from exhibit.facts import kinds


class RehearsedScript:
    """One run of a script of the folder; `script` is None if the folder no longer has the recorded one."""

    def __init__(self, script: Script | None) -> None:
        self.script = script
        self.going = script is not None
        """Whether it runs."""
        self.step: tuple[str, bool] = ("", False)
        """The last step that was begun, and whether it belongs to the tidy-up."""
        self.asking = ""
        """The step about which a person is being asked; empty if nobody is."""
        self.asked_so_far: set[str] = set()
        """The steps about which a person has been asked."""
        self.what_then = False
        """The question is what to do about that step, because it is late."""
        self.begins_to_type = False
        """Nothing has been typed in the step."""
        self.standing: kinds.LandmarkReached | None = None

    def take(self, fact: kinds.AnyFact) -> None:
        """Takes a fact that was decided now."""
        match fact:
            case kinds.StepStarted(step=step, tidying=tidying):
                self.step, self.begins_to_type = (step, tidying), True
                self.asking, self.what_then = "", False
            case kinds.HandsOnAsked(step=step):
                self._ask(step)
            case kinds.StepOverdue(step=step, then="ask"):
                self._ask(step)
                self.what_then = True
            case kinds.LateAnswered() | kinds.HandsOnPutOff():
                self.what_then = False
                self.asking = self.asking if self.is_by_hand else ""
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self.asking, self.what_then = "", False
            case kinds.LandmarkReached():
                self.standing = fact
            case kinds.StepFailed():
                self.asking = ""
            case kinds.ScriptEnded():
                self.going = False

    def _ask(self, step: str) -> None:
        self.asking = step
        self.asked_so_far.add(step)

    @property
    def is_by_hand(self) -> bool:
        """Whether a person does the running step."""
        return isinstance(self.current, HandsOn | CheckPack)

    @property
    def current(self) -> AnyStep | None:
        """The running step, as in the folder."""
        if self.script is None:
            return None
        name, tidying = self.step
        steps = self.script.tidy_up if tidying else self.script.steps
        return next((step for step in steps if step.name == name), None)

    def stand_in_secrets(self) -> dict[str, str]:
        """For each secret a text of two characters: one for each part that a secret is typed in."""
        if self.script is None:
            return {}
        steps = (*self.script.steps, *self.script.tidy_up)
        return {step.secret: "??" for step in steps if isinstance(step, TypeSecret)}
