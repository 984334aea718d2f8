"""The machine's folder, its secrets, what is installed, and what is left of earlier starts."""

from __future__ import annotations

import os
import shutil

import pytest

from exhibit.doctor import installed
from exhibit.doctor.folder import SERVICE_SECRETS, LookedAtFolder, looks_at_secrets
from exhibit.doctor.old_processes import looks_at_processes
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder
from tests.doctor.made_computer import keys

WHIMBREL = scripts_folder() / "whimbrel"
WORDS = {"EXHIBIT_SECRET_TIDES": "GREBE519", "EXHIBIT_SECRET_KEEPER": "TWITE804"}


@pytest.fixture(scope="module")
def whimbrel():
    return read_folder(WHIMBREL)


def test_a_folder_in_order_passes_and_one_with_a_mistake_does_not(tmp_path):
    assert LookedAtFolder(WHIMBREL).finding.key == "folder"
    shutil.copytree(WHIMBREL, tmp_path / "copy")
    (tmp_path / "copy/day.toml").write_text("rest = 5\n")
    assert LookedAtFolder(tmp_path / "copy").finding.key == "folder wrong"
    assert LookedAtFolder(tmp_path / "none").finding.key == "folder unreadable"


def test_secrets_in_the_environment_count(made, whimbrel):
    assert keys(looks_at_secrets(made.computer, whimbrel, WORDS)) == ["secrets there"]
    (found,) = looks_at_secrets(made.computer, whimbrel, {})
    assert (found.key, found.places["names"]) == ("secrets missing", "keeper, tides")


def own_secrets(made, text: str, mode: int = 0o600) -> None:
    file = made.write(SERVICE_SECRETS, text)
    file.chmod(mode)
    own = os.geteuid()
    made.write("/etc/passwd", f"exhibit-bridge:x:{own}:{own}::/:\n")


def test_the_service_s_file_of_secrets_counts(made, whimbrel):
    own_secrets(made, 'keeper = "TWITE804"\ntides = "GREBE519"\n')
    assert keys(looks_at_secrets(made.computer, whimbrel, {})) == ["secrets there"]
    own_secrets(made, 'keeper = "TWITE804"\n')
    (found,) = looks_at_secrets(made.computer, whimbrel, {})
    assert found.places["names"] == "tides"


def test_a_file_of_secrets_that_others_can_read_is_found(made, whimbrel):
    own_secrets(made, 'keeper = "TWITE804"\ntides = "GREBE519"\n', 0o640)
    assert keys(looks_at_secrets(made.computer, whimbrel, {}))[0] == "secrets open"


def test_no_finding_shows_a_secret(made, whimbrel):
    for text in ('keeper = "TWITE804"\n', 'keeper = "TWITE804\n'):
        own_secrets(made, text, 0o644)
        found = [*looks_at_secrets(made.computer, whimbrel, {})]
        assert len(found) > 1
        assert "TWITE804" not in f"{found}"


def test_other_versions_than_the_tested_ones_are_named():
    assert keys(installed.against_lock({"click": "0.1", "not-installed": "1"})) == ["packages differ"]
    assert keys(installed.against_lock({"not-installed": "1"})) == ["packages"]
    assert keys(installed.against_lock({})) == ["lock missing"]


def test_the_lock_names_what_is_installed():
    assert installed.tested_versions()["click"] == installed._installed("click")


PYTHON, PROGRAM = "/opt/exhibit/now/bin/python3", "/opt/exhibit/now/bin/exhibit"


def test_a_process_whose_starter_has_gone_is_found(made):
    made.process(700, "/bin/sh")
    made.process(810, PYTHON, PROGRAM, "page", "--port", "8000", parent=1)
    (found,) = looks_at_processes(made.computer)
    assert (found.key, found.places) == ("process left", {"command": "page", "pid": "810"})


@pytest.mark.parametrize(
    ("words", "parent", "cgroup"),
    [
        ([PYTHON, PROGRAM, "page"], 700, "0::/user.slice"),
        ([PYTHON, PROGRAM, "page"], 1, "0::/system.slice/exhibit-page.service"),
        (
            [PYTHON, PROGRAM, "page"],
            1,
            "0::/user.slice/user-7.slice/user@7.service/app.slice/exhibit-page.service",
        ),
        ([PYTHON, "/usr/bin/another", "page"], 1, "0::/user.slice"),
    ],
)
def test_one_that_somebody_looks_after_is_well(made, words, parent, cgroup):
    made.process(810, *words, parent=parent, cgroup=cgroup)
    assert keys(looks_at_processes(made.computer)) == ["no process left"]
