"""What a fact says, as one line of text that can be searched."""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.facts import kinds

NOT_SAID: Final = frozenset(
    {
        # The console's own lines say what was received and typed.
        kinds.BytesReceived,
        kinds.BytesTyped,
        kinds.TypedByHand,
        kinds.SecretTyped,
        kinds.Heartbeat,
        kinds.DeadlineArmed,
        kinds.DeadlinePassed,
        kinds.StepEnded,
        kinds.CarriedOver,
        kinds.PatternSeen,
    }
)
"""Kinds that have no line of their own: they are too many, and what they say stands elsewhere."""
_ALONE: Final = frozenset({"why", "by", "words", "line", "command"})
"""What needs no name beside it."""
_MOMENTS: Final = frozenset({"heard_us", "due_us", "until_us", "ends_us"})
"""Times on the recording's clock, which say nothing to a person."""
WAS_DUE: Final[dict[kinds.DueFrom, str]] = {
    "typing": "an answer to what was typed",
    "step": "what a step waited for",
    "display": "a frame of a display",
}
"""What should have come from a machine that fell silent, in words."""
MOST_CHARACTERS: Final = 2_000
"""The longest text of a line that is kept in the index. `exhibit show` has all of it."""


def fact_words(fact: kinds.AnyFact | kinds.UnknownFact) -> str:
    """One line of text; empty for a fact that has none of its own."""
    if type(fact) in NOT_SAID:
        return ""
    match fact:
        case kinds.UnknownFact(name=name):
            said = f"a fact of an unknown kind, {name}"
        case kinds.RecordingOpened(machine=machine, machine_is=machine_is, line=line):
            said = f"{machine}, {machine_is}, {line}"
        case kinds.CaptionShown(words=words, caption=caption, part=part):
            said = f"{caption}: {_any_language(words)}{f' [{part}]' if part else ''}"
        case kinds.TroubleRaised(trouble=trouble, line=line, words=words):
            said = f"{trouble}: {line} | {_any_language(words)}"
        case kinds.ReadingTaken(display=display, name=name, value=value, table=table):
            said = f"{display}.{name} {value if table is None else _table(table)}"
        case kinds.HandsOnAsked(step=step, words=words):
            said = f"{step}: {_any_language(words)}"
        case kinds.NoteMade(kind=kind, by=by):
            said = f"{kind} by {by}"
        case kinds.TypingHeld():
            said = "the machine asked for nothing to be typed (XOFF)"
        case kinds.MachineSilent(due=due):
            said = f"nothing came from the machine, although {WAS_DUE[due]} was due"
        case kinds.LandmarkReached(landmark=landmark, line=line):
            said = f"{landmark}: {line}"
        case _:
            said = _fields(fact)
    return " ".join(said.split())[:MOST_CHARACTERS]


def _any_language(words: dict[str, str]) -> str:
    return " | ".join(words.values())


def _table(table: list[dict[str, str]]) -> str:
    return "; ".join(" ".join(row.values()) for row in table)


def _fields(fact: Any) -> str:
    """The fact's fields that say something, most of them by name. Moments have their time beside the line."""
    said = []
    script, step = getattr(fact, "script", ""), getattr(fact, "step", "")
    if script or step:
        said.append(".".join(one for one in (script, step) if one))
    for name in fact.__struct_fields__:
        value = getattr(fact, name)
        if not value or name in ("script", "step") or name in _MOMENTS:
            continue
        if isinstance(value, str):
            said.append(value if name in _ALONE else f"{name.replace('_', ' ')} {value}")
        elif isinstance(value, bool):
            said.append(name.replace("_", " "))
        elif isinstance(value, int | float):
            length = f"{name.removesuffix('_us').replace('_', ' ')} {value / 1e6:g} s"
            said.append(length if name.endswith("_us") else f"{name.replace('_', ' ')} {value:g}")
        elif isinstance(value, dict | list):
            said.append(f"{name.replace('_', ' ')} {msgspec.json.encode(value).decode()}")
    return ", ".join(said)
