"""The lines of the keys of a TOML file, in examples and, compared with tomllib, in generated files."""

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from exhibit.folder.reading.toml_lines import lines_of

pytestmark = pytest.mark.pure


def paths_of(value: Any, path: tuple = ()) -> set[tuple]:
    """Return the path of each key, table and array item of the parsed value."""
    below = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    found = set()
    for key, inner in below:
        found |= {(*path, key)} | paths_of(inner, (*path, key))
    return found


CASES = {
    "a key": ("a = 1", {("a",): 1}),
    "after blank lines and comments": ("\n# a = 2\n  a = 1 # b = 3\n", {("a",): 3}),
    "a table and its keys": ("[t]\na = 1\n\nb = 2\n", {("t",): 1, ("t", "a"): 2, ("t", "b"): 4}),
    "a dotted header": (
        "\n[a.b . c]\nk = 1",
        {("a",): 2, ("a", "b"): 2, ("a", "b", "c"): 2, ("a", "b", "c", "k"): 3},
    ),
    "a header that comes after those below it": (
        "[a.b]\n[a]\nk = 1",
        {("a",): 2, ("a", "b"): 1, ("a", "k"): 3},
    ),
    "a dotted key": (
        "[t]\na.b = 1\na.c = 2",
        {("t",): 1, ("t", "a"): 2, ("t", "a", "b"): 2, ("t", "a", "c"): 3},
    ),
    "quoted keys": (
        '["a.b"]\n\'c d\' = 1\n"e\\u0041\\n\\"" = 2',
        {("a.b",): 1, ("a.b", "c d"): 2, ("a.b", 'eA\n"'): 3},
    ),
    "keys of figures": ("1.2 = 3\n-x- = 4", {("1",): 1, ("1", "2"): 1, ("-x-",): 2}),
    "arrays of tables": (
        "[[s]]\na = 1\n\n[[s]]\na = 2\n[s.x]\nb = 3\n[[s]]\n",
        {
            ("s",): 1, ("s", 0): 1, ("s", 0, "a"): 2, ("s", 1): 4, ("s", 1, "a"): 5,
            ("s", 1, "x"): 6, ("s", 1, "x", "b"): 7, ("s", 2): 8,
        },
    ),
    "arrays of tables below arrays of tables": (
        "[[a]]\n[[a.b]]\nk=1\n[[a.b]]\n[[a]]\n[[a.b]]\nk=2",
        {
            ("a",): 1, ("a", 0): 1, ("a", 0, "b"): 2, ("a", 0, "b", 0): 2, ("a", 0, "b", 0, "k"): 3,
            ("a", 0, "b", 1): 4, ("a", 1): 5, ("a", 1, "b"): 6, ("a", 1, "b", 0): 6, ("a", 1, "b", 0, "k"): 7,
        },
    ),
    "a list over several lines": (
        "a = [ # [\n  1,\n\n  # 2,\n  [3, \n4], ]\nb = 5",
        {("a",): 1, ("a", 0): 2, ("a", 1): 5, ("a", 1, 0): 5, ("a", 1, 1): 6, ("b",): 7},
    ),
    "an inline table": (
        "a = {b = 1, c.d = [\n2], 'e' = {}}\nf = 3",
        {
            ("a",): 1, ("a", "b"): 1, ("a", "c"): 1, ("a", "c", "d"): 1, ("a", "c", "d", 0): 2,
            ("a", "e"): 2, ("f",): 3,
        },
    ),
    "texts that look like TOML": (
        "a = \"[x]\\\"\" # '\nb = '[y]\"\\'\nc = 1",
        {("a",): 1, ("b",): 2, ("c",): 3},
    ),
    "long texts": (
        'a = """\n[x]\nb = 1\\\n ""\\""" "\n"""\nb = \'\'\'\n\\ \'\' k = 2\n\'\'\'\nc = 1',
        {("a",): 1, ("b",): 6, ("c",): 9},
    ),
    "quotation marks at the end of long texts": (
        'a = """x"""""\nb = """"""\nc = \'\'\'y\'\'\'\'\nd = \'\'\'\'\'\'\ne = """\\\\"""\nf = 1',
        {("a",): 1, ("b",): 2, ("c",): 3, ("d",): 4, ("e",): 5, ("f",): 6},
    ),
    "dates, times and numbers": (
        "a = 1979-05-27 07:32:00Z\nb = 07:32:00\nc = [1e5, -inf,0xff ]\nd = true\ne=+1_000.5",
        {("a",): 1, ("b",): 2, ("c",): 3, ("c", 0): 3, ("c", 1): 3, ("c", 2): 3, ("d",): 4, ("e",): 5},
    ),
    "lines ended as on another system": ("a = 1\r\n[b]\r\nc = \"\"\"x\r\ny\"\"\"\r\nd = 2\r\n",
        {("a",): 1, ("b",): 2, ("b", "c"): 3, ("b", "d"): 5}),
    "nothing": ("# nothing", {}),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_each_key_is_found_on_its_line(case):
    text, lines = CASES[case]
    assert paths_of(tomllib.loads(text)) == set(lines), "the case itself is wrong"
    assert lines_of(text) == lines


# -- generated files, each with the lines of its keys

BARE = st.text("abcXYZ019_-", min_size=1, max_size=6)
NAMES = st.one_of(BARE, st.text(st.characters(codec="utf-8"), max_size=6))
SCALARS = st.one_of(st.integers(-99, 99), st.booleans(), st.text(st.characters(codec="utf-8"), max_size=12))
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=6,
)
TABLES = st.dictionaries(NAMES, VALUES, max_size=4)


