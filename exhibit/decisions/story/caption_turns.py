"""One caption at a time, each for as long as it takes to read: the story's calm.

A caption that comes too soon waits for its turn, and the newest one that waits wins: visitors are told
what happens now rather than everything. What waits is shown when the deadline `caption` passes. That is a
fact, so a replay shows each caption when it was shown.

Nothing chatters. What stands there already isn't shown anew. Background isn't shown again within a
minute, neither are the captions of a reading or of a status display, whatever their figures. A caption of
the moment that differs from what stands always gets its turn: what stands must be true. So what waits is
forgotten when the standing one comes again, or when the step that brought it fails or is left out. A new
run of a script tells its story from the beginning.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.commands import Arm, Drop, Tell, WatchCommand
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.story.reading_time import SHORTEST_US, longest_reading_us
from exhibit.facts import kinds

DEADLINE: Final = "caption"
AGAIN_AFTER_US: Final = 60 * 1_000_000
"""When the same words may be shown again (our own choice: about half of a short visit)."""
_OF_A_READING, _OF_THE_BACKGROUND, _OF_THE_MOMENT = range(3)
"""Which caption goes first. A number that changed never takes the turn of another caption."""


class CaptionTurns:
    """Gives captions their turns. It sees every fact, in order, and the captions that the fact brings."""

    def __init__(self, folder: Folder) -> None:
        displays = {display.name for display in folder.machine.displays}
        self._of_readings = {c.name for c in folder.captions if c.trigger.reading}
        self._of_displays = {c.name for c in folder.captions if c.trigger.when in displays}
        self._standing: kinds.CaptionShown | None = None
        self._until_us = 0
        """How long the standing caption must stand."""
        self._waiting: kinds.CaptionShown | None = None
        self._waits_for: tuple[str, str] | None = None
        """Script and step by whose beginning the caption that waits was brought."""
        self._shown_us: dict[tuple[str, tuple[str, ...]], int] = {}
        """When a caption was shown last, by name and words and by the name alone."""

    def note(self, entry: kinds.Entry, brought: list[kinds.CaptionShown]) -> list[WatchCommand]:
        """This fact stands in the recording, and brings these captions."""
        commands: list[WatchCommand] = []
        match entry.fact:
            case kinds.ScriptStarted():
                self._shown_us.clear()
            case kinds.LineLost() | kinds.SessionFailed():
                commands += self._forget_waiting()
            case kinds.StepFailed() | kinds.StepLeftOut() if self._waits_for == _step_of(entry.fact):
                commands += self._forget_waiting()
            case kinds.DeadlinePassed(name=name) if name == DEADLINE:
                commands += self._show_waiting(entry.at_us)
        for caption in brought:
            commands += self._take(caption, entry.at_us, _step_of(entry.fact))
        match entry.fact:
            case kinds.SessionResting(until_us=0):
                # Nothing more is to come, so nothing could be shown later.
                commands += self._show_waiting(entry.at_us)
        return commands

    def _take(
        self, caption: kinds.CaptionShown, at_us: int, step: tuple[str, str] | None
    ) -> list[WatchCommand]:
        if self._is_of_the_moment(caption) and self._stands(caption):
            return self._forget_waiting()
        if self._is_chatter(caption, at_us):
            return []
        waiting = self._waiting
        if waiting is not None and self._rank(caption) < self._rank(waiting):
            return self._show_waiting(at_us) if at_us >= self._until_us else []
        if at_us >= self._until_us:
            return [*self._forget_waiting(), *self._show(caption, at_us)]
        self._waiting, self._waits_for = caption, step
        return [Arm(name=DEADLINE, due_us=self._until_us)] if waiting is None else []

    def _is_chatter(self, caption: kinds.CaptionShown, at_us: int) -> bool:
        name, standing = caption.caption, self._standing
        stands = standing is not None and standing.caption == name
        if self._stands(caption):
            return True
        if self._is_of_the_moment(caption):
            return False
        said = (name, tuple(caption.words.values()))
        if name in self._of_displays or (name in self._of_readings and not stands):
            said = (name, ())
        return at_us - self._shown_us.get(said, -AGAIN_AFTER_US) < AGAIN_AFTER_US

    def _stands(self, caption: kinds.CaptionShown) -> bool:
        standing = self._standing
        return standing is not None and (standing.caption, standing.words) == (caption.caption, caption.words)

    def _is_of_the_moment(self, caption: kinds.CaptionShown) -> bool:
        return self._rank(caption) == _OF_THE_MOMENT and caption.caption not in self._of_displays

    def _rank(self, caption: kinds.CaptionShown) -> int:
        if caption.caption in self._of_readings:
            return _OF_A_READING
        return _OF_THE_BACKGROUND if caption.kind == "background" else _OF_THE_MOMENT

    def _show_waiting(self, at_us: int) -> list[WatchCommand]:
        waiting = self._waiting
        return [] if waiting is None else [*self._forget_waiting(), *self._show(waiting, at_us)]

    def _forget_waiting(self) -> list[WatchCommand]:
        if self._waiting is None:
            return []
        self._waiting = self._waits_for = None
        return [Drop(name=DEADLINE)]

    def _show(self, caption: kinds.CaptionShown, at_us: int) -> list[WatchCommand]:
        # Of a sentence that stands there already, only the figures are read.
        stands = self._standing is not None and self._standing.caption == caption.caption
        self._until_us = at_us + (SHORTEST_US if stands else longest_reading_us(caption.words.values()))
        self._standing = caption
        self._shown_us = {
            said: shown_us for said, shown_us in self._shown_us.items() if at_us - shown_us < AGAIN_AFTER_US
        }
        for words in ((), tuple(caption.words.values())):
            self._shown_us[caption.caption, words] = at_us
        return [Tell(fact=caption)]


def _step_of(fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str] | None:
    """Script and step of a fact that a step began, failed or was left out; None of any other."""
    if isinstance(fact, kinds.StepStarted | kinds.StepFailed | kinds.StepLeftOut):
        return fact.script, fact.step
    return None
