"""The commands that keep recordings: what they print, and their exit status."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main
from tests.streams.samples import a_recording


@pytest.fixture
def path(tmp_path) -> Path:
    return a_recording(tmp_path, 40)


def exhibit(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_verify_says_a_line_a_file_and_ends_with_0(path):
    done = exhibit("verify", path.parent)
    assert done.exit_code == 0
    assert done.output.splitlines() == [f"{path.name}: in order; 42 facts"]


def test_verify_ends_with_2_and_says_what_to_do_if_something_is_damaged_and_mend_does_it(path):
    content = path.read_bytes()
    path.write_bytes(content[:-40])
    done = exhibit("verify", path)
    assert done.exit_code == 2
    assert "exhibit mend FILE" in done.output
    done = exhibit("mend", path)
    assert done.exit_code == 0, done.output
    new = path.parent / "mended" / path.name
    assert f"{new} has 41 facts of {path.name}" in done.output
    assert "Missing at the end, byte " in done.output
    assert exhibit("verify", new).exit_code == 0
    assert path.read_bytes() == content[:-40]


def test_mend_of_one_in_order_is_refused(path):
    done = exhibit("mend", path)
    assert done.exit_code == 2
    assert "is in order" in done.output
