"""A folder's scripts, as they are now, decided again over a recording: where do they go another way?

The recording stands for the machine. What it printed comes as long after what was typed as it did then;
while the script types something later than then, the recording waits for it. Where the script does
all that it did then, at the same times, every decision falls as it fell then.

Where the script types what never was typed there, nobody can know what the machine would have answered.
The echo is taken as right, and the rehearsal goes on where the recording next comes to what the step
waits for; where it never does, the rehearsal of that script ends.
"""

from __future__ import annotations

from collections import Counter
from typing import Final

import msgspec

from exhibit.decisions.commands import Arm, Command, End, Tell
from exhibit.decisions.decider import Decider
from exhibit.decisions.programme import REST
from exhibit.decisions.recorded_run import Place, RecordedRun
from exhibit.decisions.script import AnyStep, Folder, Pause, PressKey, Script, Step, TypeSecret
from exhibit.decisions.script_run import until_of
from exhibit.decisions.steps_told import RunTold, Seen, differing, seen
from exhibit.decisions.virtual_run import VirtualRun
from exhibit.facts import kinds

LATE_US: Final = 2_000_000
"""So much later than due, in real time, a deadline may have passed: the computer was busy."""
_OF_THE_SCRIPT: Final = ("step", "script", "listen", "echo", REST)
_FROM_OUTSIDE = (
    kinds.RecordingOpened
    | kinds.CarriedOver
    | kinds.LineOpened
    | kinds.LineLost
    | kinds.BytesReceived
    | kinds.BytesWithheld
    | kinds.TypingFailed
    | kinds.ClockStepped
    | kinds.RecordNearlyFull
    | kinds.Heartbeat
    | kinds.SessionResting
)
"""What is told to the decisions as it stands in the recording."""


class RunRehearsed(msgspec.Struct):
    """A run of a script then and now, or what came outside one. `notes`: by step, what can't be known."""

    started: kinds.ScriptStarted | None
    at_us: int
    script: Script | None
    then: RunTold
    now: RunTold
    notes: dict[tuple[str, bool], list[str]]
    stopped: str
    """Why the rehearsal of this run ended before the script did; empty otherwise."""
    seen: list[tuple[Seen, int, int]]
    """What was seen more often then or now, with how often then and now."""


