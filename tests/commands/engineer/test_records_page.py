"""`exhibit records` says at once what it can't show, and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"


def asked(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["records", "--no-browser", *map(str, arguments)])


def test_a_folder_without_recordings_is_refused(tmp_path: Path) -> None:
    found = asked(tmp_path)
    assert found.exit_code == 2
    assert f"There is no recording in {tmp_path}." in found.stderr
    assert "Name a recording, or a folder that holds some." in found.stderr


def test_a_file_that_is_no_recording_is_refused(tmp_path: Path) -> None:
    (tmp_path / "notes.exhibit").write_text("these are notes\n")
    found = asked(tmp_path / "notes.exhibit")
    assert found.exit_code == 2
    assert "Get another copy of the recording." in found.stderr


def test_a_port_that_is_in_use_is_refused(needs, tmp_path: Path) -> None:
    import socket

    needs.that((SAMPLE.parents[1] / "web/built/faces.css").is_file(), "web/built, which `pip install` makes")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        found = asked(SAMPLE, "--port", taken.getsockname()[1])
    assert found.exit_code == 2
    assert "that port is in use" in found.stderr


@pytest.mark.parametrize("fact", ["0", "-3", "x"])
def test_a_fact_that_is_no_number_from_1_on_is_refused(fact: str) -> None:
    assert asked(SAMPLE, "--fact", fact).exit_code == 2
