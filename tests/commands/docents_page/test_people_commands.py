"""`exhibit desk people` and `exhibit desk pair`, as an engineer types them in a terminal."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pexpect
import pytest

from exhibit.desk.passwords import is_right
from exhibit.desk.people import People, PeopleFile, pair

WITHIN_S = 60


@pytest.fixture
def file(tmp_path: Path) -> PeopleFile:
    return PeopleFile(tmp_path / "people.json")


def exhibit(file: PeopleFile, *arguments: str) -> tuple[int, str]:
    """Exit status, and what was printed, of `exhibit desk people ...`."""
    command = [sys.executable, "-m", "exhibit", "desk", "people", "--people", f"{file.path}", *arguments]
    ended = subprocess.run(
        command, capture_output=True, text=True, stdin=subprocess.DEVNULL, timeout=WITHIN_S
    )
    assert "Traceback" not in ended.stderr
    return ended.returncode, (ended.stdout + ended.stderr).strip()


def asked(file: PeopleFile, *arguments: str, password: str, again: str = "") -> tuple[int, str]:
    """The same for what asks for a password at the terminal."""
    command = ["-m", "exhibit", "desk", "people", "--people", f"{file.path}", *arguments]
    terminal = pexpect.spawn(
        sys.executable, command, timeout=WITHIN_S, encoding="utf-8", env=dict(os.environ)
    )
    terminal.expect("Password")
    terminal.sendline(password)
    terminal.expect("The same again")
    terminal.sendline(again or password)
    if again:
        terminal.expect("Password")
        terminal.sendeof()
    terminal.expect(pexpect.EOF)
    terminal.close()
    return terminal.exitstatus or 0, terminal.before or ""


def test_a_docent_is_added_by_initials_listed_and_removed_and_the_number_is_not_given_again(
    file: PeopleFile,
) -> None:
    assert exhibit(file) == (
        0,
        "Nobody may use the docent's page yet. Add people with `exhibit desk people docent INITIALS`.",
    )
    assert exhibit(file, "docent", "AB") == (0, "AB is docent 1 in the recordings.")
    assert exhibit(file) == (0, "docent 1: AB")
    assert exhibit(file, "remove", "ab")[0] == 0
    assert exhibit(file, "docent", "CD") == (0, "CD is docent 2 in the recordings.")
    assert "AB" not in file.path.read_text()


@pytest.mark.parametrize("initials", ["", "ABCDE", "A\x1bB", "<b>", "\u202eAB"])
def test_what_cannot_be_initials_is_refused_in_sentences(file: PeopleFile, initials: str) -> None:
    status, said = exhibit(file, "docent", initials)
    assert (status, len(said.splitlines())) == (2, 3)
    assert not file.path.exists()


def test_the_same_initials_are_refused_in_sentences(file: PeopleFile) -> None:
    exhibit(file, "docent", "AB")
    status, said = exhibit(file, "docent", "ab")
    assert (status, len(said.splitlines())) == (2, 3)
    assert exhibit(file, "remove", "XY")[0] == 2


def test_an_engineer_is_added_with_a_password_that_is_asked_for_twice_and_never_shown(
    file: PeopleFile,
) -> None:
    status, said = asked(file, "engineer", "Some Engineer", password="seven slow tides")
    assert status == 0
    assert "seven" not in said
    assert "Some Engineer is engineer 1 in the recordings." in said
    engineer = file.read().engineer("some engineer")
    assert engineer is not None
    assert is_right("seven slow tides", engineer.password)
    assert "seven" not in file.path.read_text()


def test_a_password_that_is_too_short_adds_nobody(file: PeopleFile) -> None:
    status, said = asked(file, "engineer", "Some Engineer", password="short")
    assert status == 2
    assert "12 to 128 characters" in said
    assert not file.path.exists()


def test_a_forgotten_password_is_set_anew(file: PeopleFile) -> None:
    asked(file, "engineer", "Some Engineer", password="seven slow tides")
    before = file.read().engineers[0].password
    assert asked(file, "password", "Some Engineer", password="eight slow tides")[0] == 0
    after = file.read().engineers[0].password
    assert before != after
    assert is_right("eight slow tides", after)
    assert exhibit(file, "password", "Somebody Else")[0] == 2


def test_a_code_is_shown_that_pairs_a_device_which_can_be_removed(file: PeopleFile) -> None:
    command = [sys.executable, "-m", "exhibit", "desk", "pair", "--people", f"{file.path}"]
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    found = re.search(r"^The code: (\d{4}) (\d{4})$", said, re.MULTILINE)
    assert found
    assert pair(file, found[1] + found[2], "token") == ""
    listed = exhibit(file)[1]
    assert re.fullmatch(r"tablet 1: paired on \d{4}-\d\d-\d\d", listed)
    assert exhibit(file, "remove", "tablet 1")[0] == 0
    assert file.read().devices == []


def test_without_a_folder_the_desk_says_what_is_missing(file: PeopleFile) -> None:
    ended = subprocess.run(
        [sys.executable, "-m", "exhibit", "desk", "--people", f"{file.path}"], capture_output=True, text=True
    )
    assert ended.returncode == 2
    assert "--folder" in ended.stderr
    assert People().engineers == [], "nobody is there from the start"
