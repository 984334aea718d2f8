"""The position of a rehearsal in a recorded run, and how much later everything happens now than then."""

from __future__ import annotations

from typing import Final

from exhibit.decisions.display.characters import codes_of
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import AnyStep, PressKey, Script, Step, TypeSecret
from exhibit.decisions.rehearsal.recorded_run import RecordedRun
from exhibit.decisions.session.script_run import typing_of
from exhibit.facts import kinds

FROM_OUTSIDE: Final = (
    kinds.RecordingOpened,
    kinds.CarriedOver,
    kinds.LineOpened,
    kinds.LineLost,
    kinds.BytesReceived,
    kinds.BytesWithheld,
    kinds.BytesMissed,
    kinds.SecretWithheld,
    kinds.TypingFailed,
    kinds.ClockStepped,
    kinds.RecordNearlyFull,
    kinds.Heartbeat,
    kinds.SessionResting,
)
"""The facts that the decider gets from the recording unchanged."""

TYPED: Final = (kinds.BytesTyped, kinds.SecretTyped)


class Tape:
    """Starts before the first entry. `offset_us`: how much later everything happens now than then."""

    def __init__(self, recorded: RecordedRun, script: Script | None, offset_us: int) -> None:
        self.recorded = recorded
        self._script = script
        self.offset_us = offset_us
        self.at = 0
        """The index of the next entry."""

    @property
    def broken_off(self) -> bool:
        """Whether the recording ends before its script, and nothing more was typed in it."""
        return not self.recorded.ended and not self.waits_for_typing

    @property
    def run_out(self) -> bool:
        """Whether the recording breaks off here, so that the next decisions aren't in it."""
        return self.recorded.breaks_off and self.at >= len(self.recorded.entries)

    @property
    def waits_for_typing(self) -> bool:
        """Whether more was typed then."""
        return bool(self.recorded.typed) and self.recorded.last_typed >= self.at

    def now_us(self, index: int) -> int:
        """When this entry comes, on the rehearsal's clock."""
        return self.recorded.at_us(index) + self.offset_us

    def next_item(self, going: bool, asking: str, asked_so_far: set[str]) -> int | None:
        """The index of the next entry from outside; None at the end, and while the recording waits.

        While a script is `going`, the recording waits for it to type what was typed then, and to ask for the
        hands-on step that a person confirmed then.
        """
        for index in range(self.at, len(self.recorded.entries)):
            fact = self.recorded.entries[index].fact
            match fact:
                case kinds.BytesTyped() | kinds.SecretTyped() if going:
                    return None
                case kinds.RequestMade(request="stop" | "let go"):
                    return index
                case kinds.RequestMade(request="wait on" | "leave out" | "it is the prompt", step=step):
                    if going and step == asking and index not in self.recorded.refused:
                        return index  # otherwise the question of this answer isn't asked now
                case kinds.RequestMade(step=step) if going and index not in self.recorded.refused:
                    if step == asking:
                        return index
                    if step not in asked_so_far and self.has_step(step):
                        return None
                case kinds.DeadlinePassed() | kinds.LocalEchoFound(sign="too soon"):
                    return index
                case _ if isinstance(fact, FROM_OUTSIDE):
                    return index
        return None

    def passes_before(self, name: str, due_us: int, next_us: int, late_us: int) -> bool:
        """Whether this deadline passes before the next entry, which comes at `next_us`.

        `late_us`: how late a deadline can have passed then.
        """
        then = name, due_us - self.offset_us
        if self.recorded.passed.get(then, -1) >= self.at:
            return False  # its own entry is still to come
        # A deadline that was armed and due then but never passed was dropped by what came a little later.
        return due_us + (late_us if then in self.recorded.armed else 0) < next_us

    def same_decision(self, fact: kinds.AnyFact) -> int | None:
        """The index of the next entry, or of the one after a heartbeat, if it has a fact of this kind."""
        entries = self.recorded.entries
        beats = self.at + 1 < len(entries) and isinstance(entries[self.at].fact, kinds.Heartbeat)
        same = self.at + beats
        return same if same < len(entries) and isinstance(entries[same].fact, type(fact)) else None

    def next_typed(self) -> int | None:
        """The index of the next byte, or part of a secret, that was typed then.

        None if something else came before it.
        """
        for index in range(self.at, len(self.recorded.entries)):
            match self.recorded.entries[index].fact:
                case kinds.BytesTyped() | kinds.SecretTyped():
                    return index
                case kinds.BytesReceived() | kinds.BytesWithheld() | kinds.SecretWithheld():
                    return None
                case kinds.LineLost() | kinds.LineOpened():
                    return None
                case kinds.RequestMade() if index not in self.recorded.refused:
                    return None
        return None

    def decided_to(self) -> int:
        """The index after the recorded decisions: of the next thing that came or was typed."""
        for index in range(self.at, len(self.recorded.entries)):
            fact = self.recorded.entries[index].fact
            if isinstance(fact, (*TYPED, kinds.RequestMade, kinds.DeadlinePassed, *FROM_OUTSIDE)):
                return index
        return len(self.recorded.entries)

    def has_step(self, name: str, tidying: bool | None = None) -> bool:
        """Whether the script now has this step. `tidying`: only in its tidy-up, or only before it."""
        if self._script is None:
            return False
        steps: list[AnyStep] = [] if tidying else [*self._script.steps]
        steps += [*self._script.tidy_up] if tidying is not False else []
        return any(step.name == name for step in steps)

    def is_secret(self, index: int) -> bool:
        """Whether this entry is about a typed secret."""
        fact = self.recorded.entries[index].fact
        return isinstance(fact, kinds.SecretTyped) or (isinstance(fact, kinds.BytesTyped) and fact.secret)

    def fits(
        self,
        index: int,
        byte: int,
        secret: bool,
        step: Step,
        tidying: bool,
        command: str | None,
        machine: Machine,
    ) -> bool:
        """Whether the same byte was typed then; if a `command` begins, the same command and in this step."""
        fact = self.recorded.entries[index].fact
        assert isinstance(fact, TYPED)
        if self.is_secret(index) != secret:
            return False
        if isinstance(fact, kinds.BytesTyped) and not secret and fact.bytes != kinds.to_text(bytes((byte,))):
            return False
        then = self.recorded.typed_from(index)
        if command is None or then is None:
            return True
        if (then.step, then.tidying) != (step.name, tidying) and self.has_step(then.step, then.tidying):
            return False
        if isinstance(step, PressKey | TypeSecret):
            return True
        typing, typed = typing_of(step, machine), then.text
        if typing.cancel:
            typed = typed.partition(typing.cancel)[0]
        if typing.show_again:
            typed = typed.replace(typing.show_again, b"")
        meant, end = codes_of(command, machine.display.characters), typing.return_key
        return typed == meant + end if typed.endswith(end) else meant.startswith(typed)

    def consume(self, index: int, now_us: int) -> int:
        """The byte typed then is also typed now. Returns the time, a little later if it was so then."""
        passed = any(
            isinstance(entry.fact, kinds.DeadlinePassed) for entry in self.recorded.entries[self.at : index]
        )
        if not passed:
            now_us = max(now_us, self.now_us(index))
        self.move(index + 1, now_us - self.recorded.at_us(index))
        return now_us

    def move(self, at: int, offset_us: int) -> None:
        """Continues from there."""
        self.at, self.offset_us = at, offset_us
