"""A day of facts of every kind, in which whatever must not leave the building carries a mark."""

from __future__ import annotations

import typing
from collections.abc import Iterator
from typing import Any

import msgspec

from exhibit.facts import kinds
from tests.pages import made_facts

MARK = "STAYS INSIDE"
PUBLIC = "GOES OUT"
PEOPLE_AND_NOTES = frozenset(
    {"by", "why", "do", "what", "caution", "last_lines", "programs", "answer", "cause"}
)
"""Fields with who did it, what somebody wrote about it, and what a docent should do."""
TYPED = frozenset({"command", "half_typed", "returned", "unanswered", "expected", "came_back", "thrown_away"})
NAMES = frozenset({"port", "recording"})
PRIVATE_OF: dict[type, frozenset[str]] = {
    kinds.BytesTyped: frozenset({"bytes", "by"}),
    kinds.TypedByHand: frozenset({"bytes", "by"}),
    kinds.LineOpened: frozenset({"line"}),
    kinds.TerminalOpened: frozenset({"line"}),
    kinds.HandsOnAsked: frozenset({"words", "caution"}),
    # These name a display's line, a step or a rule of the machine's folder.
    kinds.MachineSilent: frozenset(),
    kinds.ExerciserEnded: frozenset(),
    kinds.DiscErrorsCounted: frozenset(),
    kinds.JobListed: frozenset(),
    kinds.JobDoubtOver: frozenset(),
}
OUT_OF_PLACE = (kinds.RecordingOpened, kinds.RecordingClosed, kinds.CarriedOver, kinds.UnknownFact)


def entries() -> Iterator[kinds.Entry]:
    """The made day with marks, and then a fact of each other kind."""
    first = made_facts.opened(line=f"/dev/{MARK}, 2400 baud", use_before=None)
    told = [(at_s, _marked(fact)) for at_s, fact in made_facts.a_day()]
    at_s = told[-1][0]
    seen = {type(fact) for _, fact in told}
    for number, kind in enumerate(_all_kinds()):
        if kind not in OUT_OF_PLACE and kind not in seen:
            told.append((at_s + number, _marked(_made(kind))))
    told.append((at_s + 100, kinds.BytesReceived(bytes=f"{PUBLIC}\r\n", first_us=int((at_s + 100) * 1e6))))
    told.append((at_s + 101, _marked(kinds.TypingConfirmed(command="x", attempts=1))))
    caption = {"caption": "c", "kind": "seen", "part": "", "source": {}, "words": {"en": PUBLIC}}
    told.append((at_s + 102, kinds.LineOpened(line=f"/dev/{MARK}")))
    told.append((at_s + 103, _marked(kinds.HandsOnConfirmed(step="turn", by="x"))))
    seq = len(told) + 1
    # It rests on what was typed and on who confirmed.
    told.append((at_s + 104, kinds.CaptionShown(because=[seq - 2, seq], **caption)))  # type: ignore[arg-type]
    told.append((at_s + 105, _marked(kinds.SessionFailed(why="x", last_lines=[]))))
    yield from made_facts.entries(told, first)


def _all_kinds() -> list[type[Any]]:
    return [kind for kind in typing.get_args(kinds.AnyFact) if kind is not type(None)]


def _marked(fact: Any) -> Any:
    private = PRIVATE_OF.get(type(fact), PEOPLE_AND_NOTES | TYPED | NAMES)
    changed: dict[str, Any] = {}
    hints = typing.get_type_hints(type(fact))
    free = {name for name in fact.__struct_fields__ if typing.get_origin(hints[name]) is not typing.Literal}
    for name in private & free:
        value = getattr(fact, name)
        if isinstance(value, str):
            changed[name] = MARK
        elif isinstance(value, dict):
            changed[name] = {"en": MARK}
        elif isinstance(value, list):
            changed[name] = [MARK]
    return msgspec.structs.replace(fact, **changed)


def _made(kind: type[Any]) -> Any:
    hints = typing.get_type_hints(kind)
    required = [one for one in msgspec.structs.fields(kind) if one.required]
    given = {one.name: _value(hints[one.name]) for one in required}
    return kind(**(given | ({"wall": made_facts.WALL} if "wall" in given else {})))


def _value(hint: Any) -> Any:
    origin = typing.get_origin(hint)
    if origin is typing.Literal:
        return typing.get_args(hint)[0]
    if type(None) in typing.get_args(hint):
        return None
    if origin in (list, tuple):
        return []
    if origin is dict:
        return {}
    return {str: "x", int: 1, bool: False, float: 1.0}.get(hint, "x")
