"""Who may import whom: the contracts in pyproject.toml bite, and five libraries have one door each."""

import ast
import re
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
    "flask_socketio": "exhibit.web.website",
    "redis": "exhibit.relay.redis_connection",
    "duckdb": "exhibit.records.years.library",
}


WITH_PAGES = {"exhibit.web", "exhibit.desk", "exhibit.records.study"}
"""Only these packages import flask: what visitors get, what the docent gets, and what the engineer gets."""


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


def test_only_what_serves_pages_imports_flask():
    importers = importers_of("flask")
    assert {name.rpartition(".")[0] for name in importers} == WITH_PAGES
    assert {name for name in importers if name.startswith("exhibit.web")} == {"exhibit.web.website"}
    assert {name for name in importers if name.startswith("exhibit.records")} == {
        "exhibit.records.study.pages"
    }


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


ONE_WAY = "Packages import one way"
DECISIONS = "Decisions import one way"
SIMULATOR = "In the simulator imports go one way"
PURE = "touch neither the clock nor the world"
PLANTED = [
    ("facts", "import exhibit.decisions", ONE_WAY),
    ("decisions", "import exhibit.streams", ONE_WAY),
    ("decisions", "import exhibit.sums", ONE_WAY),
    ("streams", "import exhibit.simulator", ONE_WAY),
    ("streams", "import exhibit.folder", ONE_WAY),
    ("sums", "import exhibit.streams", ONE_WAY),
    ("folder", "import exhibit.line", ONE_WAY),
    ("line", "import exhibit.bridge", ONE_WAY),
    ("web", "import exhibit.records", ONE_WAY),
    ("web", "import exhibit.relay", ONE_WAY),
    ("relay", "import exhibit.commands", ONE_WAY),
    ("relay", "import exhibit.bridge", "The relay reaches neither"),
    ("relay", "from exhibit.line import port", "The relay reaches neither"),
    ("bridge", "import exhibit.commands", ONE_WAY),
    ("decisions/machine", "import exhibit.decisions.display", DECISIONS),
    ("decisions/display", "import exhibit.decisions.console", DECISIONS),
    ("decisions/console", "import exhibit.decisions.session", DECISIONS),
    ("decisions/console", "import exhibit.decisions.withholding", DECISIONS),
    ("decisions/wear", "import exhibit.decisions.story", DECISIONS),
    ("decisions/page", "import exhibit.decisions.session", DECISIONS),
    ("decisions/session", "import exhibit.decisions.watching", DECISIONS),
    ("folder/reading", "import exhibit.folder.checks", "A folder is read, then checked"),
    ("folder/checks", "import exhibit.folder.whole", "A folder is read, then checked"),
    ("passing", "import exhibit.decisions", "Passing knows nothing of decisions"),
    ("passing", "from exhibit.line import port", "Passing knows nothing of decisions"),
    ("passing", "import exhibit.web", "Passing knows nothing of decisions"),
    ("line", "import exhibit.passing", ONE_WAY),
    ("records", "import exhibit.web", "Recordings are studied without a machine"),
    ("records/study", "import exhibit.web", "Recordings are studied without a machine"),
    (
        "records/transcript.py",
        "import exhibit.records.study",
        "Only the command line starts the records page",
    ),
    ("records", "import exhibit.line", "Recordings are studied without a machine"),
    ("simulator", "import exhibit.decisions", "The simulator knows nothing"),
    ("simulator", "import exhibit.streams", "The simulator knows nothing"),
    ("simulator/agenda.py", "import exhibit.simulator.core", SIMULATOR),
    ("simulator/processor.py", "import exhibit.simulator.panel", SIMULATOR),
    ("simulator/starter.py", "import exhibit.simulator.panel", SIMULATOR),
    ("simulator/tidebook/clock.py", "import exhibit.simulator.tidebook.jobs", "In TIDEBOOK imports go"),
    ("simulator/tidebook/jobs.py", "import exhibit.simulator.tidebook.board", "In TIDEBOOK imports go"),
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
    ("desk", "import exhibit.relay", ONE_WAY),
    ("desk", "import exhibit.commands", ONE_WAY),
    ("web", "import exhibit.desk", ONE_WAY),
    ("desk/door.py", "import exhibit.bridge.setup", "The desk knows of the bridge only its door"),
    ("desk/door.py", "from exhibit.bridge import bridge", "The desk knows of the bridge only its door"),
    ("desk/pages.py", "from exhibit.line import port", "The desk knows of the bridge only its door"),
    ("records", "import exhibit.bridge.door_note", "Only the desk and the command line know"),
    ("relay", "import exhibit.bridge.request_door", "Only the desk and the command line know"),
    ("doctor", "import serial", "The doctor can't open the machine's port"),
    ("paper", "import exhibit.web", "What is printed needs no machine"),
]
"""Where an import is planted, the import, and which contract it breaks."""


