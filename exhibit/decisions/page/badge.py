"""The badge: how far a page's picture can be trusted at this moment. It can't be hidden, so it must be true.

    badge(view.recorded_state(), Sight(mode="live", writer="writing", silent_s=0.4))

The recording alone isn't enough: a bridge that was killed or stopped records nothing more. So the reader
adds what it sees from outside: whether the writer still holds the recording's lock, and for how long, in
real time, nothing at all was added.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.decisions.page.may_run import MayRun, past

NOT_ANSWERING_AFTER_S = 4.0
"""The bridge records a heartbeat at least every 2 s of real time, and the badge must be true within 5 s:
that is two missed heartbeats, and a second to notice and to answer the pages."""

Mode = Literal["live", "replay"]
Name = Literal[
    "live",
    "watching",
    "recorded",
    "simulated machine",
    "resting",
    "asleep",
    "link lost",
    "bridge gone",
    "bridge not answering",
    "failed",
    "silent",
    "not started",
    "not started today",
    "reading the record",
]

MACHINE_IS_THERE: frozenset[Name] = frozenset({"live", "watching", "simulated machine"})
"""The badges under which the machine is there now, so that the page can ask visitors to look and listen."""


NOBODY_WATCHES: frozenset[Name] = frozenset(
    {"link lost", "bridge gone", "bridge not answering", "failed", "silent"}
)
"""The badges under which a job may be running with nobody watching, which the page must then say."""


class RecordedState(msgspec.Struct, frozen=True, kw_only=True):
    """What the recording itself says about how current its picture is. Each time is a date and time."""

    opened: bool = False
    simulated: bool = False
    practice: bool = False
    watched_only: bool = False
    rate: float = 1.0
    closed: bool = False
    failed: bool = False
    silent: bool = False
    """Something was due from the machine, and nothing has come."""
    resting: bool = False
    asleep: bool = False
    """Each part that ran has been stopped."""
    line: Literal["not opened", "open", "lost"] = "not opened"
    opened_at: str = ""
    closed_at: str = ""
    failed_at: str = ""
    heard_at: str = ""
    """When something last came from a silent machine; empty if nothing had come yet."""
    resting_at: str = ""
    asleep_at: str = ""
    line_at: str = ""
    last_at: str = ""
    """The time of the last fact of any kind."""
    may_run: tuple[MayRun, ...] = ()
    """The exercisers that were not seen to end, and the jobs in doubt."""


class Sight(msgspec.Struct, frozen=True, kw_only=True):
    """What the reader of a recording sees from outside it."""

    mode: Mode
    writer: Literal["writing", "gone"] = "gone"
    silent_s: float = 0.0
    """Real seconds since the last fact was added."""
    written_today: bool = True
    """Something was added to the recording today, by the museum's own clock."""
    catching_up: bool = False
    """The reader hasn't reached the end of the recording yet, so its picture isn't current."""


class Badge(msgspec.Struct, frozen=True):
    """The badge's name, since when it has been true, and what the page must show beside it."""

    name: Name
    since: str
    simulated: bool
    rate: float
    may_run: tuple[MayRun, ...] = ()
    """Exercisers that may still be running with nobody watching, and jobs of which it isn't known."""
    closed: bool = False
    """The live recording has ended, so the console is no longer mirrored."""
    practice: bool = False
    """Somebody practises: nothing is typed at the machine itself."""


def badge(state: RecordedState, sight: Sight) -> Badge:
    """The one badge that is true now.

    A replay is always "recorded". Live, the reasons why the picture may be old come before what the picture
    says: a bridge that has ended can't record that the line is lost.
    """
    name, since = _name_and_since(state, sight)
    closed = state.closed and sight.mode == "live" and not sight.catching_up
    unwatched = name in NOBODY_WATCHES or closed or name == "not started today"
    live = sight.mode == "live" and not sight.catching_up
    may_run = tuple(one for one in state.may_run if _is_told(one, since, unwatched=unwatched, live=live))
    return Badge(name, since, state.simulated, state.rate, may_run, closed, state.practice)


def _is_told(one: MayRun, since: str, *, unwatched: bool, live: bool) -> bool:
    """Whether the page says that this may be running. No time ends a doubt."""
    if one.doubt == "in doubt":
        return live
    return unwatched and (bool(one.doubt) or not past(one.until, since))


def _name_and_since(state: RecordedState, sight: Sight) -> tuple[Name, str]:
    if sight.mode == "replay":
        return "recorded", state.last_at
    if sight.catching_up:
        return "reading the record", ""
    if not state.opened:
        return "not started today", ""
    if not (sight.written_today or state.failed) and (state.closed or sight.writer == "gone"):
        return "not started today", state.last_at
    if state.closed and not state.failed:
        return ("asleep", state.asleep_at) if state.asleep else ("resting", state.closed_at)
    if state.closed:
        return "failed", state.failed_at
    if sight.writer == "gone":
        return "bridge gone", state.last_at
    if sight.silent_s > NOT_ANSWERING_AFTER_S:
        return "bridge not answering", state.last_at
    if state.line == "lost":
        return "link lost", state.line_at
    if state.failed:
        return "failed", state.failed_at
    if state.line == "not opened":
        return "not started", state.opened_at
    if state.silent:
        return "silent", state.heard_at
    if state.resting:
        return ("asleep", state.asleep_at) if state.asleep else ("resting", state.resting_at)
    if state.simulated:
        return "simulated machine", state.line_at
    return ("watching" if state.watched_only else "live"), state.line_at
