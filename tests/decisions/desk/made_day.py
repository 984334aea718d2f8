"""A day of the Heron in facts, for the tests of what a docent sees."""

from __future__ import annotations

from typing import Any

from exhibit.decisions.desk.desk_view import DeskView
from exhibit.facts import kinds
from exhibit.facts.docent_words import ForDocent, TidyStep
from exhibit.facts.visitor_words import DayHours, Hours
from tests.decisions.heron import S, in_english, opened

FOR_DOCENT = ForDocent(
    mains_stop=in_english("The red button beside the door"),
    keyholder=in_english("The duty engineer"),
    two_people=in_english("Never alone while it runs"),
    by_hand={"opening": ["key", "drive", "start"], "closing": ["stop", "lock"]},
    tidy_ups={
        "round": [TidyStep(name="stop-work", within_us=20 * S), TidyStep(name="let-go", within_us=10 * S)]
    },
)
HOURS = Hours(days=[DayHours(date="2026-11-25", opens="10:00", closes="17:00")])
CAUTION = in_english("Mains voltage behind the panels.")


class Told:
    """A view, and what is told to it; each fact comes a second after the one before."""

    def __init__(self, *facts: kinds.AnyFact, **first: Any) -> None:
        self.view = DeskView()
        self.at_us = -S
        self.tell(opened(for_docent=FOR_DOCENT, hours=HOURS, **first), kinds.LineOpened(line="x"), *facts)

    def tell(self, *facts: kinds.AnyFact, after_s: float = 1) -> Told:
        """Tell these facts."""
        for fact in facts:
            self.at_us += round(after_s * S)
            self.view.apply(kinds.Entry(self.view.seq + 1, self.at_us, fact))
        return self

    def __getitem__(self, name: str) -> Any:
        """An item as the page gets it."""
        return self.view.batch(0)["items"][name]


def asked(step: str = "drive", script: str = "opening", **more: Any) -> kinds.HandsOnAsked:
    given = {"words": in_english("Start the drive."), "caution": CAUTION}
    return kinds.HandsOnAsked(script=script, step=step, **given | more)


def overdue(step: str = "drive", script: str = "opening", **more: Any) -> kinds.StepOverdue:
    given: dict[str, Any] = {"waited_for": ["a person to confirm"], "within_us": 600 * S, "last_lines": []}
    return kinds.StepOverdue(script=script, step=step, then="ask", **given | more)


def trouble(name: str = "fire", line: str = "DRIVE LEFT FAILED") -> kinds.TroubleRaised:
    return kinds.TroubleRaised(
        trouble=name,
        line=line,
        words=in_english("A drive has failed."),
        do=in_english("Stop it at its front."),
        caution=CAUTION,
    )


def started(script: str = "round", round_: int = 1) -> kinds.ScriptStarted:
    return kinds.ScriptStarted(script=script, title=in_english("A round"), by="session", round=round_)


def ended(script: str = "round", outcome: kinds.Outcome = "done", why: str = "") -> kinds.ScriptEnded:
    return kinds.ScriptEnded(script=script, outcome=outcome, tidy=True, why=why)


def asks(request: Any, **more: Any) -> kinds.RequestMade:
    return kinds.RequestMade(request=request, by="docent 1", **more)


def prints(text: str) -> kinds.BytesReceived:
    return kinds.BytesReceived(bytes=text, first_us=0)
