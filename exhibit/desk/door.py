"""Asks the bridge for something at its door, and says in a docent's words what came of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

import gevent.socket

from exhibit.bridge.door_note import door_of, is_closed_to_us
from exhibit.bridge.request_door import NO_ANSWER, NOT_RUNNING, Answer, Request, ask

WITHIN_S: Final = 6.0
"""Long enough for a bridge whose disc is slow, and short enough for somebody who waits to see it stop."""
STOPPED_ANYWAY: Final = (
    "The program that types at the machine isn't running, so it types nothing. The machine itself may still "
    "be doing what it was told before. If something is wrong there, use the mains stop."
)
PASSED_TO_NOBODY: Final = (
    "The program that talks to the machine isn't running, so nothing was done. Look at the machine, then "
    "start the day again, or call whoever looks after the computer."
)
MAY_STILL_STOP: Final = (
    "The program that talks to the machine hasn't answered, so something may still be typed. Press it again. "
    "If something is wrong at the machine, use the mains stop."
)
NOBODY_KNOWS: Final = (
    "The program that talks to the machine hasn't answered, so it may or may not have done this. Look at "
    "what this page says now before you try again."
)


class Door:
    """The way to the bridge of a machine, looked for anew each time: the bridge may be another one."""

    def __init__(self, recordings: Path, machine: str) -> None:
        self._recordings, self._machine = recordings, machine

    def is_there(self) -> bool:
        """Whether a bridge has this machine."""
        return door_of(self._recordings, self._machine) is not None

    def ask(self, request: Request) -> Answer:
        """Ask the bridge. Other greenlets go on meanwhile."""
        path = door_of(self._recordings, self._machine)
        make_socket: Any = gevent.socket.socket
        if path is not None:
            answer = ask(path, request, WITHIN_S, make_socket)
        else:
            hidden = is_closed_to_us(self._recordings, self._machine)
            answer = Answer(accepted=False, why=NO_ANSWER if hidden else NOT_RUNNING)
        stops = request.request in ("stop", "hands off")
        if answer.why == NOT_RUNNING:
            return Answer(accepted=False, why=STOPPED_ANYWAY if stops else PASSED_TO_NOBODY)
        if answer.why == NO_ANSWER:
            return Answer(accepted=False, why=MAY_STILL_STOP if stops else NOBODY_KNOWS)
        return Answer(accepted=answer.accepted, why=as_sentence(answer.why))


def as_sentence(why: str) -> str:
    """What the bridge says, with a capital letter and a full stop."""
    if not why:
        return ""
    return why[0].upper() + why[1:] + ("" if why.endswith((".", "!", "?")) else ".")
