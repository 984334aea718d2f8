"""Every sentence that exhibit/commands says in the language of the machine's folder, found in the code."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

COMMANDS = Path(__file__).resolve().parents[2] / "exhibit" / "commands"


def sentences() -> dict[str, str]:
    """Each sentence, with the module that says it."""
    found: dict[str, str] = {}
    for module in sorted(COMMANDS.rglob("*.py")):
        for node in ast.walk(ast.parse(module.read_text("utf-8"))):
            if isinstance(node, ast.Call) and node.args and _name(node.func) in ("say", "_say", "Sentence"):
                found |= dict.fromkeys(_literals(node.args[0]), module.stem)
    return found


def looked_up_otherwise() -> list[str]:
    """The calls that say what is neither written there nor in a table of Sentences."""
    return [
        f"{module.name}:{node.lineno}"
        for module in sorted(COMMANDS.rglob("*.py"))
        for node in ast.walk(ast.parse(module.read_text("utf-8")))
        if isinstance(node, ast.Call)
        and _name(node.func) in ("say", "_say")
        and not [*_literals(node.args[0])]
        and not _is_sentence(node.args[0])
    ]


SENTENCES_BY_OTHER_NAMES = {"sentence", "nothing_done", "_stopping", "_still_stopping", "why"}
"""Variables, attributes and methods that mypy holds to be a Sentence, or that are compared with Sentences."""


def _is_sentence(node: ast.expr) -> bool:
    while isinstance(node, ast.Subscript | ast.Call):
        node = node.value if isinstance(node, ast.Subscript) else node.func
    name = _name(node)
    return name.isupper() or name in SENTENCES_BY_OTHER_NAMES


def _literals(node: ast.expr) -> Iterator[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield node.value
    elif isinstance(node, ast.IfExp):
        yield from (*_literals(node.body), *_literals(node.orelse))


def _name(node: ast.expr) -> str:
    return node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""
