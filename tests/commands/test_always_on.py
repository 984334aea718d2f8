"""What docs/always-on.md has a museum copy: the service's file, and the badges that it promises."""

from __future__ import annotations

import configparser
import re
import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from exhibit.commands.cli import main
from exhibit.web.meanwhile import TURN_AFTER_S

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "docs/always-on.md").read_text("utf-8")
UNIT = re.search(r"```ini\n(.*?)```", GUIDE, re.DOTALL).group(1)


def test_the_command_of_the_service_is_one_that_the_program_takes():
    unit = configparser.ConfigParser(interpolation=None)
    unit.optionxform = str
    unit.read_string(UNIT)
    program, command, *arguments = shlex.split(unit["Service"]["ExecStart"])
    assert program.endswith("/exhibit")
    with main.commands[command].make_context(command, arguments) as taken:
        assert taken.params["machine"] == "whimbrel"
        assert (taken.params["host"], taken.params["port"]) == ("127.0.0.1", 8000)
        assert taken.params["with_starter"] is False
    assert unit["Service"]["Restart"] == "always"


def test_systemd_takes_the_service_s_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    systemd = shutil.which("systemd-analyze")
    if systemd is None:
        pytest.skip("this computer has no systemd")
    monkeypatch.setenv("XDG_RUNTIME_DIR", f"{tmp_path}")
    program = tmp_path / "exhibit"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o700)
    unit = tmp_path / "exhibit-page.service"
    unit.write_text(re.sub(r"ExecStart=\S+", f"ExecStart={program}", UNIT))
    checked = subprocess.run([systemd, "--user", "verify", unit], capture_output=True, text=True)
    complaints = [line for line in checked.stderr.splitlines() if unit.name in line]
    assert complaints == []
    unit.write_text(unit.read_text().replace("RestartSec=2", "RestartSeconds=2"))
    checked = subprocess.run([systemd, "--user", "verify", unit], capture_output=True, text=True)
    assert "RestartSeconds" in checked.stderr, "it doesn't look at the file"


@pytest.mark.parametrize(
    "row", re.findall(r"^\| (?!what happens|---)[^|]+ \| ([^|]+) \|", GUIDE, re.MULTILINE)
)
def test_each_badge_that_the_guide_promises_is_one_of_the_page(row: str):
    words = (ROOT / "web/words/en.js").read_text("utf-8")
    badges = re.search(r"badges: \{(.*?)\}", words, re.DOTALL).group(1)
    name = re.split(r", |:", row.strip())[0].replace("'", "’")
    assert f'"{name}"' in badges


def test_the_guide_says_after_how_long_the_page_turns_to_a_recording():
    assert f"after {TURN_AFTER_S:.0f} s a recording" in GUIDE
