"""The shape of the tree: what stands at the top, how modules are named, how long they are, what they say."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.generated_pages import modules_of, packages

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "exhibit"
MODULES = sorted(PACKAGE.rglob("*.py"))
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "pyproject.toml",
    "hatch_build.py",
    ".ci",
    ".gitignore",
    "exhibit",
    "hosting",
    "scripts",
    "service",
    "supply",
    "web",
    "tests",
    "recordings",
    "docs",
}
BESIDE = {
    "contracts",
    "hosting",
    "service",
    "statements",
    "supply",
    "foreign",
    "fuzz",
    "page_truth",
    "pages",
    "recordings",
    "architecture",
    "benchmarks",
    "trials",
    "strangers",
    "node",
}
"""Folders of tests/ that belong to no package."""
MOST_MODULES = 20
LONGEST_README_LINES = 6
LONGEST_MODULE_LINES = 400


def by_name(module: Path) -> str:
    return str(module.relative_to(ROOT))


def tracked(needs) -> list[Path]:
    """Every path that git keeps, relative to the top."""
    git = needs("git")
    needs.that((ROOT / ".git").exists(), "a git checkout: this test asks git what is kept")
    listed = subprocess.run([git, "-C", ROOT, "ls-files", "-z"], capture_output=True, text=True, check=True)
    return [Path(name) for name in listed.stdout.split("\0") if name]


def test_the_top_level_holds_exactly_what_a_newcomer_is_told_of(needs):
    there = {path.parts[0] for path in tracked(needs)}
    assert there - TOP_LEVEL == set()
    missing = sorted(TOP_LEVEL - there)
    needs.that(not missing, f"what is still to be written: {', '.join(missing)}")


def test_nothing_that_was_fetched_or_built_is_kept(needs):
    fetched = {"built", "node_modules", "_shipped", ".tests-venv", ".tests-data"}
    assert [path for path in tracked(needs) if fetched & set(path.parts) or path.suffix == ".woff2"] == []


@pytest.mark.parametrize("package", packages(), ids=by_name)
def test_a_package_is_small_enough_to_know(package):
    assert len(modules_of(package)) <= MOST_MODULES


@pytest.mark.parametrize("package", packages(), ids=by_name)
def test_a_package_s_readme_states_its_rule_in_few_lines(package):
    title, blank, first, *rule = (package / "README.md").read_text("utf-8").splitlines()
    assert title == f"# {package.relative_to(PACKAGE)}"
    assert blank == ""
    assert first == ast.get_docstring(ast.parse((package / "__init__.py").read_text("utf-8")))
    assert rule
    assert 3 + len(rule) <= LONGEST_README_LINES


def test_the_tests_mirror_the_packages():
    folders = {path.parent.relative_to(ROOT / "tests") for path in (ROOT / "tests").rglob("test_*.py")}
    there = {package.relative_to(PACKAGE) for package in packages()}
    assert {f"{folder}" for folder in folders - there} - BESIDE == set()
    tested = folders | {parent for folder in folders for parent in folder.parents}
    assert there - tested == set()


@pytest.mark.parametrize("module", MODULES, ids=by_name)
def test_a_module_does_one_job_so_it_is_short(module):
    assert len(module.read_text("utf-8").splitlines()) <= LONGEST_MODULE_LINES


@pytest.mark.parametrize("module", MODULES, ids=by_name)
def test_no_module_is_named_like_one_of_the_standard_library(module):
    inside = module.relative_to(PACKAGE).with_suffix("").parts
    own_names = {part for part in inside if part not in ("__init__", "__main__")}
    assert own_names & set(sys.stdlib_module_names) == set()
    assert own_names & {"utils", "util", "helpers", "misc"} == set()


@pytest.mark.parametrize("module", MODULES, ids=by_name)
def test_everything_public_says_what_it_means(module):
    tree = ast.parse(module.read_text("utf-8"))
    assert ast.get_docstring(tree), "the module says nothing"
    assert [name for name, node in public(tree) if not ast.get_docstring(node)] == []


def public(tree: ast.Module):
    """Each class and function of the module that others may use."""
    for node in tree.body:
        if isinstance(node, (ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)) and node.name[0] != "_":
            yield node.name, node
