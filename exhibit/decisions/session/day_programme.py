"""Which script comes next on a day that a person opens and closes: opening, rounds and rests, closing.

Nothing begins by itself before somebody opens the day. What a person asks for takes effect between two
scripts: a round that runs is finished first. Only "stop" ends it. The phase of the day is told as a fact
whenever it changes, and kept in the next recording, so that the day goes on after a restart.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Final

import msgspec

from exhibit.decisions.commands import Command, Drop, Tell
from exhibit.decisions.decider import REST, THIS_COMPUTER
from exhibit.decisions.machine.script import CLOSING, Folder, Planned
from exhibit.decisions.session.day_phase import OPENING, UNOPENED, Day, closing_goes_on_at
from exhibit.decisions.session.day_requests import ABOUT_THE_DAY, begins_anew, why_not
from exhibit.decisions.session.homing import Homing
from exhibit.decisions.session.limits import Gate, Refusal, span_of
from exhibit.decisions.session.programme import (
    DISC_WAS_FULL,
    FOR_A_PERSON,
    Programme,
    Wanted,
    refusal_told,
)
from exhibit.decisions.session.session import Session
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US

HOURS: Final = "the hours in day.toml"
LIMITS: Final = "the limits in day.toml"
PACKS: Final = "the rules about the packs"
PARTS: Final = "the state of the machine's parts"
PRESENCE: Final = "the presence in day.toml"
QUIET_OVER: Final = "the end of the quiet time"
BY_ITSELF: Final = (HOURS, LIMITS, PACKS, PARTS, PRESENCE, QUIET_OVER)
"""What turns a day besides people."""
_OF_THE_HOURS: Final = ("last round", "closing time", "closed today")
_OPEN: Final[tuple[kinds.DayPhase, ...]] = ("rounds", "quiet", "away", "nobody there")
"""The phases between opening and closing in which no part is to stop."""
_NOBODY: Final[tuple[kinds.DayPhase, ...]] = ("away", "nobody there", "stopped")
"""The phases that only a person ends."""


class ByTheDay(msgspec.Struct, frozen=True):
    """Wanted instead of a fixed plan: people open and close the day, and the rounds go on in between."""


class DayProgramme(Programme):
    """Starts one script after another in a session, as the phase of the day says.

    `wall_at`: the date and time at a time on the recording's clock, which runs at `rate`.
    """

    def __init__(
        self,
        folder: Folder,
        session: Session,
        wall_at: Callable[[int], datetime.datetime],
        rate: float,
        gate: Gate | None = None,
        homing: Homing | None = None,
    ) -> None:
        super().__init__(folder, Wanted(before=(), rounds=0, after=()), session, gate, homing)
        self._day = Day(wall_at, rate)
        self._told_hours = False
        """It was told that the closing only waits for somebody to be there."""
        self._now = False
        """A person wants the next round at once, so there is no rest before it."""
        self._sought_for = ""
        """The script for which homing was begun."""
        self._left_undone = False
        """The last run left something on the machine, which is put away first, whatever the phase."""
        self._ends = False
        """The process is being ended."""
        closing = folder.scripts.get(CLOSING)
        self._last_by_hand = closing.last_by_hand if closing is not None else ()
        self._broken_off_at = ""
        """The step at which a closing that was broken off can go on; "" if it begins with its first."""

    def carry_over(self, now_us: int) -> tuple[int, int, str] | None:
        """See Programme. Where nothing is to begin, a new recording can."""
        if self._session.state == "idle" and self._day.due is None:
            return (self._begun, 0, "") if self._homing is None or self._homing.at_rest else None
        return super().carry_over(now_us)

    def day(self, now_us: int) -> kinds.DayKept:
        """How the day stands, for the next recording."""
        return self._day.kept(now_us)

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """See Programme. Takes also what people ask for, and how the day stood before."""
        self._broken_off_at = closing_goes_on_at(self._broken_off_at, fact, self._last_by_hand)
        match fact:
            case kinds.RequestMade(by=by) if by != THIS_COMPUTER:
                self._day.is_seen(at_us)
                if fact.request in ABOUT_THE_DAY:
                    return [*self._day.tell_first(), *self._asked(fact, at_us)]
            case kinds.RequestRefused():
                self._day.is_not_seen()
            case kinds.LastRecordingRead(day=day):
                self._left_undone = bool(fact.script or fact.half_typed or fact.unanswered)
                if day is None:
                    return []
                failed = self._session.fail_at_rest(day.failed) if day.failed else []
                return [*failed, *self._day.go_on(day, at_us)]
            case kinds.Heartbeat():
                return [*self._day.tell_first(), *self._look(at_us), *super().note(fact, at_us)]
            case kinds.LineOpened():
                return [*self._day.tell_first(), *super().note(fact, at_us)]
            case kinds.PartStopped() if self._session.state == "idle" and self._day.phase in _OPEN:
                return self._part_stopped(at_us)
            case kinds.ScriptEnded(outcome="stopped") if self._is_wanted_anew:
                return self._begin_due("somebody asked for it", at_us)
        return super().note(fact, at_us)

    # -- what people ask for --------------------------------------------------------------------

    def _asked(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        failed = self._session.state == "failed"
        if why := why_not(made, self._day.phase, failed=failed) or self._not_now(made, at_us):
            return [Tell(fact=kinds.RequestRefused(request=made.request, why=why))]
        by, turned, self._told_hours = made.by, list[Command](), False
        match made.request:
            case "open" if failed:
                # What began at the machine is gone with the power, but homing looks before anything is typed.
                return [*self._day.turn("opening", by, made.why), *super()._clear(made, at_us)]
            case "open":
                self._wanted, self._day.rounds = msgspec.structs.replace(self._wanted, by=by), 0
                turned = self._day.turn("opening", by)
            case "close":
                is_given_up = failed and self._day.phase == "closing"
                turned = self._day.turn("over" if is_given_up else "closing", by, made.why)
            case "away":
                turned = self._day.turn("away", by, made.why)
            case "back":
                turned = self._day.turn(self._day.resumes if self._day.phase == "stopped" else "rounds", by)
            case "quiet":
                turned = self._day.turn(
                    "quiet", by, made.why, at_us + self._day.real_us(made.minutes * MIN_US)
                )
            case "round now":
                self._now = True
                turned = self._day.turn("rounds", by) if self._day.phase != "rounds" else []
            case "here" if self._day.phase == "nobody there":
                turned = self._day.turn("rounds", by)
            case "here":
                return []
            case "stop":
                return self._stop(made, at_us)
        return [*turned, *self._begin_due("somebody asked for it", at_us)]

    def _not_now(self, made: kinds.RequestMade, at_us: int) -> str:
        """Why it can't be done at this moment, though the phase would allow it."""
        runs = self._session.state not in ("idle", "failed")
        seeks = self._homing is not None and not self._homing.at_rest
        match made.request:
            case "open" if self._disc_full and begins_anew(made, failed=self._session.state == "failed"):
                return DISC_WAS_FULL
            case "stop" if not runs and not seeks and self._day.phase in (*UNOPENED, "stopped"):
                return "no script is running"
            case "round now" if runs:
                return "a script is running"
            case "round now":
                refusal = self._refusal_of(self._day.next_round, at_us)
                return refusal.why if refusal is not None and refusal.limit != "rest" else ""
            case "open":
                refusal = self._refusal_of(Planned(OPENING, 0), at_us)
                if refusal is not None and refusal.limit in _OF_THE_HOURS:
                    return refusal.why
                return self._why_no_round(at_us)
        return ""

    def _why_no_round(self, at_us: int) -> str:
        """Why no round can begin any more today, so that the closing would follow the opening at once."""
        first = self._folder.scripts[self._day.next_round.script]
        refusal = self._gate.no_more_today(first, at_us) if self._gate is not None else None
        return refusal.why if refusal is not None else ""

    def _stop(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        if made.by == THIS_COMPUTER:
            self._ends = True
            return super()._stop(made, at_us)
        if self._over:
            return super()._stop(made, at_us)
        turned = self._day.turn("stopped", made.by, made.why) if self._day.phase != "stopped" else []
        return [*turned, *super()._stop(made, at_us)]

    def _clear(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        stopped = self._day.phase == "stopped" and not self._disc_full
        turned = self._day.turn(self._day.resumes, made.by) if stopped else []
        if stopped and self._session.state != "failed":
            return [*turned, *self._begin_due("somebody is back", at_us)]
        return [*turned, *super()._clear(made, at_us)]

    def _go_on_cleared(self, at_us: int) -> list[Command]:
        self._following = self._day.due
        if self._following is None:
            return [Tell(fact=kinds.SessionResting(until_us=0))]
        if self._line_open and self._homing is not None and not self._goes_on_at:
            return self._find_home("a person has looked", at_us, vouched=True)
        return self._start_following(at_us)

    # -- what follows ---------------------------------------------------------------------------

    def _begin_due(self, why: str, at_us: int) -> list[Command]:
        """Begins what the phase asks for. While a script runs it is left to end first."""
        self._following = self._day.due
        if self._over or self._session.state != "idle":
            return []
        self._waits = self._following is not None
        dropped = Drop(name=REST)
        seeks = self._homing is not None and not self._homing.there and not self._goes_on_at
        if self._following is None or not seeks or not self._line_open:
            return [dropped, *self._start_following(at_us)]
        assert self._homing is not None
        return [dropped, *(self._find_home(why, at_us) if self._homing.at_rest else [])]

    def _find_home(self, why: str, at_us: int, *, vouched: bool = False) -> list[Command]:
        self._sought_for = self._following.script if self._following is not None else ""
        return super()._find_home(why, at_us, vouched=vouched)

    def _line_opened(self, at_us: int) -> list[Command]:
        self._following = self._day.due
        nothing_left = not self._left_undone and self._session.state != "line lost"
        if self._following is None and nothing_left:
            self._line_open = True
            return []
        self._left_undone = False
        return super()._line_opened(at_us)

    def _start_following(self, at_us: int) -> list[Command]:
        if self._day.phase == "quiet" and at_us < self._day.until_us:
            return self._rest(self._day.until_us)
        turned = self._day.turn("rounds", QUIET_OVER) if self._day.phase == "quiet" else []
        if self._day.phase == "rounds" and self._is_nobody_there(at_us):
            why = f"nobody has given a sign of being there for {span_of(self._folder.presence_us or 0)}"
            turned += self._day.turn("nobody there", PRESENCE, why)
        self._following = following = self._day.due
        if following is None:
            return [*turned, Tell(fact=kinds.SessionResting(until_us=0))]
        step = self._goes_on_at
        seeks = self._homing is not None and not self._homing.there and not step
        self._waits = not self._line_open or seeks
        if self._waits:
            return turned
        if self._homing is not None and (place := self._homing.place) not in ("", *self._may_begin_at()):
            if self._sought_for != following.script:  # so it was sought for something else
                return [*turned, *self._find_home("something else is wanted now", at_us)]
            self._homing.take_place()
            if not following.round:
                return [*turned, *self._leave_out(following.script, place, at_us)]
        refusal = self._refusal_of(following, at_us)
        if refusal is not None and not (refusal.limit == "rest" and self._now):
            return [*turned, *self._refuse(refusal, at_us)]
        if self._homing is not None:
            self._homing.take_place()
        self._now, self._refusal, self._tidying = False, None, False
        self._take_following()
        script = self._folder.scripts[following.script]
        return [*turned, *self._session.start(script, self._wanted.by, following.round, at_us, step)]

    @property
    def _goes_on_at(self) -> str:
        """The step at which what follows goes on: from there nothing is typed, so nothing is sought."""
        is_closing = self._following is not None and self._following.script == CLOSING
        return self._broken_off_at if is_closing else ""

    def _refusal_of(self, planned: Planned, at_us: int) -> Refusal | None:
        script = self._folder.scripts[planned.script]
        return self._gate.holds(script, planned.round, at_us) if self._gate is not None else None

    def _leave_out(self, script: str, place: str, at_us: int) -> list[Command]:
        why = f"the machine is at {place} already"
        left_out = Tell(fact=kinds.ScriptLeftOut(script=script, why=why))
        return [left_out, *self._day.done(script, why), *self._start_following(at_us)]

    def _take_following(self) -> None:
        self._running = self._following
        self._begun += 1
        if self._running is not None and self._running.round:
            self._day.rounds = self._running.round
        self._following = self._day.due

    def _script_done(self, at_us: int) -> list[Command]:
        done = self._running
        turned = self._day.done(done.script, f"the {done.script} is done") if done is not None else []
        if done is not None and done.round and self._day.phase in ("rounds", "quiet"):
            return self._rest(max(at_us + self._folder.rest_us, self._day.until_us))
        return [*turned, *self._start_following(at_us)]

    @property
    def _in_rounds(self) -> bool:
        return self._running is not None and bool(self._running.round) and self._day.phase != "closing"

    @property
    def _is_wanted_anew(self) -> bool:
        """Whether somebody came back, or closed the day, while a stopped script was still being tidied up."""
        is_stopped = self._session.state == "idle" and self._refusal is None and not self._ends
        return is_stopped and self._day.phase != "stopped" and self._day.due is not None

    # -- limits, hours and presence -------------------------------------------------------------

    def _refuse(self, refusal: Refusal, at_us: int) -> list[Command]:
        assert self._following is not None
        refused = refusal_told(self._following, refusal)
        if refusal.until_us:
            return [*refused, *self._rest(refusal.until_us)]
        self._refusal, self._now = refusal, False
        if self._following.round and refusal.limit not in FOR_A_PERSON:
            return [*refused, *self._on_to_the_end(at_us)]
        if refusal.limit not in FOR_A_PERSON and self._day.phase == "opening":
            turned = self._day.turn("before opening", _whose(refusal), refusal.why)
            return [*refused, *turned, Tell(fact=kinds.SessionResting(until_us=0))]
        return [*refused, *self._end("stopped")]

    def _part_stopped(self, at_us: int) -> list[Command]:
        """A part has stopped while nothing runs: if rounds need it, that is told at once."""
        refusal = self._refusal_of(self._day.next_round, at_us)
        if refusal is None or refusal.limit != "part stopped":
            return []
        self._refusal, self._now = refusal, False
        return [*refusal_told(self._day.next_round, refusal), *self._end("stopped")]

    def _on_to_the_end(self, at_us: int) -> list[Command]:
        refusal, self._refusal = self._refusal, None
        assert refusal is not None
        if self._day.phase in _NOBODY:  # it waits for somebody to be there, who is told so
            return self._end("stopped")
        return [*self._day.turn("closing", _whose(refusal), refusal.why), *self._start_following(at_us)]

    def _end(self, outcome: kinds.Outcome) -> list[Command]:
        """Nothing follows until somebody asks for it; the day isn't over by that, nor the process."""
        if self._ends:
            return super()._end(outcome)
        refusal, self._refusal = self._refusal, None
        is_new = refusal is not None and self._day.phase != "stopped"
        turned = self._day.turn("stopped", _whose(refusal), refusal.why) if refusal and is_new else []
        dropped = self._homing.leave() if self._homing is not None else []
        self._waits = True
        return [*turned, *dropped, Drop(name=REST), Tell(fact=kinds.SessionResting(until_us=0))]

    def _is_nobody_there(self, at_us: int) -> bool:
        within_us = self._folder.presence_us
        return within_us is not None and at_us - self._day.seen_us >= within_us

    def _look(self, at_us: int) -> list[Command]:
        """Looks whether somebody is there again, and whether the closing waits for somebody."""
        if self._day.phase == "nobody there" and not self._is_nobody_there(at_us):
            return [*self._day.turn("rounds", "a person"), *self._begin_due("somebody is there again", at_us)]
        if self._day.phase not in _NOBODY or self._told_hours or self._session.state != "idle":
            return []
        if self._day.phase == "stopped" and self._day.resumes in UNOPENED:
            return []  # no closing is to follow
        refusal = self._refusal_of(self._day.next_round, at_us)
        if refusal is None or refusal.limit not in _OF_THE_HOURS:
            return []
        turned = self._day.turn(
            self._day.phase, HOURS, f"{refusal.why}; the closing waits for somebody to be there"
        )
        self._told_hours = True
        return turned

    def _carried_over(self, fact: kinds.CarriedOver) -> list[Command]:
        turned = self._day.after_midnight(fact.day or self.day(0), 0)
        self._begun, self._line_open = fact.scripts, True
        self._following = self._day.due
        self._waits = self._following is None
        if fact.failed:
            return [*turned, *self._session.fail_at_rest(fact.failed)]
        if self._following is None:
            return [*turned, Tell(fact=kinds.SessionResting(until_us=0))]
        if self._homing is not None:
            self._homing.arrive()
        return [*turned, *self._rest(fact.until_us)]


def _whose(refusal: Refusal) -> str:
    if refusal.limit == "part stopped":
        return PARTS
    if refusal.limit in FOR_A_PERSON:
        return PACKS
    return HOURS if refusal.limit in _OF_THE_HOURS else LIMITS
