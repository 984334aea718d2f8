"""Folders that a stranger might send: whole ones, changed by chance. A number stands for one of them."""

from __future__ import annotations

import copy
import random
import tomllib
from pathlib import Path
from typing import Any

from tests.strangers.mutated_recordings import ROOT, TEXTS, cut, filled, flipped, spliced

NUMBERS = [
    "0", "-1", "1.5", "1e308", "-inf", "nan", "1e999", "9" * 18, "9" * 30, "9" * 5000, "0x" + "f" * 400,
    "1979-05-27", "07:32:00", "0001-01-01T00:00:00Z", "true",
]  # fmt: skip
PATTERNS = [
    "{a: text}{b: text}", "{a: text} {b: text} {c: text} {d: text} " * 2 + "end", "{a: one word}x" * 12,
    "{a: number}.{b: number}0{c: number}", "{...}a{...}a{...}", "{", "}", "{a: number} " * 12 + "x",
    "x{...}", "{a: text}x{b: text}x", " ".join(f"{{a{n}: one word}}" for n in range(12)) + " x",
]  # fmt: skip
LONG_TEXTS = [
    text * many for text in ("x", "{a: number} ", "é\\n", "a.b.") for many in (50, 1900, 5000, 200_000)
]
NAMES = [
    "machine.toml",
    "notes.toml",
    "captions/xx.toml",
    "background/en/x.md",
    "pictures/x.svg",
    "UPPER.toml",
]
BOMBS = [
    b"a" + b".a" * 99_000 + b" = 1\n", b"x = " + b"[" * 5000, b"x = " + b"{a = " * 3000,
    b"x = " + b"9" * 90_000, b"a" + b".a" * 300_000 + b" = 1\n", b"a.b.c.d.e.f.g.h.i = 1\n",
    b"".join(b"[[step]]\nname = \"s%d\"\n" % n for n in range(9_000)), b"a.b.c.d.e.f.g = 1\n" * 2,
    b"".join(b"k%d = 1\n" % n for n in range(20_000)), b"x = [" + b"'a'," * 60_000 + b"]\n",
    b"\"" + b"k" * 100_000 + b"\" = 1\n" + b"\"" + b"k" * 99_999 + b"\" = 1\n",
    b"x = \"" + b"\\\\" * 100_000,
    b"\xef\xbb\xbf[machine]\n", b"\xff\xfe", b"x = \"\"\"" + b"\"\"" * 90_000,
]  # fmt: skip
SVG_BOMB = (
    b'<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "xxxxxxxxxx">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b']><svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><text>&j;</text></svg>'
)
SVGS = [
    SVG_BOMB,
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 175">' + b"<g>" * 20_000,
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="' + b"1 " * 200_000 + b'"/>',
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1e99 1"/>',
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 175" style="' + b"fill:red;" * 90_000 + b'"/>',
    b"<" * 900_000,
]


def _files_of(place: Path) -> dict[str, bytes]:
    files = [path for path in sorted(place.rglob("*")) if path.is_file()]
    return {path.relative_to(place).as_posix(): path.read_bytes() for path in files}


FOLDERS = [_files_of(ROOT / "scripts" / name) for name in ("heron", "posix", "whimbrel")]


def mutated_folder(number: int) -> tuple[dict[str, bytes], list[str]]:
    """The files of the folder of this number, and the names of what was done to them."""
    chance = random.Random(f"folder {number}")
    files = dict(chance.choice([*FOLDERS, FOLDERS[0]]))
    done = []
    for _ in range(chance.choice([1, 1, 2, 3])):
        way = chance.choice(_WAYS)
        done.append(way.__name__)
        way(chance, files)
    return files, done


def _a_toml(chance: random.Random, files: dict[str, bytes]) -> str:
    return (
        "machine.toml" if chance.random() < 0.4 else chance.choice([n for n in files if n.endswith(".toml")])
    )


