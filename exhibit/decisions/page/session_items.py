"""What facts about scripts, steps and people change on the visitor page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, Literal

from exhibit.decisions.page.item_store import HIDDEN, ItemStore
from exhibit.decisions.page.may_run import IN_DOUBT, MAY_RUN
from exhibit.facts import kinds

_RAISED = f"{HIDDEN}trouble"
"""The item that keeps which fact raised the trouble that is shown."""
WAITS: Final = "waits"
"""The item: what a person has to begin, as {what, opens, closes}, with the doors' hours of the day; or null.

`what` is "going on" where no round begins, and "beginning" before the day was opened.
"""


def _script_started(items: ItemStore, fact: kinds.ScriptStarted) -> None:
    now = items.now()
    items.set("session", {"state": "running", "since": now, "until": "", "why": ""})
    items.set(
        "script",
        {
            "name": fact.script,
            "title": fact.title,
            "round": fact.round,
            "since": now,
            "tidying": False,
            "outcome": "",
            "ended": "",
            "tidy": False,
        },
    )
    items.set("step", None)
    items.set("hands_on", None)
    items.set("trouble", None)


def _step(items: ItemStore, fact: Any) -> None:
    states: dict[type, str] = {
        kinds.StepStarted: "started",
        kinds.StepOverdue: "overdue",
        kinds.StepFailed: "failed",
        kinds.StepEnded: "ended",
        kinds.StepLeftOut: "left out",
    }
    why = getattr(fact, "why", "")
    items.set("step", {"name": fact.step, "state": states[type(fact)], "since": items.now(), "why": why})
    asked = items.value("hands_on")
    goes_on = isinstance(fact, kinds.StepStarted) or getattr(fact, "then", "") in ("wait on", "ask")
    if asked and asked["step"] == fact.step and not goes_on:
        items.set("hands_on", None)


def _late_answered(items: ItemStore, fact: kinds.LateAnswered | kinds.PromptVouched) -> None:
    step = items.value("step")
    if step:
        items.set("step", {**step, "state": "started", "since": items.now()})


def _tidy_up_started(items: ItemStore, fact: kinds.TidyUpStarted) -> None:
    script = items.value("script")
    if script:
        items.set("script", {**script, "tidying": True})
    items.set("hands_on", None)


def _script_ended(items: ItemStore, fact: kinds.ScriptEnded) -> None:
    script = items.value("script")
    if script:
        ended = {"tidying": False, "outcome": fact.outcome, "ended": items.now(), "tidy": fact.tidy}
        items.set("script", {**script, **ended})
    items.set("step", None)
    items.set("hands_on", None)


def _session_failed(items: ItemStore, fact: kinds.SessionFailed) -> None:
    items.set("session", {"state": "failed", "since": items.now(), "until": "", "why": fact.why})
    items.set("hands_on", None)


def _session_cleared(items: ItemStore, _: kinds.SessionCleared) -> None:
    """Somebody has cleared the failure; the way home follows."""
    items.set("session", {"state": "running", "since": items.now(), "until": "", "why": ""})


def _day_turned(items: ItemStore, fact: kinds.DayTurned) -> None:
    what = "going on" if fact.phase in ("away", "nobody there", "stopped") else ""
    what = "beginning" if fact.phase == "before opening" else what
    items.set(WAITS, {"what": what, **_doors(items)} if what else None)


def _doors(items: ItemStore) -> dict[str, str]:
    """The doors' hours of this day; empty if nobody knows, or if they stay closed."""
    hours = (items.value("recording") or {}).get("hours") or {}
    every_day = [hours["every_day"]] if hours.get("every_day") else []
    of_today = [day for day in hours.get("days", []) if day["date"] == items.now()[:10]] or every_day
    return {name: of_today[0][name] if of_today else "" for name in ("opens", "closes")}


def _session_resting(items: ItemStore, fact: kinds.SessionResting) -> None:
    until = items.wall(fact.until_us) if fact.until_us else ""
    items.set("session", {"state": "resting", "since": items.now(), "until": until, "why": ""})


def _hands_on_asked(items: ItemStore, fact: kinds.HandsOnAsked) -> None:
    asked = {"step": fact.step, "words": fact.words, "caution": fact.caution, "since": items.now()}
    items.set("hands_on", asked)


def _hands_on_confirmed(items: ItemStore, fact: kinds.HandsOnConfirmed) -> None:
    items.set("hands_on", None)


def _hands_on_refused(items: ItemStore, fact: kinds.HandsOnRefused) -> None:
    items.set("hands_on", None)


def _trouble_raised(items: ItemStore, fact: kinds.TroubleRaised) -> None:
    if fact.since:
        return  # visitors see what happens to the machine now; the docent's page keeps the list
    if fact.repeats and items.value("trouble") and items.value(_RAISED) == fact.repeats:
        return
    items.set(_RAISED, fact.repeats or items.seq)
    trouble = {"name": fact.trouble, "words": fact.words, "line": fact.line, "at": items.now()}
    items.set("trouble", {**trouble, "caution": fact.caution, "do": fact.do})


def _trouble_over(items: ItemStore, fact: kinds.TroubleOver) -> None:
    if items.value(_RAISED) == fact.raised:
        items.set("trouble", None)


def _keyboard_taken(items: ItemStore, _: kinds.KeyboardTaken) -> None:
    # Who it is doesn't leave the museum's own pages.
    items.set("keyboard", {"who": "an engineer", "since": items.now()})


def _keyboard_given_back(items: ItemStore, _: kinds.KeyboardGivenBack) -> None:
    items.set("keyboard", None)


def _recording_closed(items: ItemStore, fact: kinds.RecordingClosed) -> None:
    items.set("closed", {"at": items.now(), "why": fact.why, "how": _how_it_ended(items)})
    items.set("hands_on", None)
    if items.value("keyboard"):
        items.set("keyboard", None)


def _how_it_ended(items: ItemStore) -> Literal["good order", "failed", "left open"]:
    """In good order only if the last script was tidied up, nothing failed since and no job may be running."""
    if (items.value("session") or {}).get("state") == "failed":
        return "failed"
    script = items.value("script")
    tidied_up = not script or (script["ended"] and script["tidy"] and script["outcome"] != "failed")
    may_run = any(not one["ends_us"] or one["ends_us"] > items.at_us for one in items.value(MAY_RUN) or ())
    return "good order" if tidied_up and not may_run and not items.value(IN_DOUBT) else "left open"


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.ScriptStarted: _script_started,
    kinds.StepStarted: _step,
    kinds.StepLeftOut: _step,
    kinds.StepOverdue: _step,
    kinds.LateAnswered: _late_answered,
    kinds.PromptVouched: _late_answered,
    kinds.StepFailed: _step,
    kinds.StepEnded: _step,
    kinds.TidyUpStarted: _tidy_up_started,
    kinds.ScriptEnded: _script_ended,
    kinds.SessionFailed: _session_failed,
    kinds.SessionCleared: _session_cleared,
    kinds.SessionResting: _session_resting,
    kinds.DayTurned: _day_turned,
    kinds.HandsOnAsked: _hands_on_asked,
    kinds.HandsOnConfirmed: _hands_on_confirmed,
    kinds.HandsOnRefused: _hands_on_refused,
    kinds.TroubleRaised: _trouble_raised,
    kinds.TroubleOver: _trouble_over,
    kinds.KeyboardTaken: _keyboard_taken,
    kinds.KeyboardGivenBack: _keyboard_given_back,
    kinds.RecordingClosed: _recording_closed,
}
"""What each kind of fact does to the items."""
