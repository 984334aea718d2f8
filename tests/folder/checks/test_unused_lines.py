"""Advice says that nothing uses a line only if nothing does."""

from __future__ import annotations

import pytest

from exhibit.folder.report.findings import Checked
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

HEADED = '\n[lines.load-heading]\nline = "JOBS NOW"\n\n[lines.load-row]\nline = "ROW {job: number}"\nbelow = '
SUMS = 'called = "SUMS"\n'


def unused(tmp_path, machine: str) -> list[str]:
    """Return the advice on unused lines for the Whimbrel with this machine.toml."""
    files = {**FILES, "machine.toml": machine.encode()}
    assert mistakes_in(files) == []
    for file, content in files.items():
        (tmp_path / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / file).write_bytes(content)
    return [one.what for one in Checked(tmp_path).advice if "nothing uses the line" in one.what]


@pytest.mark.parametrize("key", ["listed", "none_listed", "refused"])
def test_a_line_by_which_jobs_are_known_is_used(tmp_path, key):
    machine = FILES["machine.toml"].decode()
    start, end = machine.index("[exercisers.sums]"), machine.index(SUMS)
    assert "[exercisers." not in machine[start + 1 : end]
    line = "SHELF {job: number} IS IN USE" if key == "listed" else "THE SHELF IS EMPTY"
    added = f'\n[lines.shelf]\nline = "{line}"\n'
    text = machine[end:]
    for old in (row for row in text.splitlines()[:6] if row.startswith(f"{key} = ")):
        text = text.replace(old + "\n", "", 1)
    used = machine[:end] + text.replace(SUMS, f'{SUMS}{key} = ["shelf"]\n', 1) + added
    assert unused(tmp_path, used) == []
    if key != "listed":  # a line with a place may be there to be recorded only
        assert len(unused(tmp_path, machine + added)) == 1


def test_a_heading_is_used_by_the_rows_below_it(tmp_path):
    machine = FILES["machine.toml"].decode()
    assert unused(tmp_path, f'{machine}{HEADED}"load-heading"\n') == []
    assert len(unused(tmp_path, machine + HEADED.replace("below = ", "") + "\n")) == 1
