"""The badge: what a page's picture is worth at this moment. It can't be hidden, so it must be true.

    badge(view.standing(), Sight(mode="live", writer="writing", silent_s=0.4))

What the recording says isn't enough: a bridge that was killed or stopped says nothing more. So the
reader adds what it sees from outside: whether the writer still holds the recording's lock, and how
long in real time nothing at all was added to it.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.decisions.page.may_run import MayRun, past

NOT_ANSWERING_AFTER_S = 4.0
"""The bridge leaves a heartbeat at least every 2 s of real time, and the badge must be true within
5 s: two heartbeats missed, and a second left to find it out and to tell the pages."""

Mode = Literal["live", "replay"]
Name = Literal[
    "live",
    "watching",
    "recorded",
    "simulated machine",
    "resting",
    "link lost",
    "bridge gone",
    "bridge not answering",
    "failed",
    "not started",
    "reading the record",
]

STILL_SPEAKS: frozenset[Name] = frozenset({"live", "watching", "simulated machine"})
"""The badges under which the machine is there now, so that a visitor may be told to look and listen."""


NOBODY_SEES: frozenset[Name] = frozenset({"link lost", "bridge gone", "bridge not answering", "failed"})
"""The badges under which a job may go on that nobody watches over, so that it must be said."""


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """What the recording itself says about whether its picture is of now. Times are dates and times."""

    opened: bool = False
    simulated: bool = False
    watched_only: bool = False
    rate: float = 1.0
    closed: bool = False
    failed: bool = False
    resting: bool = False
    line: Literal["not opened", "open", "lost"] = "not opened"
    opened_at: str = ""
    closed_at: str = ""
    failed_at: str = ""
    resting_at: str = ""
    line_at: str = ""
    last_at: str = ""
    """Of the last fact of any kind."""
    may_run: tuple[MayRun, ...] = ()
    """The exercisers whose end nobody has seen."""


class Sight(msgspec.Struct, frozen=True, kw_only=True):
    """What the reader of a recording sees from outside of it."""

    mode: Mode
    writer: Literal["writing", "gone"] = "gone"
    silent_s: float = 0.0
    """Real seconds since the last fact was added."""
    catching_up: bool = False
    """The reader hasn't come to the end of what is written yet, so its picture isn't of now."""


class Badge(msgspec.Struct, frozen=True):
    """The badge's name, since when it holds, and what must stand beside it."""

    name: Name
    since: str
    simulated: bool
    rate: float
    may_run: tuple[MayRun, ...] = ()
    """Exercisers that may still be running, though nobody watches over them."""
    closed: bool = False
    """The recording of now has been ended, so nothing is mirrored any longer."""


def badge(standing: Standing, sight: Sight) -> Badge:
    """The one badge that is true now.

    A replay is never anything but recorded. Live, what makes the picture old comes before what the
    picture says: a dead bridge can't tell that the line is lost.
    """
    name, since = _name_and_since(standing, sight)
    closed = standing.closed and sight.mode == "live" and not sight.catching_up
    unseen = name in NOBODY_SEES or closed
    may_run = tuple(one for one in standing.may_run if unseen and not past(one.until, since))
    return Badge(name, since, standing.simulated, standing.rate, may_run, closed)


def _name_and_since(standing: Standing, sight: Sight) -> tuple[Name, str]:
    if sight.mode == "replay":
        return "recorded", standing.last_at
    if sight.catching_up:
        return "reading the record", ""
    if not standing.opened:
        return "not started", ""
    if standing.closed:
        return ("failed", standing.failed_at) if standing.failed else ("resting", standing.closed_at)
    if sight.writer == "gone":
        return "bridge gone", standing.last_at
    if sight.silent_s > NOT_ANSWERING_AFTER_S:
        return "bridge not answering", standing.last_at
    if standing.line == "lost":
        return "link lost", standing.line_at
    if standing.failed:
        return "failed", standing.failed_at
    if standing.line == "not opened":
        return "not started", standing.opened_at
    if standing.resting:
        return "resting", standing.resting_at
    if standing.simulated:
        return "simulated machine", standing.line_at
    return ("watching" if standing.watched_only else "live"), standing.line_at
