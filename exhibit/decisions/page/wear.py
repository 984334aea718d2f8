"""What the page shows of wear: the hours that each part has run, and why the machine rests."""

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
    """For each part: the hours that it had run before its last start, and since when it is running, if it is.

    A part that is already running has `counted`, the hours that it had run by the time `at`, which is `now`.
    When it stops, the time since `at` is added to them.
    """
    before = opened.use_before
    if before is None:
        return {}
    try:
        known = read_wall(opened.wall) - read_wall(before.at) <= timedelta(microseconds=LONG_GAP_US)
    except RecordingFault:
        known = False  # the time can't be read, but the hours still count
    hours: dict[str, Any] = {}
    for part, use in before.parts.items():
        ran = use.run_us / H_US
        hours[part] = {"hours": ran, "since": ""}
        if known and use.running_since:
            # If the start isn't known, the running time counts from here on.
            start = {"hours": use.ran_before_us / H_US, "since": use.since} if use.since else {"since": now}
            hours[part] |= {**start, "counted": ran, "at": now}
    return hours


def _part_started(items: ItemStore, fact: kinds.PartStarted) -> None:
    """A part that is already running stays as it is: a person and the machine may both report one start."""
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
    items.set("refused", {"script": fact.script, "limit": fact.limit, "why": fact.why, "until": until})


def _script_started(items: ItemStore, fact: kinds.ScriptStarted) -> None:
    items.set("refused", None)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.PartStarted: _part_started,
    kinds.PartStopped: _part_stopped,
    kinds.PackRemoved: _pack_removed,
    kinds.ScriptRefused: _script_refused,
    kinds.ScriptStarted: _script_started,
}
"""What each kind of fact does to the items."""
