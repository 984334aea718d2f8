"""`exhibit erase` says where a name stands, takes it out, and proves that it is gone."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main
from exhibit.desk.people import Docent, Engineer, PeopleFile
from exhibit.facts.kinds import BytesTyped
from tests.records.keeping.days import a_day, note

DIGEST, OTHER = "9f" * 32, "1a" * 32


class Museum:
    """Its files, with two people in them."""

    def __init__(self, place: Path) -> None:
        self.recordings, self.people = place / "recordings", place / "people.json"
        self.notes = self.recordings / "saved" / "notes"
        self.notes.mkdir(parents=True)
        with PeopleFile(self.people).change() as people:
            people.docents.append(Docent(number=people.next_number("docent"), initials="QX"))
            engineer = Engineer(number=people.next_number("engineer"), name="Ada Vale", password="x")
            people.engineers.append(engineer)
        (self.notes / f"{DIGEST}.txt").write_text("Ada Vale found a hot bearing. QX was there too.")
        (self.notes / f"{OTHER}.txt").write_text("All well.")
        (self.recordings / "exhibit-index.sqlite").write_bytes(b"SQLite\0 Ada Vale")
        self.recording = a_day(self.recordings, "2026-10-01", [note(DIGEST), note(OTHER, by="engineer 1")])

    def exhibit(self, *arguments: str) -> Result:
        where = ["--recordings", f"{self.recordings}", "--people", f"{self.people}"]
        return CliRunner().invoke(main, ["erase", *arguments, *where])

    def everything(self) -> dict[Path, bytes]:
        files = [path for path in self.recordings.parent.rglob("*") if path.is_file()]
        return {path: path.read_bytes() for path in files if not path.name.endswith(".lock")}


@pytest.fixture
def museum(tmp_path) -> Museum:
    return Museum(tmp_path)


def test_without_now_it_says_where_the_name_stands_and_changes_nothing(museum):
    before = museum.everything()
    done = museum.exhibit("Ada Vale")
    assert done.exit_code == 0, done.output
    assert f"engineer 1 in the recordings is Ada Vale in {museum.people}." in done.output
    assert f"{DIGEST}.txt: the name is replaced by engineer 1 (1 times)" in done.output
    assert "exhibit-index.sqlite: it is removed" in done.output
    assert "Nothing was changed. With --now it is done." in done.output
    assert museum.everything() == before


def test_now_it_is_gone_from_every_file_and_the_others_are_as_they_were(museum):
    recording = museum.recording.read_bytes()
    done = museum.exhibit("Ada Vale", "--now")
    assert done.exit_code == 0, done.output
    assert "Searched again: " in done.output
    assert "The name stands in none of them." in done.output
    assert not [path for path, content in museum.everything().items() if b"Vale" in content]
    assert (museum.notes / f"{DIGEST}.txt").read_text() == "engineer 1 found a hot bearing. QX was there too."
    assert museum.recording.read_bytes() == recording
    people = PeopleFile(museum.people).read()
    assert people.engineers == []
    assert [docent.initials for docent in people.docents] == ["QX"]
    assert people.last["engineer"] == 1  # the number is never given to anybody else


def test_initials_are_taken_out_by_initials(museum):
    done = museum.exhibit("QX", "--now")
    assert done.exit_code == 0, done.output
    assert (museum.notes / f"{DIGEST}.txt").read_text().endswith("docent 1 was there too.")


def test_with_notes_all_that_somebody_wrote_goes_too(museum):
    done = museum.exhibit("engineer 1", "--notes", "--now")
    assert done.exit_code == 0, done.output
    assert not (museum.notes / f"{OTHER}.txt").exists()
    assert (museum.notes / f"{DIGEST}.txt").exists()


def test_another_form_of_the_name_and_another_place_are_searched_too(museum, tmp_path):
    copies = tmp_path / "copies" / "notes"
    copies.mkdir(parents=True)
    (copies / f"{DIGEST}.txt").write_text("Mrs A. Vale-Quist")
    more = "--named", "Vale-Quist", "--also", f"{tmp_path / 'copies'}"
    done = museum.exhibit("Ada Vale", *more, "--now")
    assert done.exit_code == 0, done.output
    assert (copies / f"{DIGEST}.txt").read_text() == "Mrs A. engineer 1"


def test_a_name_in_a_recording_is_said_and_the_exit_status_is_2(museum):
    typed = BytesTyped(bytes="LOGIN ADA VALE\r", count=15, by="engineer 1")
    path = a_day(museum.recordings, "2026-10-02", [typed])
    done = museum.exhibit("Ada Vale", "--now")
    assert done.exit_code == 2
    assert f"{path}: stands in a recording, and can't be erased there" in done.output
    assert "The name still stands in 1 files" in done.output


def test_somebody_unknown_is_refused(museum):
    done = museum.exhibit("Nobody At All")
    assert done.exit_code == 2
    assert "is nobody in the list of people" in done.output
