"""What the day has come to and what comes next; and what was done in it.

The facts of the day say what phase it is in. Where there are none, the scripts that run show it.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.machine.script import HOME
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.session.day_phase import reason_itself
from exhibit.decisions.session.day_programme import HOURS, LIMITS, PACKS, PARTS
from exhibit.facts import kinds
from exhibit.facts.wall_times import minutes_between

TODAY: Final = "today"
DONE_TODAY: Final = "done_today"
"""The names of the items."""
_HOURS: Final = "_hours"
_SCRIPTS: Final = {"opening": "opening", "closing": "closing"}
_EARLIER: Final[dict[str, tuple[str, ...]]] = {
    "opening": ("before opening",),
    "rounds": ("before opening", "opening"),
    "closing": ("before opening", "opening", "rounds"),
}
"""The phases that a script's start ends, where no fact of the day has."""
_STOPPED: Final = "_stopped_in"
"""What goes on after "stopped", as the facts of the day have it; "" while they say nothing."""
_BY_HAND: Final = "_steps_by_hand"
_OF_ITS_OWN: Final = ("before opening", "opening", "closing", "over")
"""The phases that go on as they were after "stopped"; after the others the rounds do."""
_CLOSED_BY: Final = "_closed_by"
_SETTINGS: Final = (HOURS, LIMITS)
"""What ends a day of which no round can begin any more, so that opening it again would lead nowhere."""
_HELD: Final = "_held"
"""What a person has to see to before a round begins: {by, why, since}; null once anything has begun since."""
_WAITS: Final = ("away", "quiet", "nobody there", "stopped")


