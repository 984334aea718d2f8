"""Which captions explain a status display, and what makes a caption that waits be over.

A caption explains a display if it appears with it: `when` names the display, or `step_done` names a step that
waits for it. The captions of its readings elaborate on it.
"""

from __future__ import annotations

from exhibit.decisions.machine.script import (
    AnyStep,
    Caption,
    Folder,
    PressKey,
    ReadDisplay,
    TypeCommand,
    TypeSecret,
    Wait,
)
from exhibit.facts import kinds


class Explaining:
    """Says whether a display has yet to be explained in this run of a script. It is given every fact."""

    def __init__(self, folder: Folder) -> None:
        displays = {display.name for display in folder.machine.displays}
        self._waits_for = {
            f"{script.name}.{step.name}": _awaited(step)
            for script in folder.scripts.values()
            for step in (*script.steps, *script.tidy_up)
        }
        self._scripts: dict[str, set[str]] = {}
        """By display: the scripts in which a caption explains it; "" if one does so in any."""
        for caption in folder.captions:
            for display in displays.intersection(self._appears_with(caption)):
                script = caption.trigger.step_done.partition(".")[0]
                self._scripts.setdefault(display, set()).add(script)
        self._script = ""
        self._explained: set[str] = set()

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        """Take in the next fact: each run of a script explains anew."""
        match fact:
            case kinds.ScriptStarted():
                self._script = fact.script
                self._explained.clear()
            case kinds.ScriptEnded():
                self._script = ""

    def shown(self, display: str) -> None:
        """A caption that explains this display was shown."""
        self._explained.add(display)

    def is_wanted(self, display: str) -> bool:
        """Whether a caption of this folder is still to explain the display before others elaborate on it."""
        explained_in = self._scripts.get(display, set())
        return display not in self._explained and bool(explained_in & {"", self._script})

    def _appears_with(self, caption: Caption) -> tuple[str, ...]:
        if caption.trigger.when:
            return (caption.trigger.when,)
        return self._waits_for.get(caption.trigger.step_done, ())


def _awaited(step: AnyStep) -> tuple[str, ...]:
    if isinstance(step, ReadDisplay):
        return (step.display,)
    return step.until if isinstance(step, TypeCommand | TypeSecret | PressKey | Wait) else ()


def ends(caption: kinds.CaptionShown, fact: kinds.AnyFact | kinds.UnknownFact) -> bool:
    """Whether with this fact it is over what the caption says, so that one that waits is never shown."""
    match fact:
        case kinds.LineLost() | kinds.SessionFailed() | kinds.MachineSilent():
            return True
        case kinds.LandmarkReached(landmark=name):
            return name in caption.ends or caption.display not in ("", name)
        case kinds.PatternSeen(pattern=name) | kinds.InterruptionSeen(interruption=name):
            return name in caption.ends
        case kinds.StepEnded():
            return f"{fact.script}.{fact.step}" in caption.ends
        case kinds.ExerciserEnded(job=job):
            return bool(job) and job == caption.job
    return False
