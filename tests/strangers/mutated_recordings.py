"""Recordings that a stranger might send: whole ones, changed by chance.

A number stands for one recording, always the same. Where facts are changed, the checksums are made right
again: nothing then shows that anything was changed.
"""

from __future__ import annotations

import copy
import json
import random
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any
from zlib import crc32

import msgspec

from tests.recordings.one_of_each import facts

ROOT = Path(__file__).resolve().parent.parent.parent
SAMPLE = ROOT / "recordings" / "whimbrel-one-round.exhibit"

Plain = dict[str, Any]

NUMBERS: list[Any] = [
    0, 1, -1, -0.5, 1e-300, 5e-324, 1e15, 1e18, 1e308, -1e308, 9_999, 65_536, 10**6, 10**9, 2**31, 2**31 - 1,
    2**32, 2**53, 2**53 + 1, 10**15, 10**17, 10**18 - 1, 2**62, 2**63 - 1, -(2**63), 2**63, 2**64, 10**30,
    10**400, 10**4200, 10**4400,
]  # fmt: skip
TEXTS = [
    "", "x", "\r\n" * 40, "\x1b[2J\x1b[H\x1b]0;gotcha\x07", "\x00\xff" * 50, "é" * 300, "界" * 300,
    "💾" * 300,    "{...} {value: number}", "%s%n{0}", "2026-02-30T25:61:61Z", "0001-01-01T00:00:00+23:59",
    "9999-12-31T23:59:60-23:59", "2026-11-25T09:30:00+01:00", "../../../etc/passwd", "\x1b[99999999999999C",
    "\x1b[" + ";".join("9" * 400), "9" * 5000, "1.5e999", "nan", "a.b.c.d", ".", "a" * 70_000,
    "<script>alert(1)</script>", "\u202e\u2066\u0000\ud7ff\uffff", "o*x~ /" * 100, "[" * 3000, '{"a":' * 3000,
]  # fmt: skip
OTHERS: list[Any] = [None, True, False, [], {}, [[]], {"en": {}}, {"": ""}, ["x"] * 3000, {"en": ["x"]}]


@cache
def _round() -> list[Plain]:
    return [json.loads(line) for line in SAMPLE.read_bytes().splitlines()]


@cache
def _one_of_each() -> list[Plain]:
    return [
        {"seq": seq, "at_us": seq * 1000, **json.loads(msgspec.json.encode(fact))}
        for seq, fact in enumerate(facts(), 1)
    ]


def mutated(number: int) -> tuple[bytes, list[str]]:
    """The recording of this number, and the names of what was done to it."""
    chance = random.Random(f"recording {number}")
    whole = _one_of_each() if chance.random() < 0.3 else _round()
    start = chance.randrange(1, len(whole))
    length = chance.choice([3, 20, 80, 200])
    entries = copy.deepcopy([whole[0], *whole[start : start + length]])
    done = []
    for _ in range(chance.choice([1, 1, 1, 2, 3, 6])):
        way = chance.choice(_OF_FACTS)
        done.append(way.__name__)
        way(chance, entries)
        if not entries:
            entries = copy.deepcopy(whole[:1])
    content = written(entries, renumber=chance.random() < 0.9)
    if chance.random() < 0.25:
        harm = chance.choice(_OF_BYTES)
        done.append(harm.__name__)
        content = harm(chance, content)
    return content, done


def written(entries: list[Plain], *, renumber: bool = True) -> bytes:
    """These facts as a recording, with right checksums; `renumber` gives them numbers and times in order."""
    crc, out, last_us = b"00000000", [], 0
    for number, entry in enumerate(entries, 1):
        if renumber:
            at_us = entry["at_us"] if isinstance(entry.get("at_us"), int) else 0
            last_us = max(last_us, at_us)
            entry = {**entry, "seq": number, "at_us": last_us}
        head = {"seq": entry.get("seq"), "at_us": entry.get("at_us"), "fact": entry.get("fact")}
        rest = {key: value for key, value in entry.items() if key not in ("seq", "at_us", "fact", "crc")}
        body = _json({**head, **rest})[:-1]
        crc = b"%08x" % crc32(body, crc32(crc))
        out.append(body + b',"crc":"' + crc + b'"}\n')
    return b"".join(out)


def _json(plain: Plain) -> bytes:
    limit = sys.get_int_max_str_digits()
    sys.set_int_max_str_digits(0)
    try:
        return json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode("utf-8", "surrogatepass")
    finally:
        sys.set_int_max_str_digits(limit)


# -- what is done to facts


