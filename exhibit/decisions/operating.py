"""Decides for a machine that is operated: watches it as `watching` does, and also runs scripts on it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.console.outcomes import Keyed
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.decider import THIS_COMPUTER
from exhibit.decisions.session.day_programme import ByTheDay, DayProgramme
from exhibit.decisions.session.homing import Homing
from exhibit.decisions.session.keyboard import Keyboard
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.decisions.session.limits import Gate
from exhibit.decisions.session.programme import Programme, Wanted
from exhibit.decisions.session.session import Session
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds
from exhibit.facts.use_before import UseBefore


class Operating:
    """A `Decider` that runs what is `wanted` once the line is open.

    `rehearsing`: no limits apply, scripts begin in whatever state the console is, and an echo that arrives
    too soon means nothing.
    """

    def __init__(
        self,
        watching: Watching,
        wanted: Wanted | ByTheDay,
        secrets: Mapping[str, str],
        *,
        rehearsing: bool = False,
    ) -> None:
        folder, way_home = watching.folder, watching.folder.way_home
        machine = folder.machine
        self._watching = watching
        self._watched = watching.console
        self._console = TypingConsole(machine, self._watched, watching.rate, judges_echo=not rehearsing)
        self._session = Session(machine, self._console, secrets, watching.wall_at, watching.use_watch.jobs)
        self._left_open = LeftOpen(folder)
        self._homing: Homing | None = None
        if way_home is not None and not rehearsing:
            self._homing = Homing(
                machine, way_home, folder.scripts, self._console, self._session, self._left_open
            )
        gate = None if rehearsing else Gate(folder, watching.use, watching.rate)
        self._programme: Programme
        if isinstance(wanted, ByTheDay):
            self._programme = DayProgramme(
                folder, self._session, watching.wall_at, watching.rate, gate, self._homing
            )
        else:
            self._programme = Programme(folder, wanted, self._session, gate, self._homing)
        self._keyboard = Keyboard(machine, self._watched)

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing."""
        return self._console.blocked_by_xoff

    @property
    def heeds_stop(self) -> bool:
        """See Decider."""
        return not self._session.tidying

    @property
    def asks_secret(self) -> bool:
        """See Decider."""
        return self._keyboard.asks_secret

    def why_not_typed(self, text: str, by: str, at_us: int, *, sure: bool) -> str:
        """See Decider."""
        return self._keyboard.why_not_typed(text, by, at_us, sure=sure)

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """The machine sent this."""
        self._watched.heard(at_us)
        commands: list[Command] = []
        # A local echo ends the script, so its fact follows the commands that these bytes call for.
        local_echo = self._console.received(data, at_us)
        if self._homing is not None:
            self._homing.heard(data)
        for item in self._watched.items(data):
            commands += self._saw(self._watched.see(item), at_us)
            commands += self._keyed(self._console.take(item, at_us), at_us)
        return [*commands, *local_echo, *self._watched.deadlines_wanted()]

    def note(self, entry: kinds.Entry) -> list[Command]:
        """This fact has been recorded. Received bytes have already been through `received`."""
        fact, at_us = entry.fact, entry.at_us
        commands: list[Command] = [*self._watching.comment(entry)]
        self._left_open.take(fact)
        self._keyboard.note(fact, at_us)
        match fact:
            case kinds.BytesReceived():
                return commands
            case kinds.DeadlinePassed(name=name):
                commands += self._deadline_passed(name, at_us)
            case _:
                commands += self._watching.follow(fact, at_us)
                commands += self._follow(fact, at_us)
        commands += self._run(fact, at_us)
        commands += self._watched.deadlines_wanted()
        return commands

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """The fact with which the next recording begins; None while a script runs or the machine prints."""
        run = self._programme.carry_over(now_us)
        if run is None or not self._console.at_rest or self._keyboard.holder:
            return None
        carried = self._watching.carry_over(now_us)
        if carried is None:
            return None
        scripts, until_us, failed = run
        return msgspec.structs.replace(
            carried,
            scripts=scripts,
            until_us=until_us,
            failed=failed,
            keeps_time=self._console.keeps_time,
            day=self._programme.day(now_us),
        )

    def typed_by_hand(self, data: bytes) -> list[kinds.TypedByHand]:
        """See Watching."""
        return self._watching.typed_by_hand(data)

    def left_open(self, recording: str) -> kinds.LastRecordingRead | None:
        """What the recording of this name leaves open, for the next one."""
        return msgspec.structs.replace(self._left_open.as_fact(recording), closed=True)

    def use_before(self, now_us: int) -> UseBefore:
        """The use up to now, with which the next recording begins."""
        return self._watching.use_before(now_us)

    def parity_faults(self) -> int:
        """How many characters had the wrong parity since the start."""
        return self._watching.parity_faults()

    # -- for a rehearsal ------------------------------------------------------------------------

    def begin(self, at_us: int) -> list[Command]:
        """Begins what is wanted, on the line that is already open."""
        return self._programme.note(kinds.LineOpened(line=self._watching.line), at_us)

    def abandon(self) -> None:
        """Stops operating: from now on the machine is only watched."""
        self._console.abandon()

    @property
    def being_typed(self) -> str:
        """The command that was begun last. It could be a secret, so use it only to compare."""
        return self._console.being_typed

    # -- what happens ---------------------------------------------------------------------------

    def _saw(self, facts: Sequence[kinds.AnyFact], at_us: int) -> list[Command]:
        """These facts were recognised on the console: records each, then acts on it."""
        commands: list[Command] = []
        for fact in (self._watching.troubles.counted(fact, at_us) for fact in facts):
            commands.append(Tell(fact=fact))
            commands += self._session.saw(fact, at_us)
            if isinstance(fact, kinds.LandmarkReached) and self._homing is not None:
                commands += self._homing.landmark_reached(at_us)
        return commands

    def _keyed(self, keyed: Keyed, at_us: int) -> list[Command]:
        """What the typing does next, and what the session does if the typing has ended."""
        return [*keyed.commands, *self._session.keyed(keyed.end, at_us)]

    def _deadline_passed(self, name: str, at_us: int) -> list[Command]:
        facts, then = self._watched.deadline_passed(name, at_us)
        return [
            *self._saw(facts, at_us),
            *then,
            *self._keyed(self._console.deadline_passed(name, at_us), at_us),
        ]

    def _follow(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """What this fact means for typing, whether or not anything is being typed."""
        match fact:
            case kinds.BytesWithheld() | kinds.SecretWithheld(was_typed=True):
                return self._keyed(self._console.withheld(at_us), at_us)
            case kinds.BytesTyped(bytes=text):
                self._console.typed(text, at_us)
            case kinds.SecretTyped():
                self._console.typed("", at_us)
            case kinds.CarriedOver(keeps_time=keeps_time):
                self._console.trust_echo(keeps_time)
            case kinds.LineOpened(keeps_time=keeps_time):
                self._console.trust_echo(keeps_time)
                return self._console.rest()
            case kinds.LineLost():
                self._console.trust_echo(keeps_time=False)
                return self._console.rest()
            case kinds.SessionCleared():
                self._console.trust_echo()
                self._console.looked_at()
            case kinds.HandsOnConfirmed():
                self._console.person_there = True
            case kinds.LocalEchoFound(sign="too soon"):
                self._console.distrust_echo()
        return []

    def _run(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """What this fact means for the scripts."""
        match fact:
            case kinds.RequestMade(request="let go"):
                return self._let_go(fact.by, at_us)
            case kinds.RequestMade(request="hands off"):
                return self._hands_off(fact, at_us)
            case kinds.RequestMade(request="stop", by=by) if self._keyboard.holder and by != THIS_COMPUTER:
                return self._hands_off(fact, at_us)  # no script could tidy up what a person has begun
            case kinds.RequestMade(request="take keyboard" | "give back"):
                return [Tell(fact=self._keyboard.answer_to(fact, self._why_busy, at_us))]
            case kinds.KeyboardTaken() | kinds.KeyboardGivenBack():
                self._session.by_hand = bool(self._keyboard.holder)
                if not self._watching.line:
                    return []
            case kinds.LineLost():
                return [*self._take_back("the line was lost"), *self._to_scripts(fact, at_us)]
        return self._to_scripts(fact, at_us)

    def _to_scripts(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        # The tidy-up must wait until homing knows what state the console is in.
        opened = isinstance(fact, kinds.LineOpened)
        noted = self._lose_script(at_us) if opened else []
        if not opened or self._homing is None:
            noted = [*noted, *self._session.note(fact, at_us)]
        return [*noted, *self._programme.note(fact, at_us)]

    def _lose_script(self, at_us: int) -> list[Command]:
        """A line that is opened while a script types on it was lost, even if that fact is missing."""
        if self._session.at_rest or self._session.state == "line lost":
            return []
        return self._session.note(kinds.LineLost(why="it was opened anew"), at_us)

    def _hands_off(self, made: kinds.RequestMade, at_us: int) -> list[Command]:
        """A person says that nothing more may be typed, so what stands half typed stays there."""
        left = self._left_open.now
        off = Tell(fact=kinds.HandsOff(by=made.by, standing=left.half_typed))
        why = f"{made.by} said hands off"
        failed = self._session.hands_off(why, left, at_us)
        return [off, *failed, *self._take_back(why)]

    def _take_back(self, why: str) -> list[Command]:
        """The keyboard is no longer in a person's hands, if it was."""
        return [Tell(fact=self._keyboard.given_back_by(why))] if self._keyboard.holder else []

    @property
    def _why_busy(self) -> str:
        """Why nobody can have the keyboard now; empty if somebody can."""
        if not self._watching.line:
            return "the machine is not connected"
        return "" if self._session.at_rest else "a script is running: say stop first, or wait until it ends"

    def _let_go(self, by: str, at_us: int) -> list[Command]:
        """A person says that typing can go on although the machine has blocked it."""
        if not self._console.blocked_by_xoff:
            why = "the machine isn't blocking typing"
            return [Tell(fact=kinds.RequestRefused(request="let go", why=why))]
        return self._keyed(Keyed(self._console.let_go(by, at_us)), at_us)
