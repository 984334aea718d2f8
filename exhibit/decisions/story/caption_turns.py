"""Shows one caption at a time, each for as long as it takes to read.

A caption that comes too soon waits for its turn. Only the newest one waits: visitors read about what is
happening now rather than about everything. The waiting caption is shown when the deadline `caption` passes.
That is a fact, so a replay shows each caption when it was shown.

Captions don't repeat themselves. While a script runs, one that is already showing isn't shown again, whatever
its figures: people read about one thing once, and a plot shows how it goes on. Only the figures of a reading
change in place. When nobody but a person types, each new figure is told. One that was withdrawn, because what
it says is over, is showing no more: when it comes again, it is shown again.
Background isn't shown again within a minute, nor is the caption of a reading or of a status display. Another
caption of the moment always gets its turn, because what is showing must be true. So the waiting caption is
dropped when the one showing comes again, when what it says is over, or when the step that brought it fails or
is left out. When a script starts, captions may be shown again.

What explains comes before what elaborates. The captions of a display's readings are held back until the
caption that explains the display was shown in this run of the script, and that one never waits behind them.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.commands import Arm, Drop, Tell, WatchCommand
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.story.explaining import Explaining, ends
from exhibit.decisions.story.reading_time import SHORTEST_US, longest_reading_us
from exhibit.facts import kinds

DEADLINE: Final = "caption"
AGAIN_AFTER_US: Final = 60 * 1_000_000
"""How soon the same words may be shown again (our own choice: about half of a short visit)."""
_OF_A_READING, _OF_THE_BACKGROUND, _OF_THE_MOMENT = range(3)
"""Which caption goes first, from the lowest. A changed number never takes the turn of another caption."""


class CaptionTurns:
    """Gives captions their turns. It takes in every fact, in order, with the captions that it brings."""

    def __init__(self, folder: Folder) -> None:
        displays = {display.name for display in folder.machine.displays}
        self._of_readings = {c.name for c in folder.captions if c.trigger.reading}
        self._of_displays = {c.name for c in folder.captions if c.trigger.when in displays}
        self._explaining = Explaining(folder)
        self._held: kinds.CaptionShown | None = None
        """The newest caption that elaborates on a display whose explanation has yet to be shown."""
        self._showing: kinds.CaptionShown | None = None
        self._until_us = 0
        """Until when the current caption must be shown."""
        self._in_script = False
        """A script is running."""
        self._shown_in_this_run = False
        """The current caption was shown in this run of a script, which goes on."""
        self._reported_seq = 0
        """The last fact that can report that a part was stopped."""
        self._waiting: kinds.CaptionShown | None = None
        self._waits_for: tuple[str, str] | None = None
        """The script and step whose start brought the waiting caption."""
        self._shown_us: dict[tuple[str, tuple[str, ...]], int] = {}
        """When a caption was last shown, by name and words, and by the name alone."""

    def note(self, entry: kinds.Entry, brought: list[kinds.CaptionShown]) -> list[WatchCommand]:
        """Take in a fact that was recorded, and the captions that it brings."""
        commands: list[WatchCommand] = []
        self._explaining.note(entry.fact)
        if self._held is not None and ends(self._held, entry.fact):
            self._held = None
        if self._waiting is not None and ends(self._waiting, entry.fact):
            commands += self._forget_waiting()
        self._note_end_of_showing(entry)
        match entry.fact:
            case kinds.ScriptStarted():
                self._shown_us.clear()
                self._held, self._in_script, self._shown_in_this_run = None, True, False
            case kinds.ScriptEnded():
                self._in_script = self._shown_in_this_run = False
            case kinds.StepFailed() | kinds.StepLeftOut() if self._waits_for == _step_of(entry.fact):
                commands += self._forget_waiting()
            case kinds.DeadlinePassed(name=name) if name == DEADLINE:
                commands += self._show_waiting(entry.at_us)
        for caption in brought:
            commands += self._take(caption, entry.at_us, _step_of(entry.fact))
        match entry.fact:
            case kinds.SessionResting(until_us=0):
                # No more facts are coming, so the caption could not be shown later.
                commands += self._show_waiting(entry.at_us)
        return commands

    def _note_end_of_showing(self, entry: kinds.Entry) -> None:
        """Note what withdraws the caption that is showing. The next one still waits for its time."""
        showing, fact = self._showing, entry.fact
        over = showing is not None and ends(showing, fact)
        match fact:
            case kinds.PatternSeen() | kinds.InterruptionSeen() | kinds.HandsOnConfirmed():
                self._reported_seq = entry.seq
            case kinds.PartStopped(part=part) if showing is not None and part == showing.part:
                # What reported the stop may have brought the caption, which then says what comes after it.
                over = showing.because[-1:] < [self._reported_seq]
        if over:
            self._showing = None

    def _take(
        self, caption: kinds.CaptionShown, at_us: int, step: tuple[str, str] | None
    ) -> list[WatchCommand]:
        if self._is_of_the_moment(caption) and self._is_showing(caption):
            return self._forget_waiting()
        if self._is_repetition(caption, at_us):
            return []
        if self._is_of_a_reading(caption) and self._explaining.is_wanted(caption.display):
            self._held = caption
            return []
        if self._explains_what_is_showing(caption):
            self._until_us = at_us
        waiting = self._waiting
        if waiting is not None and self._rank(caption) < self._rank(waiting):
            return self._show_waiting(at_us) if at_us >= self._until_us else []
        if at_us >= self._until_us:
            return [*self._forget_waiting(), *self._show(caption, at_us)]
        self._waiting, self._waits_for = caption, step
        return [Arm(name=DEADLINE, due_us=self._until_us)] if waiting is None else []

    def _explains_what_is_showing(self, caption: kinds.CaptionShown) -> bool:
        """Whether it explains the display on which the one showing elaborates."""
        showing = self._showing
        elaborated = showing.display if showing is not None and self._is_of_a_reading(showing) else ""
        return bool(elaborated) and caption.display == elaborated and not self._is_of_a_reading(caption)

    def _is_repetition(self, caption: kinds.CaptionShown, at_us: int) -> bool:
        name, showing = caption.caption, self._showing
        same_sentence = showing is not None and showing.caption == name
        if self._is_showing(caption):
            return True
        if self._is_of_the_moment(caption):
            return False
        key = (name, tuple(caption.words.values()))
        if name in self._of_displays or (name in self._of_readings and not same_sentence):
            key = (name, ())
        return at_us - self._shown_us.get(key, -AGAIN_AFTER_US) < AGAIN_AFTER_US

    def _is_showing(self, caption: kinds.CaptionShown) -> bool:
        """Whether it is the one showing. Other figures make another caption only of a reading's."""
        showing = self._showing
        if showing is None or showing.caption != caption.caption:
            return False
        same_event = self._shown_in_this_run and not self._is_of_a_reading(caption)
        return same_event or showing.words == caption.words

    def _is_of_the_moment(self, caption: kinds.CaptionShown) -> bool:
        return self._rank(caption) == _OF_THE_MOMENT and caption.caption not in self._of_displays

    def _is_of_a_reading(self, caption: kinds.CaptionShown) -> bool:
        return caption.caption in self._of_readings

    def _rank(self, caption: kinds.CaptionShown) -> int:
        if self._is_of_a_reading(caption):
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
        # If the sentence is already showing, people read only its figures.
        same_sentence = self._showing is not None and self._showing.caption == caption.caption
        self._until_us = at_us + (
            SHORTEST_US if same_sentence else longest_reading_us(caption.words.values())
        )
        self._showing, self._shown_in_this_run = caption, self._in_script
        self._shown_us = {
            key: shown_us for key, shown_us in self._shown_us.items() if at_us - shown_us < AGAIN_AFTER_US
        }
        for words in ((), tuple(caption.words.values())):
            self._shown_us[caption.caption, words] = at_us
        if caption.display and not self._is_of_a_reading(caption):
            self._explaining.shown(caption.display)
        held = self._held
        if held is None or self._waiting is not None or self._explaining.is_wanted(held.display):
            return [Tell(fact=caption)]
        self._waiting, self._held = held, None
        return [Tell(fact=caption), Arm(name=DEADLINE, due_us=self._until_us)]


def _step_of(fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str] | None:
    """Script and step, if the fact is that a step started, failed or was left out; otherwise None."""
    if isinstance(fact, kinds.StepStarted | kinds.StepFailed | kinds.StepLeftOut):
        return fact.script, fact.step
    return None
