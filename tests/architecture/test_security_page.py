"""docs/security.md: each test that it names exists, and whatever it says holds has one, or a page to read."""

from __future__ import annotations

import ast
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs" / "security.md"
TEST = re.compile(r"`(tests/[\w/.-]+\.py)::(test_\w+)`")
READ = re.compile(r"`((?:docs/)?[\w-]+\.md)`")
ROW = re.compile(r"^\| (\d+\.\d+\.\d+[^|]*) \| ([^|]+) \| ([^|]+) \| ?([^|]*) ?\|$", re.MULTILINE)
NUMBER = re.compile(r"\d+\.\d+\.\d+")
TEXT = PAGE.read_text("utf-8")
LEVEL_2_CHAPTERS = range(1, 15)
PARTS = dict(zip(("visitors", "docents"), TEXT.split("\n## The docent's page, requirement"), strict=True))
"""Each page answers for itself, so a requirement can be answered in both parts."""
DOCENTS_CHAPTERS = {2, 3, 4, 5}
"""Those that are about what only the docent's page has; of others it has some lines."""


def defined_in(path: Path) -> set[str]:
    """The tests that a module defines."""
    return {
        node.name
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.FunctionDef)
    }


def test_every_test_that_the_page_names_exists():
    named = set(TEST.findall(TEXT))
    assert len(named) > 60
    missing = [
        f"{path}::{name}"
        for path, name in sorted(named)
        if not (ROOT / path).is_file() or name not in defined_in(ROOT / path)
    ]
    assert missing == []


def test_every_page_that_it_names_is_there():
    links = re.findall(r"\]\(([\w-]+\.md)\)", TEXT)
    assert [name for name in links if not (ROOT / "docs" / name).is_file()] == []
    assert [name for name in READ.findall(TEXT) if not (ROOT / name).is_file()] == []


def test_what_holds_has_a_test_or_a_page_and_nothing_else_is_answered():
    rows = ROW.findall(TEXT)
    assert len(rows) > 100
    for number, _, answer, beside in rows:
        kind = answer.split()[0].rstrip(":,;")
        assert kind in ("holds", "not", "museum"), number
        assert kind != "not" or answer.startswith("not applicable: "), number
        assert kind != "holds" or TEST.search(beside) or READ.search(beside), number


def test_each_requirement_is_answered_once_for_a_page_and_every_chapter_has_some():
    for part, text in PARTS.items():
        rows = ROW.findall(text)
        singly = [number for row in rows if " to " not in row[0] for number in NUMBER.findall(row[0])]
        assert sorted(singly) == sorted(set(singly))
        chapters = {int(number.split(".")[0]) for row in rows for number in NUMBER.findall(row[0])}
        assert (chapters if part == "visitors" else chapters & DOCENTS_CHAPTERS) == (
            set(LEVEL_2_CHAPTERS) if part == "visitors" else DOCENTS_CHAPTERS
        )


def test_no_row_of_a_table_escapes_this_test():
    lines = [line for line in TEXT.partition("## Requirement by")[2].splitlines() if line.startswith("|")]
    rows = [line for line in lines if not line.startswith(("| number ", "|---"))]
    assert len(rows) == len(ROW.findall(TEXT))