def _places(entry: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The paths of all values in it."""
    found = [path] if path else []
    items = entry.items() if isinstance(entry, dict) else enumerate(entry) if isinstance(entry, list) else ()
    for key, value in items:
        if path or key not in ("crc", "how_to_read"):
            found += _places(value, (*path, key))
    return found


def _put(entry: Any, path: tuple[Any, ...], value: Any) -> None:
    for key in path[:-1]:
        entry = entry[key]
    entry[path[-1]] = value


def _value(entry: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        entry = entry[key]
    return entry


def _an_entry(chance: random.Random, entries: list[Plain]) -> Plain:
    return entries[0] if chance.random() < 0.35 else chance.choice(entries)


def _exchange(
    chance: random.Random, entries: list[Plain], fits: Callable[[Any], bool], by: list[Any]
) -> None:
    entry = _an_entry(chance, entries)
    if places := [place for place in _places(entry) if fits(_value(entry, place))]:
        _put(entry, chance.choice(places), chance.choice(by))


def number_exchanged(chance: random.Random, entries: list[Plain]) -> None:
    _exchange(chance, entries, lambda value: type(value) in (int, float), NUMBERS)


def text_exchanged(chance: random.Random, entries: list[Plain]) -> None:
    _exchange(chance, entries, lambda value: isinstance(value, str), TEXTS)


def bytes_exchanged(chance: random.Random, entries: list[Plain]) -> None:
    for entry in entries:
        if "bytes" in entry and chance.random() < 0.3:
            entry["bytes"] = chance.choice([*TEXTS, "".join(chr(chance.randrange(256)) for _ in range(200))])


def wrong_kind(chance: random.Random, entries: list[Plain]) -> None:
    _exchange(chance, entries, lambda value: True, [*OTHERS, *NUMBERS[:8], *TEXTS[:3]])


def field_dropped(chance: random.Random, entries: list[Plain]) -> None:
    entry = _an_entry(chance, entries)
    places = [place for place in _places(entry) if isinstance(place[-1], str)]
    place = chance.choice(places)
    del _value(entry, place[:-1])[place[-1]]


def field_added(chance: random.Random, entries: list[Plain]) -> None:
    entry = _an_entry(chance, entries)
    entry[chance.choice(["more", "fact ", "rows", "wall"])] = chance.choice([*OTHERS, *NUMBERS])


def reordered(chance: random.Random, entries: list[Plain]) -> None:
    rest = entries[1:]
    chance.shuffle(rest)
    entries[1:] = rest


def first_moved(chance: random.Random, entries: list[Plain]) -> None:
    entries.insert(chance.randrange(len(entries)), entries.pop(0))


def repeated(chance: random.Random, entries: list[Plain]) -> None:
    start = chance.randrange(len(entries))
    entries[start:start] = copy.deepcopy(entries[start : start + 30]) * chance.choice([1, 10])


def facts_dropped(chance: random.Random, entries: list[Plain]) -> None:
    start = chance.randrange(len(entries))
    del entries[start : start + chance.choice([1, 5, 50])]


def time_jumps(chance: random.Random, entries: list[Plain]) -> None:
    by_us = chance.choice([n for n in NUMBERS if isinstance(n, int) and -(10**19) < n < 10**19])
    for entry in entries[chance.randrange(len(entries)) :]:
        if isinstance(entry.get("at_us"), int):
            entry["at_us"] += by_us


def numbers_wrong(chance: random.Random, entries: list[Plain]) -> None:
    for entry in entries[1:]:
        entry["seq"] = chance.choice([1, 2, entry.get("seq"), 2**62, 10**17, 0, -1])


def grown(chance: random.Random, entries: list[Plain]) -> None:
    """A list or table far larger than any machine has."""
    entry = _an_entry(chance, entries)
    places = [place for place in _places(entry) if isinstance(_value(entry, place), list | dict)]
    if places:
        value = _value(entry, chance.choice(places))
        many = chance.choice([300, 5000])
        if isinstance(value, list):
            value.extend(copy.deepcopy((value or ["x"])[:1]) * many)
        else:
            example = next(iter(value.values()), "x")
            value.update({f"n{n}": example for n in range(many)})


def nested(chance: random.Random, entries: list[Plain]) -> None:
    entry = _an_entry(chance, entries)
    deep: Any = []
    for _ in range(chance.choice([20, 150])):
        deep = [deep] if chance.random() < 0.5 else {"en": deep}
    _put(entry, chance.choice([place for place in _places(entry) if len(place) == 1]), deep)


_OF_FACTS = [
    number_exchanged, number_exchanged, number_exchanged, text_exchanged, text_exchanged, bytes_exchanged,
    wrong_kind, field_dropped, field_added, reordered, first_moved, repeated, facts_dropped, time_jumps,
    numbers_wrong, grown, nested,
]  # fmt: skip

# -- what is done to bytes


def cut(chance: random.Random, content: bytes) -> bytes:
    return content[: chance.randrange(len(content))]


def flipped(chance: random.Random, content: bytes) -> bytes:
    changed = bytearray(content)
    for _ in range(chance.choice([1, 3, 50])):
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    return bytes(changed)


def spliced(chance: random.Random, content: bytes) -> bytes:
    start, end = sorted(chance.randrange(len(content)) for _ in range(2))
    at = chance.randrange(len(content))
    return content[:at] + content[start:end] + content[at:]


def no_line_ends(chance: random.Random, content: bytes) -> bytes:
    first, _, rest = content.partition(b"\n")
    return first + b"\n" + rest.replace(b"\n", b" ")


def filled(chance: random.Random, content: bytes) -> bytes:
    at = chance.randrange(len(content))
    return content[:at] + chance.choice([b"\x00", b"\n", b"{", b"\xff"]) * 100_000 + content[at:]


_OF_BYTES = [cut, flipped, spliced, no_line_ends, filled]
WAYS = [way.__name__ for way in (*dict.fromkeys(_OF_FACTS), *_OF_BYTES)]
