"""Four pictures of the last round that was done, each as things were then.

A picture is taken of each chapter: when the next one begins, or the script ends. If a status display was
showing, its lines are those of its last frame in that chapter. The album changes only when a round was
done.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.page.day.plots import PLOTS
from exhibit.decisions.page.day.steps import chapters_of
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.jobs_now import JOBS
from exhibit.decisions.page.standing import STANDING
from exhibit.facts import kinds

ALBUM: Final = "album"
"""The name of the item."""
_KEPT: Final = "_album"
"""The chapter that is going on, and the pictures of those before it in this round."""
MOST_PICTURES: Final = 4
MOST_LINES: Final = 24
_ENDS_EARLY: Final = (kinds.SessionFailed, kinds.LineLost, kinds.RecordingClosed)


def none_yet(items: ItemStore) -> None:
    """A recording begins, and no round was done in it."""
    items.set(ALBUM, [])
    _forget(items)


def see(items: ItemStore, fact: Any, rows: Callable[[], list[str]]) -> None:
    """Take in one fact. `rows` gives the rows that the console shows."""
    kept = items.value(_KEPT) or {}
    match fact:
        case kinds.ScriptStarted():
            _forget(items)
            if fact.round:
                items.set(_KEPT, {"script": fact.script, "chapter": None, "pictures": []})
        case kinds.StepStarted() if kept and fact.script == kept["script"]:
            names = {one["from_step"]: one for one in chapters_of(items, fact.script)}
            if (chapter := names.get(fact.step)) is not None:
                pictures = _with_picture(items, kept, rows)
                items.set(_KEPT, {**kept, "pictures": pictures, "chapter": _begun(items, chapter)})
        case kinds.ScriptEnded() if kept and fact.script == kept["script"]:
            if fact.outcome == "done":
                items.set(ALBUM, best(_with_picture(items, kept, rows)))
            _forget(items)
        case kinds.LandmarkReached() if kept and kept["chapter"] is not None:
            _frame_seen(items, kept, rows)
        case kinds.ExerciserBegun() | kinds.PatternSeen() if kept and kept["chapter"] is not None:
            _job_seen(items, kept)
    if isinstance(fact, _ENDS_EARLY) and kept:
        _forget(items)


def best(pictures: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """At most four of them in order: plots before all, then what can be shown, spread over the round."""
    chosen: list[int] = []
    for wanted in (
        [place for place, one in enumerate(pictures) if one["plot"] is not None],
        [place for place, one in enumerate(pictures) if one["picture"] and one["plot"] is None],
        [place for place, one in enumerate(pictures) if not one["picture"]],
    ):
        chosen += _spread(wanted, MOST_PICTURES - len(chosen))
    return [pictures[place] for place in sorted(chosen)]


def _spread(places: list[int], most: int) -> list[int]:
    """As many of these places as there may be, the first and the last among them."""
    if len(places) <= most:
        return places
    if most < 2:  # noqa: PLR2004 - of one there is no first and last
        return places[len(places) // 2 :][:most]
    last = len(places) - 1
    return [places[round(number * last / (most - 1))] for number in range(most)]


def _forget(items: ItemStore) -> None:
    if items.value(_KEPT) is not None:
        items.set(_KEPT, None)


def _begun(items: ItemStore, chapter: dict[str, Any]) -> dict[str, Any]:
    return {**chapter, "at": items.now(), "seq": items.seq, "lines": [], "job": None}


def _frame_seen(items: ItemStore, kept: dict[str, Any], rows: Callable[[], list[str]]) -> None:
    """A frame of a display, or a prompt: the lines of the last frame stay."""
    if kept["chapter"]["picture"] == "console" and items.value(STANDING) is not None:
        items.set(_KEPT, {**kept, "chapter": {**kept["chapter"], "lines": _lines(rows())}})


def _job_seen(items: ItemStore, kept: dict[str, Any]) -> None:
    """A job at the part of which there is a picture."""
    kind, _, part = kept["chapter"]["picture"].partition(":")
    if kind != "part" or kept["chapter"]["job"] is not None:
        return
    for job in items.value(JOBS) or []:
        if job["part"] == part and not job["doubt"]:
            at_it = {"job": job["job"], "name": job["name"]}
            items.set(_KEPT, {**kept, "chapter": {**kept["chapter"], "job": at_it}})


def _with_picture(
    items: ItemStore, kept: dict[str, Any], rows: Callable[[], list[str]]
) -> list[dict[str, Any]]:
    """The pictures, and that of the chapter that has just ended."""
    chapter = kept["chapter"]
    if chapter is None:
        return list(kept["pictures"])
    kind, _, name = chapter["picture"].partition(":")
    plot = (items.value(PLOTS) or {}).get(name) if kind == "plot" else None
    if plot is not None and plot["seq"] < chapter["seq"]:
        plot = None  # it is that of another round
    part = name if kind == "part" else ""
    if kind == "plot":
        part = ((items.value("recording") or {}).get("plots") or {}).get(name, {}).get("part", "")
    picture = {
        "chapter": chapter["name"],
        "script": kept["script"],
        "at": chapter["at"],
        "seq": chapter["seq"],
        "picture": chapter["picture"],
        "lines": (chapter["lines"] or _lines(rows())) if kind == "console" else [],
        "part": part,
        "job": chapter["job"],
        "plot": plot,
    }
    return [*kept["pictures"], picture]


def _lines(rows: list[str]) -> list[str]:
    """The rows of the console without the blank ones around them."""
    lines = [row.rstrip() for row in rows]
    while lines and not lines[-1]:
        del lines[-1]
    lines = lines[-MOST_LINES:]
    while lines and not lines[0]:
        del lines[0]
    return lines
