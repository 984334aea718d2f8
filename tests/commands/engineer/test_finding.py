"""`exhibit find`, `exhibit days`, `exhibit show` and `exhibit text --json`, as a person uses them."""

from __future__ import annotations

import hashlib
import json
import shlex
from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.facts import kinds
from tests.records.index.written import received, script, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch) -> Path:
    monkeypatch.setenv("XDG_CACHE_HOME", f"{tmp_path / 'cache'}")
    folder = tmp_path / "the recordings"
    folder.mkdir()
    write(
        folder / "a.exhibit",
        received("HELLO THERE\r\nDISC ERROR 7\r\n", 2),
        *script("round", 1, 3, ("add", 2.5)),
        *script("round", 2, 9, ("add", 2.5), outcome="failed"),
    )
    write(folder / "b.exhibit", received("DISC WELL\r\n", 1), wall="2026-11-26T09:00:00+01:00")
    return folder


def run(*arguments: object, status: int = 0) -> str:
    done = CliRunner().invoke(main, [f"{one}" for one in arguments])
    assert done.exit_code == status, done.output
    return done.output


def test_what_find_prints_can_be_pasted_behind_show(folder):
    [line] = run("find", folder, "--text", "error 7").splitlines()
    begins, _, says = line.partition("  ")
    assert says == "2026-11-25 09:00:02.000  printed  DISC ERROR 7"
    assert "DISC ERROR 7" in run("show", *shlex.split(begins))


def test_find_looks_in_files_or_folders_and_between_times(folder):
    assert len(run("find", folder, "--text", "disc").splitlines()) == 2
    assert len(run("find", folder / "b.exhibit", "--text", "disc").splitlines()) == 1
    assert "WELL" in run("find", folder, "--text", "disc", "--since", "2026-11-26")
    assert "ERROR" in run("find", folder, "--text", "disc", "--until", "2026-11-25 10:00")
    assert "ERROR" in run("find", folder, "--pattern", r"ERROR \d", "--kind", "printed")
    assert "script_ended" in run("find", folder, "--kind", "script-ended", "--most", 1)


def test_find_says_that_nothing_was_found_with_its_exit_status(folder):
    assert "Nothing was found." in run("find", folder, "--text", "walrus", status=1)


@pytest.mark.parametrize(
    "wrong", [["--kind", "walrus"], ["--pattern", "("], ["--since", "yesterday"], []], ids=str
)
def test_find_says_which_option_is_wrong(folder, wrong):
    run("find", folder, *wrong, status=2)


def test_find_looks_into_notes_only_if_asked(folder):
    digest = hashlib.sha256(b"The belt slips.").hexdigest()
    made = kinds.NoteMade(kind="note", by="docent 1", digest=digest)
    write(folder / "c.exhibit", (1, made), wall="2026-11-27T09:00:00+01:00")
    (folder / "saved" / "notes").mkdir(parents=True)
    (folder / "saved" / "notes" / f"{digest}.txt").write_text("The belt slips.")
    run("find", folder, "--text", "belt", status=1)
    assert "note_made  The belt slips.   by docent 1" in run("find", folder, "--text", "belt", "--notes")
    (folder / "saved" / "notes" / f"{digest}.txt").unlink()
    run("find", folder, "--text", "belt", "--notes", status=1)


def test_find_and_text_print_json_with_a_fact_a_time_and_the_line(folder):
    [found] = map(json.loads, run("find", folder, "--text", "error 7", "--json").splitlines())
    assert (found["seq"], found["kind"], found["text"]) == (2, "printed", "DISC ERROR 7")
    rows = [json.loads(line) for line in run("text", "--json", folder / "a.exhibit").splitlines()]
    assert rows[1] == {
        "seq": 2,
        "at": "2026-11-25T09:00:02.000+01:00",
        "at_us": 2_000_000,
        "kind": "printed",
        "by": "",
        "text": "DISC ERROR 7",
    }


def test_days_has_a_line_for_each_day(folder):
    lines = run("days", folder).splitlines()
    assert lines[1].split()[:7] == ["2026-11-25", "heron", "2", "1", "1", "0", "0"]
    assert lines[2].split()[:3] == ["2026-11-26", "heron", "0"]
    assert len(run("days", folder, "--since", "2026-11-26").splitlines()) == len(lines) - 1
    [day] = map(json.loads, run("days", folder, "--until", "2026-11-26", "--json").splitlines())
    assert (day["rounds"], day["rounds_done"], day["files"]) == (2, 1, ["a.exhibit"])


def test_a_file_that_is_no_recording_is_named_and_the_others_are_searched(folder):
    (folder / "c.exhibit").write_text("nothing of the kind\n")
    said = run("find", folder, "--text", "error 7")
    assert "Left out:" in said
    assert "DISC ERROR 7" in said


def test_show_wants_one_moment(folder):
    run("show", folder / "a.exhibit", status=2)
    run("show", folder / "a.exhibit", "--at", "09:00:02", "--fact", 2, status=2)
    assert "DISC ERROR 7" in run("show", folder / "a.exhibit", "--at", "09:00:02")
    assert json.loads(run("show", folder / "a.exhibit", "--fact", 2, "--json"))["rows"][1] == "DISC ERROR 7"


def test_a_name_that_is_not_there_is_a_sentence(folder):
    assert "There is no recording and no folder" in run("find", folder / "none", "--text", "x", status=2)


@pytest.mark.parametrize(
    "command",
    [
        ["days", "FILE"],
        ["find", "FILE", "--text", "X"],
        ["incidents", "FILE"],
        ["sums", "steps", "FILE"],
        ["report", "FILE", "--since", "2026-01-01"],
    ],
    ids=lambda command: command[0],
)
def test_of_a_file_that_is_no_recording_every_command_says_so_and_nothing_untrue(tmp_path, command):
    letter = tmp_path / "letter.exhibit"
    letter.write_text("Dear engineer,\n")
    done = CliRunner().invoke(main, [f"{letter}" if word == "FILE" else word for word in command])
    assert done.exit_code == 2
    assert f"{letter} can't be read" in done.output
    assert "There is no recording" not in done.output
