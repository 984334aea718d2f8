"""What the tests and the image are installed from: exact versions, each file by its digest."""

import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from supply.bill import locked_in

ROOT = Path(__file__).resolve().parents[2]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
RUNS = PYPROJECT["project"]["dependencies"]
EXTRAS = PYPROJECT["project"]["optional-dependencies"]
LOCKS = {path.name: path.read_text("utf-8") for path in sorted((ROOT / "supply").glob("*.txt"))}
TESTS, RUNTIME = (
    {package.name: package for package in locked_in(LOCKS[n])} for n in ("tests.txt", "runtime.txt")
)


@pytest.mark.parametrize("name", LOCKS)
def test_each_package_of_a_lock_has_a_digest_and_nothing_names_another_index(name):
    assert [package.name for package in locked_in(LOCKS[name]) if not package.digests] == []
    beginnings = {
        line.split("==")[0].split(":")[0] for line in LOCKS[name].splitlines() if line[0] not in " #"
    }
    assert beginnings == {package.name for package in locked_in(LOCKS[name])}


def test_the_locks_answer_what_pyproject_asks_for():
    for lock, asked in (
        (TESTS, [*RUNS, *EXTRAS["relay"], *EXTRAS["test"]]),
        (RUNTIME, [*RUNS, *EXTRAS["relay"]]),
    ):
        for requirement in map(Requirement, asked):
            assert requirement.specifier.contains(lock[canonicalize_name(requirement.name)].version), (
                requirement
            )


def test_what_runs_was_tested_in_the_same_version_and_from_the_same_files():
    def files(package):
        return package.version, package.digests

    assert {name: files(package) for name, package in RUNTIME.items()} == {
        name: files(TESTS[name]) for name in RUNTIME
    }


def test_these_tests_run_with_what_is_locked_and_nothing_else(needs):
    installed = {canonicalize_name(d.metadata["Name"]): d.version for d in distributions()}
    locked = {name: package.version for name, package in TESTS.items()}
    ours = {"exhibit-for-old-machines", "setuptools"}
    needs.that(Path(sys.prefix) == ROOT / ".tests-venv", "the environment that `sh tests/run` makes")
    assert {name: version for name, version in installed.items() if name not in ours} == {
        name: version for name, version in locked.items() if TESTS[name].is_for_linux() and name in installed
    }


def pip(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    """Without a network, and whatever the computer's own settings are."""
    command = [sys.executable, "-I", "-m", "pip", "--isolated", "--disable-pip-version-check", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False)


@pytest.fixture(scope="module")
def shelf(tmp_path_factory) -> Path:
    """A folder with a wheel, and a lock of it."""
    folder = tmp_path_factory.mktemp("shelf")
    project = folder / "project"
    project.mkdir()
    (project / "heron_words.py").write_text("", encoding="utf-8")
    (project / "pyproject.toml").write_text(
        '[build-system]\nrequires = ["hatchling"]\nbuild-backend = "hatchling.build"\n'
        '[project]\nname = "heron-words"\nversion = "1.0"\n'
        '[tool.hatch.build.targets.wheel]\ninclude = ["heron_words.py"]\n',
        encoding="utf-8",
    )
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder]
    subprocess.run(command, cwd=project, check=True, capture_output=True)
    digest = pip("hash", next(folder.glob("*.whl"))).stdout.strip().rpartition("\n")[2]
    (folder / "lock.txt").write_text(f"heron-words==1.0 \\\n    {digest}\n", encoding="utf-8")
    return folder


def options_of_pip() -> list[str]:
    """As tests/environment and hosting/Containerfile call it."""
    line = "--no-deps --only-binary :all: --require-hashes -r"
    for kept in ("tests/environment", "hosting/Containerfile"):
        assert line in (ROOT / kept).read_text("utf-8"), kept
    return line.split()


def installed_from(shelf: Path, lock: Path, into: Path) -> subprocess.CompletedProcess[str]:
    source = ["--no-index", "--find-links", shelf, "--target", into]
    return pip("install", *source, *options_of_pip(), lock)


def test_pip_takes_a_file_whose_digest_is_locked(shelf, tmp_path):
    done = installed_from(shelf, shelf / "lock.txt", tmp_path / "into")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "into/heron_words.py").is_file()


def test_pip_refuses_a_file_whose_digest_is_another(shelf, tmp_path):
    tampered = tmp_path / "lock.txt"
    text = (shelf / "lock.txt").read_text("utf-8").rstrip()
    tampered.write_text(text[:-1] + ("0" if text[-1] != "0" else "1") + "\n", encoding="utf-8")
    done = installed_from(shelf, tampered, tmp_path / "into")
    assert done.returncode != 0
    assert "DO NOT MATCH THE HASHES" in done.stderr
    assert not (tmp_path / "into").exists()


def test_pip_refuses_a_file_that_somebody_changed(shelf, tmp_path):
    changed = tmp_path / "shelf"
    shutil.copytree(shelf, changed)
    wheel = next(changed.glob("*.whl"))
    wheel.write_bytes(wheel.read_bytes() + b"\0")
    done = installed_from(changed, shelf / "lock.txt", tmp_path / "into")
    assert "DO NOT MATCH THE HASHES" in done.stderr


def test_pip_refuses_a_package_without_a_digest(shelf, tmp_path):
    loose = tmp_path / "lock.txt"
    loose.write_text("heron-words==1.0\n", encoding="utf-8")
    done = installed_from(shelf, loose, tmp_path / "into")
    assert done.returncode != 0
    assert "Hashes are required" in done.stderr
