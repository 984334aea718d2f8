"""Prints a machine's folder as it is understood: every key with its value, and which of them are defaults.

What is printed for a file is that file again, with nothing left out: used in its place, it means the same.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

from exhibit.folder.reading.machine import FILE as MACHINE
from exhibit.folder.reading.tables import Table
from exhibit.folder.reading.toml_lines import Path
from exhibit.folder.whole import USUAL_SCRIPTS, Examined

DEFAULT: Final = "    # default"
_FIRST: Final = (MACHINE, *(f"{name}.toml" for name in USUAL_SCRIPTS))
_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")


def explained(found: Examined) -> list[str]:
    """Return the lines of all files, each headed by its name in a comment."""
    lines: list[str] = []
    for name in sorted(found.tables, key=lambda name: (_place(name), name)):
        table = found.tables[name]
        lines += [""] if lines else []
        lines += [f"# ---- {name}" if table.data else f"# ---- {name}: nothing is written", ""]
        lines += file_lines(table)
    return lines


def file_lines(file: Table) -> list[str]:
    """Return the lines of one file, with the defaults that were used for what isn't written."""
    whole: dict[str, Any] = _copy(file.data)
    for path, value in sorted(file.defaults.items(), key=lambda item: len(item[0])):
        _put(whole, path, value, file.shorts)
    for path in file.shorts:
        _lengthen_among_tables(whole, path, file.shorts)
    lines = list(_table_lines(whole, (), file.defaults))
    while lines and not lines[0]:
        del lines[0]
    return lines


def _place(name: str) -> tuple[int, int]:
    """Return where a file is printed: what the machine is, what is done there, what is shown."""
    return ("/" in name, _FIRST.index(name) if name in _FIRST else len(_FIRST))


def _copy(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {key: _copy(inner) for key, inner in value.items()}
    return [_copy(inner) for inner in value] if isinstance(value, list) else value


def _put(whole: dict[str, Any], path: Path, value: Any, shorts: Mapping[Path, Any]) -> None:
    inner: Any = whole
    for place, step in enumerate(path[:-1]):
        if path[: place + 1] in shorts and not isinstance(inner[step], Mapping):
            inner[step] = _copy(shorts[path[: place + 1]])
        inner = inner.setdefault(step, {}) if isinstance(inner, dict) else inner[step]
        if not isinstance(inner, dict | list):
            return  # something else was written where a table belongs, which is a mistake
    if isinstance(inner, dict):
        inner.setdefault(path[-1], _copy(value))


def _lengthen_among_tables(whole: dict[str, Any], path: Path, shorts: Mapping[Path, Any]) -> None:
    """Write a short form as a table if tables stand beside it, because TOML prints these only after it."""
    group: Any = whole
    for step in path[:-1]:
        group = group[step]
    if not isinstance(group[path[-1]], Mapping) and any(isinstance(one, Mapping) for one in group.values()):
        group[path[-1]] = _copy(shorts[path])


def _table_lines(table: Mapping[str, Any], path: Path, defaults: Mapping[Path, Any]) -> Iterator[str]:
    """Yield the lines of a table: its header and its plain keys, if it has any, then the tables inside."""
    inside: list[tuple[Path, Mapping[str, Any]]] = []
    plain: list[str] = []
    for key, value in table.items():
        here = (*path, key)
        if isinstance(value, Mapping):
            inside.append((here, value))
        elif isinstance(value, list) and value and all(isinstance(one, Mapping) for one in value):
            inside += [((*here, place), item) for place, item in enumerate(value)]
        else:
            plain.append(f"{_key(key)} = {_value(value)}{DEFAULT if here in defaults else ''}")
    if path and (plain or not inside):
        yield ""
        header = ".".join(_key(part) for part in path if isinstance(part, str))
        is_one_of_many = isinstance(path[-1], int)
        yield f"[[{header}]]" if is_one_of_many else f"[{header}]{DEFAULT if path in defaults else ''}"
    yield from plain
    for here, inner in inside:
        yield from _table_lines(inner, here, defaults)


def _key(name: str) -> str:
    return name if _BARE_KEY.fullmatch(name) else json.dumps(name, ensure_ascii=False)


def _value(value: Any) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(key)} = {_value(inner)}" for key, inner in value.items()) + "}"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, (bool, str)) else f"{value}"
