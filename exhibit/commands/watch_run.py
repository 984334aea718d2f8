"""A run that only watches, with or without a process that passes characters to the machine's own terminal."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Sequence
from typing import Final

from exhibit.commands.running import Run
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.commands.visitors_page import VisitorsPage
from exhibit.facts.errors import ExhibitError, SetUpFault
from exhibit.facts.line_settings import LineSettings
from exhibit.output.terminal import put
from exhibit.passing.starting import Passer

LOOK_EVERY_S: Final = 0.5
PASSES_ON: Final = Sentence(
    "Process {pid} passes characters between the machine and its own terminal. It goes on when this program "
    "ends.\nTo end it too, run `kill {pid}`: nothing typed at the terminal then reaches the machine."
)
CUT_OFF: Final = Sentence(
    "Nothing passes characters between the machine and its own terminal now: what is typed there doesn't "
    "reach the machine."
)
STOPPING: Final = Sentence(
    "Stopping: the recording is being closed. This program has typed nothing at the machine."
)
STILL_CLOSING: Final = Sentence("Still closing the recording. The program ends by itself.")
STOPPED: Final = Sentence("Nothing is recorded any more. The machine stays as it is.")


def passer_for(line: str, typed: str, terminal: str, settings: LineSettings) -> Passer | None:
    """The passing process for these options, started if need be; None if they want none.

    Raises SetUpFault if it can't start, or if the options contradict each other.
    """
    if typed and terminal:
        raise SetUpFault(
            "--typed and --terminal can't be combined.",
            "With --terminal what is typed is heard anyway, because this program passes it on.",
            "Use --typed if a cable joins terminal and machine, --terminal if this program does.",
        )
    for option, other in (("--typed", typed), ("--terminal", terminal)):
        if other and os.path.realpath(other) == os.path.realpath(line):
            raise SetUpFault(
                f"--line and {option} name the same port.",
                "The machine and the person can't both be heard on one port.",
                f"Give the port that the machine is connected to after --line, and the other after {option}.",
            )
    if not terminal:
        return None
    passer = Passer(line, terminal, settings)
    passer.ensure()
    return passer


class WatchRun(Run):
    """Says what is true of a run that types nothing, and keeps the passing process running."""

    nothing_done = Sentence("Stopped before anything was recorded. Nothing was typed at the machine.")

    def __init__(
        self,
        bridge: Sequence[str],
        page: VisitorsPage,
        passer: Passer | None,
        say: Say = ENGLISH,
    ) -> None:
        super().__init__(bridge, page, say)
        self._passer = passer
        self._look_next_s = 0.0
        self._failed_to_start = ""

    def show_how(self) -> None:
        """Prints what the person should know about the passing, if there is any."""
        if self._passer is not None:
            put(*self._passing().split("\n"))

    def _passing(self) -> str:
        if self._passer is None:
            return ""
        pid = self._passer.running()
        return self._say(PASSES_ON, pid=pid) if pid else self._say(CUT_OFF)

    def _stopping(self) -> Sentence:
        return STOPPING

    def _still_stopping(self) -> Sentence:
        return STILL_CLOSING

    def _ended(self, simulated: bool) -> str:
        return "\n".join(filter(None, (self._say(STOPPED), self._passing())))

    def _ended_from_outside(self) -> SetUpFault:
        return SetUpFault(
            self._say("The process that records was ended from outside."),
            self._say("Since then nothing has been recorded. This program has typed nothing at the machine."),
            " ".join(filter(None, (self._say("Start again."), *self._passing().split("\n")))),
        )

    def _meanwhile(self) -> None:
        """Starts the passing process again if it has ended: without it the terminal is cut off."""
        if self._passer is None or time.monotonic() < self._look_next_s or self._asked_to_stop:
            return
        self._look_next_s = time.monotonic() + LOOK_EVERY_S
        try:
            if self._passer.ensure():
                put(self._say("The process that passes characters had ended and is started again."))
                self.show_how()
        except ExhibitError as error:
            self._look_next_s = time.monotonic() + 10 * LOOK_EVERY_S
            if error.what != self._failed_to_start:
                self._failed_to_start = error.what
                put(f"{error.what} {error.why}", to=sys.stderr)
