"""Folders are short: four are counted. An older folder, in which everything is written, is still in order."""

import tomllib

import pytest

from exhibit.decisions.machine.script import Folder
from exhibit.folder.files import read_files
from exhibit.folder.report.findings import Checked, check_report
from exhibit.folder.whole import folder_from, read_folder
from tests.folder.folder_writing import ROOT, written_lines

MOST = {
    "scripts/heron": 43,
    "scripts/posix": 155,
    "tests/folder/consoles/curlew": 85,
    "tests/folder/consoles/knot": 65,
}
"""The most lines of each folder, one key a line."""
OLDER = ROOT / "tests/folder/older/posix"


@pytest.mark.parametrize("folder", MOST)
def test_a_folder_has_at_most_so_many_lines_and_nothing_is_found_in_it(folder):
    assert written_lines(read_files(ROOT / folder)) <= MOST[folder]
    checked = Checked(ROOT / folder)
    assert (checked.mistakes, checked.beyond, checked.advice) == ([], [], [])


def test_an_older_folder_with_everything_written_is_in_order():
    (line,) = check_report(Checked(OLDER), 200)
    assert "is in order" in line


def older_folder() -> Folder:
    """The older folder, with the present name for a place of one word."""
    files = {name: text.replace(b": word}", b": one word}") for name, text in read_files(OLDER).items()}
    return folder_from(files, "older")


def test_the_short_folder_describes_the_same_host_as_the_older_one():
    short, older = read_folder(ROOT / "scripts/posix").machine, older_folder().machine
    for field in ("line", "eighth_bit", "lines", "interruptions", "displays", "now", "never", "site"):
        assert getattr(short, field) == getattr(older, field), field
    assert {one.name: one for one in short.prompts} == {one.name: one for one in older.prompts}
    assert {one.name: (one.pattern, one.words, one.do) for one in short.troubles} == {
        one.name: (one.pattern, one.words, one.do) for one in older.troubles
    }
    assert short.exercisers == older.exercisers


def test_the_short_scripts_type_the_same_commands_in_the_same_order_and_show_the_same_captions():
    short, older = read_folder(ROOT / "scripts/posix"), older_folder()
    for name in ("opening", "round", "closing"):
        assert typed(short.scripts[name].steps) == typed(older.scripts[name].steps)
        assert len(typed(short.scripts[name].tidy_up)) == len(typed(older.scripts[name].tidy_up))
        assert short.scripts[name].title == older.scripts[name].title
    assert shown(short) == shown(older)


def shown(folder: Folder) -> set[tuple]:
    """Return what visitors read, what it is about, and whether it belongs to a place on the console."""
    return {
        (one.words["en"], one.source.get("en"), one.part, one.kind, one.trigger.reading, one.trigger.change)
        for one in folder.captions
    }


def typed(steps) -> list[str]:
    """Return what these steps type, without the names of steps whose numbers they use."""
    return [step.command for step in steps if hasattr(step, "command")]


def test_line_counting_counts_keys_that_share_a_line():
    assert written_lines({"a.toml": b"# a\n[one]\ntwo = 1\n\nthree = {four = 4, five = 5}\n"}) == 4
    assert tomllib.loads("three = {four = 4, five = 5}")
    assert written_lines({"a.toml": b"step = [{one = 1, two = 2}, {three = {four = 4, five = 5}}]\n"}) >= 4
