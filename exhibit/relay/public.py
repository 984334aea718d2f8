"""What leaves the building: of each answer that a page in the museum would get, what is named here.

Captions, items, readings and the console's rows go. What is typed, people's names, notes, and words for the
docents stay: a kind of item, or a field of one, that isn't named here isn't sent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from exhibit.decisions.machine.script import SIMULATED_DOCENT

WHAT_REPORTS: Final = ("a person", "the machine")
"""What can say that a part was started."""
Rule = Callable[[Any], Any]
"""What becomes of a value."""


def as_it_is(value: Any) -> Any:
    """The value passes: a number, a name out of the machine's folder, or words written for visitors."""
    return value


def instead(value: Any) -> Rule:
    """The page needs the field, but gets this in its place."""
    return lambda _: value


def fields(**rules: Rule) -> Rule:
    """Of a table, or of each in a list of tables, the fields that are named. None stays None."""

    def passed(value: Any) -> Any:
        if isinstance(value, list):
            return [passed(one) for one in value]
        if not isinstance(value, Mapping):
            return None
        return {name: rule(value[name]) for name, rule in rules.items() if name in value}

    return passed


def named(*names: str, **rules: Rule) -> Rule:
    """The same for fields that pass as they are; `rules` are for the others."""
    return fields(**dict.fromkeys(names, as_it_is), **rules)


def each(rule: Rule) -> Rule:
    """A table whose names come out of the machine's folder, with the rule for each of its values."""
    return lambda value: (
        {key: rule(one) for key, one in value.items()} if isinstance(value, Mapping) else None
    )


def _who(value: Any) -> str:
    return SIMULATED_DOCENT if value == SIMULATED_DOCENT else ""


def _what_kind(by: Any) -> list[str]:
    return [one for one in by if one in WHAT_REPORTS]


def _ground(ground: Any) -> Any:
    public = _GROUND(ground)
    match public:
        case {"how": "typed"}:
            public |= {"what": "", "value": "", "line": "", "bytes": ""}
        case {"how": "confirmed"}:
            public["value"] = _who(public.get("value"))
    return public


_GROUND: Final = named("seq", "at", "how", "what", "value", "number", "row", "line", "bytes")
_CAPTION: Final = named(
    *("id", "kind", "words", "part", "source", "at", "seq", "display", "job", "ends", "trigger_seq"),
    because=lambda grounds: [_ground(one) for one in grounds],
)
_BADGE: Final = named("name", "since", "simulated", "rate", "speaks", "closed", "practice")
_TROUBLE: Final = named("name", "words", "line", "at", do=instead({}))
_RECORDING: Final = named(
    *("machine", "title", "parts", "drawn", "tested", "displays", "screens", "cards", "switches", "now"),
    *("tell_tales", "ahead", "glosses", "plots", "loads", "chapters", "round_words", "hours", "languages"),
    *("second_language", "machine_is", "typing", "rate", "opened", "display"),
    exercisers=each(named("part", "called")),
    line=instead(""),
)
_JOB: Final = named(
    *("job", "name", "exerciser", "plot", "part", "since", "until", "seq", "doubt", "ends_us", "asked")
)
_PLOT: Final = named(
    *("job", "since", "seq", "worked", "worked_seq", "points", "marks", "done", "until", "at", "round")
)
_ITEMS: Final = fields(
    recording=_RECORDING,
    line=named("state", "since", why=instead("")),
    session=named("state", "since", "until", why=instead("")),
    closed=named("at", "how", why=instead("")),
    script=named("name", "title", "round", "since", "tidying", "outcome", "ended", "tidy"),
    step=named("name", "state", "since", why=instead("")),
    hands_on=instead(None),
    trouble=_TROUBLE,
    keyboard=named("who", "since"),
    caption=_CAPTION,
    seen_caption=_CAPTION,
    machine_date=named("value", "at", "past"),
    line_errors=named("parity", "framing", "overrun", "breaks"),
    typing_faults=named("garbled", "failed", "refused"),
    packs=each(named("label", "may_be_written", "since")),
    hours=each(named("hours", "since", "counted", "at")),
    parts=each(named("state", "since", "seq", by=_what_kind)),
    tested=each(named("seq", "at")),
    jobs=_JOB,
    standing=named("display", "since", "seq", "frames", "frame_at", "frame_seq"),
    share=each(named("value", "at", "seq")),
    transfers=each(named("total", "per_min", "at", "seq", "at_us")),
    shown_again=named("first", "line", "seq", "told"),
    refused=named("script", "limit", "until", why=instead("")),
    nearly_full=named("at"),
    heard=as_it_is,
    silent=named("since", "due", "at"),
    waits=as_it_is,
    asleep=named("since"),
    trace=as_it_is,
    printed=as_it_is,
    disc=named("total", "at_s", "at", "per_min", "past"),
    plots=each(_PLOT),
    steps=named("script", "round", "at", "of", "name", "seq", "since"),
    album=named(
        "chapter", "script", "at", "seq", "picture", "lines", "part", job=named("job", "name"), plot=_PLOT
    ),
    loading=named("load", "count", "since", "seq", "done"),
    day=named("date", "woken", spans=named("kind", "from", "until", "outcome"), next=named("what", "at")),
    sums=named("rounds", "plots", "transfers", "errors", "errors_at"),
    scene=named("name", "plot", "display", "since", "seq"),
    tell_tales=named("name", "since", "until", confirmed=named("seq", "at", by=_who)),
    ahead=named("name", "began", "due"),
    known=named("name", "line"),
)
_PIECE: Final = named("seq", "way", "count", "at", text=instead(""))
_ANSWER: Final = named(
    *("stream", "mode", "news", "whole"),
    badge=_BADGE,
    machine=named("name", "since", "simulated", "rate", "speaks", "closed", "practice", trouble=_TROUBLE),
    picture=named(
        *("seq", "at", "printed_at"),
        items=_ITEMS,
        readings=each(each(named("at", "frame", "value", "table", "past"))),
        console=named("rows", "cursor", "first_row", "sheet_starts", "printed"),
        cable=lambda pieces: [_PIECE(one) for one in pieces if one["way"] == "received"],
    ),
)


def public(answer: Mapping[str, Any]) -> dict[str, Any]:
    """What of this answer of Picture's goes out."""
    passed: dict[str, Any] = _ANSWER(answer)
    return passed
