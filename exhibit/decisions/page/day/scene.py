"""The scene: which moment this is, and so what the page puts first.

Several can apply; then trouble comes before looking inside, that before a result, and so on (`_wanted`). A
scene changes together with a caption, or when a script or the session begins or ends something, and not
twice within eight seconds, so that nobody loses his place; trouble comes at once, and so does what is left
when the recording ends. If no caption comes, it changes eight seconds after it should have. Seconds are
those of the visitor, also at another rate.
"""

from __future__ import annotations

from typing import Any, Final, NamedTuple

from exhibit.decisions.page.day.plots import PLOTS
from exhibit.decisions.page.day.steps import is_heard
from exhibit.decisions.page.item_store import ItemStore
from exhibit.decisions.page.jobs_now import JOBS
from exhibit.decisions.page.parts_now import PARTS, STANDS
from exhibit.decisions.page.standing import STANDING
from exhibit.facts import kinds
from exhibit.facts.units import S_US

SCENE: Final = "scene"
"""The name of the item."""
_KEPT: Final = "_scene"
OPENING: Final = "opening"
NOT_STARTED, WAKING, WORKING, RESULT = "not started", "waking", "working", "result"
LOOKING_INSIDE, RESTING, ASLEEP, TROUBLE = "looking inside", "resting", "asleep", "trouble"
CALM_US: Final = 8 * S_US
UNSEEN_US: Final = S_US // 2
RESULT_STAYS_US: Final = 45 * S_US
"""A result is what the work was for, so it stays while nothing else begins that has to be looked at."""
RESULT_COMES_US: Final = 20 * S_US
"""Before anything of it was printed, a job that prints nothing for so long has nothing to show."""
FRAMES_TO_SEE: Final = 2
"""After so many frames of a display, visitors go back to what works, if jobs go on."""
_MOVES: Final = (
    kinds.ScriptStarted,
    kinds.SessionResting,
    kinds.SessionCleared,
    kinds.RecordingClosed,
)
_BEGINS_ELSE: Final = (kinds.ScriptStarted, kinds.ScriptEnded, kinds.SessionResting, kinds.ExerciserBegun)
"""After one of these, something else than the result is there to be seen."""


class _Moment(NamedTuple):
    name: str
    plot: str = ""
    display: str = ""


def none_yet(items: ItemStore) -> None:
    """A recording begins."""
    rate = (items.value("recording") or {}).get("rate", 1.0)
    kept = {
        "rate": rate,
        "changed_us": None,
        "wanted": list(_Moment(NOT_STARTED)),
        "wanted_us": 0,
        "caption": 0,
        "failing": False,
        "plotted": {},
        "over": [],
        "slept": False,
        "looked": [0, 0],
    }
    items.set(_KEPT, kept)
    items.set(SCENE, _item(items, _Moment(NOT_STARTED)))


def see(items: ItemStore, fact: Any) -> None:
    """Take in one fact, after all other items have."""
    kept = items.value(_KEPT)
    if kept is None:
        return
    changed = {**kept, **_noticed(items, kept, fact)}
    wanted = _wanted(items, changed)
    if list(wanted) != changed["wanted"]:
        changed |= {"wanted": list(wanted), "wanted_us": items.at_us}
    shown = items.value(SCENE)
    if tuple(wanted) != (shown["name"], shown["plot"], shown["display"]) and _may_change(
        items, kept, changed, wanted, fact
    ):
        if wanted.name != shown["name"] and not _just_changed(items, kept):
            changed["changed_us"] = items.at_us
        if wanted.name == LOOKING_INSIDE:
            standing = items.value(STANDING)
            changed["looked"] = [standing["seq"], standing["frames"]]
        items.set(SCENE, _item(items, wanted))
    if changed != kept:
        items.set(_KEPT, changed)


def _item(items: ItemStore, moment: _Moment) -> dict[str, Any]:
    return {**moment._asdict(), "since": items.now(), "seq": items.seq}


def _caption_seq(items: ItemStore) -> int:
    caption = items.value("caption")
    seq: int = caption["seq"] if caption else 0
    return seq