def test_the_contracts_are_kept():
    done = run_contracts(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "0 broken" in done.stdout


@pytest.fixture(scope="module")
def broken(tmp_path_factory):
    """What is said of each contract where all the imports are planted at once in a copy of the package."""
    copied = tmp_path_factory.mktemp("copied")
    shutil.copytree(PACKAGE, copied / "exhibit", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", copied)
    for where, fault, _ in PLANTED:
        target = file_of(copied, where)
        target.write_text(f"{target.read_text('utf-8')}\n{fault}\n", encoding="utf-8")
    (copied / "exhibit/folder/go_between.py").write_text("import exhibit.line.port\n", encoding="utf-8")
    target = copied / "exhibit/web/picture.py"
    target.write_text(f"{target.read_text('utf-8')}\nimport exhibit.folder.go_between\n", encoding="utf-8")
    done = run_contracts(copied)
    assert done.returncode == 1, done.stdout + done.stderr
    assert "0 kept" in done.stdout
    _, _, reported = done.stdout.partition("Broken contracts")
    titled = re.split(r"^(.+)\n-{5,}\n", reported, flags=re.MULTILINE)[1:]
    return {title: " ".join(text.split()) for title, text in zip(titled[::2], titled[1::2], strict=True)}


def file_of(root: Path, where: str) -> Path:
    path = root / "exhibit" / where
    return path / "__init__.py" if path.is_dir() else path


def imported_by(fault: str) -> str:
    """The module that this import names."""
    words = fault.split()
    return words[1] if words[0] == "import" else f"{words[1]}.{words[3]}"


@pytest.mark.parametrize(("where", "fault", "contract"), PLANTED)
def test_a_planted_import_breaks_its_contract(broken, where, fault, contract):
    importer = "exhibit." + where.removesuffix(".py").replace("/", ".")
    imported = imported_by(fault)
    if contract == PURE:
        imported = imported.partition(".")[0] if "asyncio" not in imported else "asyncio"
    (said,) = [text for title, text in broken.items() if contract in title]
    assert re.search(rf"{re.escape(importer)} -> {re.escape(imported)}\b", said), said


def test_a_page_cannot_type_by_way_of_another_package_either(broken):
    (said,) = [text for title, text in broken.items() if "A page cannot type" in title]
    assert "exhibit.web.picture -> exhibit.folder.go_between" in said


@pytest.mark.parametrize(
    "surplus", ["exhibit/surplus", "exhibit/decisions/surplus", "exhibit/folder/surplus"]
)
def test_a_package_without_a_place_in_the_order_is_found(tmp_path, surplus):
    shutil.copytree(PACKAGE, tmp_path / "exhibit", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    (tmp_path / surplus).mkdir()
    (tmp_path / surplus / "__init__.py").touch()
    done = run_contracts(tmp_path)
    assert done.returncode == 1
    assert surplus.rpartition("/")[2] in done.stdout
