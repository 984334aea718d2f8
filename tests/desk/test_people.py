"""The list of people: who reads it, what it holds, and codes for pairing."""

from __future__ import annotations

import os
import threading
from pathlib import Path

import pytest

from exhibit.desk import people as lists
from exhibit.desk.people import (
    CODE_LASTS_S,
    MOST_DEVICES,
    MOST_WRONG_CODES,
    Device,
    Docent,
    PeopleFile,
    new_code,
    pair,
)
from exhibit.facts.errors import SetUpFault

NOW_S = 1_800_000_000.0


@pytest.fixture
def file(tmp_path: Path) -> PeopleFile:
    made = PeopleFile(tmp_path / "state" / "people.json")
    with made.change():
        pass
    return made


def code_for(file: PeopleFile) -> str:
    with file.change() as people:
        return new_code(people, NOW_S)


def test_only_its_owner_can_read_it_or_look_into_its_folder(file: PeopleFile) -> None:
    assert file.path.stat().st_mode & 0o777 == 0o600


@pytest.mark.skipif(os.getuid() != 0, reason="only root can give a file to somebody else")
def test_a_change_by_root_leaves_the_list_to_the_service_that_has_it(file: PeopleFile) -> None:
    os.chown(file.path, 4711, 4712)
    with file.change() as people:
        people.docents.append(Docent(number=people.next_number("docent"), initials="AB"))
    status = file.path.stat()
    assert (status.st_uid, status.st_gid, status.st_mode & 0o777) == (4711, 4712, 0o600)
    assert file.path.parent.stat().st_mode & 0o777 == 0o700


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o666])
def test_one_that_others_can_use_is_refused_with_the_command_that_mends_it(
    file: PeopleFile, mode: int
) -> None:
    file.path.chmod(mode)
    with pytest.raises(SetUpFault, match="chmod 600"):
        PeopleFile(file.path).read()


def test_a_change_is_seen_by_whoever_has_read_it_before(file: PeopleFile) -> None:
    reader = PeopleFile(file.path)
    assert reader.read().docents == []
    with file.change() as people:
        people.docents.append(Docent(number=1, initials="AB"))
    assert [one.initials for one in reader.read().docents] == ["AB"]


def test_a_change_that_fails_changes_nothing(file: PeopleFile) -> None:
    before = file.path.read_bytes()
    with pytest.raises(ZeroDivisionError), file.change() as people:
        people.docents = [Docent(number=1 // 0, initials="AB")]
    assert file.path.read_bytes() == before
    assert file.read().docents == []


def test_of_changes_at_once_none_is_lost(file: PeopleFile) -> None:
    def add() -> None:
        own = PeopleFile(file.path)
        for _ in range(5):
            with own.change() as people:
                number = people.next_number("docent")
                people.docents.append(Docent(number=number, initials=f"D{number}"))

    threads = [threading.Thread(target=add) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [one.number for one in file.read().docents] == list(range(1, 21))


def test_a_number_is_never_given_to_anybody_else(file: PeopleFile) -> None:
    with file.change() as people:
        people.docents.append(Docent(number=people.next_number("docent"), initials="AB"))
    with file.change() as people:
        people.docents.clear()
    with file.change() as people:
        assert people.next_number("docent") == 2


def test_when_the_file_is_spoilt_what_was_read_last_still_holds(file: PeopleFile) -> None:
    with file.change() as people:
        people.docents.append(Docent(number=1, initials="AB"))
    file.read()
    file.path.write_text("{")
    assert [one.initials for one in file.current().docents] == ["AB"]
    with pytest.raises(SetUpFault):
        PeopleFile(file.path).current()


def test_one_of_a_newer_version_is_refused(file: PeopleFile) -> None:
    file.path.write_text('{"format": 2}')
    with pytest.raises(SetUpFault, match="newer version"):
        file.read()


def test_a_code_pairs_one_device_within_its_time(file: PeopleFile) -> None:
    code = code_for(file)
    assert len(code) == 8
    assert code.isdigit()
    assert pair(file, code, "token", lambda: NOW_S + CODE_LASTS_S - 1) == ""
    known = file.read().device("token")
    assert known is not None
    assert known.number == 1
    assert "token" not in file.path.read_text()
    assert pair(file, code, "another", lambda: NOW_S + 1) == "no code"


@pytest.mark.parametrize("at_s", [CODE_LASTS_S, 3 * CODE_LASTS_S, -1])
def test_a_code_is_of_no_use_after_its_time_nor_when_the_clock_went_back(
    file: PeopleFile, at_s: float
) -> None:
    code = code_for(file)
    assert pair(file, code, "token", lambda: NOW_S + at_s) == "no code"
    assert file.read().devices == []


def test_the_right_code_is_withdrawn_after_too_many_wrong_ones(file: PeopleFile) -> None:
    code = code_for(file)
    wrong = f"{(int(code) + 1) % 10**8:08}"
    for _ in range(MOST_WRONG_CODES):
        assert pair(file, wrong, "token", lambda: NOW_S) == "wrong code"
    assert pair(file, code, "token", lambda: NOW_S) == "no code"


def test_a_wrong_code_or_two_do_not_matter(file: PeopleFile) -> None:
    code = code_for(file)
    assert (
        pair(file, "00000000" if code != "00000000" else "00000001", "token", lambda: NOW_S) == "wrong code"
    )
    assert pair(file, code, "token", lambda: NOW_S) == ""


def test_a_new_code_takes_the_place_of_the_one_before(file: PeopleFile) -> None:
    first = code_for(file)
    second = code_for(file)
    if first != second:
        assert pair(file, first, "token", lambda: NOW_S) == "wrong code"
    assert pair(file, second, "token", lambda: NOW_S) == ""
    assert "code" not in file.path.read_text() or second not in file.path.read_text()


def test_there_can_be_so_many_devices_and_no_more(file: PeopleFile) -> None:
    with file.change() as people:
        people.devices = [Device(number=n, digest=f"{n}", paired="") for n in range(MOST_DEVICES)]
    assert pair(file, code_for(file), "token", lambda: NOW_S) == "too many"


def test_a_folder_that_cannot_be_written_is_told_in_sentences(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(SetUpFault, match="can be written"), PeopleFile(tmp_path / "file" / "list").change():
        pass


def test_codes_are_of_every_kind(file: PeopleFile) -> None:
    with file.change() as people:
        codes = {lists.new_code(people, NOW_S) for _ in range(200)}
    assert len(codes) > 190
    assert len({code[0] for code in codes}) > 5
