"""What people do besides running scripts, and what becomes of a trouble, in sentences for the terminal."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from exhibit.commands.saying import Say, Sentence
from exhibit.decisions.console.flow import MACHINE
from exhibit.facts import kinds
from exhibit.facts.console_facts import SafeToLeave, WhomToCall

_SAFE: Final[dict[SafeToLeave, Sentence]] = {
    "yes": Sentence("  The machine can be left alone meanwhile."),
    "no": Sentence("  Don't leave the machine alone meanwhile."),
    "unknown": Sentence(
        "  Nobody has said whether the machine can be left alone now. Look whether anything smokes, smells "
        "or sounds wrong; stay if you aren't sure."
    ),
}
_CALL: Final[dict[WhomToCall, Sentence]] = {
    "keyholder": Sentence("  Call the keyholder."),
    "engineer": Sentence("  Call the engineer."),
}


def of_trouble(fact: kinds.TroubleRaised, say: Say) -> list[str]:
    """A trouble: what, with what care, what to do, whether one may leave, and whom to call."""
    trouble = say("  TROUBLE: {trouble}", trouble=say.words(fact.words))
    if fact.repeats:
        return [trouble, say("  That is the same as before, {times} times now.", times=fact.times)]
    caution = [say("  CAUTION: {caution}", caution=say.words(fact.caution))] if fact.caution else []
    call = [say(_CALL[fact.call])] if fact.call in _CALL else []
    first_seen = {"date": fact.since[:10], "time": fact.since[11:16]}
    still = (
        [say("  It was first seen on {date} at {time}, and isn't over yet.", **first_seen)]
        if fact.since
        else []
    )
    return [trouble, *still, *caution, f"  {say.words(fact.do)}", say(_SAFE[fact.safe_to_leave]), *call]


def of_people(fact: kinds.AnyFact | kinds.UnknownFact, say: Say, wall: Callable[[int], str]) -> list[str]:
    """What a person did, or what became of a trouble; empty if the fact is about neither."""
    match fact:
        case kinds.HandsOff(standing=standing):
            return [
                say("  HANDS OFF: nothing more is typed, not even what would stop the jobs."),
                *_standing(standing, say),
                say("  Jobs may go on. Look at the machine before anything else is done."),
            ]
        case kinds.KeyboardTaken(by=by):
            return [say("  {by} has the machine's keyboard. No script begins until it is given back.", by=by)]
        case kinds.KeyboardGivenBack():
            return [say("  The keyboard was given back.")]
        case kinds.TroubleSeen(by=by):
            return [say("  {by} has seen the trouble.", by=by)]
        case kinds.TroubleSetAside(by=by, why=why, until_us=until_us):
            time = wall(until_us)[11:16]
            return [say("  {by} set the trouble aside until {time}: {why}", by=by, time=time, why=why)]
        case kinds.TroubleOver(by=by, how=how) if by == MACHINE:
            return [say("  That trouble is over: {how}.", how=how)]
        case kinds.TroubleOver(by=by):
            return [say("  {by} says that the trouble is over.", by=by)]
    return []


def _standing(standing: str, say: Say) -> list[str]:
    if not standing:
        return []
    if not standing.strip("*"):
        return [say("  Part of a secret stands half typed on the console.")]
    return [say("  {command} stands half typed on the console, without its RETURN.", command=standing)]
