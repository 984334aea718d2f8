"""Who may import whom: the contracts in pyproject.toml bite, and three libraries have one door each."""

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "exhibit"
ONE_DOOR = {
    "serial": "exhibit.line.port",
    "pyte": "exhibit.decisions.display.screen",
    "flask": "exhibit.web.website",
    "flask_socketio": "exhibit.web.website",
}


def imports_of(tree: ast.AST):
    """Each module that `tree` names in an import, wherever it stands, also inside a function."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module


def importers_of(library: str) -> set[str]:
    found = set()
    for path in PACKAGE.rglob("*.py"):
        if library in {name.split(".")[0] for name in imports_of(ast.parse(path.read_text("utf-8")))}:
            found.add(".".join(path.relative_to(ROOT).with_suffix("").parts))
    return found


@pytest.mark.parametrize("library", ONE_DOOR)
def test_one_module_alone_imports(needs, library):
    importers = importers_of(library)
    assert importers - {ONE_DOOR[library]} == set()
    needs.that(importers, f"{ONE_DOOR[library]}, still to be written")


def test_no_import_hides_from_these_tests():
    for path in PACKAGE.rglob("*.py"):
        text = path.read_text("utf-8")
        assert "__import__" not in text, path
        assert "import_module" not in text, path


def run_contracts(folder: Path) -> subprocess.CompletedProcess[str]:
    lint = "from importlinter.cli import lint_imports_command as lint; lint()"
    return subprocess.run(
        [sys.executable, "-c", lint, "--no-cache"], cwd=folder, capture_output=True, text=True, check=False
    )


@pytest.fixture
def copied(tmp_path):
    """A copy of the package and its contracts, to plant a fault in."""
    shutil.copytree(PACKAGE, tmp_path / "exhibit", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    return tmp_path


def test_the_contracts_are_kept(copied):
    done = run_contracts(copied)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


ONE_WAY = "Packages import one way"
DECISIONS = "Decisions import one way"
PURE = "touch neither the clock nor the world"


@pytest.mark.parametrize(
    ("where", "fault", "contract"),
    [
        ("facts", "import exhibit.decisions", ONE_WAY),
        ("decisions", "import exhibit.streams", ONE_WAY),
        ("decisions", "import exhibit.sums", ONE_WAY),
        ("streams", "import exhibit.simulator", ONE_WAY),
        ("streams", "import exhibit.folder", ONE_WAY),
        ("sums", "import exhibit.streams", ONE_WAY),
        ("folder", "import exhibit.line", ONE_WAY),
        ("line", "import exhibit.bridge", ONE_WAY),
        ("web", "import exhibit.records", ONE_WAY),
        ("bridge", "import exhibit.commands", ONE_WAY),
        ("decisions/machine", "import exhibit.decisions.display", DECISIONS),
        ("decisions/display", "import exhibit.decisions.console", DECISIONS),
        ("decisions/console", "import exhibit.decisions.session", DECISIONS),
        ("decisions/wear", "import exhibit.decisions.story", DECISIONS),
        ("decisions/page", "import exhibit.decisions.session", DECISIONS),
        ("decisions/session", "import exhibit.decisions.decider", DECISIONS),
        ("folder/reading", "import exhibit.folder.checks", "A folder is read, then checked"),
        ("folder/checks", "import exhibit.folder.whole", "A folder is read, then checked"),
        ("records", "import exhibit.web", "Recordings are studied without a machine"),
        ("records", "import exhibit.line", "Recordings are studied without a machine"),
        ("simulator", "import exhibit.decisions", "The simulator knows nothing"),
        ("simulator", "import exhibit.streams", "The simulator knows nothing"),
        ("facts", "import time", PURE),
        ("sums", "import random", PURE),
        *(
            ("decisions", f"import {name}", PURE)
            for name in (
                "time",
                "threading",
                "socket",
                "os.path",
                "random",
                "logging",
                "select",
                "subprocess",
            )
        ),
        ("decisions", "from asyncio import sleep", PURE),
        ("web/website.py", "import exhibit.bridge.request_door", "A page cannot type"),
        ("web/website.py", "from exhibit.line import port", "A page cannot type"),
        ("web/website.py", "import exhibit.folder.go_between", "A page cannot type"),
        ("surplus/__init__.py", "", ONE_WAY),
        ("decisions/surplus/__init__.py", "", DECISIONS),
    ],
)
def test_a_planted_import_breaks_its_contract(copied, where, fault, contract):
    target = copied / "exhibit" / where
    target = target / "__init__.py" if target.is_dir() else target
    if "go_between" in fault:
        between = copied / "exhibit/folder/go_between.py"
        between.write_text("import exhibit.line.port\n", encoding="utf-8")
    target.parent.mkdir(exist_ok=True)
    before = target.read_text("utf-8") if target.exists() else ""
    target.write_text(f"{before}\n{fault}\n", encoding="utf-8")
    done = run_contracts(copied)
    assert done.returncode == 1, done.stdout + done.stderr
    broken = [line for line in done.stdout.splitlines() if line.endswith("BROKEN")]
    assert any(contract in line for line in broken)
