"""What DEVELOPERS.md says of the code is what the code says of itself."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import click
import pytest

from exhibit.decisions.session.states import TRANSITIONS, WAITS_ON
from exhibit.facts.kinds import ALL_KINDS
from tests.architecture.generated_pages import COMMAND, PAGES, ROOT


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.name)
def test_a_generated_page_is_that_of_todays_code(path):
    assert path.read_text("utf-8") == PAGES[path](), f"run: {COMMAND}"


def test_every_fact_is_in_the_docs():
    text = (ROOT / "docs/facts.md").read_text("utf-8")
    assert [name for name in ALL_KINDS if f"| `{name}` |" not in text] == []


def test_every_move_of_the_session_is_one_that_the_code_makes():
    made = {
        node.args[0].value
        for module in (ROOT / "exhibit/decisions/session").glob("*.py")
        for node in ast.walk(ast.parse(module.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "go"
        and isinstance(node.args[0], ast.Constant)
    }
    made |= set(WAITS_ON.values())
    assert made == {move for _, move in TRANSITIONS}


def test_every_place_that_the_guide_names_is_there():
    """`path` or `path::name`, where name is a class, function, method or constant that the file defines."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    named = re.findall(r"`((?:exhibit|tests|web|docs|scripts)/[\w./-]+?)(?:::([\w.]+))?`", text)
    assert len(named) > 60
    missing = []
    for path, name in named:
        if not (ROOT / path).exists() or (name and name not in names_in(ROOT / path)):
            missing.append((path, name))
    assert missing == []


def names_in(path: Path) -> set[str]:
    """What a module defines at its top, and the methods of its classes as Class.method."""
    text = path.read_text("utf-8")
    if path.suffix == ".js":
        return set(re.findall(r"^(?:export )?(?:async )?(?:function|class|const) (\w+)", text, re.MULTILINE))
    found = set()
    for node in ast.parse(text).body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        found |= {target.id for target in targets if isinstance(target, ast.Name)}
        if isinstance(node, ast.ClassDef | ast.FunctionDef):
            found.add(node.name)
        if isinstance(node, ast.ClassDef):
            found |= {
                f"{node.name}.{inner.name}" for inner in node.body if isinstance(inner, ast.FunctionDef)
            }
    return found


def test_the_guide_is_short_enough_to_read():
    assert len((ROOT / "DEVELOPERS.md").read_text("utf-8").splitlines()) < 250


def test_the_guide_names_the_generated_pages():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    assert [path.name for path in PAGES if f"(docs/{path.name})" not in text] == []


@pytest.mark.parametrize(
    "page", ["README.md", "DEVELOPERS.md", *sorted(p.name for p in (ROOT / "docs").glob("*.md"))]
)
def test_every_link_in_a_page_leads_somewhere(page):
    path = ROOT / page if (ROOT / page).exists() else ROOT / "docs" / page
    links = re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", path.read_text())
    assert [link for link in links if "://" not in link and not (path.parent / link).exists()] == []


def test_each_table_of_the_guide_has_a_heading_and_no_row_twice():
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    tables = re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE)
    assert len(tables) > 3
    for table in tables:
        first_cells = [line.split("|")[1].strip() for line in table.splitlines()]
        assert first_cells[1] == "---", first_cells[0]
        assert sorted(set(first_cells)) == sorted(first_cells)


def test_every_command_is_in_the_readme():
    from exhibit.commands.cli import main

    readme = (ROOT / "README.md").read_text()
    shown = [name for name, command in main.commands.items() if not command.hidden]
    assert [name for name in shown if f"`exhibit {name}" not in readme] == []


def test_every_command_and_option_has_help():
    from exhibit.commands.cli import main

    for name, command in main.commands.items():
        assert command.help, name
        if not command.hidden:
            for option in command.params:
                helpless = isinstance(option, click.Option) and not option.hidden and not option.help
                assert not helpless, f"{name} {option.name}"


def test_the_readme_begins_with_the_job_and_is_not_just_called_exhibit():
    lines = Path(ROOT / "README.md").read_text().splitlines()
    assert lines[0].startswith("# ")
    assert lines[0].strip("# ").lower() != "exhibit"
    assert len(" ".join(lines[1:14]).split()) > 80