def basic(text: str) -> str:
    """Return the text in quotation marks, with everything but plain letters and digits escaped."""
    return '"' + "".join(c if c.isascii() and c.isalnum() else f"\\U{ord(c):08x}" for c in text) + '"'


class Writer:
    """Writes TOML, and remembers the line of each key."""

    def __init__(self, draw) -> None:
        self.text = ""
        self.lines: dict[tuple, int] = {}
        self._draw = draw

    @property
    def line(self) -> int:
        return self.text.count("\n") + 1

    def any_of(self, *choices: str) -> None:
        self.text += self._draw(st.sampled_from(choices))

    def name(self, name: str) -> None:
        is_bare = name and all(c.isascii() and (c.isalnum() or c in "-_") for c in name)
        literal = name.isascii() and name.isprintable() and "'" not in name
        forms = [basic(name)] + [name] * bool(is_bare) + [f"'{name}'"] * literal
        self.any_of(*forms)

    def header(self, path: tuple, several: bool) -> None:
        self.any_of("", "\n", " \t", "# [not.this]\n")
        # The tables above a header's last name already have headers of their own.
        self.lines[path] = self.line
        if several:
            self.lines.setdefault(path[:-1], self.line)
        self.text += "[[" if several else "["
        for place, key in enumerate(key for key in path if isinstance(key, str)):
            self.any_of(*([".", " . "] if place else ["", " "]))
            self.name(key)
        self.text += "]]" if several else "]"
        self.any_of("\n", " # key = 1\n", "\n\n")

    def pair(self, path: tuple, value: Any) -> None:
        self.lines[path] = self.line
        self.name(path[-1])
        self.any_of("=", " = ", "\t=  ")
        self.value(path, value)

    def value(self, path: tuple, value: Any) -> None:
        if isinstance(value, bool):
            self.text += str(value).lower()
        elif isinstance(value, int):
            self.text += str(value)
        elif isinstance(value, str):
            self.string(value)
        elif isinstance(value, list):
            self.text += "["
            for place, item in enumerate(value):
                self.any_of("", "\n", " # ],\n ")
                self.lines[(*path, place)] = self.line
                self.value((*path, place), item)
                self.any_of(",", " ,", "\n,", "# ,\n,") if place < len(value) - 1 else self.any_of(
                    "", ",", "\n"
                )
            self.text += "]"
        else:
            self.text += "{"
            for place, (key, item) in enumerate(value.items()):
                self.any_of(*([", ", " ,"] if place else ["", " "]))
                self.pair((*path, key), item)
            self.text += "}"

    def string(self, text: str) -> None:
        forms = [basic(text)]
        plain = all(c == "\n" or (c.isprintable() and c not in "\\") for c in text)
        if plain and "\n" not in text and "'" not in text:
            forms.append(f"'{text}'")
        if plain and "'''" not in text and not text.endswith("'"):
            forms.append(f"'''\n{text}'''")
        if plain and '"""' not in text:
            # The text can end with two quotation marks, but not with three.
            ends = len(text) - len(text.rstrip('"'))
            if ends <= 2:
                forms += (
                    [f'"""\n{text}"""', f'"""\\\n   \n {text}"""']
                    if text[:1].isalnum()
                    else [f'"""\n{text}"""']
                )
        self.any_of(*forms)


@st.composite
def files(draw) -> tuple[str, dict[tuple, int]]:
    """Return a TOML file, and the line of each of its keys."""
    writer = Writer(draw)
    data = draw(st.dictionaries(NAMES, VALUES, max_size=3))
    for key, value in data.items():
        writer.pair((key,), value)
        writer.any_of("\n", " # [x]\n", "\n\n")
    for key, tables in draw(
        st.dictionaries(NAMES, st.lists(TABLES, min_size=1, max_size=3), max_size=3)
    ).items():
        if key in data:
            continue
        several = len(tables) > 1 or draw(st.booleans())
        for place, table in enumerate(tables):
            path = (key, place) if several else (key,)
            writer.header(path, several)
            for name, value in table.items():
                writer.pair((*path, name), value)
                writer.text += "\n"
            below = draw(NAMES)
            if below not in table and draw(st.booleans()):
                writer.header((*path, below), several=False)
                for name, value in draw(TABLES).items():
                    writer.pair((*path, below, name), value)
                    writer.text += "\n"
    return writer.text, writer.lines


@given(files())
def test_generated_files_have_the_lines_on_which_they_were_written(generated):
    text, lines = generated
    assert set(lines) == paths_of(tomllib.loads(text)), "the generator itself is wrong"
    assert lines_of(text) == lines


@given(st.text("abc.=[]{}\"'\\,# \n1", max_size=40))
def test_whatever_tomllib_accepts_is_scanned_and_has_the_same_keys(text):
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return
    assert set(lines_of(text)) == paths_of(data)