def _noticed(items: ItemStore, kept: dict[str, Any], fact: Any) -> dict[str, Any]:
    """What this fact changes in what is remembered."""
    noticed: dict[str, Any] = {"caption": _caption_seq(items)}
    match fact:
        case kinds.StepFailed() if items.value("trouble") is not None:
            noticed["failing"] = True
        case kinds.ScriptStarted() | kinds.SessionCleared():
            noticed["failing"] = False
    plots = items.value(PLOTS) or {}
    plotted = {name: [plot["since"], plot["at"], items.at_us] for name, plot in plots.items()}
    for name, had in kept["plotted"].items():
        if name in plotted and had[:2] == plotted[name][:2]:
            plotted[name][2] = had[2]
    noticed["plotted"] = plotted
    again = [name for name in plotted if plotted[name][:2] != kept["plotted"].get(name, [])[:2]]
    over = [name for name in kept["over"] if name in plots and name not in again]
    if isinstance(fact, _BEGINS_ELSE):
        over = [name for name, plot in plots.items() if plot["points"]]
    noticed["over"] = over
    noticed["slept"] = _asleep(items, kept, fact)
    return noticed


def _asleep(items: ItemStore, kept: dict[str, Any], fact: Any) -> bool:
    """Whether the session is at its end and all parts were stopped; that stays so when the recording ends."""
    session, recording = items.value("session") or {}, items.value("recording") or {}
    at_its_end = session.get("state") == "resting" and not session["until"]
    if not (at_its_end or recording.get("typing") == "nothing"):
        return False
    if items.value("closed") is not None or isinstance(fact, kinds.RecordingClosed):
        return bool(kept["slept"])
    parts = [one["state"] for one in (items.value(PARTS) or {}).values()]
    return bool(parts) and all(state == STANDS for state in parts)


def _wanted(items: ItemStore, kept: dict[str, Any]) -> _Moment:
    session, script = items.value("session") or {}, items.value("script")
    runs = bool(script) and not script["ended"]
    if kept["failing"] or session.get("state") == "failed":
        return _Moment(TROUBLE)
    if kept["slept"]:
        return _Moment(ASLEEP)
    heard = is_heard(items) and items.value("closed") is None
    jobs = [one for one in items.value(JOBS) or [] if not one["doubt"]]
    standing = items.value(STANDING) if heard else None
    if standing is not None and not (jobs and _was_seen(kept, standing)):
        return _Moment(LOOKING_INSIDE, display=standing["display"])
    if heard and (plot := _result(items, kept)):
        return _Moment(RESULT, plot=plot)
    if heard and jobs:
        return _Moment(WORKING)
    if runs and script["name"] == OPENING:
        return _Moment(WAKING)
    if runs and heard:
        return _Moment(WORKING)
    began = script is not None or session.get("state") == "resting"
    watched = (items.value("recording") or {}).get("typing") == "nothing" and items.value("heard")
    return _Moment(RESTING if began or watched else NOT_STARTED)


def _was_seen(kept: dict[str, Any], standing: dict[str, Any]) -> bool:
    """Whether visitors have seen enough frames of this display since the scene was about it."""
    seq, frames = kept["looked"]
    return bool(seq == standing["seq"] and standing["frames"] - frames >= FRAMES_TO_SEE)


def _result(items: ItemStore, kept: dict[str, Any]) -> str:
    """The plot that is to be seen: something was printed for it, or its job began, a little while ago."""
    plots: dict[str, dict[str, Any]] = items.value(PLOTS) or {}
    for name in sorted(plots, key=lambda one: -kept["plotted"][one][2]):
        plot, (_, _, at_us) = plots[name], kept["plotted"][name]
        growing = not (plot["done"] or plot["until"])
        stays_us = RESULT_STAYS_US if plot["points"] else RESULT_COMES_US
        lately = items.at_us - at_us < stays_us * kept["rate"]
        if lately and name not in kept["over"] and (growing or plot["points"]):
            return name
    return ""


def _just_changed(items: ItemStore, kept: dict[str, Any]) -> bool:
    """Whether the scene has changed so lately that nobody has seen it yet."""
    return kept["changed_us"] is not None and items.at_us - kept["changed_us"] < UNSEEN_US * kept["rate"]


def _may_change(
    items: ItemStore, kept: dict[str, Any], changed: dict[str, Any], wanted: _Moment, fact: Any
) -> bool:
    if wanted.name == TROUBLE or items.value(SCENE)["name"] == wanted.name:
        return True
    if isinstance(fact, kinds.RecordingClosed):
        return True  # nothing comes after it that could change the scene
    calm_us = CALM_US * kept["rate"]
    if _just_changed(items, kept) and isinstance(fact, _MOVES):
        return True
    if kept["changed_us"] is not None and items.at_us - kept["changed_us"] < calm_us:
        return False
    caption_changed = changed["caption"] != kept["caption"]
    return caption_changed or isinstance(fact, _MOVES) or items.at_us - changed["wanted_us"] >= calm_us
