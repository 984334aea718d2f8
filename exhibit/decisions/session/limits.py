"""Whether a script may start or continue now; if not, why, and when it may start."""

from __future__ import annotations

import datetime
from typing import Final

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import CheckPack, Folder, HandsOn, Script, TypeCommand
from exhibit.decisions.machine.wear_rules import Exerciser
from exhibit.decisions.wear.use import Use
from exhibit.facts.units import H_US, MIN_US, S_US
from exhibit.facts.use_facts import Limit

UNATTENDED: Final = ("opening", "round", "closing")
"""The scripts that run without an engineer present."""
A_REST_US: Final = S_US
"""How much shorter a rest can be: the clocks of two recordings can differ a little."""


class Refusal(msgspec.Struct, frozen=True, kw_only=True):
    """Why a script must not start now, or must not continue."""

    limit: Limit
    why: str
    until_us: int = 0
    """When it may start, on the recording's clock; 0: not today."""


class Gate:
    """Checks scripts against the limits of a folder, by the use so far. `rate` is the recording's."""

    def __init__(self, folder: Folder, use: Use, rate: float) -> None:
        self._folder = folder
        self._limits = folder.limits
        self._use = use
        self._rate = rate

    def holds(self, script: Script, number: int, at_us: int) -> Refusal | None:
        """Why the script may not start now, or None. `number` is the round's, or 0 outside the rounds."""
        self._use.pass_time(at_us)
        begun = begun_by(script, self._folder.machine)
        for refusal in (
            self._original(script.name),
            self._stopped(script.name, [exerciser for exerciser, _ in begun]),
            self._packs([exerciser for exerciser, _ in begun]),
            self._time_of_day(script, number),
            self._errors() if begun else None,
            self._starts(script),
            self._exercise(round(sum(us for _, us in begun) / self._rate)) if begun else None,
            self._rest(number, at_us),
        ):
            if refusal is not None:
                return refusal
        return None

    def stops(self, script: Script, number: int, at_us: int) -> Refusal | None:
        """Why the running script may not continue, or None."""
        self._use.pass_time(at_us)
        if (refusal := self._original(script.name)) is not None:
            return refusal
        if number and (refusal := self._closed()) is not None:
            return refusal
        begun = begun_by(script, self._folder.machine)
        return (self._stopped(script.name, [one for one, _ in begun]) or self._errors()) if begun else None

    def no_more_today(self, script: Script, at_us: int) -> Refusal | None:
        """Why the script can't begin on this day any more, whatever people do; None if it can."""
        self._use.pass_time(at_us)
        begun = begun_by(script, self._folder.machine)
        if not begun:
            return None
        refusal = self._errors() or self._exercise(round(sum(us for _, us in begun) / self._rate))
        return refusal if refusal is not None and not refusal.until_us else None

    def times_gone_on(self, at_us: int) -> int:
        """How often the rounds have already gone on by themselves today after one that failed."""
        self._use.pass_time(at_us)
        return self._use.today.went_on

    # -- one limit each -----------------------------------------------------------------------

    def _original(self, script: str) -> Refusal | None:
        for drive, pack in self._use.packs.items():
            if pack.original and script in UNATTENDED:
                why = f"the original pack {pack.label} is in the {drive}, and only an engineer may use it"
                return Refusal(limit="original pack", why=why)
        return None

    def _stopped(self, script: str, exercisers: list[Exerciser]) -> Refusal | None:
        """A part that a person starts, and that stopped; others may stop as they like."""
        needed = {part for one in exercisers for part in (one.part, one.writes)}
        for part in sorted(needed & self._use.stopped):
            by_hand = [name for name in self._folder.machine.marks[part].started if "." in name]
            if by_hand and not any(name.startswith(f"{script}.") for name in by_hand):
                why = f"the {part} has stopped, and nothing has shown since that it was started again"
                return Refusal(limit="part stopped", why=why)
        return None

    def _packs(self, exercisers: list[Exerciser]) -> Refusal | None:
        for exerciser in exercisers:
            pack = self._use.packs.get(exerciser.writes)
            if not exerciser.writes or (pack is not None and pack.may_be_written):
                continue
            what = f"nobody has confirmed which pack is in the {exerciser.writes}"
            if asking := self._asks_for(exerciser.writes):
                what += f"; the script {' or '.join(asking)} asks for it"
            if pack is not None:
                what = f"the pack {pack.label} in the {exerciser.writes} may not be written"
            return Refusal(limit="pack", why=f"{exerciser.name} writes, and {what}")
        return None

    def _asks_for(self, drive: str) -> list[str]:
        """The scripts that ask a person which pack is in the drive."""
        packs = {name for name, pack in self._folder.machine.packs.items() if pack.drive == drive}
        asking: list[str] = []
        for script in self._folder.scripts.values():
            checks = [step for step in script.steps if isinstance(step, CheckPack) and not step.out]
            asking += [script.name] if any(step.pack in packs for step in checks) else []
        return asking

    def _time_of_day(self, script: Script, number: int) -> Refusal | None:
        last_min = self._last_round_min()
        is_round = number > 0 or script.name == "round"
        if is_round and last_min is not None and self._use.minute_of_day() >= last_min:
            return Refusal(limit="last round", why=f"no round begins after {_time(last_min)}")
        return self._closed() if is_round or script.name == "opening" else None

    def _closed(self) -> Refusal | None:
        closes_min = self._closes_min()
        if closes_min is None or self._use.minute_of_day() < closes_min:
            return None
        if not closes_min:
            return Refusal(limit="closed today", why="the doors stay closed today")
        return Refusal(limit="closing time", why=f"the museum closes at {_time(closes_min)}")

    def _closes_min(self) -> int | None:
        """When the museum closes today, in minutes after midnight; 0 if it isn't opened."""
        if not self._limits.closes_with_doors:
            return self._limits.closes_min
        return self._doors_close_min() or 0

    def _last_round_min(self) -> int | None:
        before_min, doors_min = self._limits.last_round_before_doors_min, self._doors_close_min()
        if before_min is None:
            return self._limits.last_round_min
        return None if doors_min is None else max(0, doors_min - before_min)

    def _doors_close_min(self) -> int | None:
        """When the doors close today; None if nobody knows, or if they stay closed."""
        hours = self._folder.hours
        today = hours.on(self._use.wall().date()) if hours is not None else None
        if today is None:
            return None
        closes = datetime.time.fromisoformat(today.closes)
        return closes.hour * 60 + closes.minute

    def _errors(self) -> Refusal | None:
        limits, today = self._limits, self._use.today
        errors = self._use.errors_today
        if limits.errors_a_day is not None and errors > limits.errors_a_day:
            why = f"the discs made {errors} errors today, and the limit is {limits.errors_a_day}"
            return Refusal(limit="disc errors", why=why)
        most = limits.errors_an_hour
        if most is not None and errors * H_US > most * max(today.exercised_us, H_US):
            hours = max(today.exercised_us / H_US, 1)
            why = (
                f"the discs made {errors} errors in {hours:.1f} exerciser-hours, "
                f"and the limit is {most} an exerciser-hour"
            )
            return Refusal(limit="disc errors", why=why)
        return None

    def _starts(self, script: Script) -> Refusal | None:
        most = self._limits.starts_a_day
        if most is None:
            return None
        for part, marks in self._folder.machine.marks.items():
            starts = [step for step in script.steps if isinstance(step, HandsOn | CheckPack)]
            named = any(f"{script.name}.{step.name}" in marks.started for step in starts)
            had = self._use.today.starts.get(part, 0)
            if named and not self._use.is_running(part) and had >= most:
                why = f"the {part} was started {had} times today, and the limit is {most}"
                return Refusal(limit="starts in a day", why=why)
        return None

    def _exercise(self, wanted_us: int) -> Refusal | None:
        """`wanted_us`: how long the script's exercisers will run, in real time."""
        use, limits = self._use, self._limits
        going_us = use.rest_of_running_us()
        for limit, had_us, most_us, span in (
            ("exercise in a year", use.year_us, limits.year_us, "this year"),
            ("exercise in a day", use.today.exercised_us, limits.day_us, "today"),
            ("exercise in an hour", use.hour_us(), limits.hour_us, "in the last hour"),
        ):
            if most_us is None or had_us + going_us + wanted_us <= most_us:
                continue
            why = (
                f"the exercisers had {span_of(had_us + going_us)} {span} and it takes {span_of(wanted_us)}, "
                f"but the limit is {span_of(most_us)}"
            )
            until_us = 0
            if limit == "exercise in an hour" and wanted_us <= most_us:
                until_us = self._before_the_end(use.hour_is_below_us(most_us - wanted_us))
            return Refusal(limit=limit, why=why, until_us=until_us)  # type: ignore[arg-type]
        return None

    def _rest(self, number: int, at_us: int) -> Refusal | None:
        ended_us = self._use.round_ended_us
        if not number or ended_us is None:
            return None
        until_us = ended_us + self._folder.rest_us
        if until_us <= at_us + A_REST_US:
            return None
        return Refusal(limit="rest", why="the machine rests between two rounds", until_us=until_us)

    def _before_the_end(self, until_us: int) -> int:
        """This time, or 0 if it is too late in the day for a round to begin then."""
        now, then = self._use.wall(), self._use.wall(until_us)
        ends = [m for m in (self._last_round_min(), self._closes_min()) if m is not None]
        if ends and (then.date() != now.date() or then.hour * 60 + then.minute >= min(ends)):
            return 0
        return until_us


def begun_by(script: Script, machine: Machine) -> list[tuple[Exerciser, int]]:
    """The exercisers that the script's commands start, and how long each runs on the recording's clock.

    One that doesn't end by itself counts for as long as the script can take.
    """
    begun: list[tuple[Exerciser, int]] = []
    for step in script.steps:
        if not isinstance(step, TypeCommand):
            continue
        for exerciser in machine.exercisers:
            fields = exerciser.typed.match(step.command)
            if fields is None:
                continue
            lasts_us = exerciser.lasts_us(fields)
            begun.append((exerciser, script.within_us if lasts_us is None else lasts_us))
            break
    return begun


def _time(minute: int) -> str:
    return f"{minute // 60}:{minute % 60:02}"


def span_of(us: int) -> str:
    """A time, as people read it."""
    return f"{us / MIN_US:.0f} min" if us < 2 * H_US else f"{us / H_US:.1f} h"
