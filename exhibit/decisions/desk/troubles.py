"""The troubles of this recording, and what became of each: needs you, seen, set aside, over.

The same trouble again, while the first isn't over, is the same one, told once: its count goes up.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.facts import kinds
from exhibit.facts.units import S_US

TROUBLES: Final = "troubles"
"""The name of the item."""
_ALL: Final = "_troubles"
MOST_SHOWN: Final = 8
OVER_FOR_US: Final = 600 * S_US
"""Real time for which a trouble that is over still stands in the list."""
_LINES: Final = 8
_ORDER: Final = ("needs you", "set aside", "seen", "over")
_INSIDE: Final = ("numbers", "changed_us", "until_us")


def none_yet(items: ItemStore, _: kinds.RecordingOpened) -> None:
    """A recording begins."""
    items.set(_ALL, [])
    items.set(TROUBLES, [])


def raised(items: ItemStore, fact: kinds.TroubleRaised, rows: list[str]) -> None:
    """The machine printed something that means trouble; `rows` are those of the console."""
    troubles: list[dict[str, Any]] = items.value(_ALL)
    if fact.since:  # the console shows other things by now
        rows = [fact.line]
    lines = [row.rstrip() for row in rows if row.strip()][-_LINES:]
    for trouble in troubles:
        if trouble["name"] == fact.trouble and trouble["state"] != "over":
            again = {"times": trouble["times"] + 1, "last": items.now(), "lines": lines or [fact.line]}
            numbers = [*trouble["numbers"], items.seq]
            _change(items, trouble, **again, numbers=numbers)
            return
    new = {
        "raised": items.seq,
        "name": fact.trouble,
        "words": fact.words,
        "do": fact.do,
        "caution": fact.caution,
        "line": fact.line,
        "lines": lines or ([fact.line] if fact.line else []),
        "safe_to_leave": fact.safe_to_leave,
        "call": fact.call,
        "state": "needs you",
        "since": fact.since or items.now(),
        "last": fact.since or items.now(),
        "times": 1,
        "until": "",
        "why": "",
        "numbers": [items.seq],
        "changed_us": items.at_us,
        "until_us": 0,
    }
    _keep(items, [*troubles, new])


def time_passed(items: ItemStore) -> None:
    """What was set aside for a while needs somebody again, and what has long been over leaves the list."""
    rate = items.value("_rate")
    for trouble in items.value(_ALL) or ():
        if trouble["state"] == "set aside" and 0 < trouble["until_us"] <= items.at_us:
            _change(items, trouble, state="needs you", until="", why="", until_us=0)
        elif trouble["state"] == "over" and items.at_us - trouble["changed_us"] >= OVER_FOR_US * rate:
            _keep(items, [one for one in items.value(_ALL) if one["raised"] != trouble["raised"]])


def _seen(items: ItemStore, fact: kinds.TroubleSeen) -> None:
    _turn(items, fact.raised, state="seen", until="", until_us=0)


def _set_aside(items: ItemStore, fact: kinds.TroubleSetAside) -> None:
    until = items.wall(fact.until_us)
    _turn(items, fact.raised, state="set aside", until=until, until_us=fact.until_us, why=fact.why)


def _over(items: ItemStore, fact: kinds.TroubleOver) -> None:
    _turn(items, fact.raised, state="over", until="", until_us=0, why=fact.how)


def _cleared(items: ItemStore, _: kinds.SessionCleared) -> None:
    """Somebody has looked at the machine."""
    for trouble in items.value(_ALL):
        if trouble["state"] == "needs you":
            _change(items, trouble, state="seen")


def _turn(items: ItemStore, number: int, **to: Any) -> None:
    for trouble in items.value(_ALL):
        if number in trouble["numbers"] and trouble["state"] != "over":
            _change(items, trouble, **to)


def _change(items: ItemStore, changed: dict[str, Any], **to: Any) -> None:
    if to.get("state", changed["state"]) != changed["state"]:
        to["changed_us"] = items.at_us
    new = {**changed, **to}
    _keep(items, [new if one["raised"] == changed["raised"] else one for one in items.value(_ALL)])


def _keep(items: ItemStore, troubles: list[dict[str, Any]]) -> None:
    items.set(_ALL, troubles)
    latest_first = sorted(troubles, key=lambda one: -int(one["raised"]))
    shown = sorted(latest_first, key=lambda one: _ORDER.index(one["state"]))[:MOST_SHOWN]
    items.set(TROUBLES, [{k: v for k, v in one.items() if k not in _INSIDE} for one in shown])


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.RecordingOpened: none_yet,
    kinds.TroubleSeen: _seen,
    kinds.TroubleSetAside: _set_aside,
    kinds.TroubleOver: _over,
    kinds.SessionCleared: _cleared,
}
"""What each kind of fact does to the item; for a trouble that is raised, see `raised`."""
