"""Says what each fact means, in a sentence for an engineer. It says nothing that the fact doesn't."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any, Final

import msgspec

from exhibit.decisions.console.flow import MACHINE
from exhibit.facts import kinds
from exhibit.facts.fact import name_on_disc
from exhibit.facts.kinds import AnyFact, UnknownFact, Words
from exhibit.records.index.fact_words import WAS_DUE

LONGEST: Final = 400
_THEN: Final = {
    "wait on": "It was given the same time again.",
    "again": "Its command was typed again.",
    "leave out": "It was left out.",
    "stop": "It counted as failed.",
    "ask": "A person was asked.",
}
_OUTCOMES: Final = {"done": "ended", "failed": "failed", "stopped": "was stopped"}
_NOTES: Final = {
    "note": "wrote a note",
    "photograph": "added a photograph",
    "minutes kept": "had the last minutes kept",
}


def in_english(words: Words) -> str:
    """These words in English, or in the first language that there is."""
    return words.get("en") or next(iter(words.values()), "")


def told(fact: AnyFact | UnknownFact, words: Callable[[Words], str] = in_english) -> str:
    """The sentence for this fact, cut if it is very long. `words` chooses the language of its words."""
    said = (
        _on_scripts(fact, words)
        or _on_people(fact, words)
        or _on_line(fact)
        or _on_machine(fact)
        or _in_general(fact)
    )
    return said if len(said) <= LONGEST else said[: LONGEST - 1] + "\u2026"


def name_of(fact: AnyFact | UnknownFact) -> str:
    """The name of its kind, in words."""
    return _spaced(fact.name if isinstance(fact, UnknownFact) else _on_disc(type(fact).__name__))


@lru_cache(maxsize=500)
def _on_disc(class_name: str) -> str:
    return name_on_disc(class_name)


@lru_cache(maxsize=500)
def _spaced(name: str) -> str:
    return name.replace("_", " ")


def disc_errors(count: int) -> str:
    """A number of new disc errors, in words."""
    return "1 new disc error" if count == 1 else f"{count} new disc errors"


def _s(us: int) -> str:
    return f"{us / 1_000_000:g} s"


def _on_scripts(fact: AnyFact | UnknownFact, words: Callable[[Words], str]) -> str:
    match fact:
        case kinds.ScriptStarted():
            which = f", round {fact.round}" if fact.round else ""
            return f"The script {fact.script} was started{which}, by {fact.by}."
        case kinds.ScriptEnded():
            why = f": {fact.why}" if fact.why else ""
            untidy = "" if fact.tidy else " Its tidy-up could not be done."
            return f"The script {fact.script} {_OUTCOMES[fact.outcome]}{why}.{untidy}".replace("..", ".")
        case kinds.ScriptRefused(script=script, why=why) | kinds.ScriptLeftOut(script=script, why=why):
            return f"The script {script} was not run: {why}"
        case kinds.StepStarted():
            return f"The step {fact.step} of {fact.script} began{', to tidy up' if fact.tidying else ''}."
        case kinds.StepMatched():
            return f"{fact.name} arrived, for which {fact.step} was waiting: {fact.line}"
        case kinds.StepEnded():
            return f"The step {fact.step} of {fact.script} was done."
        case kinds.StepLeftOut() | kinds.StepFailed():
            what = "was left out" if isinstance(fact, kinds.StepLeftOut) else "could not be done"
            return f"The step {fact.step} of {fact.script} {what}: {fact.why}"
        case kinds.StepOverdue():
            waited = " or ".join(fact.waited_for) or "its answer"
            return (
                f"The step {fact.step} of {fact.script} waited {_s(fact.within_us)} for {waited}, "
                f"and it didn't arrive. {_THEN[fact.then]}"
            )
        case kinds.AnsweredLate():
            return f"{fact.name} arrived after the step {fact.step} had been given up: {fact.line}"
        case kinds.TidyUpStarted(script=script, why=why):
            return f"The tidy-up of {script} began: {why}"
        case kinds.SecretRefused():
            return f"The machine didn't take a secret in {fact.step}, and asked again with {fact.landmark}."
        case kinds.SessionFailed(why=why):
            return f"Nothing more was typed, and a person was asked to look: {why}"
        case kinds.SessionResting(until_us=until_us):
            return (
                "A rest between two rounds began." if until_us else "All scripts that were asked for ended."
            )
        case kinds.RoundsWentOn(why=why):
            return f"The rounds went on by themselves after a failure: {why}"
        case kinds.DeadlineArmed(name=name):
            return f"The deadline {name} was set."
        case kinds.DeadlinePassed(name=name):
            return f"The deadline {name} passed."
        case kinds.CaptionShown():
            return f"Visitors were shown: {words(fact.words)}"
    return ""


def _on_people(fact: AnyFact | UnknownFact, words: Callable[[Words], str]) -> str:
    match fact:
        case kinds.HandsOnAsked():
            return f"A person was asked to do the step {fact.step}: {words(fact.words)}"
        case kinds.HandsOnConfirmed():
            return f"{fact.by} confirmed that the step {fact.step} was done."
        case kinds.HandsOnPutOff(by=by) if by == MACHINE:
            return f"The machine showed that the step {fact.step} has to be done again."
        case kinds.HandsOnPutOff():
            return f"{fact.by} said of the step {fact.step}: {fact.because}."
        case kinds.HandsOnRefused():
            return _with(f"{fact.by} said that the step {fact.step} can't be done", fact.why)
        case kinds.LateAnswered():
            return f"{fact.by} answered for the late step {fact.step}: {fact.answer}."
        case kinds.PromptVouched():
            return f"{fact.by} said that this is the prompt of the step {fact.step}: {fact.line}"
        case kinds.RequestMade():
            about = f", about {fact.step or fact.about}" if fact.step or fact.about else ""
            why = "" if fact.request == "note" else fact.why  # a note's is where its words are kept
            return _with(f"{fact.by} asked for: {fact.request}{about}", why)
        case kinds.RequestRefused():
            return f"The request {fact.request} was refused: {fact.why}"
        case kinds.SessionCleared(by=by):
            return f"{by} looked, and let the run go on."
        case kinds.HandsOff(by=by, standing=standing):
            left = f" {standing} was left standing on the console." if standing else ""
            return f"{by} said that nothing more may be typed.{left}"
        case kinds.KeyboardTaken(by=by):
            return f"{by} took the keyboard."
        case kinds.KeyboardGivenBack(by=by):
            return f"{by} gave the keyboard back."
        case kinds.TroubleSeen(by=by, raised=raised):
            return f"{by} has seen the trouble of fact {raised}."
        case kinds.TroubleSetAside(by=by, raised=raised, why=why):
            return _with(f"{by} set aside the trouble of fact {raised}", why)
        case kinds.TroubleOver(by=by, raised=raised, how=how):
            return _with(f"The trouble of fact {raised} was over, by {by}", how)
        case kinds.NoteMade(kind=kind, by=by):
            return f"{by} {_NOTES[kind]}."
        case kinds.DayTurned(phase=phase, by=by):
            return f"The day came to: {phase}, by {by}."
        case kinds.PackMounted():
            written = "may be written on" if fact.may_be_written else "must not be written on"
            return f"{fact.by} confirmed the pack {fact.label} in {fact.drive}. It {written}."
        case kinds.PackRemoved():
            return f"{fact.by} confirmed that the pack {fact.label} was taken out of {fact.drive}."
        case kinds.WorkDone():
            board = f" {fact.board}" if fact.board else ""
            came = f" It came from {fact.came_from}." if fact.came_from else ""
            return f"{fact.by} {fact.act} {fact.part}{board}, at {_when(fact.at)}.{came}"
        case kinds.ReadingMeasured():
            where = f" at {fact.part}" if fact.part else ""
            return f"{fact.by} measured {fact.what}{where}: {fact.value:g} {fact.unit}, at {_when(fact.at)}."
        case kinds.PackEntered():
            return f"{fact.by} entered the pack {fact.label} in the ledger, as of {_when(fact.at)}."
    return ""


def _with(said: str, more: str) -> str:
    """The sentence, with what somebody said about it if there is any."""
    return f"{said}: {' '.join(more.split())}" if more.strip() else f"{said}."


def _when(at: str) -> str:
    return at[:16].replace("T", " ")


def _on_line(fact: AnyFact | UnknownFact) -> str:
    match fact:
        case kinds.RecordingOpened():
            return f"The recording of {fact.machine} was opened, on the line {fact.line}."
        case kinds.RecordingClosed(why=why):
            return f"The recording was closed: {why}"
        case kinds.LineOpened(line=line):
            return f"The line to the machine was opened: {line}."
        case kinds.LineLost(why=why):
            return f"The line to the machine was lost: {why}"
        case kinds.LineErrorsCounted():
            counted = {"parity": fact.parity, "framing": fact.framing, "overrun": fact.overrun}
            said = ", ".join(f"{count} {name}" for name, count in counted.items() if count)
            return f"Characters came damaged: {said or 'breaks'}."
        case kinds.MachineSilent(due=due):
            return f"Nothing came from the machine, although {WAS_DUE[due]} was due."
        case kinds.HeardAgain(silent_us=silent_us):
            return f"The machine was heard again, after {_s(silent_us)}."
        case kinds.BytesReceived(bytes=text):
            return "1 character was received." if len(text) == 1 else f"{len(text)} characters were received."
        case kinds.BytesTyped(by=by, count=count, secret=secret):
            return f"Part of a secret was typed, by {by}." if secret else f"{count} typed, by {by}."
        case kinds.SecretTyped(by=by):
            return f"Part of a secret was typed, by {by}."
        case kinds.TypedByHand(by=by, count=count):
            return f"{count} characters were typed by {by}."
        case kinds.TypingConfirmed(command=command, attempts=attempts):
            tries = "" if attempts == 1 else f" after {attempts} attempts"
            what = f"the command {command}" if command else "what was typed"
            return f"The machine took {what}{tries}."
        case kinds.TypingGarbled():
            came = " ".join(fact.came_back.split())
            again = f", at attempt {fact.attempt}" if fact.attempt > 1 else ""
            return f"The command {fact.command} came back as {came}{again}, so it was not sent."
        case kinds.TypingRefused(command=command, why=why):
            return f"The command {command} was not typed: {why}"
        case kinds.TypingHeld():
            return "The machine asked for nothing to be typed (XOFF)."
        case kinds.TypingLetGo(by=by, held_us=held_us):
            return f"Typing could go on after {_s(held_us)}, by {by}."
        case kinds.ClockStepped(by_us=by_us):
            return f"The computer's clock was set by {_s(by_us)}."
    return ""


def _on_machine(fact: AnyFact | UnknownFact) -> str:
    match fact:
        case kinds.PatternSeen(pattern=pattern, line=line):
            return f"The line {pattern} was printed: {line}"
        case kinds.LandmarkReached(landmark=landmark, line=line):
            return f"{landmark} was showing{f': {line}' if line else '.'}"
        case kinds.InterruptionSeen(interruption=interruption, text=text):
            return f"The interruption {interruption} came: {text}"
        case kinds.ReadingTaken():
            value = f"{len(fact.table)} rows" if fact.table is not None else f"{fact.value}"
            return f"{fact.display} showed {fact.name}: {value}."
        case kinds.TroubleRaised():
            again = f", for the {fact.times}th time" if fact.times > 3 else ", again" if fact.repeats else ""
            return f"Trouble {fact.trouble}{again}: {fact.line}"
        case kinds.DiscErrorsCounted(count=count, by=by, entry=entry):
            return f"{disc_errors(count)}, by {by}. {entry}".strip()
        case kinds.PartStarted(part=part, by=by):
            return f"The part {part} was started, by {by}."
        case kinds.PartStopped(part=part, by=by):
            return f"The part {part} was stopped, by {by}."
        case kinds.ExerciserBegun():
            return f"The exerciser {fact.exerciser} began as job {fact.job}; it keeps {fact.part} busy."
        case kinds.ExerciserEnded(exerciser=exerciser, job=job):
            return f"The exerciser {exerciser}, job {job}, ended."
        case kinds.JobAsked(command=command):
            return f"A job was asked for: {command}"
        case kinds.JobInDoubt(why=why):
            return f"A job may be running: {why}"
        case kinds.PlaceSought(why=why):
            return f"The program looked for the state of the console: {why}"
        case kinds.PlaceRecognised(place=place, line=line):
            return f"The state of the console was recognised as {place}{f': {line}' if line else '.'}"
        case kinds.PersonAsked(why=why):
            return f"A person was asked to look: {why}"
        case kinds.KeySent(key=key, why=why):
            return f"The {key} key was typed: {why}"
    return ""


def _in_general(fact: AnyFact | UnknownFact) -> str:
    """The kind's name and its fields, for kinds without a sentence of their own or unknown ones."""
    name = name_of(fact)
    if isinstance(fact, UnknownFact):
        return f"{name} (this version doesn't know this kind): {fact.raw}"
    fields: dict[str, Any] = msgspec.to_builtins(fact)
    said = ", ".join(f"{key} {value}" for key, value in fields.items() if key != "fact" and value)
    return f"{name}: {said}" if said else name
