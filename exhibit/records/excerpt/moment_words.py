"""Each fact that an engineer wants to read in an excerpt: of what kind it is, and a sentence."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.facts import kinds
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.told import told

WRONG: Final = frozenset({"trouble", "late", "garbled", "silent", "line lost"})
"""The kinds of moment at which something was wrong."""
_KINDS: Final[dict[type, str]] = {
    kinds.TroubleRaised: "trouble",
    kinds.LineOpened: "line",
    kinds.LineLost: "line lost",
    kinds.LineErrorsCounted: "line",
    kinds.MachineSilent: "silent",
    kinds.HeardAgain: "line",
    kinds.TypingGarbled: "garbled",
    kinds.TypingRefused: "typing",
    kinds.TypingConfirmed: "typing",
    kinds.TypingHeld: "typing",
    kinds.TypingLetGo: "typing",
    kinds.LandmarkReached: "prompt",
    kinds.InterruptionSeen: "notice",
    kinds.ReadingTaken: "reading",
    kinds.DiscErrorsCounted: "reading",
    kinds.ScriptStarted: "script",
    kinds.StepStarted: "step",
    kinds.StepMatched: "step",
    kinds.StepLeftOut: "step",
    kinds.StepOverdue: "late",
    kinds.StepFailed: "late",
    kinds.StepEnded: "step",
    kinds.AnsweredLate: "late",
    kinds.TidyUpStarted: "script",
    kinds.ScriptEnded: "script",
    kinds.SessionFailed: "late",
    kinds.ExerciserBegun: "part",
    kinds.ExerciserEnded: "part",
    kinds.PartStarted: "part",
    kinds.PartStopped: "part",
    kinds.HandsOnAsked: "by hand",
    kinds.HandsOnConfirmed: "by hand",
    kinds.HandsOnRefused: "by hand",
    kinds.HandsOnPutOff: "by hand",
    kinds.RequestMade: "by hand",
    kinds.RequestRefused: "by hand",
    kinds.HandsOff: "by hand",
    kinds.KeyboardTaken: "by hand",
    kinds.KeyboardGivenBack: "by hand",
    kinds.PackMounted: "by hand",
    kinds.PackRemoved: "by hand",
    kinds.TroubleSeen: "by hand",
    kinds.TroubleSetAside: "by hand",
    kinds.TroubleOver: "by hand",
    kinds.NoteMade: "note",
    kinds.CaptionShown: "caption",
    kinds.DayTurned: "day",
    kinds.ClockStepped: "clock",
    kinds.RecordingClosed: "recording",
    kinds.UnknownFact: "unknown",
}
_WRITTEN: Final = (kinds.HandsOnRefused, kinds.RequestMade, kinds.TroubleSetAside, kinds.TroubleOver)
"""Their reason is what a person wrote. Elsewhere the program gave it, and may quote a person."""


class MomentWords:
    """Says facts in words, in the language `tag` where a fact has words in it."""

    def __init__(self, tag: str, privacy: Privacy) -> None:
        self._tag = tag
        self._privacy = privacy

    def of(self, fact: kinds.AnyFact | kinds.UnknownFact) -> tuple[str, str]:
        """The kind of moment, and a sentence; both empty for what has no place of its own."""
        kind = _KINDS.get(type(fact), "")
        match fact:
            case kinds.ReadingTaken(table=list()):
                return "", ""
            case kinds.CaptionShown(words=words):
                return kind, self.words(words)
            case kinds.TroubleRaised(trouble=trouble, line=line, words=words, times=times):
                again = f" ({times} times now)" if times > 1 else ""
                return kind, f"{self.words(words).rstrip('.') or trouble}{again}: {line}"
            case kinds.NoteMade(kind=what, by=by, digest=digest):
                note = " ".join(self._privacy.note(digest).split())
                who = self._privacy.person(by)
                return kind, f"{who}: {what}: {note}" if note else f"{who}: {what}."
            case kinds.UnknownFact(name=name):
                return kind, f"A fact of a kind that this version doesn't know: {name}."
        return (kind, told(self._let_through(fact), self.words)) if kind else ("", "")

    def words(self, words: kinds.Words) -> str:
        """In the excerpt's language, or else in the first that there is."""
        return words.get(self._tag) or next(iter(words.values()), "")

    def _let_through(self, fact: kinds.AnyFact) -> kinds.AnyFact:
        """The fact with what of people may be in the excerpt."""
        reason = self._privacy.written if isinstance(fact, _WRITTEN) else self._privacy.said
        through = {"by": self._privacy.person, "why": reason, "how": reason}
        changed: dict[str, Any] = {
            name: let(getattr(fact, name)) for name, let in through.items() if hasattr(fact, name)
        }
        return msgspec.structs.replace(fact, **changed)
