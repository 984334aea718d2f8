"""Runs a folder's present scripts over a recording, to find the steps that would now go differently.

The recording takes the machine's place. What it printed comes as long after the typing as it did then; if the
script now types something later, the recording waits for it. As long as the script does everything that it
did then, at the same times, every decision is the same as then.

If the script types something that wasn't typed there, nobody can know what the machine would have answered.
The rehearsal then takes the echo as right, and continues where the recording next comes to what the step
waits for. If it never does, the rehearsal of that script ends.
"""

from __future__ import annotations

from typing import Final

import msgspec

from exhibit.decisions.commands import Arm, Command, End, Tell
from exhibit.decisions.decider import REST
from exhibit.decisions.display.characters import codes_of, shown_for
from exhibit.decisions.machine.description import Typing
from exhibit.decisions.machine.script import Folder, PressKey, Script
from exhibit.decisions.rehearsal.recorded_run import Place, RecordedRun
from exhibit.decisions.rehearsal.rehearsed_decider import RehearsedDecider
from exhibit.decisions.rehearsal.rehearsed_script import RehearsedScript
from exhibit.decisions.rehearsal.step_results import RunSummary, Seen, SeenCompared
from exhibit.decisions.rehearsal.tape import Tape
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.session.left_open import BY
from exhibit.decisions.session.script_run import typing_of, until_of
from exhibit.facts import kinds

LATE_US: Final = 2_000_000
"""How late, in real time, a deadline can have passed because the computer was busy."""
_OF_THE_SCRIPT: Final = ("step", "script", "listen", "echo", REST)


class RunRehearsed(msgspec.Struct):
    """A run of a script then and now, or entries without a script. `notes`: by step, what can't be known."""

    started: kinds.ScriptStarted | None
    at_us: int
    script: Script | None
    then: RunSummary
    now: RunSummary
    notes: dict[tuple[str, bool], list[str]]
    stopped: str
    """Why the rehearsal of this run ended before the script did; empty otherwise."""
    seen: list[tuple[Seen, int, int]]
    """What was seen more often then or now, with how often then and now."""


