"""The Whimbrel's files, original or changed, and parsed TOML written as text again, one key in each line."""

import copy
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from exhibit.folder.files import read_files
from exhibit.folder.reading.mistakes import FolderMistakes, Mistake
from exhibit.folder.reading.toml_lines import lines_of
from exhibit.folder.whole import folder_from

ROOT = Path(__file__).resolve().parents[2]
WHIMBREL = ROOT / "scripts" / "whimbrel"
FILES = read_files(WHIMBREL)
FOLDERS = sorted(
    path.parent
    for place in (ROOT / "scripts", ROOT / "tests/folder/consoles")
    for path in place.glob("*/machine.toml")
)
"""All folders in order: those that we ship, and those of consoles that were invented for the tests."""


def written_lines(files: dict[str, bytes]) -> int:
    """Count the lines of TOML files, one key a line, without comments and blank lines."""
    count = 0
    for content in files.values():
        text = content.decode()
        data, lines = tomllib.loads(text), lines_of(text)
        keys = [path for path in keys_of(data) if not isinstance(path[-1], int)]
        keys = [path for path in keys if not isinstance(value_at(data, path), dict)]
        on_a_shared_line = len(keys) - len({lines[path] for path in keys})
        count += sum(bool(line.strip()) and not line.lstrip().startswith("#") for line in text.splitlines())
        count += on_a_shared_line
    return count


def with_edit(file: str, old: str, new: str, *, times: int = 1) -> tuple[dict[str, bytes], int]:
    """Return the Whimbrel's files with one text replaced, and the line on which the new text begins."""
    text = FILES[file].decode()
    assert text.count(old) >= 1, f"{file} no longer has {old!r}"
    line = text[: text.index(old)].count("\n") + 1
    return {**FILES, file: text.replace(old, new, times).encode()}, line


def toml_text(data: dict[str, Any]) -> tuple[str, dict[tuple, int]]:
    """Return the file's text, and the line of each key and list item by its path; () has line 1."""
    rows: list[str] = []
    lines: dict[tuple, int] = {(): 1}
    _write_table(data, (), rows, lines)
    return "\n".join(rows) + "\n", lines


def _write_table(table: dict[str, Any], path: tuple, rows: list[str], lines: dict[tuple, int]) -> None:
    below = []
    for key, value in table.items():
        if isinstance(value, dict) or (isinstance(value, list) and value and isinstance(value[0], dict)):
            below.append((key, value))
            continue
        rows.append(f"{json.dumps(key)} = ")
        lines[(*path, key)] = len(rows)
        if isinstance(value, list):
            rows[-1] += "["
            for place, item in enumerate(value):
                rows.append(f"    {_plain(item)},")
                lines[(*path, key, place)] = len(rows)
            rows.append("]")
        else:
            rows[-1] += _plain(value)
    for key, value in below:
        several = isinstance(value, list)
        for place, item in enumerate(value if several else [value]):
            at = (*path, key, place) if several else (*path, key)
            header = ".".join(json.dumps(part) for part in at if isinstance(part, str))
            rows.append(f"[[{header}]]" if several else f"[{header}]")
            lines[at] = len(rows)
            lines.setdefault((*path, key), len(rows))
            _write_table(item, at, rows, lines)


def _plain(value: Any) -> str:
    return str(value).lower() if isinstance(value, bool) else json.dumps(value)


def keys_of(data: Any, path: tuple = ()) -> Iterator[tuple]:
    """Yield the path of each key of the file, and of each text in a list."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield (*path, key)
            yield from keys_of(value, (*path, key))
    elif isinstance(data, list):
        for place, item in enumerate(data):
            if isinstance(item, str):
                yield (*path, place)
            yield from keys_of(item, (*path, place))


def value_at(data: Any, path: tuple) -> Any:
    """Return the value at a path."""
    for part in path:
        data = data[part]
    return data


def changed(data: dict[str, Any], path: tuple, value: Any) -> dict[str, Any]:
    """Return a copy with another value at the path."""
    data = copy.deepcopy(data)
    value_at(data, path[:-1])[path[-1]] = value
    return data


def dropped(data: dict[str, Any], path: tuple) -> dict[str, Any]:
    """Return a copy without the value at the path."""
    data = copy.deepcopy(data)
    del value_at(data, path[:-1])[path[-1]]
    return data


def renamed(data: dict[str, Any], path: tuple, name: str) -> dict[str, Any]:
    """Return a copy in which the key at the path has another name, in the same position."""
    data = copy.deepcopy(data)
    table = value_at(data, path[:-1])
    items = [(name if key == path[-1] else key, value) for key, value in table.items()]
    table.clear()
    table.update(items)
    return data


def mistakes_in(files: dict[str, bytes]) -> list[Mistake]:
    """Return the mistakes that are found in these files."""
    try:
        folder_from(files, "the folder")
    except FolderMistakes as found:
        return found.mistakes
    return []
