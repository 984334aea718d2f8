"""The demonstration's docent: does the hands-on steps at the simulated machine and confirms them."""

from __future__ import annotations

import os
import socket
import tomllib
from collections.abc import Mapping
from pathlib import Path

from exhibit.bridge.request_door import Request, ask
from exhibit.decisions.machine.script import DOCENT_AT_A_LOSS, SIMULATED_DOCENT
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault

FILE = "simulated-docent.toml"
ANSWER_WITHIN_S = 10.0
_LOOKS = 3
"""How often the docent lets the scripts go on after failures without one script that is done in between."""

Acts = Mapping[str, Mapping[str, list[str]]]
"""Script -> step -> what the docent does at the front of the machine."""


def read_acts(folder: Path) -> Acts:
    """The docent's acts. The folder's other files aren't read: the bridge reads and checks all of it.

    An act can contain {start}, for what the step itself says the switches are to be set to.
    """
    with (folder / FILE).open("rb") as file:
        return tomllib.load(file)


class SimulatedDocent:
    """Does the acts of a step through `front`, and confirms the step through `door`."""

    def __init__(self, acts: Acts, front: Path, door: Path, *, goes_on: bool = False) -> None:
        """`front`: the simulated machine's control socket. `door`: where the bridge takes requests.

        `goes_on`: after a failure the docent looks, as a person would, and lets the scripts go on.
        """
        self._looks_left = _LOOKS if goes_on else 0
        self._looks = self._looks_left
        self._acts = acts
        self._front = front
        self._door = door

    def respond(self, entry: kinds.Entry) -> None:
        """Does what this fact asks for, if it asks for anything. Raises SetUpFault if the machine is gone."""
        fact = entry.fact
        if isinstance(fact, kinds.DayTurned) and fact.phase == "nobody there":
            ask(self._door, Request(request="here", by=SIMULATED_DOCENT))
        if isinstance(fact, kinds.ScriptEnded) and fact.outcome == "done":
            self._looks_left = self._looks
        if isinstance(fact, kinds.SessionFailed) and self._looks_left:
            self._looks_left -= 1
            ask(self._door, Request(request="clear", by=SIMULATED_DOCENT))
        if isinstance(fact, kinds.StepOverdue) and fact.then == "ask":
            ask(self._door, Request(request="stop", by=SIMULATED_DOCENT, why=DOCENT_AT_A_LOSS))
        if not isinstance(fact, kinds.HandsOnAsked):
            return
        # A question, such as whether a date is acceptable, has no acts and is simply confirmed.
        start = next((act.value for act in fact.panel if act.act == "set"), "")
        for act in self._acts[fact.script].get(fact.step, ()):
            answer = act_at_front(self._front, act.replace("{start}", start))
            if not answer.startswith("done:"):
                ask(self._door, Request(request="refuse", by=SIMULATED_DOCENT, step=fact.step, why=answer))
                return
        ask(self._door, Request(request="confirm", by=SIMULATED_DOCENT, step=fact.step))


def act_at_front(front: Path, act: str) -> str:
    """Does one act at the front of the simulated machine. Returns its answer.

    The answer begins with "done:" if the act was done. Raises SetUpFault if the machine doesn't answer.
    """
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as caller:
            caller.settimeout(ANSWER_WITHIN_S)
            caller.connect(os.fspath(front))
            caller.sendall(act.encode("ascii") + b"\n")
            return caller.makefile("r", encoding="ascii").readline().strip()
    except OSError as error:
        raise SetUpFault(
            f"The simulated machine does not answer: {error.strerror or error}.",
            "So nobody can turn its key.",
            "Start the demonstration again.",
        ) from error