class Rehearsal:
    """Rehearses the runs of one recording, in order. `opened` is its first fact."""

    def __init__(self, folder: Folder, opened: kinds.RecordingOpened) -> None:
        self._folder = folder
        self._languages = [tag for tag in folder.machine.languages if tag in opened.languages]
        self._late_us = round(LATE_US * opened.rate)
        self._decider = RehearsedDecider(folder, opened)
        self._run = VirtualRun(self._decider, self)

    def take(self, recorded: RecordedRun) -> RunRehearsed:
        """Rehearses one run."""
        self._begin(recorded)
        if (script := self._now.script) is not None:
            secrets = self._now.stand_in_secrets()
            from_step = recorded.started.from_step if recorded.started is not None else ""
            self._run.begin(self._decider.begin(script.name, secrets, self._run.now_us, from_step))
        while self._turn():
            pass
        self._seen.played(len(recorded.entries))
        self._stand_down()
        recorded_summary = RunSummary(self._folder.machine.typing.show_again)
        for entry in recorded.entries:
            recorded_summary.take(entry.fact, entry.at_us)
        return RunRehearsed(
            started=recorded.started,
            at_us=recorded.at_us(0),
            script=self._now.script,
            then=recorded_summary,
            now=self._summary,
            notes=self._notes,
            stopped=self._stopped,
            seen=self._seen.differing(),
        )

    def _begin(self, recorded: RecordedRun) -> None:
        started = recorded.started
        # A tidy-up after an earlier, unfinished run isn't a run of its own.
        whole = started is not None and started.by != BY
        script = self._folder.scripts.get(started.script) if started is not None and whole else None
        self._now = RehearsedScript(script)
        self._tape = Tape(recorded, script, max(0, self._run.now_us - recorded.at_us(0)))
        self._run.now_us = self._tape.now_us(0)
        self._summary = RunSummary(self._folder.machine.typing.show_again)
        self._seen = SeenCompared(recorded.entries, self._languages)
        self._notes: dict[tuple[str, bool], list[str]] = {}
        self._stopped = ""
        self._improvises = False
        """The script is typing something that wasn't typed there."""
        self._answers_unknown = False
        """It has typed that, and the machine's answer isn't known."""
        self._echo = b""
        """The invented echo, to be received next."""
        self._invented = ""
        """A prompt that was invented in place of the machine's answer. It doesn't count as seen."""

    # -- turns --------------------------------------------------------------------------------

    def _turn(self) -> bool:
        """Makes the next thing happen; false once nothing more is to come."""
        if self._echo:
            echo, self._echo = self._echo, b""
            self._run.receive(echo)
            return True
        if self._answers_unknown:
            self._answers_unknown = False
            self._go_on()
            return True
        index = None
        if not self._improvises:
            index = self._tape.next_item(self._now.going, self._now.asking, self._now.asked_so_far)
        if self._now.going and self._now.asking and index is None and self._ask():
            return True
        deadline = self._due(index)
        if deadline is not None:
            self._run.now_us = max(self._run.now_us, self._run.deadlines[deadline])
            self._run.pass_deadline(deadline)
        elif index is not None:
            self._play(index)
        elif self._now.going:
            self._stop("the recording ends here")
        else:
            return False
        return True

    def _due(self, index: int | None) -> str | None:
        """The name of the deadline that passes before this entry comes; None if none does."""
        if index is None and (not self._now.going or self._tape.broken_off) and not self._improvises:
            return None
        next_us = None if index is None else self._tape.now_us(index)
        for due_us, name in sorted((due_us, name) for name, due_us in self._run.deadlines.items()):
            if next_us is None or self._tape.passes_before(name, due_us, next_us, self._late_us):
                return name
        return None

    def _play(self, index: int) -> None:
        entry = self._tape.recorded.entries[index]
        self._tape.at = index + 1
        self._run.now_us = max(self._run.now_us, self._tape.now_us(index))
        match entry.fact:
            case kinds.DeadlinePassed(name=name):
                due_us = self._tape.recorded.due_of.get(index)
                if due_us is not None and self._run.deadlines.get(name) == due_us + self._tape.offset_us:
                    self._run.pass_deadline(name)
            case kinds.BytesReceived(bytes=text):
                self._run.receive(kinds.to_bytes(text))
            case _:
                self._run.note(entry.fact)

    # -- what is decided now (called by VirtualRun) -------------------------------------------

    def is_taken(self, command: Command) -> bool:
        """Whether to carry the command out: not if it chooses the next script, as the recording does that."""
        match command:
            case Tell(fact=kinds.SessionResting() | kinds.RequestRefused()) | End() | Arm(name="rest"):
                return False
        return True

    def over(self, outcome: kinds.Outcome) -> None:
        """Never called: `is_taken` refuses every End."""

    def decided(self, fact: kinds.AnyFact) -> None:
        """Takes a fact that is decided now, at the time of the same decision in the recording."""
        if not self._keep_time_with(fact) and self._tape.run_out:
            return
        self._summary.take(fact, self._run.now_us)
        if not (isinstance(fact, kinds.LandmarkReached) and fact.landmark == self._invented):
            self._seen.take_now(fact)
        self._now.take(fact)
        match fact:
            case kinds.StepStarted():
                self._improvises = False
            case kinds.LandmarkReached():
                self._invented = ""
            case kinds.TypingConfirmed() if self._improvises:
                self._improvises, self._answers_unknown = False, True
            case kinds.StepFailed():
                self._improvises = self._answers_unknown = False
            case kinds.ScriptEnded() if self._tape.waits_for_typing:
                self._compare_no_more()

    def _keep_time_with(self, fact: kinds.AnyFact) -> bool:
        """If the same decision was made then, sets the time to its recorded one. False if it wasn't.

        The bridge recorded it when it carried it out, which was a little later.
        """
        same = self._tape.same_decision(fact)
        if same is None:
            return False
        if same > self._tape.at:
            heartbeat = self._tape.recorded.entries[self._tape.at].fact
            self._run.note_meanwhile(heartbeat, self._tape.now_us(self._tape.at))
        self._run.now_us = max(self._run.now_us, self._tape.now_us(same))
        self._tape.at = same + 1
        return True

    def typed(self, byte: int, secret: bool) -> None:
        """Takes a byte that the script types now."""
        if self._tape.run_out or self._shows_again(byte):
            return
        text = kinds.to_text(bytes((byte,)))
        typed = kinds.SecretTyped(by="") if secret else kinds.BytesTyped(bytes=text, count=1, by="")
        self._summary.take(typed, self._run.now_us)
        if self._improvises:
            self._echo_of(byte, secret)
            return
        begins, self._now.begins_to_type = self._now.begins_to_type, False
        index = self._tape.next_typed()
        if index is not None and self._fits(index, byte, secret, begins):
            self._consume(index)
            if secret and not begins:
                self._consume_rest_of_secret()
            return
        later = self._tape.recorded.typed_in(*self._now.step, self._tape.at) if begins else None
        if later is not None and self._fits(later.index, byte, secret, begins):
            self._sooner(later.index, "typed")
            self._consume(later.index)
            return
        self._note("not typed there then, so what the machine would have answered can't be known")
        if isinstance(self._now.current, PressKey):
            self._answers_unknown = True
            return
        self._improvises = True
        self._echo_of(byte, secret)

    def _shows_again(self, byte: int) -> bool:
        """Whether the byte asks for the line again where it didn't then. If so, invents a correct line."""
        if bytes((byte,)) != self._typing.show_again:
            return False
        index = None if self._improvises else self._tape.next_typed()
        if index is not None and self._fits(index, byte, secret=False, begins=False):
            return False
        shown = self._typing.folded(self._decider.being_typed)
        self._echo += b"\r\n" + codes_of(shown, self._folder.machine.display.characters)
        return True

    def _fits(self, index: int, byte: int, secret: bool, begins: bool) -> bool:
        command = self._decider.being_typed if begins else None
        step, (_, tidying) = self._now.current, self._now.step
        machine = self._folder.machine
        return step is not None and self._tape.fits(index, byte, secret, step, tidying, command, machine)

    @property
    def _typing(self) -> Typing:
        """How the machine takes what the running step types."""
        return typing_of(self._now.current, self._folder.machine)

    def _consume_rest_of_secret(self) -> None:
        """Older recordings have an entry for each character of a secret."""
        while (index := self._tape.next_typed()) is not None and self._tape.is_secret(index):
            self._consume(index)

    def _consume(self, index: int) -> None:
        self._run.now_us = self._tape.consume(index, self._run.now_us)

    def _echo_of(self, byte: int, secret: bool) -> None:
        typing = self._typing
        if bytes((byte,)) == typing.return_key[-1:]:
            self._echo += b"\r\n"
        elif not secret and typing.echo == "full":
            characters = self._folder.machine.display.characters
            shown = chr(byte).translate(shown_for(characters))
            self._echo += codes_of(typing.folded(shown), characters)

    # -- where it can't be known --------------------------------------------------------------

    def _go_on(self) -> None:
        """Continues, after unrecorded typing, where the recording comes to what the step waits for."""
        step, tape = self._now.current, self._tape
        names = frozenset(until_of(step)) if step is not None else frozenset()
        span = tape.recorded.step_span(*self._now.step)
        from_index = tape.at
        if span is not None and span[1] > tape.at:
            from_index = max(tape.at, tape.recorded.behind_typed_in(span))
        elif self._now.standing is not None and self._now.standing.landmark in names:
            self._invented = self._now.standing.landmark
            self._note(f"assumed to be back at {self._invented}")
            self._run.receive(codes_of(self._now.standing.line, self._folder.machine.display.characters))
            return
        place = tape.recorded.find(names, self._folder.machine, from_index)
        wanted = " or ".join(sorted(names))
        if place is None:
            self._stop(f"the recording doesn't come to {wanted} after it")
            return
        self._note(f"continues where the recording next comes to {wanted}")
        self._pass_over(place)
        tape.offset_us = self._run.now_us - tape.recorded.at_us(place.index)
        if place.offset:
            fact = tape.recorded.entries[place.index].fact
            assert isinstance(fact, kinds.BytesReceived)
            tape.at = place.index + 1
            self._run.receive(kinds.to_bytes(fact.bytes)[place.offset :])

    def _pass_over(self, place: Place) -> None:
        """Skips the recording up to this place, but keeps the display up to date."""
        tape = self._tape
        self._seen.played(tape.decided_to())
        for index in range(tape.at, place.index):
            fact = tape.recorded.entries[index].fact
            if isinstance(fact, kinds.BytesReceived):
                self._decider.pass_over(kinds.to_bytes(fact.bytes))
            elif isinstance(fact, kinds.Heartbeat | kinds.LineOpened | kinds.LineLost):
                self._run.note_meanwhile(fact, self._run.now_us)
        if place.offset:
            fact = tape.recorded.entries[place.index].fact
            assert isinstance(fact, kinds.BytesReceived)
            self._decider.pass_over(kinds.to_bytes(fact.bytes)[: place.offset])
        tape.at = place.index
        self._seen.skipped(place.index)

    def _sooner(self, index: int, what: str) -> None:
        skipped = self._tape.recorded.entries[self._tape.at : index]
        if any(isinstance(entry.fact, kinds.BytesTyped) for entry in skipped):
            self._note("without what was typed before it then, so the machine's answer can't be known")
        else:
            self._note(f"{what} earlier than then, so the machine's answer can't be known")
        self._pass_over(Place(index, 0))

    def _ask(self) -> bool:
        """Answers for a person who is asked now, if the recording doesn't come to the answer by itself.

        Returns whether anything was done.
        """
        tape = self._tape
        if self._now.what_then:
            self._stop("a person is now asked what to do about the late step, and nobody was then")
            return True
        index = tape.recorded.confirmed(self._now.asking, tape.at)
        if index is not None:
            self._sooner(index, "asked")
            tape.offset_us = self._run.now_us - tape.recorded.at_us(index)
            return True
        if self._now.is_by_hand and tape.recorded.step_span(*self._now.step) is not None:
            return False
        self._note("nobody was asked for it then: assumed to be done")
        self._run.note(kinds.RequestMade(request="confirm", by="a person", step=self._now.asking))
        return True

    def _stop(self, why: str) -> None:
        self._stopped = why
        self._now.going = False
        self._compare_no_more()
        self._stand_down()

    def _compare_no_more(self) -> None:
        self._seen.played(self._tape.decided_to())
        self._seen.end()

    def _stand_down(self) -> None:
        self._decider.rest()
        self._echo, self._answers_unknown, self._improvises = b"", False, False
        for name in _OF_THE_SCRIPT:
            self._run.deadlines.pop(name, None)

    # -- small questions ----------------------------------------------------------------------

    def _note(self, what: str) -> None:
        notes = self._notes.setdefault(self._now.step, [])
        if what not in notes:
            notes.append(what)
