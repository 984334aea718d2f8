"""What DEVELOPERS.md says of the code is what the code says of itself."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import click
import pytest

from exhibit.decisions.session.states import TRANSITIONS, WAITS_ON
from exhibit.facts.kinds import ALL_KINDS
from tests.architecture.guide_parts import GUIDE, PARTS, with_parts

ROOT = GUIDE.parent


def test_the_parts_made_from_the_code_are_those_of_todays_code():
    text = GUIDE.read_text()
    assert with_parts(text) == text, "run: python -m tests.architecture.guide_parts"


@pytest.mark.parametrize("part", PARTS)
def test_each_part_stands_between_its_marks_once(part):
    text = GUIDE.read_text()
    assert text.count(f"<!-- {part}: made from the code -->") == 1
    assert text.count(f"<!-- end of {part} -->") == 1


def test_every_fact_is_in_the_guide():
    text = GUIDE.read_text()
    assert [name for name in ALL_KINDS if f"| `{name}` |" not in text] == []


def test_every_move_of_the_session_is_one_that_the_code_makes():
    modules = [ROOT / f"exhibit/decisions/{name}.py" for name in ("session", "stepping", "at_console")]
    made = {
        node.args[0].value
        for module in modules
        for node in ast.walk(ast.parse(module.read_text()))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "go"
        and isinstance(node.args[0], ast.Constant)
    }
    made |= set(WAITS_ON.values())
    assert made == {move for _, move in TRANSITIONS}


def test_every_module_is_named_in_the_guide():
    text = GUIDE.read_text()
    modules = {path.stem for path in (ROOT / "exhibit").rglob("*.py")} - {"__init__", "__main__"}
    named = set(re.findall(r"`(\w+)`", text))
    assert sorted(modules - named) == []


@pytest.mark.parametrize(
    "page", ["README.md", "DEVELOPERS.md", *sorted(p.name for p in (ROOT / "docs").glob("*.md"))]
)
def test_every_link_in_a_page_leads_somewhere(page):
    path = ROOT / page if (ROOT / page).exists() else ROOT / "docs" / page
    links = re.findall(r"\]\(([^)#]+?)(?:#[^)]*)?\)", path.read_text())
    assert [link for link in links if "://" not in link and not (path.parent / link).exists()] == []


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