class Rehearsal:
    """Takes the runs of one recording, in order. `opened` is its first fact."""

    def __init__(self, folder: Folder, opened: kinds.RecordingOpened) -> None:
        self._folder = folder
        self._languages = set(opened.languages) & set(folder.machine.languages)
        self._late_us = round(LATE_US * opened.rate)
        self._run = VirtualRun(Decider(folder, opened), self)
        self._offset_us = 0
        """By how much it is later now than the recording's own time."""

    def take(self, recorded: RecordedRun) -> RunRehearsed:
        """Rehearses one run."""
        self._begin(recorded)
        if self._script is not None:
            secrets = self._stand_in_secrets(self._script)
            self._run.begin(self._run.decider.begin(self._script.name, secrets, self._run.now_us))
        while self._turn():
            pass
        self._collect_then(len(recorded.entries))
        self._stand_down()
        told = RunTold()
        for entry in recorded.entries:
            told.take(entry.fact, entry.at_us)
        return RunRehearsed(
            started=recorded.started,
            at_us=recorded.at_us(0),
            script=self._script,
            then=told,
            now=self._told,
            notes=self._notes,
            stopped=self._stopped,
            seen=differing(self._seen_then, self._seen_now),
        )

    def _begin(self, recorded: RecordedRun) -> None:
        self._recorded = recorded
        self._at = 0
        """The index of the entry that comes next."""
        self._collected = 0
        self._offset_us = max(0, self._run.now_us - recorded.at_us(0))
        self._run.now_us = recorded.at_us(0) + self._offset_us
        started = recorded.started
        self._script = self._folder.scripts.get(started.script) if started is not None else None
        self._going = self._script is not None
        """Whether the script runs."""
        self._comparing = True
        self._told = RunTold()
        self._notes: dict[tuple[str, bool], list[str]] = {}
        self._stopped = ""
        self._seen_then: Counter[Seen] = Counter()
        self._seen_now: Counter[Seen] = Counter()
        self._step: tuple[str, bool] = ("", False)
        self._asked_so_far: set[str] = set()
        self._asking = ""
        self._begins_to_type = False
        self._improvises = False
        self._echo = b""
        self._invented = ""
        """A prompt that was put there for want of the machine's answer, and isn't counted as seen."""
        self._standing: kinds.LandmarkReached | None = None
        self._resume = False

    # -- turns --------------------------------------------------------------------------------

    def _turn(self) -> bool:
        """Lets the next thing happen; gives whether there is more to come."""
        if self._echo:
            echo, self._echo = self._echo, b""
            self._run.receive(echo)
            return True
        if self._resume:
            self._resume = False
            self._go_on()
            return True
        index = None if self._improvises else self._next_item()
        if self._asking and self._going and index is None and self._confirmed_elsewhere():
            return True
        deadline = self._due(index)
        if deadline is not None:
            self._run.now_us = max(self._run.now_us, self._run.deadlines[deadline])
            self._run.pass_deadline(deadline)
            return True
        if index is not None:
            self._play(index)
            return True
        if self._going:
            self._stop("the recording ends here" if self._exhausted() else "nothing more is waited for")
            return True
        return False

    def _next_item(self) -> int | None:
        """The next entry that comes from outside; None at the end, and where the recording waits."""
        for index in range(self._at, len(self._recorded.entries)):
            fact = self._recorded.entries[index].fact
            match fact:
                case kinds.BytesTyped() if self._going:
                    return None
                case kinds.RequestMade(request="stop"):
                    return index
                case kinds.RequestMade(step=step) if self._going and index not in self._recorded.refused:
                    if step == self._asking:
                        return index
                    if self._is_still_to_be_asked(step):
                        return None
                case kinds.DeadlinePassed():
                    return index
                case _ if isinstance(fact, _FROM_OUTSIDE):
                    return index
        return None

    def _is_still_to_be_asked(self, step: str) -> bool:
        assert self._script is not None
        return step not in self._asked_so_far and any(
            step == other.name for other in (*self._script.steps, *self._script.tidy_up)
        )

    def _exhausted(self) -> bool:
        """Whether the recording breaks off before the script ended."""
        return not self._recorded.ended and not self._waits_for_typing()

    def _waits_for_typing(self) -> bool:
        return any(typed.index >= self._at for typed in self._recorded.typed)

    def _due(self, index: int | None) -> str | None:
        """The deadline that passes before this entry comes, if one does."""
        if index is None and (not self._going or self._exhausted()) and not self._improvises:
            return None
        next_us = None if index is None else self._recorded.at_us(index) + self._offset_us
        soonest = sorted((due_us, name) for name, due_us in self._run.deadlines.items())
        for due_us, name in soonest:
            if next_us is None or self._passes_before(name, due_us, next_us):
                return name
        return None

    def _passes_before(self, name: str, due_us: int, next_us: int) -> bool:
        then = (name, due_us - self._offset_us)
        if self._recorded.passed.get(then, -1) >= self._at:
            return False  # it comes by itself, when it passed then
        if name == "step" and self._is_a(Pause) and self._prints_before_typing():
            return False  # no script types sooner than the machine lets it
        return due_us + (self._late_us if then in self._recorded.armed else 0) < next_us

    def _prints_before_typing(self) -> bool:
        for entry in self._recorded.entries[self._at :]:
            if isinstance(entry.fact, kinds.BytesTyped | kinds.ScriptEnded):
                return False
            if isinstance(entry.fact, kinds.BytesReceived):
                return True
        return False

    def _play(self, index: int) -> None:
        entry = self._recorded.entries[index]
        self._at = index + 1
        self._run.now_us = max(self._run.now_us, entry.at_us + self._offset_us)
        match entry.fact:
            case kinds.DeadlinePassed(name=name):
                due_us = self._recorded.due_of.get(index)
                if due_us is None or self._run.deadlines.get(name) != due_us + self._offset_us:
                    return
                self._run.pass_deadline(name)
            case kinds.BytesReceived(bytes=text):
                self._run.receive(kinds.to_bytes(text))
            case _:
                self._run.note(entry.fact)

    # -- what is decided now (called by VirtualRun) --------------------------------------------

    def is_taken(self, command: Command) -> bool:
        """Which script comes next is the recording's business."""
        match command:
            case Tell(fact=kinds.SessionResting() | kinds.RequestRefused()) | End() | Arm(name="rest"):
                return False
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        """Never: no End is taken."""

    def told(self, fact: kinds.AnyFact) -> None:
        """Takes what is decided now, at the time of the same decision in the recording."""
        self._keep_time_with(fact)
        self._told.take(fact, self._run.now_us)
        what = seen(fact, self._languages)
        if what is not None and self._comparing and what[1] != self._invented:
            self._seen_now[what] += 1
        match fact:
            case kinds.StepStarted(step=step, tidying=tidying):
                self._step, self._begins_to_type, self._asking = (step, tidying), True, ""
                self._improvises = False
            case kinds.HandsOnAsked(step=step):
                self._asking = step
                self._asked_so_far.add(step)
            case kinds.HandsOnConfirmed() | kinds.HandsOnRefused():
                self._asking = ""
            case kinds.LandmarkReached():
                self._standing = fact
                self._invented = ""
            case kinds.TypingConfirmed() if self._improvises:
                self._improvises, self._resume = False, True
            case kinds.StepFailed():
                self._improvises = self._resume = False
            case kinds.ScriptEnded():
                self._going = False
                if self._waits_for_typing():
                    self._compare_no_more()

    def _keep_time_with(self, fact: kinds.AnyFact) -> None:
        """The same decision was recorded a little later, when the bridge had come to it."""
        entries = self._recorded.entries
        if self._at >= len(entries):
            return
        entry = entries[self._at]
        if isinstance(entry.fact, kinds.Heartbeat) and self._at + 1 < len(entries):
            if not isinstance(entries[self._at + 1].fact, type(fact)):
                return
            self._at += 1
            self._run.note_time(entry.fact, entry.at_us + self._offset_us)
            entry = entries[self._at]
        if isinstance(entry.fact, type(fact)):
            self._run.now_us = max(self._run.now_us, entry.at_us + self._offset_us)
            self._at += 1

    def typed(self, byte: int, secret: bool) -> None:
        """Takes a byte that the script types now."""
        shown = "" if secret else kinds.to_text(bytes((byte,)))
        self._told.take(kinds.BytesTyped(bytes=shown, count=1, by="", secret=secret), self._run.now_us)
        if self._improvises:
            self._echo_of(byte, secret)
            return
        begins, self._begins_to_type = self._begins_to_type, False
        index = self._next_typed()
        if index is not None and self._fits(index, byte, secret, begins):
            self._consume(index)
            return
        name, tidying = self._step
        later = self._recorded.typed_in(name, tidying, self._at) if begins else None
        if later is not None and self._fits(later.index, byte, secret, begins):
            self._note("typed sooner than then: what the machine would have answered can't be known")
            self._pass_over(Place(later.index, 0))
            self._consume(later.index)
            return
        self._improvise(byte, secret)

    def _improvise(self, byte: int, secret: bool) -> None:
        self._note("never typed there then: what the machine would have answered can't be known")
        if self._is_a(PressKey):
            self._resume = True
            return
        self._improvises = True
        self._echo_of(byte, secret)

    def _next_typed(self) -> int | None:
        """The index of the byte that was typed next then, if the machine printed nothing before it."""
        for index in range(self._at, len(self._recorded.entries)):
            match self._recorded.entries[index].fact:
                case kinds.BytesTyped():
                    return index
                case kinds.BytesReceived() | kinds.BytesWithheld() | kinds.LineLost() | kinds.LineOpened():
                    return None
                case kinds.RequestMade() if index not in self._recorded.refused:
                    return None
        return None

    def _fits(self, index: int, byte: int, secret: bool, begins: bool) -> bool:
        """Whether then, too, this was typed; where a command begins, all of it."""
        fact = self._recorded.entries[index].fact
        assert isinstance(fact, kinds.BytesTyped)
        if fact.secret != secret or not (secret or kinds.to_bytes(fact.bytes) == bytes((byte,))):
            return False
        then = self._recorded.typed_from(index)
        if not begins or then is None:
            return True
        if (then.step, then.tidying) != self._step and self._is_step_of_script(then.step, then.tidying):
            return False
        if self._is_a(PressKey) or secret:
            return True
        typed, command = then.text, self._run.decider.being_typed.encode("latin-1")
        end = self._folder.machine.typing.return_key
        return typed == command + end if typed.endswith(end) else command.startswith(typed)

    def _is_step_of_script(self, name: str, tidying: bool) -> bool:
        assert self._script is not None
        steps = self._script.tidy_up if tidying else self._script.steps
        return any(step.name == name for step in steps)

    def _consume(self, index: int) -> None:
        at_us = self._recorded.at_us(index)
        if self._run.now_us <= at_us + self._offset_us <= self._run.now_us + self._late_us:
            self._run.now_us = at_us + self._offset_us
        self._offset_us = self._run.now_us - at_us
        self._at = index + 1

    def _echo_of(self, byte: int, secret: bool) -> None:
        typing = self._folder.machine.typing
        if bytes((byte,)) == typing.return_key[-1:]:
            self._echo += b"\r\n"
        elif not secret and typing.echo == "full":
            echo = bytes((byte,))
            self._echo += echo.upper() if typing.folds_to == "upper case" else echo

    # -- where it can't be known --------------------------------------------------------------

    def _go_on(self) -> None:
        """Something was typed that never was: goes on where the recording comes to what is waited for."""
        step = self._current()
        names = frozenset(until_of(step)) if step is not None else frozenset()
        span = self._recorded.step_span(*self._step)
        from_index = self._at
        if span is not None and span[1] > self._at:
            inside = [typed.index for typed in self._recorded.typed if span[0] <= typed.index < span[1]]
            end = self._last_typed_before(span[1]) if inside else span[0]
            from_index = max(self._at, end)
        elif self._standing is not None and self._standing.landmark in names:
            self._invented = self._standing.landmark
            self._note(f"taken as back at {self._invented}")
            self._run.receive(self._standing.line.encode("latin-1", "replace") + b" ")
            return
        place = self._recorded.find(names, self._folder.machine, from_index)
        wanted = " or ".join(sorted(names))
        if place is None:
            self._stop(f"the recording doesn't come to {wanted} after it")
            return
        self._note(f"goes on where the recording next comes to {wanted}")
        self._pass_over(place)
        self._offset_us = self._run.now_us - self._recorded.at_us(place.index)
        if place.index >= len(self._recorded.entries):
            return
        fact = self._recorded.entries[place.index].fact
        if isinstance(fact, kinds.BytesReceived):
            self._at = place.index + 1
            self._run.receive(kinds.to_bytes(fact.bytes)[place.offset :])

    def _last_typed_before(self, index: int) -> int:
        return 1 + max(
            number
            for number in range(index)
            if isinstance(self._recorded.entries[number].fact, kinds.BytesTyped)
        )

    def _pass_over(self, place: Place) -> None:
        """Leaves out what the recording holds before this place; its display is kept up to date."""
        self._collect_then(self._at)
        for index in range(self._at, min(place.index, len(self._recorded.entries))):
            fact = self._recorded.entries[index].fact
            if isinstance(fact, kinds.BytesReceived):
                self._run.decider.pass_over(kinds.to_bytes(fact.bytes))
            elif isinstance(fact, kinds.Heartbeat | kinds.LineOpened | kinds.LineLost):
                self._run.note(fact)
        if place.offset:
            fact = self._recorded.entries[place.index].fact
            assert isinstance(fact, kinds.BytesReceived)
            self._run.decider.pass_over(kinds.to_bytes(fact.bytes)[: place.offset])
        self._at = self._collected = place.index

    def _confirmed_elsewhere(self) -> bool:
        """A person is asked, and the recording doesn't come to the answer by itself."""
        index = self._recorded.confirmed(self._asking, self._at)
        if index is not None:
            self._note("asked sooner than then: what the machine would have done can't be known")
            self._pass_over(Place(index, 0))
            self._offset_us = self._run.now_us - self._recorded.at_us(index)
            return True
        if self._exhausted() and self._recorded.step_span(*self._step) is not None:
            return False
        self._note("nobody was asked for it then: taken as done")
        self._run.note(kinds.RequestMade(request="confirm", by="a person", step=self._asking))
        return True

    def _stop(self, why: str) -> None:
        self._stopped = why
        self._going = False
        self._compare_no_more()
        self._stand_down()

    def _stand_down(self) -> None:
        self._run.decider.rest()
        self._echo, self._resume, self._improvises = b"", False, False
        for name in _OF_THE_SCRIPT:
            self._run.deadlines.pop(name, None)

    def _collect_then(self, to_index: int) -> None:
        """What was seen then, as far as the recording has been played."""
        if self._comparing:
            for entry in self._recorded.entries[self._collected : to_index]:
                what = seen(entry.fact, self._languages)
                if what is not None:
                    self._seen_then[what] += 1
        self._collected = to_index

    def _compare_no_more(self) -> None:
        """From here on the recording isn't of what the script does now."""
        self._collect_then(self._at)
        self._comparing = False

    # -- small questions ----------------------------------------------------------------------

    def _note(self, what: str) -> None:
        notes = self._notes.setdefault(self._step, [])
        if what not in notes:
            notes.append(what)

    def _current(self) -> AnyStep | None:
        if self._script is None:
            return None
        name, tidying = self._step
        steps = self._script.tidy_up if tidying else self._script.steps
        return next((step for step in steps if step.name == name), None)

    def _is_a(self, kind: type[Step]) -> bool:
        return self._going and isinstance(self._current(), kind)

    def _stand_in_secrets(self, script: Script) -> dict[str, str]:
        lengths = self._recorded.secret_characters()
        longest: dict[str, int] = {}
        for steps, tidying in ((script.steps, False), (script.tidy_up, True)):
            for step in steps:
                if isinstance(step, TypeSecret):
                    length = lengths.get((step.name, tidying), 1)
                    longest[step.secret] = max(longest.get(step.secret, 1), length)
        return {name: "?" * length for name, length in longest.items()}
