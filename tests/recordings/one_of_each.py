"""Makes the kept sample of the present format: one fact of each kind, then a few with awkward contents.

python -m tests.recordings.one_of_each     writes tests/recordings/format-1.exhibit

Once a format has been published its sample is never made again: it stands for the recordings that
museums have. Until then it may be, when a kind changes.
"""

from __future__ import annotations

import types
import typing
from pathlib import Path

import msgspec

from exhibit.facts.codec import FIRST_CRC, FORMAT, HOW_TO_READ, encode_line
from exhibit.facts.kinds import (
    ALL_KINDS,
    AnyFact,
    BytesReceived,
    Entry,
    FactsMissing,
    ReadingTaken,
    RecordingOpened,
    to_text,
)

FOLDER = Path(__file__).resolve().parent
WALL = "2026-11-25T09:30:00.125000+01:00"


BOUNDED = {"rows": 24, "columns": 80, "count": 24, "group": 3}
"""Numbers that no recording can have as large as chance would make them."""


def example(kind: object, name: str) -> object:
    """A value of a field's type that tells the field by its name."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if name == "wall":
        return WALL
    if kind is str:
        return f"{name} of the Whimbrel"
    if kind is int:
        return BOUNDED[name] if name in BOUNDED else 1 + sum(name.encode()) % 1000
    if kind is float:
        return 2.5
    if kind is bool:
        return True
    if origin is typing.Literal:
        return arguments[-1]
    if origin in (typing.Union, types.UnionType):
        return example(arguments[0], name)
    if origin is list:
        return [example(arguments[0], name)]
    if origin is dict:
        return {key: example(arguments[1], f"{name} {key}") for key in ("en", "de")}
    assert isinstance(kind, type)
    assert issubclass(kind, msgspec.Struct), f"no example for {kind}"
    return an_example_of(kind)


def an_example_of(kind: type[msgspec.Struct]) -> typing.Any:
    """A fact of a kind, every field filled."""
    hints = typing.get_type_hints(kind)
    return kind(
        **{field.name: example(hints[field.name], field.name) for field in msgspec.structs.fields(kind)}
    )


def facts() -> list[AnyFact]:
    """One fact of each kind; the opening comes first, as in every recording."""
    opened = an_example_of(RecordingOpened)
    opened = msgspec.structs.replace(opened, format=FORMAT, how_to_read=HOW_TO_READ, machine="whimbrel")
    others = [an_example_of(kind) for kind in ALL_KINDS.values() if kind is not RecordingOpened]
    # Its number says how many are missing before it, and here none are.
    others = [msgspec.structs.replace(f, count=1) if isinstance(f, FactsMissing) else f for f in others]
    awkward: list[AnyFact] = [
        BytesReceived(bytes=to_text(bytes(range(256))), first_us=0),
        BytesReceived(bytes="", first_us=2**62),
        ReadingTaken(display="jobs", frame=1, name="height", value=-0.5),
        ReadingTaken(display="jobs", frame=1, name="jobs", table=[{"job": "TIDES", "state": "RUN"}, {}]),
        ReadingTaken(display="jobs", frame=1, name="übrig – 残り 🐦", value='"\\\u2028\x7f'),
    ]
    return [opened, *others, *awkward]


def lines() -> bytes:
    """The whole sample."""
    made, crc = b"", FIRST_CRC
    for number, fact in enumerate(facts()):
        line, crc = encode_line(Entry(number + 1, number * 40_000, fact), crc)
        made += line
    return made


if __name__ == "__main__":
    (FOLDER / f"format-{FORMAT}.exhibit").write_bytes(lines())