def _values(data: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        found += _values(value, (*path, key))
    return found


def _written(value: Any) -> str:
    """The value as TOML; what is a Literal stands as it is."""
    if isinstance(value, Literal):
        return value.text
    if isinstance(value, bool):
        return f"{value}".lower()
    if isinstance(value, str):
        return _quoted(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_quoted(key)} = {_written(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_written, value)) + "]"
    return f"{value}"


class Literal:
    """Text that stands in the file as it is."""

    def __init__(self, text: str) -> None:
        self.text = text


def _quoted(text: str) -> str:
    escaped = "".join(c if c.isprintable() and c not in '"\\' else f"\\U{ord(c):08X}" for c in text)
    return f'"{escaped}"'


def _change(chance: random.Random, files: dict[str, bytes], new: Any) -> None:
    """Puts this in the place of a value, or what this makes of the value."""
    name = _a_toml(chance, files)
    if len(files[name]) > 60_000:  # a bomb already, which parsing here would set off
        return
    try:
        data = tomllib.loads(files[name].decode())
    except (ValueError, RecursionError):
        return
    data = copy.deepcopy(data)
    if not (places := _values(data)):
        return
    *above, last = chance.choice(places)
    table = data
    for key in above:
        table = table[key]
    table[last] = new(table[last]) if callable(new) else new
    rows = [f"{_quoted(key)} = {_written(value)}" for key, value in data.items()]
    files[name] = ("\n".join(rows) + "\n").encode("utf-8", "replace")


def number_exchanged(chance: random.Random, files: dict[str, bytes]) -> None:
    _change(chance, files, Literal(chance.choice(NUMBERS)))


def text_exchanged(chance: random.Random, files: dict[str, bytes]) -> None:
    _change(chance, files, chance.choice([*TEXTS, *PATTERNS, *LONG_TEXTS]))


def pattern_exchanged(chance: random.Random, files: dict[str, bytes]) -> None:
    _change(chance, files, lambda value: chance.choice(PATTERNS) if isinstance(value, str) else value)


def wrong_kind(chance: random.Random, files: dict[str, bytes]) -> None:
    _change(chance, files, chance.choice([[], {}, [[]], [{}], {"": ""}, [1, "x"], {"a": {"b": {}}}, True]))


def grown(chance: random.Random, files: dict[str, bytes]) -> None:
    many = chance.choice([20, 450, 3000])

    def larger(value: Any) -> Any:
        if isinstance(value, list):
            return value + [copy.deepcopy(item) for item in (value or ["x"])[:1] for _ in range(many)]
        if isinstance(value, dict):
            example = next(iter(value.values()), "x")
            return value | {f"n{n}": example for n in range(many)}
        return value * many if isinstance(value, str) and len(value) * many < 10**6 else value

    for _ in range(5):
        _change(chance, files, larger)


def nested(chance: random.Random, files: dict[str, bytes]) -> None:
    deep = chance.choice([5, 30, 2000])
    left, right = chance.choice([("[", "]"), ("{a = ", "}")])
    _change(chance, files, Literal(left * deep + "1" + right * deep))


def key_added(chance: random.Random, files: dict[str, bytes]) -> None:
    def more(value: Any) -> Any:
        key = chance.choice(["", "x", "a" * 90, "k" * 5000, "name", "é", "until", "\x1b[2J"])
        return value | {key: chance.choice(["x", 1, []])} if isinstance(value, dict) else value

    for _ in range(5):
        _change(chance, files, more)


def file_dropped(chance: random.Random, files: dict[str, bytes]) -> None:
    del files[chance.choice(list(files))]
    files.setdefault("machine.toml", b"")


def file_added(chance: random.Random, files: dict[str, bytes]) -> None:
    files[chance.choice(NAMES)] = chance.choice([*files.values(), *BOMBS, *SVGS])


def bomb(chance: random.Random, files: dict[str, bytes]) -> None:
    name = _a_toml(chance, files)
    files[name] = chance.choice([files[name], b""]) + chance.choice(BOMBS)


def bytes_harmed(chance: random.Random, files: dict[str, bytes]) -> None:
    name = chance.choice([name for name, content in files.items() if content] or list(files))
    if files[name]:
        files[name] = chance.choice([cut, flipped, spliced, filled])(chance, files[name])


def picture(chance: random.Random, files: dict[str, bytes]) -> None:
    files["pictures/x.svg"] = chance.choice(SVGS)
    files["pictures/y.jpg"] = chance.choice([b"", b"\xff\xd8\xff\xe0" + b"\x00" * 100, b"\xff\xd8" * 90_000])
    wanted = chance.choice(["x.svg", "y.jpg", "../../../etc/passwd", "x.svg\\u0000"])
    files["machine.toml"] = files["machine.toml"].replace(
        b"shape = ", b'picture = "pictures/' + wanted.encode() + b'"\nshape = ', 1
    )


_WAYS = [
    number_exchanged, number_exchanged, text_exchanged, text_exchanged, pattern_exchanged, wrong_kind, grown,
    nested, key_added, file_dropped, file_added, bomb, bytes_harmed, picture,
]  # fmt: skip
FOLDER_WAYS = [way.__name__ for way in dict.fromkeys(_WAYS)]


def write_folder(place: Path, files: dict[str, bytes]) -> None:
    """Writes the files into this folder."""
    for name, content in files.items():
        path = place / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
