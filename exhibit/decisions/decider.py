"""All decisions in one: bytes and facts in, commands out.

The same object decides live, in a rehearsal and in a check. It does no I/O, so that deciding again
over the facts of a recording gives the commands that were given then:

    for entry in recording:
        if isinstance(entry.fact, BytesReceived):
            commands += decider.received(to_bytes(entry.fact.bytes), entry.at_us)
        commands += decider.note(entry)

For that, whatever it is told live must be in the recording: it never sees a withheld byte, only the
fact that some were withheld.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping

import msgspec

from exhibit.decisions.commands import Command, Tell
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.outcomes import Keyed
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.display.wire import Item
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.homing import Homing
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.decisions.session.limits import Gate
from exhibit.decisions.session.programme import Programme, Wanted
from exhibit.decisions.session.session import Session
from exhibit.decisions.story.caption_turns import CaptionTurns
from exhibit.decisions.story.story import Story
from exhibit.decisions.wear.use import Use
from exhibit.decisions.wear.use_watch import TOLD, UseWatch
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.use_before import UseBefore


class _Typist(msgspec.Struct, frozen=True):
    """What there is only where something may be typed."""

    console: TypingConsole
    session: Session
    programme: Programme
    left: LeftOpen
    homing: Homing | None


class Decider:
    """Watches a machine, and with `wanted` runs scripts on it too, from when the line is open.

    Without `wanted` nothing that it ever orders is a `Type`: there is no session to order one.
    """

    def __init__(
        self,
        folder: Folder,
        opened: kinds.RecordingOpened,
        wanted: Wanted | None = None,
        secrets: Mapping[str, str] | None = None,
    ) -> None:
        machine = folder.machine
        self._folder = folder
        self._console = Console(machine, opened.rate)
        self._story = Story(folder, opened)
        self._turns = CaptionTurns(folder)
        self._line = ""
        self._wall, self._wall_us = read_wall(opened.wall), 0
        self._rate = opened.rate
        self._nearly_full: kinds.RecordNearlyFull | None = None
        self._use = Use(opened)
        self._use_watch = UseWatch(machine, self._use)
        self._typist: _Typist | None = None
        if wanted is not None:
            self._typist = self._typist_for(wanted, secrets or {}, Gate(folder, self._use, opened.rate))

    def withholds(self, byte: int) -> bool:
        """Whether this byte may be part of a secret: then neither the recording nor `received` gets it."""
        return self._typist is not None and self._typist.console.withholds(byte)

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """The machine sent this."""
        self._console.heard(at_us)
        commands: list[Command] = []
        if self._typist is not None:
            commands += self._typist.console.received(data, at_us)
            if self._typist.homing is not None:
                self._typist.homing.heard(data)
        for item in self._console.items(data):
            commands += self._take(item, at_us)
        return commands + self._console.deadlines_wanted()

    def note(self, entry: kinds.Entry) -> list[Command]:
        """This fact stands in the recording now. Received bytes have been through `received` before."""
        fact, at_us = entry.fact, entry.at_us
        commands = self._turns.note(entry, self._story.note(entry))
        if self._typist is not None:
            self._typist.left.take(fact)
        if not isinstance(fact, TOLD):
            self._use.note(at_us, fact)
            commands += [Tell(fact=told) for told in self._use_watch.note(at_us, fact)]
        match fact:
            case kinds.RecordNearlyFull():
                # It stands before the fact, or the bytes, that found the disc full: it counts behind them.
                self._nearly_full = fact
                return commands
            case kinds.BytesReceived() if self._nearly_full is None:
                return commands
            case kinds.Heartbeat(wall=wall) | kinds.ClockStepped(wall=wall):
                self._wall, self._wall_us = read_wall(wall), at_us
            case kinds.DeadlinePassed(name=name):
                commands += self._deadline_passed(name, at_us)
            case kinds.BytesWithheld():
                self._console.heard(at_us)
                if self._typist is not None:
                    commands += self._keyed(self._typist, self._typist.console.withheld(at_us), at_us)
            case kinds.CarriedOver():
                self._carried_over(fact)
            case kinds.LineOpened() | kinds.LineLost():
                self._line = fact.line if isinstance(fact, kinds.LineOpened) else ""
                commands += self._console.line_changed()
                if self._typist is not None:
                    commands += self._typist.console.rest()
                    self._typist.console.trust_echo(isinstance(fact, kinds.LineOpened) and fact.keeps_time)
            case kinds.SessionCleared() if self._typist is not None:
                self._typist.console.trust_echo()
            case kinds.BytesTyped() if self._typist is not None:
                self._typist.console.typed(fact.bytes, at_us)
            case kinds.LocalEchoFound(sign="too soon") if self._typist is not None:
                self._typist.console.distrust_echo()
        commands += self._run(fact, at_us)
        if self._nearly_full is not None:
            full, self._nearly_full = self._nearly_full, None
            commands += self._run(full, at_us)
        return commands + self._console.deadlines_wanted()

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """With what the next recording begins, so that this one can end now; None while something goes on."""
        typist = self._typist
        run = (0, 0, "") if typist is None else typist.programme.carry_over(now_us)
        if not self._line or run is None or (typist is not None and not typist.console.at_rest):
            return None
        carried = self._console.carry_over(self._line)
        if carried is None:
            return None
        scripts, until_us, failed = run
        keeps_time = typist is not None and typist.console.keeps_time
        return msgspec.structs.replace(
            carried, scripts=scripts, until_us=until_us, failed=failed, keeps_time=keeps_time
        )

    def left_open(self, recording: str) -> kinds.LastRecordingRead | None:
        """What is open, for the recording after the one of this name; None where nobody types."""
        if self._typist is None:
            return None
        return msgspec.structs.replace(self._typist.left.told(recording), closed=True)

    def use_before(self, now_us: int) -> UseBefore:
        """What was used up to now, with which the next recording begins."""
        return self._use.before(now_us)

    def _carried_over(self, fact: kinds.CarriedOver) -> None:
        self._line = fact.line
        self._console.carried_over(fact)
        if self._typist is not None:
            self._typist.console.trust_echo(fact.keeps_time)

    def begin(self, script: str, secrets: Mapping[str, str], at_us: int) -> list[Command]:
        """Runs this script from now on and no other, whatever ran before: for a rehearsal."""
        self.rest()
        self._typist = self._typist_for(Wanted(before=(script,), rounds=0, after=()), secrets)
        return self._typist.programme.note(kinds.LineOpened(line=self._line), at_us)

    def rest(self) -> None:
        """Gives up the script that runs, and only watches from now on: for a rehearsal."""
        if self._typist is not None:
            self._typist.console.abandon()
        self._typist = None

    def pass_over(self, data: bytes) -> None:
        """The machine sent this where a recording isn't rehearsed: it only shows on the display."""
        self._console.display_only(data)

    @property
    def being_typed(self) -> str:
        """The command that was begun to be typed last; a secret too, so it is for comparing only."""
        return "" if self._typist is None else self._typist.console.being_typed

    def parity_faults(self) -> int:
        """Characters received with the wrong parity, since the start."""
        return self._console.parity_faults()

    def _typist_for(self, wanted: Wanted, secrets: Mapping[str, str], gate: Gate | None = None) -> _Typist:
        """Without a gate, as in a rehearsal, there are no limits, and a script begins where it stands."""
        machine, way = self._folder.machine, self._folder.way_home
        # In a rehearsal what is typed anew comes back at once.
        console = TypingConsole(machine, self._console, self._rate, judges_echo=gate is not None)
        session = Session(machine, console, secrets, self._wall_at)
        left = LeftOpen(self._folder)
        homing = None
        if way is not None and gate is not None:
            homing = Homing(machine, way, self._folder.scripts, console, session, left)
        programme = Programme(self._folder, wanted, session, gate, homing)
        return _Typist(console, session, programme, left, homing)

    def _run(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[Command]:
        """What the scripts make of a fact."""
        if self._typist is not None:
            if isinstance(fact, kinds.RequestMade) and fact.request == "let go":
                return self._let_go(fact.by, at_us)
            # What was begun is put away once it is known where the console stands.
            waits = isinstance(fact, kinds.LineOpened) and self._typist.homing is not None
            noted = [] if waits else self._typist.session.note(fact, at_us)
            return [*noted, *self._typist.programme.note(fact, at_us)]
        if isinstance(fact, kinds.RequestMade):
            why = "this machine is only watched: nothing is typed at it"
            return [Tell(fact=kinds.RequestRefused(request=fact.request, why=why))]
        return []

    def _let_go(self, by: str, at_us: int) -> list[Command]:
        """A person says that typing may go on although the machine held it up."""
        assert self._typist is not None
        if not self._console.flow.held:
            why = "the machine doesn't hold up what is typed"
            return [Tell(fact=kinds.RequestRefused(request="let go", why=why))]
        return self._keyed(self._typist, Keyed(self._typist.console.let_go(by, at_us)), at_us)

    def _take(self, item: Item, at_us: int) -> list[Command]:
        commands = self._tell(self._console.see(item), at_us)
        if self._typist is None:
            return commands + self._console.flow.take(item, at_us)
        return commands + self._keyed(self._typist, self._typist.console.take(item, at_us), at_us)

    def _keyed(self, typist: _Typist, keyed: Keyed, at_us: int) -> list[Command]:
        """Something came to the console: what is typed then, and what the session makes of that."""
        return [*keyed.commands, *typist.session.keyed(keyed.end, at_us)]

    def _tell(self, facts: list[kinds.AnyFact], at_us: int) -> list[Command]:
        commands: list[Command] = []
        for fact in facts:
            commands.append(Tell(fact=fact))
            if self._typist is not None:
                commands += self._typist.session.saw(fact, at_us)
                if isinstance(fact, kinds.LandmarkReached) and self._typist.homing is not None:
                    commands += self._typist.homing.stands(at_us)
        return commands

    def _deadline_passed(self, name: str, at_us: int) -> list[Command]:
        facts, then = self._console.deadline_passed(name, at_us)
        commands = [*self._tell(facts, at_us), *then]
        if self._typist is not None:
            passed = self._typist.console.deadline_passed(name, at_us)
            commands += self._keyed(self._typist, passed, at_us)
        return commands

    def _wall_at(self, at_us: int) -> datetime.datetime:
        return self._wall + datetime.timedelta(microseconds=(at_us - self._wall_us) / self._rate)
