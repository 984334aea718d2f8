"""The console of one machine as it is watched: what it shows, and which prompt or status display is showing.

Nothing here can type. `typing_console` types, and keeps this informed of what it types.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.commands import Arm, Drop, WatchCommand
from exhibit.decisions.console.flow import BLOCKED, Flow
from exhibit.decisions.console.status_displays import Displays
from exhibit.decisions.console.watcher import Watcher
from exhibit.decisions.console.where import Place, place_of
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Control, Item, Wire
from exhibit.decisions.machine.description import Machine, Prompt
from exhibit.facts import kinds

SETTLE: Final = "settle"
QUIET: Final = "frame"
UNENDED: Final = "unended"
"""The names of the deadlines at which a prompt settles, a quiet display's frame ends, and a line without an
end settles."""
LAST_ROWS: Final = 12
"""How many rows to show a person who has to know what the console showed last."""
_LINE_FEED: Final = Control(10)


class Console:
    """Turns received bytes into facts about what was printed and what is showing.

    `rate` is the rate of the recording's clock. `flow` knows whether the machine blocks typing.
    """

    def __init__(self, machine: Machine, rate: float) -> None:
        self._machine = machine
        self._wire = Wire(
            machine.eighth_bit,
            parity=machine.line.parity,
            flow_control=machine.line.flow == "xon/xoff",
            characters=machine.display.characters,
            adds_line_feed=machine.display.line_end == "return",
        )
        self._screen = display_for(machine.display)
        self._watcher = Watcher(machine, rate)
        self._displays = Displays(machine)
        self._armed: set[str] = set()
        self.flow = Flow(machine)

    # -- what is received ---------------------------------------------------------------------

    def heard(self, at_us: int) -> None:
        """Something was received, even if it was withheld: the line isn't quiet."""
        self._watcher.heard(at_us)
        self._displays.heard(at_us)

    def items(self, data: bytes) -> list[Item]:
        """The items that these received bytes complete. Pass each to `see` in turn."""
        return self._wire.feed(data)

    def see(self, item: Item) -> list[kinds.AnyFact]:
        """Displays an item; returns the facts about what was recognised with it."""
        self._screen.apply((item,))
        facts = self._watcher.take(item)
        if facts and any(isinstance(fact, kinds.InterruptionSeen) for fact in facts):
            self._displays.interrupted()
        elif type(item) is Control and item == _LINE_FEED and not self._watcher.in_interruption:
            self._displays.line_ended()
        facts += self._displays.take(item, self._screen)
        return facts

    def display_only(self, data: bytes) -> None:
        """Displays received bytes without recognising anything in them."""
        self._screen.apply(self._wire.feed(data))
        if not self._watcher.typing:
            self._watcher.forget_line()

    def parity_faults(self) -> int:
        """How many characters had the wrong parity since the start."""
        return self._wire.parity_faults

    # -- deadlines ----------------------------------------------------------------------------

    def deadline_passed(self, name: str, at_us: int) -> tuple[list[kinds.AnyFact], list[WatchCommand]]:
        """A deadline of any name passed. Returns the facts that follow, and the next deadline to arm."""
        self._armed.discard(name)
        if name == SETTLE:
            reached = self._watcher.settle(at_us)
            if reached is None:
                return [], []
            self._displays.gone()
            return [*self._watcher.take_found(), reached], []
        if name == UNENDED:
            return self._watcher.settle_unended(at_us), []
        if name == BLOCKED:
            return self.flow.overdue(), self.flow.deadline()
        if name == QUIET:
            return self._displays.quiet(self._screen, at_us), []
        return [], []

    def deadlines_wanted(self) -> list[WatchCommand]:
        """Arms the deadlines that a settling prompt, display or line needs.

        A deadline that is already armed isn't moved. If more is received before it passes, it is armed again
        then. That makes one fact a prompt instead of one a character. The deadline of a line that has ended
        is dropped.
        """
        commands: list[WatchCommand] = []
        if SETTLE not in self._armed and (due_us := self._watcher.settle_due_us()) is not None:
            self._armed.add(SETTLE)
            commands.append(Arm(name=SETTLE, due_us=due_us))
        if QUIET not in self._armed and (due_us := self._displays.quiet_due_us()) is not None:
            self._armed.add(QUIET)
            commands.append(Arm(name=QUIET, due_us=due_us))
        due_us = self._watcher.unended_due_us()
        if due_us is None and UNENDED in self._armed:
            self._armed.discard(UNENDED)
            commands.append(Drop(name=UNENDED))
        elif due_us is not None and UNENDED not in self._armed:
            self._armed.add(UNENDED)
            commands.append(Arm(name=UNENDED, due_us=due_us))
        return commands

    # -- what is showing ----------------------------------------------------------------------

    @property
    def standing(self) -> kinds.LandmarkReached | None:
        """The settled prompt or the status display that is showing; None if there is neither."""
        return self._watcher.standing or self._displays.standing

    @property
    def prompt(self) -> kinds.LandmarkReached | None:
        """The settled prompt that is showing."""
        return self._watcher.standing

    @property
    def prompt_at_end(self) -> Prompt | None:
        """The prompt at the end of the output, even if it hasn't settled yet."""
        return self._watcher.prompt_at_end

    @property
    def status_display(self) -> kinds.LandmarkReached | None:
        """The status display that is showing."""
        return self._displays.standing

    @property
    def damaged_display(self) -> str:
        """The display that is known to have been showing, but was printed over or painted wrongly; or ""."""
        return self._displays.damaged

    @property
    def place(self) -> Place | None:
        """The landmark that is showing. A printed line counts too, so ask only when the line is quiet."""
        return place_of(self._machine, self.standing, self._watcher.last_lines())

    @property
    def heard_us(self) -> int:
        """When something was last received, on the recording's clock; 0 if nothing has been yet."""
        return self._watcher.heard_us

    @property
    def still_us(self) -> int:
        """When the line will have been quiet for the settling time, on the recording's clock."""
        return self._watcher.still_us

    @property
    def settle_due_us(self) -> int | None:
        """When the prompt at the end of the output will have settled; None if there isn't one."""
        return self._watcher.settle_due_us()

    def last_lines(self) -> list[str]:
        """The last lines that the machine printed by itself, oldest first; the last may have no end yet.

        A command and the prompt behind which it was typed aren't among them.
        """
        return self._watcher.last_lines()

    def current_line(self) -> str:
        """The line being printed, at whose end something could be typed; empty if there is none."""
        return self._watcher.current

    def rows(self) -> list[str]:
        """The rows that the display shows."""
        return self._screen.text_rows()

    def last_rows(self) -> list[str]:
        """What the display shows last, for a person: prompts, commands and all, without empty rows."""
        return [row for row in self._screen.text_rows() if row.strip()][-LAST_ROWS:]

    # -- what is typed (called by `typing_console`) ---------------------------------------------

    @property
    def shows_echo(self) -> bool:
        """Whether a command is being typed, so that what the machine prints is its echo."""
        return self._watcher.typing

    def echo_begins(self, prompt: str, echo: str) -> None:
        """A command is being typed from now on, and this is to come back behind this prompt."""
        self._watcher.begin_typing(prompt, echo)

    def echo_ends(self) -> None:
        """The machine accepted the command."""
        self._watcher.taken()

    def cancelled(self, at_us: int, *, prompt_stays: bool = False, answer_may_come: bool = False) -> None:
        """The cancel key was typed: only a prompt that settles from now on counts.

        `prompt_stays`: the machine doesn't print its prompt anew, so the one from before counts again.
        `answer_may_come`: the key followed a RETURN to which no answer had come yet.
        """
        self._watcher.cancelled(at_us, prompt_stays=prompt_stays, answer_may_come=answer_may_come)

    def thrown_away(self, at_us: int) -> None:
        """The machine threw away what was half typed: the prompt that it has printed since can settle."""
        self._watcher.thrown_away(at_us)

    def display_cleared(self) -> None:
        """A key was pressed, which ends any status display."""
        self._displays.gone()

    def forget_line(self) -> None:
        """Something was typed on the line being printed, so its text is no longer the machine's alone."""
        self._watcher.forget_line()

    # -- the line, and another recording -----------------------------------------------------------

    def line_changed(self) -> list[WatchCommand]:
        """The line was lost or opened: nobody knows what the machine printed in between."""
        self._watcher.forget()
        self._displays.gone()
        return self.flow.forget()

    def carry_over(self, line: str) -> kinds.CarriedOver | None:
        """What the next recording needs to continue from here; None unless everything is at rest."""
        printed, wire = self._watcher.printed, self._wire.snapshot()
        if printed is None or wire["state"] != "text":
            return None
        prompt = self._watcher.standing
        return kinds.CarriedOver(
            line=line,
            rows=self._screen.text_rows(),
            wire=msgspec.json.encode(wire).decode(),
            display=msgspec.json.encode(self._screen.snapshot()).decode(),
            printed=printed,
            landmark=prompt.landmark if prompt else "",
            fields=prompt.fields if prompt else {},
            scripts=0,
            until_us=0,
            failed="",
            keeps_time=False,
        )

    def carried_over(self, fact: kinds.CarriedOver) -> None:
        """Continues where the last recording ended."""
        self._wire.restore(msgspec.json.decode(fact.wire))
        self._screen.restore(msgspec.json.decode(fact.display))
        self._watcher.carry_over(fact.printed, fact.landmark, fact.fields)
