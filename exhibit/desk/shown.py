"""What the docent's page shows of a recording, and when somebody was asked to do something by hand."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Final

from exhibit.facts import kinds
from exhibit.facts.kinds import Entry

AT_LEAST_S: Final = 1.0
"""Nobody has done anything by hand within this time. A second touch of one button comes sooner."""
NOT_ASKED: Final = (
    "Nobody is asking for that step just now. Look at what the page asks for, then answer that."
)
TOO_SOON: Final = (
    "That came within a second of the question, too soon to have done it. Read the step, then answer."
)


class AskedByHand:
    """The step that a person is asked to do, and since when this process has known."""

    def __init__(self, steady_s: Callable[[], float] = time.monotonic) -> None:
        self._steady_s = steady_s
        self._step = ""
        self._since_s = 0.0

    def take(self, entry: Entry) -> None:
        """Take in the next fact."""
        match entry.fact:
            case kinds.HandsOnAsked(step=step):
                self._step, self._since_s = step, self._steady_s()
            case kinds.HandsOnPutOff() if self._step:
                self._since_s = self._steady_s()  # it is asked anew
            case (
                kinds.HandsOnConfirmed()
                | kinds.HandsOnRefused()
                | kinds.ScriptEnded()
                | kinds.TidyUpStarted()
                | kinds.SessionFailed()
                | kinds.RecordingOpened()
            ):
                self._step = ""

    def why_not(self, step: str) -> str:
        """Why this step can't be confirmed now; "" if it can."""
        if not step or step != self._step:
            return NOT_ASKED
        return TOO_SOON if self._steady_s() - self._since_s < AT_LEAST_S else ""
