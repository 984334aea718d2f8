"""Whatever stands in a folder's files, reading them ends soon, with a folder or with findings."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Final

from exhibit.folder.reading.mistakes import FolderMistakes, Mistake
from exhibit.folder.whole import folder_from
from tests.fuzz.choices import Choices

SCRIPTS: Final = Path(__file__).resolve().parents[2] / "scripts"
FOLDERS: Final = ("heron", "posix", "whimbrel")
HOSTILE: Final = (
    '""', "0", "-1", "99999999999999999999", "9" * 5_000, "nan", "inf", "-inf", "1e400", "true", "[]", "{}",
    "[[]]", "[1]", "{a = 1}", "1979-05-27", "1979-05-27T07:32:00Z", "07:32:00", '"\\u0000"', '"\\u202e"',
    '"\\U0001F600"', "'''\n'''", '"{...}"', '"{x: number}"', '"{x: text}{y: text}"',
    '"' + "A" * 3_000 + '"', '"none"', '"control A"', '"0 s"', '"99999999999 h"', '"1e9 s"', '"-5 ms"',
    '"row 0 column 0"', '"9 to 1"', '"quiet 1 us"', '"' + "{...} " * 40 + '"', "[" * 60 + "]" * 60,
    "{a.b.c.d = 1}", '"../../x"', '"fixed 0"', '"{a: number}:{b: number}:{c: word} {d: text}"', '"ask"',
    '["", "", ""]', "[true, 1]", '"１２ s"', '"²"',
)  # fmt: skip
"""Values that a key may be given."""
ODD_LINES: Final = (
    "[machine]", "[[step]]", "[prompts]", "a.b.c.d.e.f.g = 1", '"" = 1', '"a\\nb" = 2',
    "[" + "x." * 300 + "y]", "= 1", "[[]]", "x = {", '"""', "#", "\t", "[displays.x.readings.y]", "[lines]",
    "include = 'x'", "\ufeff",
)  # fmt: skip


@cache
def _folder(name: str) -> tuple[dict[str, bytes], dict[str, bytes]]:
    """The TOML files of a folder, and its cards."""
    path = SCRIPTS / name
    files = {found.relative_to(path).as_posix(): found.read_bytes() for found in sorted(path.rglob("*.*"))}
    tables = {within: content for within, content in files.items() if within.endswith(".toml")}
    return tables, {within: content for within, content in files.items() if within not in tables}


def seeds() -> list[bytes]:
    """Inputs to begin with: whole files of the smallest folder, and a few edits of each folder."""
    files = sorted(_folder("heron")[0].items())
    whole = [bytes((0, number)) + content for number, (_, content) in enumerate(files)]
    edits = [
        bytes((1, folder, file, 0, line, kind, value))
        for folder in range(len(FOLDERS))
        for file in range(5)
        for line in range(0, 200, 40)
        for kind, value in ((0, 0), (2, line % 41), (6, 5))
    ]
    return [*whole, *edits]


def one(data: bytes) -> None:
    """Puts a text in the place of a file, or edits lines of the files, and reads the folder."""
    given = Choices(data)
    edited = given.below(2) == 1
    files, others = _folder(given.one_of(FOLDERS)) if edited else _folder("heron")
    files = dict(files)
    names = sorted(files)
    if edited:
        while given.remaining:
            name = given.one_of(names)
            files[name] = _edited(files[name], given)
    else:
        files[given.one_of(names)] = given.rest()
    for mistake in _mistakes(files, others):
        content = files.get(mistake.file, b"")
        assert 1 <= mistake.line <= content.count(b"\n") + content.count(b"\r") + 1, mistake


def _mistakes(files: dict[str, bytes], others: dict[str, bytes]) -> list[Mistake]:
    """What is wrong in the folder; nothing if it is accepted."""
    try:
        folder_from(files, "folder", others)
    except FolderMistakes as found:
        return found.mistakes
    return []


def _edited(content: bytes, given: Choices) -> bytes:
    lines = content.decode().split("\n")
    place = (given.below(256) * 256 + given.below(256)) % len(lines)
    line = lines[place]
    match given.below(7):
        case 0:
            del lines[place]
        case 1:
            lines.insert(place, line)
        case 2:
            lines[place] = f"{line.partition('=')[0]}= {given.one_of(HOSTILE)}"
        case 3:
            lines.insert(place, given.one_of(ODD_LINES))
        case 4:
            lines[place] = f"{line.partition('=')[0]}= {_quoted(given.take(given.below(24)))}"
        case 5:
            at = given.below(max(1, len(line)))
            lines[place] = line[:at] + given.take(1).decode("latin-1") + line[at + 1 :]
        case _:
            other = lines[(place + given.below(256)) % len(lines)]
            lines[place] = f"{line.partition('=')[0]}={other.partition('=')[2]}"
    return "\n".join(lines).encode()


def _quoted(chosen: bytes) -> str:
    letters = chosen.decode("latin-1")
    text = "".join(c if c.isprintable() and c not in '"\\' else f"\\u{ord(c):04x}" for c in letters)
    tomllib.loads(f'x = "{text}"')
    return f'"{text}"'
