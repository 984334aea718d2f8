"""Which requests about the day are accepted in which of its phases, as a table; and why the others aren't."""

from __future__ import annotations

from typing import Final

from exhibit.facts import kinds

MOST_QUIET_MIN: Final = 240
"""Longer than any talk: whoever wants that goes away and comes back."""
ABOUT_THE_DAY: Final = ("open", "close", "away", "back", "quiet", "round now", "here", "stop")

AGREED: Final = "the keyholder agrees"
"""The reason with which the opening is asked for once more after a failure: it says whose word was had."""
_BEGINS_ANEW: Final[tuple[kinds.DayPhase, ...]] = (
    "opening",
    "rounds",
    "away",
    "quiet",
    "nobody there",
    "stopped",
)
"""The phases of an open day, in which the power can have failed."""

_NOT_OPEN: Final = "the day hasn't been opened"
_OPEN: Final = "the day is open already"
_OPENING: Final = "the opening isn't over yet"
_CLOSING: Final = "the day is being closed"
_OVER: Final = "the day is over"
_STOPPED: Final = "the scripts were stopped, so nothing begins until somebody says that they can go on"
_NOTHING_WAITS: Final = "nothing waits for that: the rounds go on by themselves"

REFUSED: Final[dict[str, dict[kinds.DayPhase, str]]] = {
    "open": {
        "opening": _OPENING,
        "rounds": _OPEN,
        "away": _OPEN,
        "quiet": _OPEN,
        "nobody there": _OPEN,
        "stopped": _STOPPED,
        "closing": _CLOSING,
    },
    "close": {"closing": _CLOSING, "over": _OVER},
    "away": {
        "before opening": _NOT_OPEN,
        "opening": _OPENING,
        "away": "that was said already: no round begins until somebody is back",
        "stopped": _STOPPED,
        "closing": _CLOSING,
        "over": _OVER,
    },
    "back": {
        "before opening": _NOT_OPEN,
        "opening": _OPENING,
        "rounds": _NOTHING_WAITS,
        "closing": _CLOSING,
        "over": _OVER,
    },
    "quiet": {
        "before opening": _NOT_OPEN,
        "opening": _OPENING,
        "stopped": _STOPPED,
        "closing": _CLOSING,
        "over": _OVER,
    },
    "round now": {
        "before opening": _NOT_OPEN,
        "opening": _OPENING,
        "stopped": _STOPPED,
        "closing": _CLOSING,
        "over": _OVER,
    },
    "here": {},
    "stop": {},
}
"""By request and phase: why it is refused. What isn't there is accepted."""


def why_not(made: kinds.RequestMade, phase: kinds.DayPhase, *, failed: bool) -> str:
    """Why the request is refused in this phase; empty if it isn't. `failed`: a person must look first."""
    if begins_anew(made, failed=failed) and phase in _BEGINS_ANEW:
        return ""
    if failed and (made.request in ("open", "round now") or (made.request, phase) == ("back", "rounds")):
        return "the scripts have stopped, and somebody must look at the machine first"
    if failed and (made.request, phase) == ("close", "closing"):
        return ""  # the rest is done by hand, or not today
    if why := REFUSED[made.request].get(phase, ""):
        return why
    if made.request == "quiet" and not 0 < made.minutes <= MOST_QUIET_MIN:
        return f"say for how many minutes, from 1 to {MOST_QUIET_MIN}"
    return ""


def begins_anew(made: kinds.RequestMade, *, failed: bool) -> bool:
    """Whether the opening is wanted once more, as after a power failure, with the keyholder's word for it."""
    return failed and made.request == "open" and made.why == AGREED
