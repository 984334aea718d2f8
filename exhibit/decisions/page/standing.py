"""The status display that is showing now, and what is read off it: only as long as it is showing.

A display is over when a prompt or another display settles, when anything is typed (a key puts a display
away; if it didn't, the next frame brings it back), when the machine falls silent, and when the line is lost.
Its readings stay, but get the time until which they held. A reading that the newest frame lacks is past too.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.work import per_minute
from exhibit.facts import kinds

STANDING: Final = "standing"
SHARE: Final = "share"
TRANSFERS: Final = "transfers"
"""The names of the items."""
TYPED: Final = frozenset({kinds.BytesTyped, kinds.SecretTyped, kinds.TypedByHand})
"""Kinds that are frequent and end nothing but a display."""


def none_yet(items: ItemStore) -> None:
    """A recording begins, and no display has been seen in it."""
    items.set(STANDING, None)
    items.set(SHARE, {})
    items.set(TRANSFERS, {})


def put_away(items: ItemStore) -> None:
    """No display is showing any more."""
    standing = items.value(STANDING)
    if standing is None:
        return
    items.set(STANDING, None)
    items.readings_past(standing["display"], items.seq)
    for name in (SHARE, TRANSFERS):
        if items.value(name):
            items.set(name, {})
    disc = items.value("disc")
    if disc is not None and "past" not in disc:
        items.set("disc", {**disc, "past": items.now()})


def is_display(items: ItemStore, landmark: str) -> bool:
    """Whether this landmark is a status display. Older recordings show it only by its readings."""
    recording = items.value("recording") or {}
    return landmark in recording.get("displays", ()) or bool(items.readings_of(landmark))


def _reading_taken(items: ItemStore, fact: kinds.ReadingTaken) -> None:
    _begin(items, fact.display)
    if isinstance(fact.value, str):
        return
    name = f"{fact.display}.{fact.name}"
    drawn = (items.value("recording") or {}).get("drawn") or {}
    for part, look in drawn.items():
        if look.get("share") == name:
            share = {"value": fact.value, "at": items.now(), "seq": items.seq}
            items.set(SHARE, {**(items.value(SHARE) or {}), part: share})
        if look.get("transfers") == name:
            _count(items, part, fact.value)


def _count(items: ItemStore, part: str, total: float) -> None:
    counted = items.value(TRANSFERS) or {}
    had = counted.get(part)
    rate = per_minute(had["total"], had["at_us"], total, items.at_us) if had else None
    now = {"total": total, "per_min": rate, "at": items.now(), "seq": items.seq, "at_us": items.at_us}
    items.set(TRANSFERS, {**counted, part: now})


def _landmark_reached(items: ItemStore, fact: kinds.LandmarkReached) -> None:
    if not is_display(items, fact.landmark):
        put_away(items)
        return
    standing = _begin(items, fact.landmark)
    last_seq = standing["frame_seq"]
    frame = {"frames": standing["frames"] + 1, "frame_at": items.now(), "frame_seq": items.seq}
    items.set(STANDING, {**standing, **frame})
    if last_seq:
        _drop_unread(items, fact.landmark, last_seq)


def _drop_unread(items: ItemStore, display: str, last_seq: int) -> None:
    """Takes back what could not be read off this frame: nobody knows whether it is still so."""
    items.readings_past(display, last_seq)
    for name in (SHARE, TRANSFERS):
        had = items.value(name) or {}
        read = {part: one for part, one in had.items() if one["seq"] > last_seq}
        if read != had:
            items.set(name, read)


def _begin(items: ItemStore, display: str) -> dict[str, Any]:
    """This display is showing. Returns the item."""
    standing: dict[str, Any] | None = items.value(STANDING)
    if standing is not None and standing["display"] == display:
        return standing
    put_away(items)
    begun = {"display": display, "since": items.now(), "seq": items.seq}
    standing = {**begun, "frames": 0, "frame_at": "", "frame_seq": 0}
    items.set(STANDING, standing)
    return standing


HANDLERS: dict[type, Callable[[ItemStore, Any], None]] = {
    kinds.ReadingTaken: _reading_taken,
    kinds.LandmarkReached: _landmark_reached,
    kinds.LineOpened: lambda items, _: put_away(items),
    kinds.BytesMissed: lambda items, _: put_away(items),
    **dict.fromkeys(TYPED, lambda items, _: put_away(items)),
}
"""What each kind of fact does to the items."""
