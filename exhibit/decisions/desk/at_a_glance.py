"""How the day stands now, in short: for a paired device on which nobody is signed in.

    at_a_glance(visitors_value, docents_value)     # each gives an item of its picture by its name

    phase, since, until, begun, hands, next    of the item `today`
    round       {title, number, tidying}: the script that runs now; null if none does
    seeks       since when it is being found out how the machine stands; "" if it isn't
    rests       until when the rounds rest; "" unless they do
    stopping    what has become of a stop; "" unless somebody has said stop
    left        whether the day is over, and steps by hand of its closing are left
    keyboard    whether a person has it
    needs       {what, since}: what waits for somebody; null if nothing does

Nothing that a person wrote or is called is in it, and nothing that could be answered.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from exhibit.decisions.session.day_programme import PACKS, PARTS

_OF_THE_DAY: Final = ("phase", "since", "until", "begun", "hands", "next")

Value = Callable[[str], Any]
"""An item by its name; None if there is none."""


def at_a_glance(visitors: Value, docents: Value) -> dict[str, Any]:
    """The above, from the visitors' items and the docent's."""
    today, session, script = docents("today"), visitors("session"), visitors("script")
    runs = session["state"] == "running" and script and not script["ended"]
    stopping, under_way = docents("stopping"), docents("under_way")
    return {
        **{name: today[name] for name in _OF_THE_DAY},
        "round": {"title": script["title"], "number": script["round"], "tidying": under_way["tidies"]}
        if runs
        else None,
        "seeks": under_way["seeks"],
        "rests": session["until"] if session["state"] == "resting" and today["phase"] == "rounds" else "",
        "stopping": stopping["state"] if stopping else "",
        "left": today["phase"] == "over" and bool(docents("closing_left")["steps"]),
        "keyboard": docents("keyboard") is not None,
        "needs": _needs(today, docents("doing"), docents("troubles")),
    }


def _needs(
    today: dict[str, Any], doing: dict[str, Any] | None, troubles: list[dict[str, Any]]
) -> dict[str, str] | None:
    """The most urgent thing first, as on the page itself; after a failure nothing goes on by itself."""
    if doing and doing["kind"] == "failure":
        return {"what": "failure", "since": doing["since"]}
    for trouble in troubles:
        if trouble["state"] == "needs you":
            return {"what": "trouble", "since": trouble["since"]}
    if doing:
        return {"what": doing["kind"], "since": doing["since"]}
    if today["phase"] == "stopped" and today["by"] in (PACKS, PARTS):
        return {"what": "held", "since": today["since"]}
    return None
