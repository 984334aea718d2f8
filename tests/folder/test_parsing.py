"""A TOML file is parsed within bounds, so that none keeps its reader busy."""

import pytest

from exhibit.folder.files import LARGEST_BYTES
from exhibit.folder.parsing import LONGEST_KEY, MOST_ENTRIES, MOST_PARTS, MOST_VALUES, parsed
from exhibit.folder.reading.mistakes import Mistake
from tests.folder.folder_writing import FOLDERS
from tests.strangers.limits_of_trials import watched

pytestmark = pytest.mark.pure


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        ("\na" + ".a" * 100_000 + " = 1", 2, "more than 8 parts"),
        ("a" + " . a" * 8 + " = 1", 1, "more than 8 parts"),
        ('\n\n["a"' + ".'a'" * 8 + "]", 3, "more than 8 parts"),
        ("x = {a" + ".a" * 8 + " = 1}", 1, "more than 8 parts"),
        ("x = " + "[" * 100_000, 1, "nested too deeply"),
        ("x = " + "{a = " * 100 + "1" + "}" * 100, 1, "nested too deeply"),
        ("x = " + "9" * 5000, 1, "more than 18 digits"),
        ("x = -1_000_000_000_000_000_000", 1, "more than 18 digits"),
        ("x = 0x" + "f" * 10_000, 1, "more than 2000 characters"),
        ('\nx = "' + "y" * 2001 + '"', 2, "more than 2000 characters"),
        ("x = '''" + "y\n" * 1001 + "'''", 1, "more than 2000 characters"),
        ("x" * (LONGEST_KEY + 1) + " = 1", 1, "a key has more than"),
        ("x = [\n" + "1,\n" * (MOST_ENTRIES + 1) + "]", 1, "entries stand in one place"),
        ("[[a]]\n" * (MOST_ENTRIES + 1), 1, "entries stand in one place"),
        ("\n".join(f"k{n} = 1" for n in range(MOST_ENTRIES + 1)), 1, "entries stand in one place"),
        ("\n".join(f"[t{n}]\nx = [{'1,' * 499}]" for n in range(MOST_VALUES // 500 + 1)), 1, "values"),
        ("#" * (LARGEST_BYTES + 1), 1, "bytes"),
        ("x = " + "\\" * 100_000, 1, "not TOML"),
        ('x = "' + "\\" * 100_000, 1, "not TOML"),
        ('x = """' + '""' * 100_000, 1, "not TOML"),
        ("'" * 200_000, 1, "not TOML"),
    ],
    ids=range(21),
)
def test_what_is_beyond_the_bounds_is_a_mistake_with_its_line(text: str, line: int, what: str):
    with watched():
        found = parsed("a.toml", text.encode())
    assert isinstance(found, Mistake), found
    assert what in found.what
    assert found.line == line
    assert len(found.text()) < 300


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * (MOST_PARTS - 1) + " = 1",
        "x = " + "[" * 8 + "]" * 8,
        "x = 999_999_999_999_999",
        'x = "one. two. three. four. five. six. seven. eight. nine. ten."',
        "x = 'a.b.c.d.e.f.g.h.i.j.k'  # a.b.c.d.e.f.g.h.i.j.k",
        "x = [1.5, 2.5, 3.5, 4.5, 5.5, 6.5, 7.5, 8.5, 9.5, 10.5]",
        'x = """a "quoted" text\nof [[[[[[[[[[ lines"""',
        "x = [\n" + "1,\n" * MOST_ENTRIES + "]",
        'x = "[[[[[[[[[[{{{{{{{{{{" # ]]]]]]]]]',
    ],
    ids=range(9),
)
def test_the_bounds_themselves_and_what_only_looks_beyond_them_are_within(text: str):
    assert not isinstance(parsed("a.toml", text.encode()), Mistake)


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_each_of_our_folders_is_far_within(folder):
    for path in folder.rglob("*.toml"):
        assert not isinstance(parsed(path.name, path.read_bytes()), Mistake)
        assert path.stat().st_size < LARGEST_BYTES / 5
