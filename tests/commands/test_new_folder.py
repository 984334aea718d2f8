"""`exhibit new` writes a folder that `exhibit check` finds in order, and never overwrites anything."""

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.folder.files import read_files
from tests.folder.folder_writing import ROOT


def exhibit(*arguments: str):
    return CliRunner().invoke(main, list(arguments))


@pytest.mark.parametrize(("like", "source"), [((), "heron"), (("--like", "posix"), "posix")])
def test_the_folder_passes_the_check(tmp_path, like, source):
    folder = tmp_path / "ours"
    made = exhibit("new", f"{folder}", *like)
    assert made.exit_code == 0, made.output
    assert f"exhibit check {folder}" in made.stdout
    assert read_files(folder) == read_files(ROOT / "scripts" / source)
    checked = exhibit("check", f"{folder}")
    assert checked.exit_code == 0
    assert "is in order" in " ".join(checked.stdout.split())


def test_a_copy_of_the_whimbrels_folder_is_not_that_of_a_simulated_machine(tmp_path):
    folder = tmp_path / "ours"
    assert exhibit("new", f"{folder}", "--like", "whimbrel").exit_code == 0
    assert not (folder / "simulated-docent.toml").exists()
    assert (folder / "background/en/the-machine-itself.md").exists()
    assert exhibit("check", f"{folder}").exit_code == 0


def test_a_folder_with_something_in_it_is_left_as_it_is(tmp_path):
    (tmp_path / "notes.txt").write_text("ours")
    made = exhibit("new", f"{tmp_path}")
    assert made.exit_code == 2
    assert "already has something in it" in made.stderr
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_an_empty_folder_is_filled(tmp_path):
    assert exhibit("new", f"{tmp_path}").exit_code == 0
    assert (tmp_path / "machine.toml").exists()


def test_a_file_in_its_place_is_left_as_it_is(tmp_path):
    (tmp_path / "ours").write_text("ours")
    made = exhibit("new", f"{tmp_path / 'ours'}")
    assert made.exit_code == 2
    assert "is a file" in made.stderr


def test_an_unknown_shipped_folder_is_answered_with_those_that_there_are(tmp_path):
    made = exhibit("new", f"{tmp_path / 'ours'}", "--like", "poxis")
    assert made.exit_code == 2
    assert "heron, posix, whimbrel" in made.stderr
