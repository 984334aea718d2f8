"""What happened, in a sentence for each fact that an engineer wants to read in an excerpt."""

from __future__ import annotations

from typing import Final

from exhibit.facts import kinds
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.index.fact_words import WAS_DUE

S_US: Final = 1_000_000
WRONG: Final = frozenset({"trouble", "late", "garbled", "silent", "line lost"})
"""The kinds of moment at which something was wrong."""


class MomentWords:
    """Says facts in words, in the language `tag` where a fact has words in it."""

    def __init__(self, tag: str, privacy: Privacy) -> None:
        self._tag = tag
        self._privacy = privacy

    def of(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str]:
        """The kind of moment, and a sentence; both empty for what has no place of its own."""
        return self._of_console(fact) or self._of_steps(fact) or self._of_people(fact) or self._rest(fact)

    def words(self, words: kinds.Words) -> str:
        """In the excerpt's language, or else in the first that there is."""
        return words.get(self._tag) or next(iter(words.values()), "")

    def _of_console(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str] | None:
        match fact:
            case kinds.TroubleRaised(trouble=trouble, line=line, words=words, times=times):
                again = f" ({times} times now)" if times > 1 else ""
                return "trouble", f"{self.words(words).rstrip('.') or trouble}{again}: {line}"
            case kinds.LineOpened(line=line):
                return "line", f"The line was opened: {line}."
            case kinds.LineLost(why=why):
                return "line lost", f"The line was lost: {why}."
            case kinds.LineErrorsCounted(parity=parity, framing=framing, overrun=overrun, breaks=breaks):
                counted = {"parity": parity, "framing": framing, "overrun": overrun, "breaks": breaks}
                said = ", ".join(f"{count} {kind}" for kind, count in counted.items() if count)
                return "line", f"Damaged characters: {said}."
            case kinds.MachineSilent(due=due):
                return "silent", f"Nothing came from the machine, although {WAS_DUE[due]} was due."
            case kinds.HeardAgain(silent_us=silent_us):
                return "line", f"The machine is heard again, after {silent_us / S_US:.1f} s."
            case kinds.TypingGarbled(command=command, came_back=back, attempt=attempt):
                came = " ".join(back.split())
                return "garbled", f"{command} came back as {came} (attempt {attempt}); it was not sent."
            case kinds.TypingRefused(command=command, why=why):
                return "typing", f"{command} was not typed: {why}."
            case kinds.TypingConfirmed(command=command):
                right = f"{command} came back right and was sent." if command else "A secret was sent."
                return "typing", right
            case kinds.TypingHeld():
                return "typing", "The machine asked for nothing to be typed (XOFF)."
            case kinds.TypingLetGo(held_us=held_us):
                return "typing", f"Typing could go on, after {held_us / S_US:.1f} s."
            case kinds.LandmarkReached(landmark=landmark, line=line):
                return "prompt", f"{landmark}: {line}"
            case kinds.InterruptionSeen(interruption=name, text=text):
                return "notice", f"{name}: {' '.join(text.split())}"
            case kinds.ReadingTaken(display=display, name=name, value=value, table=None):
                return "reading", f"{display}.{name} is {value}"
            case kinds.DiscErrorsCounted(by=by, count=count, entry=entry):
                return "reading", f"{count} new disc errors by {by}{f': {entry}' if entry else ''}"
        return None

    def _of_steps(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str] | None:
        said = self._privacy.said
        match fact:
            case kinds.ScriptStarted(script=script, round=number):
                return "script", f"{script} was started{f', round {number}' if number else ''}."
            case kinds.StepStarted(script=script, step=step, tidying=tidying):
                return "step", f"{script}.{step} began{' (tidying up)' if tidying else ''}."
            case kinds.StepMatched(name=name, line=line):
                return "step", f"It got what it waited for, {name}: {line}"
            case kinds.StepLeftOut(script=script, step=step, why=why):
                return "step", f"{script}.{step} was left out: {said(why)}."
            case kinds.StepOverdue(script=script, step=step, within_us=within_us, then=then):
                return "late", f"{script}.{step} was not done within {within_us / S_US:g} s; then: {then}."
            case kinds.StepFailed(script=script, step=step, why=why):
                return "late", f"{script}.{step} could not be done: {said(why)}."
            case kinds.StepEnded(script=script, step=step):
                return "step", f"{script}.{step} was done."
            case kinds.AnsweredLate(script=script, step=step, line=line):
                return "late", f"What {script}.{step} had waited for came too late: {line}"
            case kinds.TidyUpStarted(script=script, why=why):
                return "script", f"The tidy-up of {script} began: {said(why)}."
            case kinds.ScriptEnded(script=script, outcome=outcome, why=why):
                return "script", f"{script} ended: {outcome}{f', {said(why)}' if why else ''}."
            case kinds.SessionFailed(why=why):
                return "late", f"Nothing more was typed until somebody looked: {said(why)}."
            case kinds.ExerciserBegun(exerciser=name, job=job, part=part):
                return "part", f"The exerciser {name} began on {part} as job {job}."
            case kinds.ExerciserEnded(exerciser=name, job=job):
                return "part", f"The exerciser {name}, job {job}, ended."
            case kinds.PartStarted(part=part, by=by):
                return "part", f"{part} was started, says {by}."
            case kinds.PartStopped(part=part, by=by):
                return "part", f"{part} was stopped, says {by}."
        return None

    def _of_people(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str] | None:
        who, wrote = self._privacy.person, self._privacy.written
        match fact:
            case kinds.HandsOnAsked(step=step, words=words):
                return "by hand", f"Somebody was asked, {step}: {self.words(words)}"
            case kinds.HandsOnConfirmed(step=step, by=by):
                return "by hand", f"{who(by)} said that {step} is done."
            case kinds.HandsOnRefused(step=step, by=by, why=why):
                return "by hand", _with(f"{who(by)} said that {step} can't be done", wrote(why))
            case kinds.HandsOnPutOff(step=step, by=by, because=because):
                return "by hand", f"{who(by)} answered {step}: {because}."
            case kinds.RequestMade(request=request, by=by, why=why):
                said = wrote(why) if request != "note" else ""
                return "by hand", _with(f"{who(by)} asked for: {request}", said)
            case kinds.RequestRefused(request=request, why=why):
                return "by hand", f"{request} was refused: {self._privacy.said(why)}."
            case kinds.HandsOff(by=by):
                return "by hand", f"{who(by)} said hands off."
            case kinds.KeyboardTaken(by=by):
                return "by hand", f"{who(by)} took the keyboard."
            case kinds.KeyboardGivenBack(by=by):
                return "by hand", f"{who(by)} gave the keyboard back."
            case kinds.PackMounted(label=label, drive=drive, by=by):
                return "by hand", f"{who(by)} put the pack {label} into {drive}."
            case kinds.PackRemoved(label=label, drive=drive, by=by):
                return "by hand", f"{who(by)} took the pack {label} out of {drive}."
            case kinds.TroubleSeen(by=by):
                return "by hand", f"{who(by)} has seen the trouble."
            case kinds.TroubleSetAside(by=by, why=why):
                return "by hand", _with(f"{who(by)} set the trouble aside", wrote(why))
            case kinds.TroubleOver(by=by, how=how):
                return "by hand", _with(f"The trouble is over, says {who(by)}", wrote(how))
            case kinds.NoteMade(kind=kind, by=by, digest=digest):
                return "note", _with(f"{who(by)}: {kind}", self._privacy.note(digest))
        return None

    def _rest(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str]:
        match fact:
            case kinds.CaptionShown(words=words):
                return "caption", self.words(words)
            case kinds.DayTurned(phase=phase, by=by):
                return "day", f"The day came to {phase!r}, by {self._privacy.person(by)}."
            case kinds.ClockStepped(by_us=by_us):
                return "clock", f"The computer's clock jumped by {by_us / S_US:+.1f} s."
            case kinds.RecordingClosed(why=why):
                return "recording", f"The recording was closed: {why}."
            case kinds.UnknownFact(name=name):
                return "unknown", f"A fact of a kind that this version doesn't know: {name}."
        return "", ""


def _with(said: str, more: str) -> str:
    return f"{said}: {' '.join(more.split())}" if more.strip() else f"{said}."
