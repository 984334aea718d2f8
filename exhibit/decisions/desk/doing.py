"""The one thing that waits for a person: a step by hand, a question about a date, a late step, a failure."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.desk.done_before import LANGUAGES, directly_before, since_typed
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.panel.sequence import shown
from exhibit.facts import kinds
from exhibit.facts.units import S_US

DOING: Final = "doing"
"""The name of the item."""
BY_HAND: Final = "_by_hand"
_PARTS: Final = "_parts_by_step"
_DUE: Final = "_step_due"
_PROMPT: Final = "_prompt"
_PRINTED: Final = "_printed_us"
_LOOKED: Final = "_looked_at"
"""Why somebody had to look last, and how many times in a row it was that, with no script done in between."""
STEP: Final = "at_step"
"""The item: the script's step that runs now, since when and until when at most, and whether it was given its
time again; null if none does."""
_DONE: Final = "_done_by_hand"
"""By script and step: when it was last done by hand, until the closing is done."""
_STILL_PRINTS_US: Final = 10 * S_US


def none_yet(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(BY_HAND, fact.for_docent.by_hand)
    items.set(_PARTS, fact.for_docent.parts)
    for name in (DOING, STEP, _DUE, _PROMPT):
        items.set(name, None)
    items.set(_DONE, {})
    items.set(_LOOKED, {"why": "", "times": 0})
    items.set(_PRINTED, -1)


def _hands_on_asked(items: ItemStore, fact: kinds.HandsOnAsked) -> None:
    steps: list[str] = items.value(BY_HAND).get(fact.script, [])
    items.set(
        DOING,
        {
            "kind": "hands on" if fact.caution else "date",
            "script": fact.script,
            "step": fact.step,
            "number": steps.index(fact.step) + 1 if fact.step in steps else 0,
            "count": len(steps),
            "words": fact.words,
            "caution": fact.caution,
            "since": items.now(),
            "until": items.value(_DUE) or "",
            "late": fact.late,
            "asked": items.seq,
            "part": items.value(_PARTS).get(f"{fact.script}.{fact.step}", ""),
            "panel": shown(fact.panel, items.value(LANGUAGES)),
            "because": None,
            "advice": None,
            "before": directly_before(items),
            "done_at": items.value(_DONE).get(f"{fact.script}.{fact.step}", ""),
        },
    )
    _no_step(items, fact)


def _put_off(items: ItemStore, fact: kinds.HandsOnPutOff) -> None:
    asked = items.value(DOING)
    if asked and asked["step"] == fact.step:
        because = {
            "because": fact.because,
            "words": fact.words,
            "by": fact.by,
            "at": items.now(),
            "answered": False,
        }
        kind = asked.get("was") or asked["kind"]
        items.set(DOING, {**asked, "kind": kind, "because": because, "advice": None})


def _goes_on(items: ItemStore) -> None:
    """The machine shows something known: what it said of the step by hand may be untrue by now."""
    asked = items.value(DOING)
    because = asked and asked["because"]
    if because and because["by"] == MACHINE and not because["answered"]:
        items.set(DOING, {**asked, "because": {**because, "answered": True}})


def _line_seen(items: ItemStore, _: kinds.PatternSeen) -> None:
    _goes_on(items)


def _overdue(items: ItemStore, fact: kinds.StepOverdue) -> None:
    step = items.value(STEP)
    if fact.then == "wait on" and step and step["name"] == fact.step:
        items.set(STEP, {**step, "again": True})
    asked = items.value(DOING)
    if fact.then == "wait on" and asked and asked["step"] == fact.step:
        items.set(DOING, {**asked, "late": "stop"})  # the time is given again only once
    if fact.then != "ask":
        return
    by_hand = bool(asked) and asked["step"] == fact.step and asked["kind"] in ("hands on", "date")
    late = {
        "kind": "late",
        "was": asked["kind"] if by_hand else "",
        "script": fact.script,
        "step": fact.step,
        "words": asked["words"] if by_hand else {},
        "caution": asked["caution"] if by_hand else {},
        "since": items.now(),
        "until": "",
        "asked": items.seq,
        "because": None,
        "advice": _advice(items, fact, by_hand=by_hand),
    }
    items.set(DOING, {**asked, **late} if by_hand else {**late, "before": since_typed(items)})


def _advice(items: ItemStore, fact: kinds.StepOverdue, *, by_hand: bool) -> dict[str, Any]:
    """What a person can choose by."""
    prompt, printed_us = items.value(_PROMPT), items.value(_PRINTED)
    if by_hand:
        seen = "nobody confirmed"
    elif printed_us >= 0 and items.at_us - printed_us < _STILL_PRINTS_US:
        seen = "still printing"
    elif prompt and prompt not in fact.waited_for:
        seen = "another prompt"
    elif prompt:
        seen = "its prompt"
    elif fact.last_lines:
        seen = "quiet"
    else:
        seen = "nothing"
    return {
        "seen": seen,
        "waited_for": fact.waited_for,
        "within_s": round(fact.within_us / S_US / items.value("_rate")),
        "lines": fact.last_lines,
        "prompt": prompt or "",
        "may_be_prompt": fact.at_prompt,
    }


def _session_failed(items: ItemStore, fact: kinds.SessionFailed) -> None:
    _no_step(items, fact)
    _look(items, fact.why, fact.last_lines)


def _person_asked(items: ItemStore, fact: kinds.PersonAsked) -> None:
    _look(items, fact.why, [row for row in fact.rows if row.strip()])


def _look(items: ItemStore, why: str, lines: list[str]) -> None:
    asked = items.value(DOING)
    if asked and asked["kind"] == "failure":
        times = asked["advice"]["times"]  # a person is asked, and the scripts stop: that is one matter
    else:
        looked = items.value(_LOOKED)
        times = looked["times"] + 1 if looked["why"] == why else 1
    items.set(_LOOKED, {"why": why, "times": times})
    items.set(
        DOING,
        {
            "kind": "failure",
            "script": "",
            "step": "",
            "words": {},
            "caution": {},
            "since": items.now(),
            "until": "",
            "asked": items.seq,
            "because": None,
            "advice": {"why": why, "lines": lines[-8:], "times": times},
        },
    )


def _step_over(items: ItemStore, fact: Any) -> None:
    _no_step(items, fact)
    asked = items.value(DOING)
    if asked and asked["kind"] != "failure" and asked["step"] == fact.step:
        items.set(DOING, None)


def _confirmed(items: ItemStore, fact: kinds.HandsOnConfirmed) -> None:
    asked = items.value(DOING)
    if asked and asked["step"] == fact.step and asked["script"]:
        items.set(_DONE, {**items.value(_DONE), f"{asked['script']}.{fact.step}": items.now()})
    _step_over(items, fact)


def _late_answered(items: ItemStore, fact: kinds.LateAnswered) -> None:
    asked = items.value(DOING)
    if not asked or asked["kind"] != "late" or asked["step"] != fact.step:
        return
    goes_on = fact.answer == "wait on" and asked["was"]
    items.set(DOING, {**asked, "kind": asked["was"], "advice": None} if goes_on else None)


def _script_over(items: ItemStore, fact: Any) -> None:
    """A question of a script ends with the script; a failure stays."""
    if isinstance(fact, kinds.ScriptEnded) and fact.outcome == "done":
        items.set(_LOOKED, {"why": "", "times": 0})
    _no_step(items, fact)
    if isinstance(fact, kinds.ScriptEnded) and (fact.script, fact.outcome) == ("closing", "done"):
        items.set(_DONE, {})
    asked = items.value(DOING)
    if asked and asked["kind"] != "failure":
        items.set(DOING, None)


def _over(items: ItemStore, fact: Any) -> None:
    _no_step(items, fact)
    if items.value(DOING):
        items.set(DOING, None)


def _day_turned(items: ItemStore, fact: kinds.DayTurned) -> None:
    """A day that is over waits for nobody: a closing that had failed was given up."""
    if fact.phase == "over":
        _over(items, fact)


def _armed(items: ItemStore, fact: kinds.DeadlineArmed) -> None:
    if fact.name != "step":
        return
    until = items.wall(fact.due_us)
    if step := items.value(STEP):
        items.set(STEP, {**step, "until": until})
    items.set(_DUE, until)
    asked = items.value(DOING)
    if asked and asked["kind"] in ("hands on", "date"):
        items.set(DOING, {**asked, "until": until})


def _step_started(items: ItemStore, fact: kinds.StepStarted) -> None:
    items.set(
        STEP, {"script": fact.script, "name": fact.step, "since": items.now(), "until": "", "again": False}
    )


def _no_step(items: ItemStore, _: Any) -> None:
    if items.value(STEP):
        items.set(STEP, None)


def _received(items: ItemStore, _: kinds.BytesReceived) -> None:
    items.set(_PRINTED, items.at_us)
    if items.value(_PROMPT) is not None:
        items.set(_PROMPT, None)


def _prompt_shows(items: ItemStore, fact: kinds.LandmarkReached) -> None:
    items.set(_PROMPT, fact.landmark)
    _goes_on(items)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.BytesReceived: _received,
    kinds.LandmarkReached: _prompt_shows,
    kinds.PatternSeen: _line_seen,
    kinds.DeadlineArmed: _armed,
    kinds.StepStarted: _step_started,
    kinds.HandsOnAsked: _hands_on_asked,
    kinds.HandsOnPutOff: _put_off,
    kinds.HandsOnConfirmed: _confirmed,
    kinds.HandsOnRefused: _step_over,
    kinds.StepOverdue: _overdue,
    kinds.StepEnded: _step_over,
    kinds.StepFailed: _step_over,
    kinds.StepLeftOut: _step_over,
    kinds.LateAnswered: _late_answered,
    kinds.PromptVouched: _step_over,
    kinds.TidyUpStarted: _script_over,
    kinds.ScriptEnded: _script_over,
    kinds.SessionFailed: _session_failed,
    kinds.PersonAsked: _person_asked,
    kinds.SessionCleared: _over,
    kinds.DayTurned: _day_turned,
    kinds.ScriptStarted: _over,
    kinds.RecordingClosed: _over,
}
"""What each kind of fact does to the item."""
