"""Makes the list of facts in docs/recording-format.md from the code.

python -m tests.recordings.format_page     writes it into the page
"""

from __future__ import annotations

import ast
import inspect
import sys
import types
import typing
from itertools import pairwise
from pathlib import Path

import msgspec

from exhibit.facts.kinds import ALL_KINDS

PAGE = Path(__file__).resolve().parents[2] / "docs" / "recording-format.md"
BEGIN, END = "<!-- facts: made from the code -->", "<!-- end of facts -->"


def in_json(kind: object, *, many: bool = False) -> str:
    """What stands in the JSON for a type, in words; `many`: for several of them."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    plain = {str: "text", int: "whole number", float: "number", bool: "true or false", type(None): "null"}
    plural = "s" if many else ""
    if isinstance(kind, type) and kind in plain:
        return plain[kind] + (plural if kind in (int, float) else "")
    if origin is typing.Literal:
        return " or ".join(f'"{value}"' for value in arguments)
    if origin in (typing.Union, types.UnionType):
        words = [in_json(argument) for argument in arguments]
        return " or ".join(word for word in words if not (word == "whole number" and "number" in words))
    if origin is list:
        return f"list{plural} of {in_json(arguments[0], many=True)}"
    if origin is dict:
        return f"object{plural} whose values are {in_json(arguments[1], many=True)}"
    assert isinstance(kind, type)
    assert issubclass(kind, msgspec.Struct)
    return f"object{plural} with these keys"


def object_in(hint: object) -> type[msgspec.Struct] | None:
    """The kind of object whose keys are to be listed: what the hint is, or holds, however deep."""
    if isinstance(hint, type) and issubclass(hint, msgspec.Struct):
        return hint
    return next(filter(None, map(object_in, typing.get_args(hint))), None)


def said_of_keys(kind: type) -> dict[str, str]:
    """What the code says beneath each field that needs it."""
    module = ast.parse(inspect.getsource(sys.modules[kind.__module__]))
    classes = {node.name: node.body for node in module.body if isinstance(node, ast.ClassDef)}
    said = {}
    for field, below in pairwise(classes[kind.__name__]):
        if isinstance(field, ast.AnnAssign) and isinstance(below, ast.Expr):
            assert isinstance(field.target, ast.Name)
            said[field.target.id] = " ".join(ast.literal_eval(below.value).split()).rstrip(".")
    return said


def keys(kind: type[msgspec.Struct], indent: str = "") -> list[str]:
    """A row for each key: the type of its value, and what the code says about it."""
    hints, said = typing.get_type_hints(kind), said_of_keys(kind)
    rows = []
    for field in msgspec.structs.fields(kind):
        hint = hints[field.name]
        more = f". {said[field.name]}." if field.name in said else ""
        rows.append(f"{indent}- `{field.encode_name}`: {in_json(hint)}{more}")
        if (inner := object_in(hint)) is not None:
            rows += keys(inner, indent + "  ")
    return rows


def fact_list() -> str:
    """Every kind of fact: its name, what it means, its keys."""
    parts = []
    for name, kind in ALL_KINDS.items():
        meaning = " ".join((inspect.getdoc(kind) or "").split())
        parts.append("\n".join([f"### `{name}`", "", meaning, "", *keys(kind)]).rstrip())
    return "\n\n".join(parts)


def with_list(text: str) -> str:
    """The page with its list made anew."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{fact_list()}\n\n{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_list(PAGE.read_text()))
