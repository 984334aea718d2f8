"""What a person reads: a line for each finding, what mends it, in the folder's language; and the status."""

from __future__ import annotations

import ast
import shutil
from pathlib import Path
from string import Formatter

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.doctor.computer import Finding
from exhibit.doctor.looking import Examination, in_words, is_wrong, said
from exhibit.doctor.words import ENGLISH
from exhibit.doctor.words_de import GERMAN
from exhibit.web.places import scripts_folder

DOCTOR = Path(__file__).resolve().parents[2] / "exhibit" / "doctor"


def places(sentence: str) -> set[str]:
    return {name for _, name, *_ in Formatter().parse(sentence) if name}


def test_every_finding_is_in_each_language_and_none_is_left_over():
    nodes = [node for path in DOCTOR.glob("*.py") for node in ast.walk(ast.parse(path.read_text("utf-8")))]
    literals = {
        node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    findings = [
        node for node in nodes if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Finding"
    ]
    said_at_once = {node.args[0].value for node in findings if isinstance(node.args[0], ast.Constant)}
    assert len(said_at_once) > 25
    assert said_at_once - set(ENGLISH) == set()
    assert set(ENGLISH) - literals == set()
    assert set(GERMAN) == set(ENGLISH)


@pytest.mark.parametrize("key", ENGLISH)
def test_both_languages_say_the_same_and_name_the_same_command(key):
    english, german = ENGLISH[key], GERMAN[key]
    assert len(english) == len(german)
    assert len(english) in (1, 3), "what it is; or also what it means and the command"
    assert [places(one) for one in english] == [places(one) for one in german]
    if len(english) == 3:
        dates = german[2].replace("JJJJ-MM-TT", "YYYY-MM-DD")
        assert english[2] == dates


def test_what_is_wrong_has_two_more_lines():
    wrong = Finding("port missing", {"line": "/dev/x", "there": "-"})
    assert is_wrong(wrong)
    first, means, run = said(wrong, "en")
    assert first == "TO DO  There is no serial port /dev/x"
    assert means.startswith("       It means: ")
    assert run == "       Run: ls -l /dev/serial/by-id"
    assert said(Finding("time", {"now": "x"}), "de") == ["gut     Die Uhr zeigt x"]


def test_a_stranger_s_name_can_write_no_line_of_its_own():
    (line,) = in_words(Finding("browser", {"browser": "x\nTO DO  nothing\x1b[2J"}), "en")
    assert line == "A browser is installed: x\\nTO DO  nothing\\x1b[2J"


def test_it_speaks_the_folder_s_first_language(made, tmp_path):
    folder = tmp_path / "whimbrel"
    shutil.copytree(scripts_folder() / "whimbrel", folder)
    examination = Examination(made.computer, folder, "", tmp_path)
    assert examination.language == "en"
    day = folder / "day.toml"
    day.write_text(day.read_text("utf-8").replace('order = ["en", "de"]', 'order = ["de", "en"]'))
    examination = Examination(made.computer, folder, "", tmp_path)
    assert examination.language == "de"
    assert any("Der Ordner der Maschine" in line for line in examination.lines())


@pytest.mark.parametrize(("line", "status"), [([], 0), (["--line", "/dev/nowhere"], 1)])
def test_the_exit_status_says_whether_there_is_something_to_do(line, status, monkeypatch, tmp_path, made):
    """On this computer, as it is; only what else runs on it, and its clock, are left out."""
    monkeypatch.setattr("exhibit.doctor.looking.looks_at_page", lambda: iter(()))
    monkeypatch.setattr("exhibit.doctor.looking.looks_at_processes", lambda _: iter(()))
    monkeypatch.setattr("exhibit.doctor.looking.looks_at_clock", lambda *_: iter(()))
    monkeypatch.setattr("exhibit.doctor.looking.looks_at_services", lambda _: iter(()))
    monkeypatch.setenv("XDG_DATA_HOME", f"{tmp_path}")
    monkeypatch.setenv("EXHIBIT_SECRET_TIDES", "GREBE519")
    monkeypatch.setenv("EXHIBIT_SECRET_KEEPER", "TWITE804")
    done = CliRunner().invoke(main, ["doctor", f"{scripts_folder() / 'whimbrel'}", *line])
    assert done.exit_code == status, done.output
    assert done.output.splitlines()[-1] == ("To do: 1" if status else "All is well.")
