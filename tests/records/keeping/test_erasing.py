"""A name is found in whatever form it stands, is taken out of notes, and what was searched is known."""

from __future__ import annotations

import unicodedata

import pytest

from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.facts.kinds import BytesTyped
from exhibit.records.keeping.erasing import Name, erase_in_note, notes_by, proof, search
from tests.records.keeping.days import a_day, note

INVENTED = "Ömer Vale-Quist"


@pytest.mark.parametrize(
    "text",
    [
        INVENTED,
        INVENTED.upper(),
        unicodedata.normalize("NFD", INVENTED),
        "seen by Ömer  Vale-Quist.",
        r"{\"by\":\"\u00d6mer Vale-Quist\"}",
    ],
)
def test_a_name_is_found_in_each_form_it_can_stand_in(text):
    assert Name([INVENTED]).times_in(text) == 1
    assert Name([INVENTED]).times_in(Name([INVENTED]).without(text, "docent 2")) == 0


def test_initials_count_only_as_they_are_written_and_only_as_a_word():
    name = Name(["AB"])
    assert [name.times_in(text) for text in ("AB was here", "ab", "CABLE", "A B", "by AB.")] == [
        1,
        0,
        0,
        0,
        1,
    ]


def test_one_letter_is_refused():
    with pytest.raises(SetUpFault, match="too short"):
        Name(["A"])


def test_it_is_found_at_the_edge_of_a_block_and_in_other_programs_files(tmp_path):
    (tmp_path / "edge").write_text("x" * (1024 * 1024 - 5) + " " + INVENTED + " x")
    (tmp_path / "wide").write_bytes(b"\0\0" + INVENTED.encode("utf-16-le"))
    (tmp_path / "none").write_text("nobody")
    found = search(Name([INVENTED]), [tmp_path])
    assert sorted(one.path.name for one in found.found) == ["edge", "wide"]
    assert found.files == 3
    assert found.size_bytes > 1024 * 1024


def test_in_a_note_the_number_stands_in_its_place_and_the_proof_says_what_was_searched(tmp_path):
    folder = tmp_path / "saved" / "notes"
    folder.mkdir(parents=True)
    path = folder / f"{'9f' * 32}.txt"
    path.write_text(f"{INVENTED} heard the bearing.")
    name = Name([INVENTED])
    (one,) = search(name, [tmp_path]).found
    assert (one.path, one.kind, one.times) == (path, "note", 1)
    with pytest.raises(RecordingFault, match="still stands in 1 files"):
        proof(name, [tmp_path])
    erase_in_note(name, path, "docent 2")
    assert path.read_text() == "docent 2 heard the bearing."
    assert path.stat().st_mode & 0o777 == 0o600
    assert proof(name, [tmp_path]).startswith("Searched again: 1 files")
    assert [one.name for one in folder.iterdir()] == [path.name]


def test_a_name_that_was_typed_stands_in_the_recording_and_is_said(tmp_path):
    typed = BytesTyped(bytes="HELLO VALE-QUIST\r", count=17, by="engineer 1")
    path = a_day(tmp_path, "2026-11-25", [typed])
    name = Name(["Vale-Quist"])
    assert [(one.path, one.kind) for one in search(name, [tmp_path]).found] == [(path, "recording")]
    with pytest.raises(RecordingFault, match=path.name):
        proof(name, [tmp_path])


def test_what_a_person_wrote_is_found_by_their_number(tmp_path):
    folder = tmp_path / "saved" / "notes"
    folder.mkdir(parents=True)
    mine, other, picture = ("1a" * 32, "2b" * 32, "3c" * 32)
    for name in f"{mine}.txt", f"{other}.txt", f"{picture}.jpg":
        (folder / name).touch()
    by = "docent 2"
    a_day(tmp_path, "2026-11-25", [note(mine, by=by), note(other), note(picture, "photograph", by=by)])
    assert sorted(path.name for path in notes_by(by, [tmp_path])) == [f"{mine}.txt", f"{picture}.jpg"]


def test_a_link_leads_nowhere(tmp_path):
    (tmp_path / "outside").write_text(INVENTED)
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "link").symlink_to(tmp_path / "outside")
    assert search(Name([INVENTED]), [tmp_path / "in"]).files == 0
