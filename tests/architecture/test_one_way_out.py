"""Whatever exhibit writes to a terminal goes through `put`, so that what can't be seen there is escaped."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[2] / "exhibit"
STREAMS = {"stdout", "stderr", "__stdout__", "__stderr__"}
BARE = {"echo", "secho", "print_exc", "print_exception", "print_stack", "print_tb"}
WRITES = {f"{module}.{name}" for module in ("click", "traceback") for name in BARE}
OTHERWISE = {
    ("commands/cli.py", "sys.stdout"): "what letters its encoding lacks becomes question marks",
    ("commands/cli.py", "sys.stderr"): "the same",
    ("commands/cli.py", "traceback.print_exc"): "within printable_errors",
    ("commands/terminal.py", "sys.stdout"): "the stream that it gives to put",
    ("web/bounded_log.py", "sys.stderr"): "the stream that it gives to put, and the one that it replaces",
}
"""What names a stream or prints for a reason, with that reason."""


def named(module: Path) -> Iterator[str]:
    """Each call that prints, and each standard stream that is named other than for `put(..., to=stream)`."""
    tree = ast.parse(module.read_text("utf-8"))
    to = {id(keyword.value) for keyword in _keywords(tree) if keyword.arg == "to"}
    for node in ast.walk(tree):
        if isinstance(node, ast.Name) and node.id in {"print", "breakpoint", "input"}:
            yield node.id
        elif isinstance(node, ast.Attribute) and node.attr in STREAMS and id(node) not in to:
            if isinstance(node.value, ast.Name) and node.value.id == "sys":
                yield f"sys.{node.attr}"
        elif isinstance(node, ast.Attribute) and ast.unparse(node) in WRITES:
            yield ast.unparse(node)
        elif isinstance(node, ast.ImportFrom) and node.module in ("sys", "click", "traceback"):
            yield from (name.name for name in node.names if name.name in STREAMS | BARE)
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "os.write" and node.args:
            yield from ["os.write"] * isinstance(node.args[0], ast.Constant)


def _keywords(tree: ast.Module) -> Iterator[ast.keyword]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            yield from node.keywords


def elsewhere() -> list[Path]:
    return [path for path in sorted(PACKAGE.rglob("*.py")) if path.parent.name != "output"]


@pytest.mark.parametrize("module", elsewhere(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_nothing_else_prints(module: Path) -> None:
    name = str(module.relative_to(PACKAGE))
    assert [what for what in named(module) if (name, what) not in OTHERWISE] == []


def test_each_reason_is_still_needed() -> None:
    found = {(str(module.relative_to(PACKAGE)), what) for module in elsewhere() for what in named(module)}
    assert set(OTHERWISE) - found == set()


@pytest.mark.parametrize(
    "code",
    [
        "print('x')",
        "f = print",
        "sys.stdout.write('x')",
        "out = sys.stderr",
        "click.echo('x')",
        "click.secho('x')",
        "from click import echo",
        "from sys import stdout",
        "traceback.print_exc()",
        "os.write(2, b'x')",
        "sys.__stderr__.buffer.write(b'x')",
    ],
)
def test_it_would_be_found(code: str, tmp_path: Path) -> None:
    (module := tmp_path / "module.py").write_text(code)
    assert [*named(module)] != []
