"""All decisions in one: bytes and facts in, commands out.

The same object decides live, in a rehearsal and in a check. It does no I/O, so that deciding again
over the facts of a recording gives the commands that were given then.
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping

from exhibit.decisions.commands import Arm, Command, Tell
from exhibit.decisions.display_choice import display_for
from exhibit.decisions.displays import Displays
from exhibit.decisions.keying import DEADLINE as ECHO
from exhibit.decisions.keying import Keying
from exhibit.decisions.programme import Programme, Wanted
from exhibit.decisions.script import Folder
from exhibit.decisions.session import Session
from exhibit.decisions.story import Story
from exhibit.decisions.watcher import Watcher
from exhibit.decisions.wire import Item, Wire
from exhibit.facts import kinds

SETTLE, QUIET = "settle", "frame"
"""The names of the deadlines by which a prompt settles and a quiet display's frame ends."""


class Decider:
    """Watches a machine, and with `wanted` runs scripts on it too.

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
        self._wire = Wire(
            machine.eighth_bit,
            parity=machine.line.parity,
            flow_control=machine.line.flow == "xon/xoff",
        )
        self._screen = display_for(machine.display)
        self._watcher = Watcher(machine)
        self._displays = Displays(machine)
        self._story = Story(folder)
        self._armed: dict[str, int] = {}
        self._anchor = datetime.datetime.fromisoformat(opened.wall)
        self._rate = opened.rate
        self._keying: Keying | None = None
        self._session: Session | None = None
        self._programme: Programme | None = None
        if wanted is not None:
            self._keying = Keying(machine.typing, wanted.by)
            self._session = Session(
                machine, self._watcher, self._displays, self._keying, secrets or {}, self._wall_at
            )
            self._programme = Programme(folder, wanted, self._session)

    def begin(self, at_us: int) -> list[Command]:
        """Starts what is wanted; call when the line is open."""
        return self._programme.begin(at_us) if self._programme else []

    def withholds(self, byte: int) -> bool:
        """Whether this byte, which is about to be given to `received`, must not be recorded."""
        return self._keying is not None and self._keying.withholds(byte)

    def received(self, data: bytes, at_us: int) -> list[Command]:
        """The machine sent this."""
        commands: list[Command] = []
        for item in self._wire.feed(data):
            commands += self._take(item, at_us)
        commands += self._deadlines_wanted()
        return commands

    def note(self, entry: kinds.Entry) -> list[Command]:
        """This fact stands in the recording now. Received bytes have been through `received` before."""
        fact, at_us = entry.fact, entry.at_us
        commands: list[Command] = [Tell(fact=shown) for shown in self._story.note(entry)]
        if isinstance(fact, kinds.BytesReceived):
            return commands
        if isinstance(fact, kinds.DeadlinePassed):
            commands += self._deadline_passed(fact.name, at_us)
        if self._session is not None and self._programme is not None:
            commands += self._session.note(fact, at_us)
            commands += self._programme.note(fact, at_us)
        return commands + self._deadlines_wanted()

    def parity_faults(self) -> int:
        """Characters received with the wrong parity, since the start."""
        return self._wire.parity_faults

    def _take(self, item: Item, at_us: int) -> list[Command]:
        self._screen.apply([item])
        facts = self._watcher.take(item, at_us)
        facts += self._displays.take(item, self._screen, at_us)
        commands = self._tell(facts, at_us)
        if self._keying is not None and self._session is not None:
            commands += self._keying.take(item, at_us)
            commands += self._session.keyed(at_us)
        return commands

    def _tell(self, facts: list[kinds.AnyFact], at_us: int) -> list[Command]:
        commands: list[Command] = []
        for fact in facts:
            commands.append(Tell(fact=fact))
            if self._session is not None:
                commands += self._session.saw(fact, at_us)
        return commands

    def _deadline_passed(self, name: str, at_us: int) -> list[Command]:
        self._armed.pop(name, None)
        if name == SETTLE:
            reached = self._watcher.settle(at_us)
            if reached is None:
                return []
            self._displays.gone()
            return self._tell([reached], at_us)
        if name == QUIET:
            return self._tell(self._displays.quiet(self._screen, at_us), at_us)
        if name == ECHO and self._keying is not None and self._session is not None:
            return [*self._keying.overdue(at_us), *self._session.keyed(at_us)]
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
                self._armed[name] = due_us
                commands.append(Arm(name=name, due_us=due_us))
        return commands

    def _wall_at(self, at_us: int) -> datetime.datetime:
        return self._anchor + datetime.timedelta(microseconds=at_us / self._rate)
