"""`exhibit check --explain` prints the whole folder as it is understood, and marks each default."""

import re
import shutil

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.folder.files import read_files
from exhibit.folder.report.explained import DEFAULT, explained, file_lines
from exhibit.folder.whole import examine, folder_from
from tests.folder.folder_writing import FOLDERS, WHIMBREL

FIELDS = "machine scripts way_home captions rest_us limits second_language ahead glosses"
"""What a folder says, apart from the digests of its files."""


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_what_it_prints_means_the_same_as_the_folder(folder):
    files = read_files(folder)
    found = examine(files)
    printed = {name: "\n".join(file_lines(table)).encode() for name, table in found.tables.items()}
    again, before = folder_from(printed, "again"), folder_from(files, "before")
    for field in FIELDS.split():
        assert getattr(again, field) == getattr(before, field), field


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_with_everything_written_nothing_is_left_to_a_default(folder):
    found = examine(read_files(folder))
    printed = {name: "\n".join(file_lines(table)).encode() for name, table in found.tables.items()}
    assert [line for line in explained(examine(printed)) if line.endswith(DEFAULT)] == []


def test_each_default_is_marked_and_nothing_that_is_written(tmp_path):
    folder = shutil.copytree(WHIMBREL, tmp_path / "whimbrel")
    machine = (folder / "machine.toml").read_text("utf-8")
    (folder / "machine.toml").write_text(re.sub(r"adapter_latency = .*\n", "", machine), "utf-8")
    ran = CliRunner().invoke(main, ["check", f"{folder}", "--explain"])
    assert ran.exit_code == 0
    lines = ran.stdout.splitlines()
    assert f'adapter_latency = "16 ms"{DEFAULT}' in lines
    assert 'baud = "2400 baud"' in lines
    assert [line for line in lines if line.startswith("# ---- ")][0] == "# ---- machine.toml"


def test_a_folder_with_a_mistake_is_explained_as_far_as_it_can_be_read(tmp_path):
    folder = shutil.copytree(WHIMBREL, tmp_path / "whimbrel")
    (folder / "day.toml").write_text("nothing", "utf-8")
    ran = CliRunner().invoke(main, ["check", f"{folder}", "--explain"])
    assert ran.exit_code == 2
    assert "# ---- round.toml" in ran.stdout
    assert "# ---- day.toml" not in ran.stdout
