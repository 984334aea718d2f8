"""Decides for a machine that is only watched: what is recognised, what visitors read, what is used.

It cannot type: `WatchCommand`, the type of its commands, doesn't include `Type`.
"""

from __future__ import annotations

import datetime
from typing import Final

import msgspec

from exhibit.decisions.commands import Tell, WatchCommand
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.silence import Silence
from exhibit.decisions.display.wire import Text
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.left_open import LeftOpen
from exhibit.decisions.session.notes_made import NOTE, note_made
from exhibit.decisions.session.troubles import ABOUT_TROUBLES, Troubles
from exhibit.decisions.story.caption_turns import CaptionTurns
from exhibit.decisions.story.story import Story
from exhibit.decisions.wear.job_watch import NO_JOB
from exhibit.decisions.wear.troubles_left import TroublesLeft
from exhibit.decisions.wear.use import Use
from exhibit.decisions.wear.use_watch import FACTS, UseWatch
from exhibit.decisions.withholding.by_hand import ByHand
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.use_before import UseBefore

ONLY_WATCHED: Final = "this machine is only watched: nothing is typed at it"


class Watching:
    """A `Decider` that only watches. `opened` is the first fact of the recording.

    `rehearsing`: nobody waits for the machine, so it can't be silent.
    """

    def __init__(self, folder: Folder, opened: kinds.RecordingOpened, *, rehearsing: bool = False) -> None:
        self.folder = folder
        self.rate = opened.rate
        self.console = Console(folder.machine, opened.rate)
        self.use = Use(opened)
        self.line = ""
        """The name of the open line; empty while no line is open."""
        self._by_hand = ByHand(folder.machine, self.console)
        self._left_by_hand = LeftOpen(folder)
        self._heard_typing = False
        """A person's typing has been heard, so that what is left open is known."""
        self._story = Story(folder, opened)
        self._turns = CaptionTurns(folder)
        self.troubles = Troubles(folder.machine)
        self._troubles_left = TroublesLeft()
        self.use_watch = UseWatch(folder.machine, self.use)
        self._silence: Silence | None = None
        if not rehearsing:
            self._silence = Silence(folder.machine, lambda: self.console.status_display is not None)
        self._wall, self._wall_us = read_wall(opened.wall), 0

    @property
    def blocked_by_xoff(self) -> bool:
        """Whether the machine blocks typing."""
        return self.console.flow.blocked_by_xoff

    @property
    def heeds_stop(self) -> bool:
        """There is nothing to stop."""
        return False

    @property
    def asks_secret(self) -> bool:
        """Nothing is typed, so nothing is a secret."""
        return False

    def why_not_typed(self, text: str, by: str, at_us: int, *, sure: bool) -> str:
        """Nothing is typed at a machine that is only watched."""
        return ONLY_WATCHED

    def received(self, data: bytes, at_us: int) -> list[WatchCommand]:
        """The machine sent this."""
        self.console.heard(at_us)
        self._by_hand.heard()
        commands: list[WatchCommand] = []
        for item in self.console.items(data):
            if seen := self.console.see(item):
                commands += [Tell(fact=self.troubles.counted(fact, at_us)) for fact in seen]
            if type(item) is not Text:
                commands += self.console.flow.take(item, at_us)
        commands += self.console.deadlines_wanted()
        return commands

    def note(self, entry: kinds.Entry) -> list[WatchCommand]:
        """This fact has been recorded. Received bytes have already been through `received`."""
        fact, commands = entry.fact, self.comment(entry)
        self._follow_hand(fact)
        match fact:
            case kinds.BytesReceived() | kinds.RecordNearlyFull():
                return commands
            case kinds.DeadlinePassed(name=name):
                facts, then = self.console.deadline_passed(name, entry.at_us)
                counted = [self.troubles.counted(seen, entry.at_us) for seen in facts]
                commands += [*(Tell(fact=seen) for seen in counted), *then]
            case kinds.RequestMade(request=request) if request not in (NO_JOB, NOTE, *ABOUT_TROUBLES):
                commands.append(Tell(fact=kinds.RequestRefused(request=request, why=ONLY_WATCHED)))
            case _:
                commands += self.follow(fact, entry.at_us)
        return [*commands, *self.console.deadlines_wanted()]

    def carry_over(self, now_us: int) -> kinds.CarriedOver | None:
        """The fact with which the next recording begins; None if the line is closed or the machine prints."""
        return self.console.carry_over(self.line) if self.line else None

    def typed_by_hand(self, data: bytes) -> list[kinds.TypedByHand]:
        """A person typed this at the machine's own terminal. Returns what of it may be recorded."""
        return self._by_hand.typed(data)

    def left_open(self, recording: str) -> kinds.LastRecordingRead | None:
        """What a person left open at the terminal, such as half a line; None if no typing was heard."""
        if not self._heard_typing:
            return None
        return msgspec.structs.replace(self._left_by_hand.as_fact(recording), closed=True)

    def use_before(self, now_us: int) -> UseBefore:
        """The use up to now, with which the next recording begins."""
        return msgspec.structs.replace(self.use.before(now_us), troubles=self._troubles_left.left)

    def parity_faults(self) -> int:
        """How many characters had the wrong parity since the start."""
        return self.console.parity_faults()

    def _follow_hand(self, fact: kinds.AnyFact | kinds.UnknownFact) -> None:
        match fact:
            case kinds.LastRecordingRead() | kinds.TypedByHand():
                self._heard_typing = True
                self._left_by_hand.take(fact)
            case kinds.BytesMissed(typed=typed) if typed:
                self._heard_typing = True
                self._left_by_hand.take_by_hand(fact)
            case kinds.LandmarkReached():
                self._left_by_hand.take(fact)

    # -- for a decider that also operates ---------------------------------------------------------

    def comment(self, entry: kinds.Entry) -> list[WatchCommand]:
        """What follows from this fact: captions, use of the machine, silence or its end, a note."""
        commands = self._turns.note(entry, self._story.note(entry))
        if isinstance(entry.fact, kinds.RequestMade) and entry.fact.request == NOTE:
            commands.append(Tell(fact=note_made(entry.fact)))
        if not isinstance(entry.fact, FACTS):
            self.use.note(entry.at_us, entry.fact)
            commands += [Tell(fact=fact) for fact in self.use_watch.note(entry.at_us, entry.fact)]
        self._troubles_left.take(entry, self.wall_at)
        commands += self.troubles.note(entry)
        if self._silence is not None:
            commands += self._silence.note(entry)
        return commands

    def follow(self, fact: kinds.AnyFact | kinds.UnknownFact, at_us: int) -> list[WatchCommand]:
        """Follows the line and the clock; deadlines and received bytes are handled elsewhere."""
        match fact:
            case kinds.Heartbeat(wall=wall) | kinds.ClockStepped(wall=wall):
                self._wall, self._wall_us = read_wall(wall), at_us
            case kinds.BytesWithheld():
                self.console.heard(at_us)
            case kinds.CarriedOver(line=line):
                self.line = line
                self.console.carried_over(fact)
            case kinds.LineOpened() | kinds.LineLost():
                self.line = fact.line if isinstance(fact, kinds.LineOpened) else ""
                return self.console.line_changed()
            case kinds.BytesMissed(received=received) if received:
                return self.console.line_changed()
        return []

    def wall_at(self, at_us: int) -> datetime.datetime:
        """The date and time at a time on the recording's clock."""
        return self._wall + datetime.timedelta(microseconds=(at_us - self._wall_us) / self.rate)
