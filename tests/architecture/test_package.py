"""What travels: the lock files name versions and digests only, and a wheel carries all that it needs."""

import json
import os
import re
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner

import exhibit

ROOT = Path(__file__).resolve().parents[2]
LOCKED_FOLDERS = ("web", "tests/node")


def lock_of(folder: str) -> dict:
    return json.loads((ROOT / folder / "package-lock.json").read_text("utf-8"))["packages"]


@pytest.mark.parametrize("folder", LOCKED_FOLDERS)
def test_the_lock_file_records_no_download_address(folder):
    assert [name for name, package in lock_of(folder).items() if "resolved" in package] == []
    assert "registry" not in (ROOT / folder / "package-lock.json").read_text("utf-8")


@pytest.mark.parametrize("folder", LOCKED_FOLDERS)
def test_the_lock_file_pins_each_package_by_its_digest(folder):
    packages = {name: package for name, package in lock_of(folder).items() if name}
    assert packages
    assert [
        name for name, package in packages.items() if not package["integrity"].startswith("sha512-")
    ] == []


@pytest.mark.parametrize("folder", LOCKED_FOLDERS)
def test_npm_is_told_to_keep_addresses_out_and_to_run_no_package_s_own_scripts(folder):
    told = (ROOT / folder / ".npmrc").read_text("utf-8").splitlines()
    assert {"omit-lockfile-registry-resolved=true", "ignore-scripts=true"} <= set(told)


@pytest.mark.parametrize("folder", LOCKED_FOLDERS)
def test_the_lock_file_belongs_to_what_is_asked_for(folder):
    asked = json.loads((ROOT / folder / "package.json").read_text("utf-8"))["dependencies"]
    assert lock_of(folder)[""]["dependencies"] == asked
    assert {name: lock_of(folder)[f"node_modules/{name}"]["version"] for name in asked} == asked


def test_a_wheel_carries_no_index_of_the_sample_recordings(tmp_path, monkeypatch):
    monkeypatch.syspath_prepend(str(ROOT))
    import hatch_build

    (tmp_path / "recordings/examples").mkdir(parents=True)
    for name in ("a.exhibit", "exhibit-index.sqlite", "examples/b.exhibit", "examples/exhibit-index.sqlite"):
        (tmp_path / "recordings" / name).write_text("")
    assert sorted(hatch_build.carried(tmp_path).values()) == [
        "exhibit/_shipped/recordings/a.exhibit",
        "exhibit/_shipped/recordings/examples/b.exhibit",
    ]


def test_the_pages_own_readme_names_every_built_file():
    sys.path.insert(0, str(ROOT))
    try:
        import hatch_build
    finally:
        sys.path.remove(str(ROOT))
    readme = (ROOT / "web/README.md").read_text("utf-8")
    assert [name for name in (*hatch_build.BUILT, hatch_build.STAMP) if f"`{name}`" not in readme] == []


def build(folder: Path, kind: str, out: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", kind, "-d", out],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )


def copy_without_built(needs, folder: Path) -> None:
    """Copy what git keeps, so nothing that lies about by chance helps the build."""
    git = needs("git")
    needs.that((ROOT / ".git").exists(), "a git checkout: this test asks git what is kept")
    listed = subprocess.run(
        [git, "-C", ROOT, "ls-files", "-co", "--exclude-standard", "-z"],
        capture_output=True,
        text=True,
        check=True,
    )
    for name in filter(None, listed.stdout.split("\0")):
        if (ROOT / name).is_file():
            (folder / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copy(ROOT / name, folder / name)


# No port below 1024 is handed out by chance, and 9 (discard, RFC 863) has had no listener for decades.
NO_NETWORK = {"npm_config_registry": "http://127.0.0.1:9/", "npm_config_fetch_retries": "0"}


def test_a_wheel_made_from_the_source_archive_carries_everything_and_needs_no_network(needs, tmp_path):
    needs.that((ROOT / "web/built").is_dir(), "the built pages, which `sh tests/run` brings")
    out, unpacked, installed = (tmp_path / name for name in ("out", "unpacked", "installed"))
    assert (done := build(ROOT, "sdist", out, **NO_NETWORK)).returncode == 0, done.stdout + done.stderr
    unpacked.mkdir()
    subprocess.run(["tar", "-xzf", next(out.glob("*.tar.gz")), "-C", unpacked], check=True)
    (source,) = unpacked.iterdir()
    assert (done := build(source, "wheel", out, **NO_NETWORK)).returncode == 0, done.stdout + done.stderr
    wheel = next(out.glob("*.whl"))
    assert wheel.name == f"exhibit_for_old_machines-{exhibit.__version__}-py3-none-any.whl"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(installed)

    for folder in ("web", "scripts", "recordings"):
        # Other tests leave indexes beside the recordings, which can be made anew and are in no archive.
        files = (
            path for path in (ROOT / folder).rglob("*") if path.is_file() and "exhibit-index" not in path.name
        )
        kept = {path.relative_to(ROOT) for path in files}
        needs.that(kept, f"files in {folder}, still to be written")
        assert {path for path in kept if not (installed / "exhibit/_shipped" / path).is_file()} == set()
    found = subprocess.run(
        [
            sys.executable,
            "-c",
            "from exhibit.web import places as p;"
            "print(p.built_web_folder(), p.scripts_folder(), p.recordings_folder(), sep='\\n')",
        ],
        cwd=installed,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    )
    shipped = installed / "exhibit/_shipped"
    assert found.stdout.splitlines() == [
        str(shipped / "web/built"),
        str(shipped / "scripts"),
        str(shipped / "recordings"),
    ]


def test_the_version_is_that_of_this_code_whatever_is_installed(monkeypatch):
    """The package index has an `exhibit` that has nothing to do with this one."""
    from exhibit.commands.cli import main

    monkeypatch.setattr("importlib.metadata.version", lambda name: "an unrelated one")
    said = CliRunner().invoke(main, ["--version"], prog_name="exhibit").output
    assert said == f"exhibit, version {exhibit.__version__}\n"
    newest = re.search(r"^## (\S+),", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert newest is not None
    assert newest[1] == exhibit.__version__


def test_without_a_network_the_build_says_in_one_sentence_what_to_do(needs, tmp_path):
    project, out = tmp_path / "project", tmp_path / "out"
    project.mkdir()
    copy_without_built(needs, project)
    done = build(project, "wheel", out, **NO_NETWORK)
    said = (done.stdout + done.stderr).strip()
    assert done.returncode == 1
    assert "Traceback" not in said
    assert len(said.splitlines()) == 1
    assert "fetching them failed" in said
    assert "without them no page can be shown" in said
    assert "connect this computer to the internet" in said
    assert not out.exists() or not list(out.iterdir())
    assert not (project / "web/built").exists()
