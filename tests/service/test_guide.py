"""docs/service.md and service/README.md name files that there are, and commands that the program takes."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from exhibit.commands.cli import main
from exhibit.streams.recording_writer import SYNC_EVERY_S

ROOT = Path(__file__).resolve().parents[2]
SERVICE = ROOT / "service"
GUIDE = (ROOT / "docs/service.md").read_text("utf-8")
COMMANDS = [
    line
    for block in re.findall(r"```sh\n(.*?)```", GUIDE, re.DOTALL)
    for line in block.replace("\\\n", " ").splitlines()
]


def test_each_file_that_the_guide_names_is_there():
    named = set(re.findall(r"\bservice/([\w.*-]+\w)", GUIDE)) - {"exhibit-*.service"}
    assert len(named) > 3
    assert {name for name in named if not (SERVICE / name).exists()} == set()


def test_the_readme_lists_every_file():
    text = (SERVICE / "README.md").read_text("utf-8")
    listed = set(re.findall(r"^\| `([\w.-]+)` \|", text, re.MULTILINE))
    assert listed == {path.name for path in SERVICE.iterdir()} - {"README.md"}


@pytest.mark.parametrize("line", [line for line in COMMANDS if re.match(r"(\S*/)?exhibit ", line)])
def test_the_program_takes_each_command(line):
    _, command, *arguments = shlex.split(line, comments=True)
    with main.commands[command].make_context(command, arguments):
        pass


def test_nothing_is_installed_without_its_digest():
    fetched = [line for line in COMMANDS if re.search(r"pip (download|install)", line) and "whl" not in line]
    assert len(fetched) == 2
    assert all("--require-hashes" in line and "--only-binary :all:" in line for line in fetched)
    on_the_board = [line for line in COMMANDS if "/bin/pip install" in line]
    assert len(on_the_board) == 2
    assert all("--no-index" in line for line in on_the_board)


def test_only_the_package_for_an_older_python_is_marked_as_the_guide_says():
    lock = (ROOT / "supply/runtime.txt").read_text("utf-8")
    marker = " ; python_full_version < '3.11.3'"
    assert marker in GUIDE
    assert re.findall(rf"^(\S+)==\S+{re.escape(marker)}", lock, re.MULTILINE) == ["async-timeout"]


def test_it_says_how_often_recordings_are_synced():
    assert f"synced every {SYNC_EVERY_S} s" in GUIDE
