"""How a practice went: the steps by hand, each against its time, and what became of a mistake. No marks.

What somebody practises with is recorded as a request by PRACTICE whose reason is the mistake's name.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.desk.practice_words import told
from exhibit.decisions.machine.script import ROUND
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.session.day_programme import BY_ITSELF
from exhibit.facts import kinds
from exhibit.facts.units import S_US

PRACTICE: Final = "practice"
"""The name of the item, and who makes the mistakes."""
_KEPT: Final = "_practised"
_ANSWERS: Final[dict[str, str]] = {
    "stop": "stop",
    "hands off": "hands off",
    "seen": "seen",
    "set aside": "set aside",
    "over": "over",
    "refuse": "refuse",
    "too early": "too early",
    "didn't": "didn't",
    "not yet": "not yet",
    "wait on": "wait on",
    "leave out": "leave out",
    "clear": "clear",
    "close": "close",
}
"""What shows that a person has noticed something."""
RIGHT: Final[dict[str, frozenset[str]]] = {
    "early": frozenset({"too early"}),
    "pack": frozenset({"seen", "set aside", "stop", "refuse", "didn't"}),
    "power": frozenset({"hands off", "stop"}),
    "job": frozenset({"stop", "hands off"}),
}
"""By mistake: the first answers that it wants."""


def none_yet(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(_KEPT, {"steps": {}, "mistake": None, "times": {}} if fact.practice else None)
    items.set(PRACTICE, None)


def _asked(items: ItemStore, fact: kinds.HandsOnAsked) -> None:
    if (kept := items.value(_KEPT)) is None:
        return
    name = f"{fact.script}.{fact.step}"
    before = kept["steps"].get(name, {"allowed_s": 0, "took_s": None, "put_off": []})
    due_us = kept.get("due_us", 0)
    step = {**before, "script": fact.script, "step": fact.step, "words": fact.words, "since_us": items.at_us}
    if due_us > items.at_us:
        step["allowed_s"] = round((due_us - items.at_us) / S_US)
    items.set(_KEPT, {**kept, "steps": {**kept["steps"], name: step}, "now": name})


def _armed(items: ItemStore, fact: kinds.DeadlineArmed) -> None:
    if fact.name != "step" or (kept := items.value(_KEPT)) is None:
        return
    kept = {**kept, "due_us": fact.due_us}
    step = kept["steps"].get(kept.get("now", ""))
    if step is not None and not step["allowed_s"] and step["since_us"] == items.at_us:
        allowed_s = round((fact.due_us - items.at_us) / S_US)
        kept["steps"] = {**kept["steps"], kept["now"]: {**step, "allowed_s": allowed_s}}
    items.set(_KEPT, kept)


def _confirmed(items: ItemStore, fact: kinds.HandsOnConfirmed) -> None:
    if (kept := items.value(_KEPT)) is None or (found := _open(kept, fact.step)) is None:
        return
    step = kept["steps"][found]
    # A step that was asked for again has taken the time of both.
    took_s = (step["took_s"] or 0) + round((items.at_us - step["since_us"]) / S_US)
    items.set(_KEPT, {**kept, "steps": {**kept["steps"], found: {**step, "took_s": took_s}}})


def _put_off(items: ItemStore, fact: kinds.HandsOnPutOff) -> None:
    if (kept := items.value(_KEPT)) is None or (found := _open(kept, fact.step)) is None:
        return
    step = kept["steps"][found]
    by_machine = fact.by == MACHINE  # the machine showed it, so that is no answer of the docent's
    put_off = step if by_machine else {**step, "put_off": [*step["put_off"], fact.because]}
    mistake = kept["mistake"]
    if mistake and by_machine:
        mistake = {**mistake, "shown": mistake["shown"] + 1}
    items.set(_KEPT, {**kept, "steps": {**kept["steps"], found: put_off}, "mistake": mistake})


def _requested(items: ItemStore, fact: kinds.RequestMade) -> None:
    if (kept := items.value(_KEPT)) is None:
        return
    mistake = kept["mistake"]
    if fact.by == PRACTICE:
        mistake = {
            "name": fact.why,
            "at_us": items.at_us,
            "answer": "",
            "after_s": 0,
            "right": False,
            "shown": 0,
        }
        items.set(_KEPT, {**kept, "mistake": mistake})
    elif mistake and not mistake["right"] and (answer := _ANSWERS.get(fact.request, "")):
        right = answer in RIGHT.get(mistake["name"], ())
        if right or not mistake["answer"]:
            after_s = round((items.at_us - mistake["at_us"]) / S_US)
            now = {**mistake, "answer": answer, "after_s": after_s, "right": right}
            items.set(_KEPT, {**kept, "mistake": now})


def _tell(items: ItemStore, _: Any) -> None:
    """Says how it went, as far as it has come."""
    if (kept := items.value(_KEPT)) is not None:
        items.set(PRACTICE, told(list(kept["steps"].values()), kept["mistake"], kept["times"]))


def _count(items: ItemStore, name: str) -> None:
    if (kept := items.value(_KEPT)) is not None:
        times = kept["times"]
        items.set(_KEPT, {**kept, "times": {**times, name: times.get(name, 0) + 1}})


def _script_ended(items: ItemStore, fact: kinds.ScriptEnded) -> None:
    if fact.script == ROUND and fact.outcome == "done":
        _count(items, "rounds")


def _turned(items: ItemStore, fact: kinds.DayTurned) -> None:
    if fact.phase in ("away", "stopped") and fact.by not in BY_ITSELF:
        _count(items, fact.phase)
    if fact.phase == "over":
        _tell(items, fact)


def _open(kept: dict[str, Any], step: str) -> str | None:
    """The name of the step of that name which was asked for last."""
    return next((name for name, one in reversed(kept["steps"].items()) if one["step"] == step), None)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.HandsOnAsked: _asked,
    kinds.DeadlineArmed: _armed,
    kinds.HandsOnConfirmed: _confirmed,
    kinds.HandsOnPutOff: _put_off,
    kinds.RequestMade: _requested,
    kinds.DayTurned: _turned,
    kinds.ScriptEnded: _script_ended,
    kinds.RecordingClosed: _tell,
}
"""What each kind of fact does to the item."""
