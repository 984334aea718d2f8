"""What visitors are told of wear: the hours that each part has run, why the machine rests."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.wear.use import LONG_GAP_US
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import RecordingFault
from exhibit.facts.units import H_US


def hours_at(opened: kinds.RecordingOpened, now: str) -> dict[str, Any]:
    """By part: the hours that it had run before it was started, and since when it runs, if it does.

    Of a part that runs already `counted` is what it had run by `now`, `at`: what stopped it adds to that.
    """
    before = opened.use_before
    if before is None:
        return {}
    try:
        known = read_wall(opened.wall) - read_wall(before.at) <= timedelta(microseconds=LONG_GAP_US)
    except RecordingFault:
        known = False  # nobody can tell when that was: what it says of hours still counts
    hours: dict[str, Any] = {}
    for part, use in before.parts.items():
        ran = use.run_us / H_US
        hours[part] = {"hours": ran, "since": ""}
        if known and use.running_since:
            # Where the start isn't known, what it ran counts from here on.
            began = {"hours": use.ran_before_us / H_US, "since": use.since} if use.since else {"since": now}
            hours[part] |= {**began, "counted": ran, "at": now}
    return hours


def _part_started(items: ItemStore, fact: kinds.PartStarted) -> None:
    """One that runs already is told of by somebody else too."""
    hours = items.value("hours") or {}
    had = hours.get(fact.part, {"hours": 0.0, "since": ""})
    if not had["since"]:
        had = {**had, "since": items.now(), "counted": had["hours"], "at": items.now()}
    items.set("hours", {**hours, fact.part: had})


def _part_stopped(items: ItemStore, fact: kinds.PartStopped) -> None:
    hours = items.value("hours") or {}
    had = hours.get(fact.part)
    if had and had["since"]:
        ran = (read_wall(items.now()) - read_wall(had["at"])) / timedelta(hours=1)
        items.set("hours", {**hours, fact.part: {"hours": had["counted"] + max(0.0, ran), "since": ""}})


def _pack_removed(items: ItemStore, fact: kinds.PackRemoved) -> None:
    packs = items.value("packs") or {}
    items.set("packs", {drive: pack for drive, pack in packs.items() if drive != fact.drive})


def _script_refused(items: ItemStore, fact: kinds.ScriptRefused) -> None:
    until = items.wall(fact.until_us) if fact.until_us else ""
    items.set("held", {"script": fact.script, "limit": fact.limit, "why": fact.why, "until": until})


def _script_started(items: ItemStore, fact: kinds.ScriptStarted) -> None:
    items.set("held", None)


SHOWERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.PartStarted: _part_started,
    kinds.PartStopped: _part_stopped,
    kinds.PackRemoved: _pack_removed,
    kinds.ScriptRefused: _script_refused,
    kinds.ScriptStarted: _script_started,
}
"""What each kind of fact does to the items."""
