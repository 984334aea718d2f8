"""Every reason that the decisions can put into a fact, found in the code, with {} in its places."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

DECISIONS = Path(__file__).resolve().parents[2] / "exhibit" / "decisions"
COMPOSING = ("session", "console", "wear")
"""The packages, besides the deciders themselves, that compose reasons. `page` and `story` only show facts."""
LEAST_WORDS = 3
"""One fewer where something is put in."""
_INTERNAL = {"go"}
"""What is said to these stays inside: the names of the moves between a session's states."""


def reasons() -> dict[str, str]:
    """Each reason, or part of one, with the module that composes it."""
    found: dict[str, str] = {}
    for module in sorted(DECISIONS.rglob("*.py")):
        inside = module.relative_to(DECISIONS).parts
        if module.name == "states.py" or (len(inside) > 1 and inside[0] not in COMPOSING):
            continue
        tree = ast.parse(module.read_text("utf-8"))
        found |= dict.fromkeys(_prose(tree), "/".join(inside).removesuffix(".py"))
    return found


def _prose(tree: ast.Module) -> Iterator[str]:
    hidden = {id(node) for node in _hidden(tree)}
    for node in ast.walk(tree):
        if id(node) in hidden:
            continue
        if isinstance(node, ast.JoinedStr):
            parts = [part.value if isinstance(part, ast.Constant) else "{}" for part in node.values]
            text = "".join(f"{part}" for part in parts)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        words = [word.strip(",.:;?!") for word in text.replace("{}", " ").split()]
        least = LEAST_WORDS - isinstance(node, ast.JoinedStr)
        if len([word for word in words if word.isalpha()]) >= least:
            yield text


def _hidden(tree: ast.Module) -> Iterator[ast.AST]:
    """Docstrings, parts of other strings, annotations, comparisons, and the names of moves."""
    for node in ast.walk(tree):
        match node:
            case ast.Expr(value=ast.Constant()):
                yield node.value
            case ast.JoinedStr():
                yield from (inner for inner in ast.walk(node) if inner is not node)
            case ast.Call(func=ast.Attribute(attr=attr)) if attr in _INTERNAL:
                yield from ast.walk(node)
            case ast.Compare() | ast.Subscript() | ast.MatchValue() | ast.Assert():
                yield from ast.walk(node)
            case ast.AnnAssign(annotation=annotation):
                yield from ast.walk(annotation)
