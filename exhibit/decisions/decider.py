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
from collections.abc import Callable, Mapping
from typing import Final

import msgspec

from exhibit.decisions.commands import Arm, Command, Tell
from exhibit.decisions.console.flow import HELD, Flow
from exhibit.decisions.console.keying import DEADLINE as ECHO
from exhibit.decisions.console.keying import Keying
from exhibit.decisions.console.local_echo import TooSoon, local_echo
from exhibit.decisions.console.status_displays import Displays
from exhibit.decisions.console.watcher import Watcher
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Item, Wire
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

SETTLE: Final = "settle"
QUIET: Final = "frame"
"""The names of the deadlines by which a prompt settles and a quiet display's frame ends."""
_FIRST_SHOWN: Final = 0x21
_DEL: Final = 0x7F
_WITHIN_A_SEQUENCE: Final = ("escape", "sequence", "skipping")


class _Typist(msgspec.Struct, frozen=True):
    """What there is only where something may be typed."""

    keying: Keying
    session: Session
    programme: Programme
    left: LeftOpen
    homing: Homing | None
    too_soon: TooSoon | None


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
        self._eighth_bit_counts = machine.eighth_bit == "data"
        self._wire = Wire(
            machine.eighth_bit,
            parity=machine.line.parity,
            flow_control=machine.line.flow == "xon/xoff",
        )
        self._screen = display_for(machine.display)
        self._watcher = Watcher(machine, opened.rate)
        self._displays = Displays(machine)
        self._story = Story(folder, opened)
        self._turns = CaptionTurns(folder)
        self._line = ""
        self._flow = Flow(machine)
        self._armed: set[str] = set()
        self._wall, self._wall_us = read_wall(opened.wall), 0
        self._rate = opened.rate
        self._use = Use(opened)
        self._use_watch = UseWatch(machine, self._use)
        self._typist: _Typist | None = None
        if wanted is not None:
            self._typist = self._typist_for(wanted, secrets or {}, Gate(folder, self._use, opened.rate))

    def withholds(self, byte: int) -> bool:
        """Whether this byte may be part of a secret: it must then not be recorded, nor given to `received`.

        Blanks (the end of a prompt may come late), control codes, and what stands within a control sequence
        show nothing and are let through.
        """
        if self._typist is None or not self._typist.keying.hides:
            return False
        code = byte if self._eighth_bit_counts else byte & 0x7F
        shows = code >= _FIRST_SHOWN and code != _DEL
        return shows and self._wire.snapshot()["state"] not in _WITHIN_A_SEQUENCE

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """The machine sent this."""
        self._heard(at_us)
        commands: list[Command] = []
        found: list[Command] = []
        if self._typist is not None:
            # It may end the script, so it is told behind all that these bytes bring to be typed.
            found = self._judge_echo(self._typist, data, at_us)
            if self._typist.homing is not None:
                self._typist.homing.heard(data)
        for item in self._wire.feed(data):
            commands += self._take(item, at_us)
        return [*commands, *found, *self._deadlines_wanted()]

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
            case kinds.BytesReceived():
                return commands
            case kinds.Heartbeat(wall=wall) | kinds.ClockStepped(wall=wall):
                self._wall, self._wall_us = read_wall(wall), at_us
            case kinds.DeadlinePassed(name=name):
                commands += self._deadline_passed(name, at_us)
            case kinds.BytesWithheld():
                self._heard(at_us)
                if self._typist is not None:
                    commands += [*self._typist.keying.withheld(), *self._typist.session.keyed(at_us)]
            case kinds.CarriedOver():
                self._carried_over(fact)
            case kinds.LineOpened() | kinds.LineLost():
                self._line = fact.line if isinstance(fact, kinds.LineOpened) else ""
                self._watcher.forget()
                self._displays.gone()
                commands += self._flow.forget()
                commands += self._typist.keying.rest() if self._typist is not None else []
                self._trust_echo(isinstance(fact, kinds.LineOpened) and fact.keeps_time)
            case kinds.SessionCleared():
                self._trust_echo()
            case kinds.BytesTyped() if self._typist is not None and self._typist.too_soon is not None:
                self._typist.too_soon.typed(fact.bytes, at_us)
            case kinds.LocalEchoFound(sign="too soon") if self._typist is not None:
                self._typist.keying.unproven = True
        return commands + self._run(fact, at_us) + self._deadlines_wanted()

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """With what the next recording begins, so that this one can end now; None while something goes on."""
        typist, printed, wire = self._typist, self._watcher.printed, self._wire.snapshot()
        run = (0, 0, "") if typist is None else typist.programme.carry_over(now_us)
        if typist is not None and not typist.keying.at_rest:
            return None
        if not self._line or printed is None or run is None or wire["state"] != "text":
            return None
        standing = self._watcher.standing
        return kinds.CarriedOver(
            line=self._line,
            rows=self._screen.text_rows(),
            wire=msgspec.json.encode(wire).decode(),
            display=msgspec.json.encode(self._screen.snapshot()).decode(),
            printed=printed,
            landmark=standing.landmark if standing else "",
            fields=standing.fields if standing else {},
            scripts=run[0],
            until_us=run[1],
            failed=run[2],
            keeps_time=bool(typist and typist.too_soon and typist.too_soon.keeps_time),
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
        self._wire.restore(msgspec.json.decode(fact.wire))
        self._screen.restore(msgspec.json.decode(fact.display))
        self._watcher.carry_over(fact.printed, fact.landmark, fact.fields)
        self._trust_echo(fact.keeps_time)

    def begin(self, script: str, secrets: Mapping[str, str], at_us: int) -> list[Command]:
        """Runs this script from now on and no other, whatever ran before: for a rehearsal."""
        self.rest()
        self._typist = self._typist_for(Wanted(before=(script,), rounds=0, after=()), secrets)
        return self._typist.programme.note(kinds.LineOpened(line=self._line), at_us)

    def rest(self) -> None:
        """Gives up the script that runs, and only watches from now on: for a rehearsal."""
        if self._typist is not None and self._watcher.typing:
            self._watcher.cancelled(self._watcher.heard_us)
        self._typist = None

    def pass_over(self, data: bytes) -> None:
        """The machine sent this where a recording isn't rehearsed: it only shows on the display."""
        self._screen.apply(self._wire.feed(data))
        if not self._watcher.typing:
            self._watcher.forget_line()

    @property
    def being_typed(self) -> str:
        """The command that was begun to be typed last; a secret too, so it is for comparing only."""
        return "" if self._typist is None else self._typist.keying.command

    def parity_faults(self) -> int:
        """Characters received with the wrong parity, since the start."""
        return self._wire.parity_faults

    def _typist_for(self, wanted: Wanted, secrets: Mapping[str, str], gate: Gate | None = None) -> _Typist:
        """Without a gate, as in a rehearsal, there are no limits, and a script begins where it stands."""
        machine, way = self._folder.machine, self._folder.way_home
        keying = Keying(machine, machine.settle_us(self._rate), self._flow)
        session = Session(machine, self._watcher, self._displays, keying, secrets, self._wall_at)
        left = LeftOpen(self._folder)
        homing = None
        # In a rehearsal what is typed anew comes back at once.
        too_soon = TooSoon(machine, self._rate) if gate is not None else None
        if way is not None and gate is not None:
            seen = self._watcher, self._displays
            scripts, rows = self._folder.scripts, self._screen.text_rows
            homing = Homing(machine, way, scripts, *seen, keying, session, left, rows)
        programme = Programme(self._folder, wanted, session, gate, homing)
        return _Typist(keying, session, programme, left, homing, too_soon)

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
        if not self._flow.held:
            why = "the machine doesn't hold up what is typed"
            return [Tell(fact=kinds.RequestRefused(request="let go", why=why))]
        return self._keyed(lambda keying: keying.let_go(by, at_us), at_us)

    def _judge_echo(self, typist: _Typist, data: bytes, at_us: int) -> list[Command]:
        if typist.too_soon is None or typist.keying.unproven or not typist.too_soon.heard(data, at_us):
            return []
        return [Tell(fact=local_echo("too soon"))]

    def _trust_echo(self, keeps_time: bool | None = None) -> None:
        """The line may be another one, or set otherwise: its echo counts until it is found out."""
        if self._typist is not None:
            self._typist.keying.unproven = False
            if (too_soon := self._typist.too_soon) is not None:
                too_soon.begin(keeps_time=too_soon.keeps_time if keeps_time is None else keeps_time)

    def _heard(self, at_us: int) -> None:
        self._watcher.heard(at_us)
        self._displays.heard(at_us)

    def _take(self, item: Item, at_us: int) -> list[Command]:
        self._screen.apply([item])
        facts = self._watcher.take(item)
        facts += self._displays.take(item, self._screen)
        commands = self._tell(facts, at_us)
        if self._typist is None:
            return commands + self._flow.take(item, at_us)
        return commands + self._keyed(lambda keying: keying.take(item, at_us), at_us)

    def _keyed(self, take: Callable[[Keying], list[Command]], at_us: int) -> list[Command]:
        """Something came to the keying. What stood before a held cancel key went out no longer counts."""
        assert self._typist is not None
        keying = self._typist.keying
        was_held = keying.cancel_held
        commands = take(keying)
        if was_held and not keying.cancel_held:
            self._watcher.cancelled(at_us)
        return commands + self._typist.session.keyed(at_us)

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
        self._armed.discard(name)
        if name == SETTLE:
            reached = self._watcher.settle(at_us)
            if reached is None:
                return []
            self._displays.gone()
            return self._tell([reached], at_us)
        if name == HELD:
            return [*self._tell(self._flow.overdue(), at_us), *self._flow.deadline()]
        if name == QUIET:
            return self._tell(self._displays.quiet(self._screen, at_us), at_us)
        if name == ECHO and self._typist is not None:
            return [*self._typist.keying.overdue(at_us), *self._typist.session.keyed(at_us)]
        return []

    def _deadlines_wanted(self) -> list[Command]:
        """Arms what a settling prompt or display needs.

        Once armed, it is left alone until it passes, and is then set again if more has come in the
        meantime: a fact for each prompt instead of one for each character.
        """
        wanted = {SETTLE: self._watcher.settle_due_us(), QUIET: self._displays.quiet_due_us()}
        commands: list[Command] = []
        for name, due_us in wanted.items():
            if due_us is not None and name not in self._armed:
                self._armed.add(name)
                commands.append(Arm(name=name, due_us=due_us))
        return commands

    def _wall_at(self, at_us: int) -> datetime.datetime:
        return self._wall + datetime.timedelta(microseconds=(at_us - self._wall_us) / self._rate)
