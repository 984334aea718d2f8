"""Which script comes next: the opening, the rounds with their rests, the closing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, count
from typing import Final

import msgspec

from exhibit.decisions.commands import Arm, Command, Drop, End, Resume, Tell
from exhibit.decisions.decider import REST, THIS_COMPUTER
from exhibit.decisions.machine.script import CLOSING, ROUND, Folder, Planned
from exhibit.decisions.session.homing import Homing
from exhibit.decisions.session.limits import Gate, Refusal
from exhibit.decisions.session.session import Session
from exhibit.facts import kinds

FOR_A_PERSON: Final = ("pack", "original pack", "part stopped")
"""The limits that a person can do something about at the machine."""
OF_A_DAY: Final = ("open", "close", "away", "back", "quiet", "round now")
"""The requests that make sense only where the scripts are run by the day. "here" isn't one of them: in any
run somebody must have said so before the keyboard can be taken."""
DISC_WAS_FULL: Final = "the disc for the recordings was full: end this, free some space and start again"
_OPENED: Final = "the line was opened"


class Wanted(msgspec.Struct, frozen=True, kw_only=True):
    """What a person asked for when starting the program."""

    before: tuple[str, ...] = ("opening",)
    """Scripts to run first, once each."""
    rounds: int | None = None
    """How many rounds to run; None: until somebody says stop."""
    after: tuple[str, ...] = (CLOSING,)
    """Scripts to run last, once each."""
    by: str = "a person"
    from_step: str = ""
    """The step with which the first script goes on, for the rehearsal of a run that was broken off before."""


class Programme:
    """Starts one script after another in a session, until all are done or one of them has failed.

    `homing`: if given, no script begins until it has found out what state the console is in. `gate` checks
    the limits; without it there are none.
    """

    def __init__(
        self,
        folder: Folder,
        wanted: Wanted,
        session: Session,
        gate: Gate | None = None,
        homing: Homing | None = None,
    ) -> None:
        self._folder = folder
        self._wanted = wanted
        self._session = session
        self._gate = gate
        self._homing = homing
        self._refusal: Refusal | None = None
        """Why the running script was ended early."""
        self._tidying = False
        self._plan = _plan(wanted)
        self._running: Planned | None = None
        self._following = next(self._plan, None)
        self._line_open = False
        self._waits = True
        """The next script waits until the line is open and homing is done."""
        self._over = False
        self._disc_full = False
        self._begun = 0
        self._rests_until_us = 0
        self._failed = ""
        self._why_sought = _OPENED

    def carry_over(self, now_us: int) -> tuple[int, int, str] | None:
        """How many scripts were begun, for how many more microseconds it rests, and why it failed.

        None while a script runs.
        """
        if self._session.state == "failed":
            return self._begun, 0, self._failed
        if self._session.state != "idle" or self._rests_until_us <= now_us:
            return None
        return self._begun, self._rests_until_us - now_us, ""

    def day(self, now_us: int) -> kinds.DayKept | None:
        """How the day stands; None, because what is wanted here is no day."""
        return None

    def note(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """Begins when the line is open; continues when a script has ended or a rest is over."""
        match fact:
            case kinds.LineOpened():
                return self._line_opened(at_us)
            case kinds.LineLost() | kinds.KeyboardTaken():  # no script begins while a person types
                self._line_open = False
                return self._homing.leave() if self._homing is not None else []
            case kinds.KeyboardGivenBack():
                return self._keyboard_given_back(at_us)
            case kinds.RequestMade(request="stop"):
                return self._stop(fact, at_us)
            case kinds.RequestMade(request="clear"):
                return self._clear(fact, at_us)
            case kinds.RequestMade(request=request) if request in OF_A_DAY:
                why = "these scripts were started to run once, in order, and not by the day"
                return [Tell(fact=kinds.RequestRefused(request=request, why=why))]
            case kinds.CarriedOver():
                return self._carried_over(fact)
            case kinds.RecordNearlyFull():
                self._disc_full = True
                return [] if self._over else self._session.fail_at_rest("the disc for the recordings is full")
            case _ if self._over:
                return []
            case kinds.SessionFailed(why=why):
                self._over, self._failed = True, why
                dropped = self._homing.leave() if self._homing is not None else []
                return [*dropped, Drop(name=REST), End(outcome="failed")]
            case kinds.ScriptEnded(outcome="stopped") if self._refusal and self._session.state == "idle":
                person = self._refusal.limit in FOR_A_PERSON
                return self._end("stopped") if person else self._on_to_the_end(at_us)
            case kinds.ScriptEnded(outcome="failed") if self._session.state == "idle":
                return self._failed_but_tidy(fact, at_us)
            case kinds.ScriptEnded(outcome=outcome) if self._session.state == "idle":
                if outcome != "done":
                    return self._end(outcome)
                if self._homing is not None and self._homing.under_way:
                    return [*self._homing.script_over(at_us), *self._go_on(at_us)]
                return self._script_done(at_us)
            case kinds.TidyUpStarted():
                self._tidying = True
            case kinds.Heartbeat() | kinds.PackMounted() | kinds.DiscErrorsCounted():
                return self._hold(at_us)
            case kinds.DeadlinePassed(name="rest") if self._session.state == "idle":
                return self._start_following(at_us)
            case kinds.DeadlinePassed(name="home") if self._homing is not None:
                return [*self._homing.overdue(at_us), *self._go_on(at_us)]
        return []

    def _line_opened(self, at_us: int) -> list[Command]:
        self._line_open = True
        if self._over:
            return []
        if self._homing is not None:
            return self._find_home(self._why_sought, at_us)
        return self._start_following(at_us) if self._waits else []

    def _keyboard_given_back(self, at_us: int) -> list[Command]:
        """The program has the machine again, in whatever state: it first finds that out."""
        if not self._session.at_rest:  # nobody can have had it
            return []
        self._waits, self._why_sought = True, "the keyboard was given back"
        commands = self._line_opened(at_us)
        self._why_sought = _OPENED
        return commands

    def _find_home(self, why: str, at_us: int, *, vouched: bool = False) -> list[Command]:
        assert self._homing is not None
        return self._homing.begin(self._may_begin_at(), why, at_us, vouched=vouched)

    def _may_begin_at(self) -> tuple[str, ...]:
        """The landmarks at which the next script can begin."""
        way = self._folder.way_home
        if way is None:
            return ()
        return way.begins_at(self._following.script) if self._following is not None else way.home

    def _go_on(self, at_us: int) -> list[Command]:
        """Begins the script that was waiting for homing, if homing is done."""
        there = self._homing is not None and self._homing.there
        return self._start_following(at_us) if self._waits and there else []

    def _script_done(self, at_us: int) -> list[Command]:
        """Starts the next script, after a rest if both it and the last were rounds."""
        if not (self._running and self._running.round and self._following and self._following.round):
            return self._start_following(at_us)
        return self._rest(at_us + self._folder.rest_us)

    def _failed_but_tidy(self, ended: kinds.ScriptEnded, at_us: int) -> list[Command]:
        """A script failed, but all was tidied up: if the rounds may not go on, a person must look."""
        after, most = self._session.goes_on_after, self._folder.goes_on_after_loss
        if not after or not most or not self._in_rounds or self._disc_full or not self._line_open:
            return self._session.fail_at_rest(ended.why)
        if self._gate is None or self._homing is None:
            return self._session.fail_at_rest(ended.why)
        times = self._gate.times_gone_on(at_us)
        if times >= most:
            had = "once" if times == 1 else f"{times} times"
            return self._session.fail_at_rest(
                f"{ended.why}; the rounds have gone on by themselves {had} today, and no more is allowed"
            )
        went_on = Tell(fact=kinds.RoundsWentOn(after=after, why=ended.why, times=times + 1, most=most))
        self._waits = True
        if self._homing.under_way:
            return [went_on, *self._homing.script_over(at_us), *self._go_on(at_us)]
        return [went_on, *self._find_home("an answer came late, and all was tidied up", at_us)]

    @property
    def _in_rounds(self) -> bool:
        """Whether the script that ended was a round, and not the last."""
        ended, next_one = self._running, self._following
        return ended is not None and next_one is not None and bool(ended.round and next_one.round)

    def _carried_over(self, fact: kinds.CarriedOver) -> list[Command]:
        self._line_open, self._waits = True, False
        if self._homing is not None:
            self._homing.arrive()
        for _ in range(fact.scripts):
            self._take_following()
        if fact.failed:
            return self._session.fail_at_rest(fact.failed)
        return self._rest(fact.until_us)

    def _rest(self, until_us: int) -> list[Command]:
        self._rests_until_us = until_us
        return [Tell(fact=kinds.SessionResting(until_us=until_us)), Arm(name=REST, due_us=until_us)]

    def _start_following(self, at_us: int) -> list[Command]:
        # Without a line a script could type nothing, and would be overdue through no fault of the machine.
        self._waits = not self._line_open or (self._homing is not None and not self._homing.there)
        skipped = [] if self._waits else self._leave_out_needless()
        if self._following is None:
            return [*skipped, *self._end("done")]
        if self._waits:
            return []
        running = self._following
        script = self._folder.scripts[running.script]
        if self._gate is not None and (refusal := self._gate.holds(script, running.round, at_us)):
            return [*skipped, *self._refuse(refusal, at_us)]
        self._take_following()
        self._refusal, self._tidying = None, False
        step = self._wanted.from_step if self._begun == 1 else ""
        return [*skipped, *self._session.start(script, self._wanted.by, running.round, at_us, step)]

    def _leave_out_needless(self) -> list[Command]:
        """Skips scripts that don't begin at the recognised place: the machine is already past them."""
        skipped: list[Command] = []
        place = self._homing.take_place() if self._homing is not None else ""
        while self._following is not None and place and place not in self._may_begin_at():
            why = f"the machine is at {place} already"
            skipped.append(Tell(fact=kinds.ScriptLeftOut(script=self._following.script, why=why)))
            self._take_following()
        return skipped

    def _take_following(self) -> None:
        self._running, self._following = self._following, next(self._plan, None)
        self._begun += 1

    def _refuse(self, refusal: Refusal, at_us: int) -> list[Command]:
        """The next script may not start now: rests, skips to the closing, or ends."""
        assert self._following is not None
        refused = refusal_told(self._following, refusal)
        if refusal.until_us:
            return [*refused, *self._rest(refusal.until_us)]
        if self._following.round and refusal.limit not in FOR_A_PERSON:
            return [*refused, *self._on_to_the_end(at_us)]
        # Somebody only has to see to a pack, so that is no reason to run the closing.
        return [*refused, *self._end("stopped")]

    def _hold(self, at_us: int) -> list[Command]:
        """Ends the running script early if it may not continue."""
        running = self._running
        if self._gate is None or running is None or self._refusal or self._tidying:
            return []
        if self._session.at_rest or (self._homing is not None and self._homing.under_way):
            return []
        self._refusal = self._gate.stops(self._folder.scripts[running.script], running.round, at_us)
        if self._refusal is None:
            return []
        return [*refusal_told(running, self._refusal), *self._session.stop(self._refusal.why, at_us)]

    def _on_to_the_end(self, at_us: int) -> list[Command]:
        """Runs no more rounds today, only what comes after them."""
        self._plan = (Planned(script, 0) for script in self._wanted.after)
        self._following = next(self._plan, None)
        return self._start_following(at_us)

    def _stop(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        if self._over:
            refused = kinds.RequestRefused(request="stop", why="nothing is being typed any more")
            return [Tell(fact=refused)]
        if self._session.state == "idle":
            return self._end("stopped")
        why = f"{made.by} said stop"
        if made.by == THIS_COMPUTER:  # it passes on that somebody ended the program, as with Ctrl-C
            why = ""
        self._refusal = None  # a person's stop overrides what would follow a limit's
        return self._session.stop(": ".join(part for part in (why, made.why) if part), at_us)

    def _clear(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        """A person has looked. A failed script is begun again, but a failed round is followed by the next."""
        why = "" if self._session.state == "failed" else "nothing has failed"
        if self._disc_full:
            why = DISC_WAS_FULL
        if why:
            return [Tell(fact=kinds.RequestRefused(request="clear", why=why))]
        self._over, self._failed, self._waits = False, "", True
        self._session.clear()
        return [Tell(fact=kinds.SessionCleared(by=made.by)), Resume(), *self._go_on_cleared(at_us)]

    def _go_on_cleared(self, at_us: int) -> list[Command]:
        if self._running is not None and not self._running.round:
            self._plan = chain([self._following] if self._following else [], self._plan)
            self._following, self._running = self._running, None
            self._begun -= 1
        if self._line_open and self._homing is not None:
            return self._find_home("a person has looked", at_us, vouched=True)
        return self._start_following(at_us)

    def _end(self, outcome: kinds.Outcome) -> list[Command]:
        self._over = True
        dropped = self._homing.leave() if self._homing is not None else []
        return [*dropped, Drop(name=REST), Tell(fact=kinds.SessionResting(until_us=0)), End(outcome=outcome)]


def refusal_told(planned: Planned, refusal: Refusal) -> list[Command]:
    """The fact that the script may not run now; none for a mere rest, which is told as one."""
    if refusal.limit == "rest":
        return []
    fact = kinds.ScriptRefused(
        script=planned.script, limit=refusal.limit, why=refusal.why, until_us=refusal.until_us
    )
    return [Tell(fact=fact)]


def _plan(wanted: Wanted) -> Iterator[Planned]:
    for script in wanted.before:
        yield Planned(script, 0)
    for number in count(1) if wanted.rounds is None else range(1, wanted.rounds + 1):
        yield Planned(ROUND, number)
    for script in wanted.after:
        yield Planned(script, 0)
