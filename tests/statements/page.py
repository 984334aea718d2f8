"""What the visitors' page says of a few facts, painted by its own code without a browser."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path
from typing import Any, Literal, NamedTuple

import msgspec

from exhibit.decisions.page.badge import MACHINE_IS_THERE, Badge, Sight, badge
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.visitor_words import Ahead, ExerciserWords, TellTale
from exhibit.relay.hosted_picture import NOT_HEARD
from tests.decisions.heron import S, opened

ROOT = Path(__file__).resolve().parents[2]
WRITING, GONE = Sight(mode="live", writer="writing"), Sight(mode="live", writer="gone")
YESTERDAY = Sight(mode="live", writer="gone", written_today=False)
STUCK = Sight(mode="live", writer="writing", silent_s=9.0)
CATCHING_UP, REPLAY = Sight(mode="live", catching_up=True), Sight(mode="replay")
PARTS = {"left": {"en": "Left drive"}}
BY_HAND = {"work": ExerciserWords(part="left", stop_by_hand={"en": "Stop it at its front."})}
TELL_TALE = TellTale(
    kind="sound",
    part="left",
    state="busy",
    words={"en": "It hums."},
    lamps="",
    see_or_feel={},
    begins=["begun"],
    ends=[],
    confirmed_by=["round.turn"],
    at_most_us=600 * S,
)
ANNOUNCED = {"en": "A list."}
AHEAD = Ahead(
    part="left",
    begins="round.go",
    step="round.next",
    usually_us=40 * S,
    words=ANNOUNCED,
)


class Shown(msgspec.Struct, frozen=True):
    """Facts, a second apart; what is seen from outside; and how the page came to it."""

    facts: tuple[kinds.AnyFact, ...]
    sight: Sight = WRITING
    meanwhile: bool = False
    """A recording is shown in place of the machine, whose state the facts give."""
    back: bool = False
    """The machine has just come back."""
    alone: Literal["", "for a moment", "for long"] = ""
    """The page no longer reaches the web process."""
    museum_heard: bool = True
    """False for a hosted page that hears nothing from the museum."""
    phone: bool = False
    """The page is narrow, and has the console behind a button."""
    wait_s: int = 0
    """How long after the last fact the page is looked at."""
    first: dict[str, Any] = {}
    """What is different about the recording's first fact."""


def page(*facts: kinds.AnyFact, sight: Sight = WRITING, **more: Any) -> Shown:
    """A scenario; what isn't one of Shown's own fields is about the recording's first fact."""
    own = {
        name: more.pop(name)
        for name in ("meanwhile", "back", "alone", "museum_heard", "phone", "wait_s")
        if name in more
    }
    return Shown(facts, sight, first=more, **own)


class OnPage(NamedTuple):
    """A word of the page by its key, what is said by it, and the two scenarios."""

    key: str
    says: str
    true_when: Shown
    not_when: Shown


def _case(shown: Shown) -> dict[str, Any]:
    view = View()
    fields = {"machine_is": "real", "parts": PARTS, "exercisers": BY_HAND, "tell_tales": {"hum": TELL_TALE}}
    first = opened(**{**fields, "ahead": {"list": AHEAD}, **shown.first})
    for seq, fact in enumerate((first, *shown.facts), 1):
        view.apply(kinds.Entry(seq, (seq - 1) * S, fact))
    judged = badge(view.recorded_state(), shown.sight)
    own, replay = _badge(judged), _badge(badge(view.recorded_state(), REPLAY))
    if shown.alone:
        name = "reconnecting" if shown.alone == "for a moment" else "page alone"
        if judged.simulated and any(isinstance(fact, kinds.RecordingClosed) for fact in shown.facts):
            name = "demonstration over"
        own = {**own, "name": name, "since": view.wall(view.at_us), "speaks": False}
    at = view.wall(view.at_us)
    if not shown.museum_heard:
        at = "" if shown.sight.catching_up else at
        own = {**own, "name": NOT_HEARD, "since": at, "speaks": False}
    picture = {"items": {}, "readings": {}} if shown.sight.catching_up else view.batch(0, console=False)
    is_past = shown.sight.mode == "replay" or shown.meanwhile
    return {
        "items": picture["items"],
        "readings": picture.get("readings", {}),
        "printed_at": picture.get("printed_at"),
        "at": at,
        "now": view.wall(view.at_us + shown.wait_s * S),
        "mode": "past" if is_past else "live",
        "badge": replay if shown.meanwhile else own,
        "machine": {**own, "trouble": view.trouble} if shown.meanwhile else None,
        "back": shown.back,
        "phone": shown.phone,
    }


def _badge(judged: Badge) -> dict[str, Any]:
    return {**msgspec.to_builtins(judged), "speaks": judged.name in MACHINE_IS_THERE}


def painted(scenarios: list[Shown], node: str, place: Path) -> list[str]:
    """What the page says in each of these scenarios, in English."""
    _lay_out(place)
    given = json.dumps([_case(one) for one in scenarios])
    done = subprocess.run(
        [node, place / "painted.mjs"], input=given, capture_output=True, text=True, check=True
    )
    said: list[str] = json.loads(done.stdout)
    return said


def keys_of_words(node: str, place: Path) -> list[str]:
    """The names of all the page's words, such as `badges.live`."""
    _lay_out(place)
    flat = "const flat = (o, at) => Object.entries(o).flatMap(([k, v]) => v && typeof v === 'object' && "
    flat += "!Array.isArray(v) ? flat(v, [...at, k]) : [[...at, k].join('.')]);"
    shown = "console.log(JSON.stringify(flat(words, [])));"
    code = f"import {{ words }} from './words/en.js'; {flat} {shown}"
    (place / "keys.mjs").write_text(code)
    done = subprocess.run([node, place / "keys.mjs"], capture_output=True, text=True, check=True)
    keys: list[str] = json.loads(done.stdout)
    return keys


def _lay_out(place: Path) -> None:
    """Copies the page's code to where node takes it for modules."""
    for folder in ("shared", "visitor", "words", "drawing", "charts"):
        shutil.copytree(ROOT / "web" / folder, place / folder, dirs_exist_ok=True)
    (place / "words/languages.js").write_text('export const LANGUAGES = ["de", "en", "he"];')
    shutil.copy(Path(__file__).with_name("painted.mjs"), place)
    (place / "package.json").write_text('{"type": "module"}')
