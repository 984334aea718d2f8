"""How much was used before a recording began, and what was done that day, as its first fact takes it over.

All times are real time (in microseconds), not that of a recording's clock, which runs at its rate.
"""

from __future__ import annotations

from typing import Literal

import msgspec

SpanKind = Literal["opening", "round", "closing", "other", "watched"]


class DayUse(msgspec.Struct, kw_only=True):
    """How much was used on one day, from midnight to midnight by the computer's clock."""

    exercised_us: int = 0
    """Exerciser time: two exercisers for an hour make two hours."""
    starts: dict[str, int] = {}
    """By part."""
    stops: dict[str, int] = {}
    errors: dict[str, int] = {}
    """Disc errors, by what reported them: a reading, or a line of an error log."""
    went_on: int = 0
    """How often the rounds went on by themselves after a round that couldn't be finished."""


class PartUse(msgspec.Struct, kw_only=True):
    """All use of a part, as far as it was recorded."""

    run_us: int = 0
    starts: int = 0
    stops: int = 0
    running_since: list[str] = []
    """Who reported its present run: "a person", "the machine"; empty while it is stopped."""
    since: str = ""
    """When its last run began (RFC 3339); empty if unknown."""
    ran_before_us: int = 0
    """How long it had run in all, in microseconds, when that run began."""
    stopped: bool = False
    """It was seen to stop, and not to start again."""


class Stretch(msgspec.Struct, kw_only=True):
    """A period during which this many exercisers ran."""

    began: str
    ended: str
    exercisers: int


class Running(msgspec.Struct, kw_only=True):
    """An exerciser that nobody has seen end."""

    exerciser: str
    job: str
    ends: str
    """When it ends by itself at the latest; empty if it doesn't."""


class InDoubt(msgspec.Struct, kw_only=True):
    """A job that may be running: the machine never said in full that it has begun (see JobInDoubt)."""

    asked: int
    """Its number; 0 if the recording ended before it could be given one."""
    exercisers: list[str]
    command: str
    by: str
    why: str
    """Why it is in doubt; empty if the machine had only just been asked to start it."""
    job: str = ""
    ends: str = ""
    """When it ends by itself at the latest; empty if it doesn't, or if that isn't known."""


class MountedPack(msgspec.Struct, kw_only=True):
    """A pack that a person has confirmed to be in its drive."""

    label: str
    may_be_written: bool
    original: bool = False


class TroubleLeft(msgspec.Struct, frozen=True, kw_only=True):
    """A trouble that wasn't over when a recording ended."""

    trouble: str
    line: str
    since: str
    """When it was first raised (RFC 3339)."""
    seen_by: str = ""
    """Empty if nobody has said so."""


class UseBefore(msgspec.Struct, kw_only=True):
    """How much was used in all before a recording was opened."""

    at: str
    """The time up to which this was counted (RFC 3339)."""
    days: dict[str, DayUse] = {}
    """By date, for the last few days."""
    years: dict[str, int] = {}
    """By year: exerciser time in microseconds."""
    parts: dict[str, PartUse] = {}
    stretches: list[Stretch] = []
    """Those of the last hour."""
    running: list[Running] = []
    in_doubt: list[InDoubt] = []
    """The jobs of which it isn't known whether they run."""
    readings: dict[str, float] = {}
    """For each reading that counts disc errors: its last value."""
    log_entries: list[int] = []
    """For each known line of an error log: its checksum (CRC-32)."""
    packs: dict[str, MountedPack] = {}
    """By drive."""
    round_ended: str = ""
    """When the last round ended; empty if there was none."""
    troubles: list[TroubleLeft] = []
    """Those that weren't over."""


class DaySpan(msgspec.Struct, frozen=True, kw_only=True):
    """A script that ran, or a time in which the machine was only watched."""

    kind: SpanKind
    from_: str = msgspec.field(name="from")
    until: str = ""
    """Empty while it goes on."""
    outcome: str = ""
    """"done", "failed" or "stopped"; "broken off" if nobody saw its end; empty while it goes on."""


class DaySums(msgspec.Struct, frozen=True, kw_only=True):
    """What the machine has done on one day."""

    rounds: int = 0
    plots: dict[str, int] = {}
    """How often each plot's job was done."""
    transfers: int | None = None
    """None if nobody saw how many."""
    errors: int | None = None
    errors_at: str = ""
    """When the machine last showed how many; RFC 3339, renewed once a minute. Empty if it didn't."""


class DayBefore(msgspec.Struct, frozen=True, kw_only=True):
    """What earlier recordings say about the day on which a recording is opened."""

    date: str = ""
    """The museum's local date, such as 2026-11-29; empty if there are no earlier recordings of it."""
    spans: list[DaySpan] = []
    woken: str = ""
    """When the machine was first started; empty if nobody saw it."""
    said_woken: str = ""
    """When a person first said so; empty if nobody did. The machine may not have shown it yet."""
    sums: DaySums = DaySums()
    counts: dict[str, float] = {}
    """The last value of each reading that counts transfers, and today's errors by what reported them."""
