"""What is watched and what is typed at a console are kept in step in one place, `typing_console`."""

from __future__ import annotations

import ast
from pathlib import Path

DECISIONS = Path(__file__).resolve().parents[2] / "exhibit" / "decisions"
TREES = {path.stem: ast.parse(path.read_text("utf-8")) for path in DECISIONS.rglob("*.py")}
ONLY_FOR_TYPING = {"echo_begins", "echo_ends", "cancelled", "display_cleared"}
"""How the console is told what is typed there."""


def importers_of(name: str) -> set[str]:
    """The modules that import this class, and not only a constant from its module."""
    return {
        module
        for module, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and name in {alias.name for alias in node.names}
    }


def users_of(attribute: str) -> set[str]:
    """The modules that call a method of this name."""
    return {
        module
        for module, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == attribute
    }


def test_only_one_module_calls_the_keying():
    assert importers_of("Keying") == {"typing_console"}
    assert importers_of("Sending") == {"keying"}


def test_the_watcher_belongs_to_the_console():
    # `recorded_run` looks for a place in what was printed, with a watcher of its own.
    assert importers_of("Watcher") == {"console", "recorded_run"}


def test_only_one_module_tells_the_console_what_is_typed():
    assert {name: users_of(name) - {"console"} for name in ONLY_FOR_TYPING} == dict.fromkeys(
        ONLY_FOR_TYPING, {"typing_console"}
    )
