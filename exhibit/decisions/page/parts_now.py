"""Which parts of the machine are running, as far as facts show it, and whose store was tested.

Only the machine's own line says that a part runs; a person's step says that it was started. While the line is
lost or the machine is silent, nobody knows. Afterwards three things show that a part runs: a start; work that
was read off a display; and, after a silence alone, that the machine is where it was before, and so went on.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.standing import SHARE, TRANSFERS
from exhibit.facts import kinds

PARTS: Final = "parts"
TESTED: Final = "tested"
"""The names of the items."""
_BEFORE: Final = "_parts_before"
"""What was known before the machine fell silent, and where it was then."""
_LANDMARK: Final = "_landmark"
RUNS, STARTING, STANDS, NOT_KNOWN = "runs", "starting", "stands", "not known"
_PERSON, _MACHINE = "a person", "the machine"


def not_known_yet(items: ItemStore, opened: kinds.RecordingOpened) -> None:
    """A recording begins, and nobody knows yet what runs."""
    items.set(PARTS, {part: _entry(items, NOT_KNOWN) for part in opened.marked})
    items.set(TESTED, {})
    items.set(_BEFORE, None)
    items.set(_LANDMARK, "")


def carry_over(items: ItemStore, opened: kinds.RecordingOpened) -> None:
    """The recording continues the one before, without a gap: what ran runs on."""
    parts = dict(items.value(PARTS) or {})
    for part, use in (opened.use_before.parts if opened.use_before else {}).items():
        if part in parts or not opened.marked:
            state = RUNS if _MACHINE in use.running_since else STARTING if use.running_since else STANDS
            parts[part] = {**_entry(items, state, list(use.running_since)), "since": use.since}
    items.set(PARTS, parts)


def nobody_knows(items: ItemStore, but: str = "") -> None:
    """It isn't known any more what runs, except for part `but`."""
    parts = items.value(PARTS) or {}
    known = any(one["state"] != NOT_KNOWN for part, one in parts.items() if part != but)
    if known:
        kept = {part: one if part == but else _entry(items, NOT_KNOWN) for part, one in parts.items()}
        items.set(PARTS, kept)
    if items.value(TESTED):
        items.set(TESTED, {part: one for part, one in items.value(TESTED).items() if part == but})
    if items.value(_BEFORE) is not None:
        items.set(_BEFORE, None)


def nobody_knows_what_runs(items: ItemStore) -> None:
    """It isn't known any more what runs; what stood still is said to stand."""
    stood = {part: one for part, one in (items.value(PARTS) or {}).items() if one["state"] == STANDS}
    nobody_knows(items)
    if stood:
        items.set(PARTS, {**(items.value(PARTS) or {}), **stood})


def silent(items: ItemStore) -> None:
    """The machine is silent: nobody knows what runs, unless it turns out to have gone on."""
    before = {"landmark": items.value(_LANDMARK) or "", "parts": items.value(PARTS) or {}}
    nobody_knows(items)
    items.set(_BEFORE, before)


def is_off(items: ItemStore) -> bool:
    """Whether the machine is off: what computes was stopped, or every part of which that can be known."""
    parts = items.value(PARTS) or {}
    computing = [parts[part] for part in computing_parts(items) if part in parts]
    return any(
        bool(group) and all(one["state"] == STANDS for one in group) for group in (computing, parts.values())
    )


def computing_parts(items: ItemStore) -> list[str]:
    """The parts that do the work: those of which a display says how busy they are."""
    drawn = (items.value("recording") or {}).get("drawn") or {}
    return [part for part, look in drawn.items() if look.get("share")]


def _entry(items: ItemStore, state: str, by: list[str] | None = None) -> dict[str, Any]:
    return {"state": state, "since": items.now(), "seq": items.seq, "by": by or []}


def started_again(items: ItemStore, fact: kinds.PartStarted) -> bool:
    """Whether this part had been started already, by the same report: nobody saw the stop in between."""
    had = (items.value(PARTS) or {}).get(fact.part)
    return had is not None and _who(fact) in had["by"]


def by_a_person(fact: kinds.PartStarted) -> bool:
    """Whether a person said that it was started; otherwise the machine did."""
    return "." in fact.by  # a step that a person confirmed is SCRIPT.STEP


def _who(fact: kinds.PartStarted) -> str:
    return _PERSON if by_a_person(fact) else _MACHINE


def _set(items: ItemStore, part: str, entry: dict[str, Any]) -> None:
    items.set(PARTS, {**(items.value(PARTS) or {}), part: entry})


def _part_started(items: ItemStore, fact: kinds.PartStarted) -> None:
    who = _who(fact)
    items.set(_BEFORE, None)
    had = (items.value(PARTS) or {}).get(fact.part)
    again = started_again(items, fact)
    by = [who] if had is None or again else [*had["by"], who]
    if who == _PERSON and not again and had is not None and had["state"] == RUNS:
        _set(items, fact.part, {**had, "by": by})
        return
    _set(items, fact.part, _entry(items, STARTING if who == _PERSON else RUNS, by))
    if again:
        _forget_test(items, fact.part)


def _part_stopped(items: ItemStore, fact: kinds.PartStopped) -> None:
    items.set(_BEFORE, None)
    _set(items, fact.part, _entry(items, STANDS))
    _forget_test(items, fact.part)


def _forget_test(items: ItemStore, part: str) -> None:
    tested = items.value(TESTED) or {}
    if part in tested:
        items.set(TESTED, {name: one for name, one in tested.items() if name != part})


def _pattern_seen(items: ItemStore, fact: kinds.PatternSeen) -> None:
    lines = (items.value("recording") or {}).get("tested") or {}
    for part, names in lines.items():
        if fact.pattern in names:
            one = {"seq": items.seq, "at": items.now()}
            items.set(TESTED, {**(items.value(TESTED) or {}), part: one})


def _landmark_reached(items: ItemStore, fact: kinds.LandmarkReached) -> None:
    before = items.value(_BEFORE)
    if before is not None:
        items.set(_BEFORE, None)
        if before["landmark"] == fact.landmark:
            items.set(PARTS, {**(items.value(PARTS) or {}), **before["parts"]})
    items.set(_LANDMARK, fact.landmark)
    # A machine that asks for a command, or paints a display, is computing.
    _run_after_all(items, computing_parts(items))
    worked = [part for part, one in (items.value(TRANSFERS) or {}).items() if one["per_min"]]
    _run_after_all(items, [*(items.value(SHARE) or {}), *worked])


def _run_after_all(items: ItemStore, parts: list[str]) -> None:
    """These parts have been seen to work."""
    for part in parts:
        if ((items.value(PARTS) or {}).get(part) or {}).get("state") == NOT_KNOWN:
            _set(items, part, _entry(items, RUNS))


def _person_at_work(items: ItemStore, fact: kinds.HandsOnConfirmed) -> None:
    items.set(_BEFORE, None)


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.PartStarted: _part_started,
    kinds.PartStopped: _part_stopped,
    kinds.PatternSeen: _pattern_seen,
    kinds.LandmarkReached: _landmark_reached,
    kinds.HandsOnConfirmed: _person_at_work,
}
"""What each kind of fact does to the items."""