def none_yet(items: ItemStore, fact: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(_HOURS, {day.date: day.closes for day in fact.hours.days} if fact.hours else {})
    items.set(_STOPPED, "")
    items.set(_CLOSED_BY, "")
    items.set(_HELD, None)
    items.set(_BY_HAND, {script: len(steps) for script, steps in fact.for_docent.by_hand.items()})
    _turn(items, "before opening", by="", why="", until="")
    items.set(
        DONE_TODAY,
        {
            "date": items.now()[:10],
            "rounds": 0,
            "unfinished": [],
            "held": "",
            "minutes": 0,
            "troubles": 0,
            "errors": None,
            "errors_at": "",
            "notes": 0,
            "photographs": 0,
            "kept": 0,
        },
    )


def take_visitors(items: ItemStore, day: dict[str, Any], sums: dict[str, Any], now: str) -> None:
    """What the visitors' picture counts: it knows of earlier recordings of this day too."""
    spans = day["spans"]
    minutes = sum(minutes_between(span["from"], span["until"] or now) for span in spans)
    counted = {"rounds": sums["rounds"], "minutes": minutes}
    counted |= {name: sums[name] for name in ("errors", "errors_at")}
    done = items.value(DONE_TODAY)
    if any(done[name] != value for name, value in counted.items()):
        items.set(DONE_TODAY, {**done, **counted})
    _next(items, day["next"])


def _day_turned(items: ItemStore, fact: kinds.DayTurned) -> None:
    until = items.wall(fact.until_us) if fact.until_us else ""
    if fact.phase == "closing":
        items.set(_CLOSED_BY, fact.why if fact.by in _SETTINGS else "")
    elif fact.phase != "over":
        items.set(_CLOSED_BY, "")
    if fact.phase != "stopped":
        items.set(_STOPPED, fact.phase if fact.phase in _OF_ITS_OWN else "rounds")
    _turn(items, fact.phase, by=fact.by, why=fact.why, until=until)
    if fact.phase == "stopped" and fact.by in (PACKS, PARTS):
        _hold(items, fact)


def _hold(items: ItemStore, fact: kinds.DayTurned) -> None:
    """The rounds wait for a person; if they did for the same reason just before, it was looked at again.

    Where they did so already before midnight or a restart, this recording doesn't know since when.
    """
    held, why = items.value(_HELD), reason_itself(fact.why)
    items.set(DONE_TODAY, {**items.value(DONE_TODAY), "held": why})
    if held and (held["by"], held["why"]) == (fact.by, why):
        items.set(TODAY, {**items.value(TODAY), "since": held["since"], "looked": items.now()})
        return
    since = items.now() if why == fact.why else ""
    items.set(_HELD, {"by": fact.by, "why": why, "since": since})
    items.set(TODAY, {**items.value(TODAY), "since": since})


def _no_longer_held(items: ItemStore, _: Any) -> None:
    """Something has begun since, so what stands afterwards is a new matter."""
    if items.value(_HELD):
        items.set(_HELD, None)


def _turn(items: ItemStore, phase: str, *, by: str, why: str, until: str) -> None:
    items.set(
        TODAY,
        {
            "phase": phase,
            "since": items.now(),
            "until": until,
            "by": by,
            "why": why,
            "resumes": (items.value(_STOPPED) or "rounds") if phase == "stopped" else "",
            "closed_by": items.value(_CLOSED_BY) if phase in ("closing", "over") else "",
            "hands": items.value(_BY_HAND).get("closing", 0) if phase == "closing" else 0,
            "begun": False,
            "looked": "",
            "next": [],
        },
    )


def _left_before(items: ItemStore, fact: kinds.LastRecordingRead | kinds.CarriedOver) -> None:
    """The recording before says how its day stood."""
    if fact.day is not None:
        items.set(_STOPPED, fact.day.resumes)


def _script_started(items: ItemStore, fact: kinds.ScriptStarted) -> None:
    if fact.script != HOME:
        _no_longer_held(items, fact)
    begins = "rounds" if fact.round else _SCRIPTS.get(fact.script, "")
    if items.value(TODAY)["phase"] in _EARLIER.get(begins, ()):
        _turn(items, begins, by=fact.by, why="", until="")
    if fact.script == "closing" == items.value(TODAY)["phase"]:
        items.set(TODAY, {**items.value(TODAY), "begun": True})


def _script_ended(items: ItemStore, fact: kinds.ScriptEnded) -> None:
    phase = items.value(TODAY)["phase"]
    if fact.script == "closing" and fact.outcome == "done" and phase == "closing":
        _turn(items, "over", by="", why="", until="")
    if fact.outcome != "done":
        done = items.value(DONE_TODAY)
        one = {"script": fact.script, "at": items.now(), "outcome": fact.outcome, "why": fact.why}
        items.set(DONE_TODAY, {**done, "unfinished": [*done["unfinished"], one][-20:]})


def _next(items: ItemStore, coming: dict[str, Any] | None) -> None:
    """What comes next, the nearest first, as far as that is known."""
    today = items.value(TODAY)
    phase, closes = today["phase"], items.value(_HOURS).get(items.now()[:10], "")
    found: list[dict[str, str]] = []
    if phase == "before opening":
        found.append({"what": "opening", "at": ""})
    elif phase == "opening":
        found.append({"what": "rounds", "at": ""})
    elif phase in _WAITS and today["until"]:
        found.append({"what": "rounds", "at": today["until"]})
    elif phase == "rounds" and coming:
        found.append({"what": coming["what"], "at": coming["at"]})
    elif phase == "closing":
        found.append({"what": "over" if today["begun"] else "closing", "at": ""})
    ends = phase not in ("closing", "over") and not any(one["what"] == "closing" for one in found)
    if ends and closes:
        found.append({"what": "closes", "at": f"{items.now()[:10]}T{closes}"})
    if found != today["next"]:
        items.set(TODAY, {**today, "next": found})


def _count(items: ItemStore, name: str) -> None:
    done = items.value(DONE_TODAY)
    items.set(DONE_TODAY, {**done, name: done[name] + 1})


def _note_made(items: ItemStore, fact: kinds.NoteMade) -> None:
    names: dict[kinds.NoteKind, str] = {"note": "notes", "photograph": "photographs", "minutes kept": "kept"}
    _count(items, names[fact.kind])


def _midnight(items: ItemStore, _: kinds.Heartbeat) -> None:
    """A new day begins with nothing done."""
    done = items.value(DONE_TODAY)
    if items.now()[:10] != done["date"]:
        nothing = {"unfinished": [], "held": "", "troubles": 0, "notes": 0, "photographs": 0, "kept": 0}
        items.set(DONE_TODAY, {**done, **nothing, "date": items.now()[:10]})


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.LastRecordingRead: _left_before,
    kinds.CarriedOver: _left_before,
    kinds.DayTurned: _day_turned,
    kinds.ScriptStarted: _script_started,
    kinds.ScriptEnded: _script_ended,
    kinds.TroubleRaised: lambda items, fact: None if fact.since else _count(items, "troubles"),
    kinds.PartStarted: _no_longer_held,
    kinds.NoteMade: _note_made,
    kinds.Heartbeat: _midnight,
}
"""What each kind of fact does to the items."""
