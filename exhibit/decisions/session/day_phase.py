"""The phase of the day: which script it asks for, and how it is kept from one recording to the next."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection
from typing import Any, Final

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.machine.script import CLOSING, ROUND, Planned
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall, write_wall

OPENING: Final = "opening"
START: Final = "the start of this program"
MIDNIGHT: Final = "midnight"
RESTARTED: Final = "so it was before the program was started again"
NEXT_DATE: Final = "so it was before midnight"
UNOPENED: Final[tuple[kinds.DayPhase, ...]] = ("before opening", "over")


NOT_KNOWN_AFTER: Final = (
    kinds.BytesTyped,
    kinds.SecretTyped,
    kinds.TypedByHand,
    kinds.BytesMissed,
    kinds.KeyboardTaken,
    kinds.LineLost,
    kinds.PartStarted,
    kinds.DayTurned,
)
"""After one of these a closing that was broken off begins again from its first step."""


def reason_itself(why: str) -> str:
    """Why the day came to its phase, without the words that it was so before; empty if nobody said why."""
    return "; ".join(part for part in why.split("; ") if part not in (RESTARTED, NEXT_DATE))


def closing_goes_on_at(step: str, fact: Any, last_by_hand: Collection[str]) -> str:
    """The step at which a closing that is broken off can go on, after this fact; "" if it can't.

    `step`: the same before the fact. `last_by_hand`: the closing's last steps, which type nothing. Once
    somebody has typed, or a part was started, it isn't known any more how the machine stands.
    """
    match fact:
        case kinds.StepStarted(script=script, step=begun, tidying=False) if script == CLOSING:
            return begun if begun in last_by_hand else ""
        case kinds.ScriptStarted(script=script, from_step=begun):
            return begun if script == CLOSING else ""
        case kinds.ScriptEnded(script=script, outcome="done") if script == CLOSING:
            return ""
        case kinds.DayTurned(phase="closing" | "stopped"):
            return step
    return "" if isinstance(fact, NOT_KNOWN_AFTER) else step


class Day:
    """How the day stands. `wall_at`: the wall time at a time on the recording's clock, of this `rate`."""

    def __init__(self, wall_at: Callable[[int], datetime.datetime], rate: float) -> None:
        self._wall_at = wall_at
        self._rate = rate
        self.is_told = False
        """The phase has been told in this recording."""
        self._by, self._why = START, ""
        self.phase: kinds.DayPhase = "before opening"
        self.until_us = 0
        """When it ends by itself, or 0."""
        self.resumes: kinds.DayPhase = "rounds"
        """What goes on after "stopped"."""
        self.rounds = 0
        """How many rounds were begun."""
        self.seen_us = 0
        """When somebody last gave a sign of being there."""
        self._seen_before_us = 0

    def is_seen(self, at_us: int) -> None:
        """Somebody asked for something, so they are there."""
        self._seen_before_us, self.seen_us = self.seen_us, at_us

    def is_not_seen(self) -> None:
        """What was asked for last is refused, and a refused request is no sign of presence."""
        self.seen_us = self._seen_before_us

    def turn(self, phase: kinds.DayPhase, by: str, why: str = "", until_us: int = 0) -> list[Command]:
        """Comes to this phase. `by`: who asked for it, or what did."""
        if phase == "stopped" and self.phase != "stopped":
            has_its_own_way_on = self.phase in (OPENING, CLOSING, *UNOPENED)
            self.resumes = self.phase if has_its_own_way_on else "rounds"
        self.phase, self._by, self._why = phase, by, reason_itself(why)
        self.until_us, self.is_told = until_us, True
        return [Tell(fact=kinds.DayTurned(phase=phase, by=by, why=why, until_us=until_us))]

    def tell_first(self) -> list[Command]:
        """Tells the phase, unless this recording has it already."""
        return [] if self.is_told else self.turn(self.phase, self._by)

    def done(self, script: str, why: str) -> list[Command]:
        """The script is done, or not needed: what comes after it?"""
        if (script, self.phase) == (OPENING, "opening"):
            return self.turn("rounds", f"the {OPENING}", why)
        if (script, self.phase) == (CLOSING, "closing"):
            return self.turn("over", f"the {CLOSING}", why)
        return []

    @property
    def due(self) -> Planned | None:
        """The script that the phase asks for next."""
        match self.phase:
            case "opening" | "closing":
                return Planned(OPENING if self.phase == "opening" else CLOSING, 0)
            case "rounds" | "quiet":
                return self.next_round
        return None

    @property
    def next_round(self) -> Planned:
        """The round after those that were begun."""
        return Planned(ROUND, self.rounds + 1)

    # -- from one recording to the next -----------------------------------------------------------

    def kept(self, now_us: int) -> kinds.DayKept:
        """How the day stands, for the next recording."""
        return kinds.DayKept(
            phase=self.phase,
            by=self._by,
            at=self._wall(now_us),
            until=self._wall(self.until_us) if self.until_us else "",
            resumes=self.resumes,
            rounds=self.rounds,
            seen=self._wall(self.seen_us),
            why=self._why,
        )

    def go_on(self, kept: kinds.DayKept, at_us: int) -> list[Command]:
        """Goes on after a restart, but only with a day of the same date; and nothing is opened by that."""
        if kept.at[:10] != self._wall(at_us)[:10]:
            return []
        if kept.phase == "opening":
            why = "the opening was interrupted by a restart"
            return self._take_up(kept, "before opening", kept.by, why, at_us)
        return self._take_up(kept, kept.phase, kept.by, _and_so_before(kept.why, RESTARTED), at_us)

    def after_midnight(self, kept: kinds.DayKept, at_us: int) -> list[Command]:
        """Goes on in the recording of the next date.

        A day that was over, or at whose end nobody was there, is followed by the next one.
        """
        if kept.phase in ("over", "nobody there"):
            return self._take_up(kept, "before opening", MIDNIGHT, "", at_us)
        return self._take_up(kept, kept.phase, kept.by, _and_so_before(kept.why, NEXT_DATE), at_us)

    def _take_up(
        self, kept: kinds.DayKept, phase: kinds.DayPhase, by: str, why: str, at_us: int
    ) -> list[Command]:
        turned = self.turn(phase, by, why, self._us(kept.until, at_us) if kept.until else 0)
        self.resumes, self.rounds = kept.resumes, kept.rounds
        self.seen_us = self._seen_before_us = self._us(kept.seen, at_us) if kept.seen else at_us
        return turned

    def real_us(self, us: int) -> int:
        """So long by the clock on the wall, on the recording's clock."""
        return round(us * self._rate)

    def _wall(self, at_us: int) -> str:
        return write_wall(self._wall_at(at_us))

    def _us(self, wall: str, at_us: int) -> int:
        """When that was or will be, on the recording's clock."""
        real = read_wall(wall) - self._wall_at(at_us)
        return at_us + round(real / datetime.timedelta(microseconds=1) * self._rate)


def _and_so_before(why: str, before: str) -> str:
    """The reason itself, which a person has to know, and that it was so before."""
    return f"{why}; {before}" if why else before
