"""Practice reaches no port, and a folder without a simulated machine is told what to do instead."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import click
import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.options import REFUSED, recordings_by_default
from exhibit.commands.practice.command import practice, practice_by_default
from exhibit.commands.practice.practising import bridge_command, practise
from exhibit.commands.processes import bridge
from exhibit.facts.errors import SetUpFault
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder


def test_no_option_of_practice_names_a_line_and_its_bridge_is_at_the_simulators_own():
    options = {name for option in practice.params for name in option.opts if isinstance(option, click.Option)}
    assert options == {"--mistake", "--recordings", "--port", "--speed"}
    command = bridge_command(Path("folder"), "/dev/pts/7", Path("practice"), 1.0)
    assert command[command.index("--line") + 1] == "/dev/pts/7"
    assert command.count("--line") == 1
    assert {"--practice", "--simulated"} <= set(command)


def test_a_bridge_for_practice_is_refused_at_any_line_that_isnt_the_simulators():
    """Its recording would say that nothing was typed at the machine."""
    told = CliRunner().invoke(
        bridge, [f"{scripts_folder() / 'whimbrel'}", "--line", "/dev/ttyS9", "--practice", "--by-day"]
    )
    assert isinstance(told.exception, SetUpFault)
    assert "A practice needs the simulated machine" in told.exception.what


def test_recordings_of_practice_stand_beside_the_real_ones_and_not_among_them():
    assert practice_by_default().parent == recordings_by_default().parent
    assert practice_by_default() != recordings_by_default()


@pytest.mark.parametrize("name", ["posix", "heron"])
def test_a_folder_without_a_simulated_machine_is_told_what_to_do_instead(tmp_path, name):
    folder = scripts_folder() / name
    with pytest.raises(SetUpFault) as raised:
        practise(folder, read_folder(folder), tmp_path / "practice", None, 0, 1.0)
    assert "has no simulated machine" in raised.value.what
    assert f"exhibit card {folder} --to card.html" in raised.value.do
    assert not (tmp_path / "practice").exists()


def test_a_line_that_is_given_is_refused():
    ran = subprocess.run(
        [sys.executable, "-m", "exhibit", "practice", "scripts/whimbrel", "--line", "/dev/null"],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert ran.returncode == REFUSED
    assert "No such option '--line'" in ran.stderr


def test_a_practice_can_be_done_at_any_hour():
    """A museum whose closing comes with its doors lets nobody practise in the evening otherwise."""
    read = read_folder(scripts_folder() / "whimbrel")
    closed = msgspec.structs.replace(
        read,
        limits=msgspec.structs.replace(
            read.limits,
            closes_min=1020,
            closes_with_doors=True,
            last_round_min=990,
            last_round_before_doors_min=5,
        ),
    )
    practised = closed.at_any_hour()
    assert practised.hours is None
    assert practised.limits == read.limits
    assert read.limits.closes_min is None
