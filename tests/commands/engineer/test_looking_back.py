"""`exhibit incidents`, `excerpt`, `compare` and `report`, as an engineer types them."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from exhibit.commands.cli import main
from exhibit.streams.compressed.compressing import compress
from tests.records.history.days_made import a_day, trouble

SAMPLE = Path(__file__).resolve().parents[3] / "recordings/whimbrel-one-round.exhibit"


def exhibit(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


@pytest.fixture
def days(tmp_path: Path) -> Path:
    for day in range(3):
        a_day(
            tmp_path,
            day,
            [trouble(f"TRACK {day} CANNOT READ LOWER", 60), trouble("LIGHTS OUT", 90, "lights")],
        )
    return tmp_path


def test_they_are_listed_with_a_number_and_that_number_says_all(days):
    listed = exhibit("incidents", f"{days}")
    assert listed.exit_code == 0
    assert "disc-cannot-be-read: TRACK # CANNOT READ LOWER" in listed.output
    one = exhibit("incidents", f"{days}", "--number", "1")
    assert "3 times on 3 days" in one.output
    assert exhibit("incidents", f"{days}", "--number", "9").exit_code == 1


def test_one_kind_can_be_chosen_and_all_of_it_be_json(days):
    said = json.loads(exhibit("incidents", f"{days}", "--like", "lights", "--json").output)
    assert [one["signature"] for one in said["likes"]] == ["lights: LIGHTS OUT"]
    assert exhibit("incidents", f"{days}", "--since", "2026-11-04", "--json").output.count("CANNOT") < 6


def test_the_command_that_it_names_carries_the_incident_away(days):
    said = exhibit("incidents", f"{days}", "--number", "1").output
    (command,) = [line for line in said.splitlines() if line.startswith("exhibit excerpt")]
    words = command.split()[1:-1]
    ended = exhibit(*words, f"{days / 'incident.html'}")
    assert ended.exit_code == 0, ended.output
    assert "A disc can't be read: TRACK 2 CANNOT READ LOWER" in (days / "incident.html").read_text("utf-8")


@pytest.mark.parametrize(
    "command",
    [
        ["report", "DAYS", "--since", "2026-11-01"],
        ["summary", "DAYS"],
        ["excerpt", f"{SAMPLE}", "--fact", "900"],
        ["card", f"{SAMPLE.parents[1] / 'scripts/whimbrel'}"],
    ],
    ids=lambda command: command[0],
)
def test_a_page_for_a_browser_is_not_printed_on_a_terminal(days, command):
    ours, terminal = os.openpty()
    words = [f"{days}" if word == "DAYS" else word for word in command]
    ran = subprocess.run(
        [sys.executable, "-m", "exhibit", *words], stdout=terminal, stderr=subprocess.PIPE, text=True
    )
    os.close(terminal)
    assert ran.returncode == 2
    assert "--to page.html" in ran.stderr
    with pytest.raises(OSError, match="Input/output error"):
        os.read(ours, 1000)  # nothing was written to it
    os.close(ours)
    assert exhibit(*words).output.startswith("<!doctype html>")  # for another program it is


def test_an_excerpt_takes_its_form_from_the_name_of_its_file(tmp_path):
    for name, begins in (
        ("a.html", "<!doctype html>"),
        ("a.csv", "at,after_s"),
        ("a.vtt", "WEBVTT"),
        ("a.txt", "The console"),
    ):
        ended = exhibit(
            "excerpt",
            f"{SAMPLE}",
            "--at",
            "10:02:20",
            "--before",
            "5 s",
            "--after",
            "5 s",
            "--to",
            f"{tmp_path / name}",
        )
        assert ended.exit_code == 0, ended.output
        assert (tmp_path / name).read_text("utf-8").startswith(begins)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "Give one of --at, --fact, or --from"),
        (["--at", "10:02", "--fact", "3"], "Give one of --at, --fact, or --from"),
        (["--at", "10:02", "--notes"], "There are no notes in"),
        (["--at", "10:02", "--to", "/nowhere/a.html"], "can't be written"),
    ],
)
def test_what_can_t_be_done_is_said(arguments, said):
    ended = exhibit("excerpt", f"{SAMPLE}", *arguments)
    assert ended.exit_code == 2
    assert said in ended.output


def test_two_recordings_are_compared(days, tmp_path):
    sample = tmp_path / "sample" / SAMPLE.name
    sample.parent.mkdir()
    sample.write_bytes(SAMPLE.read_bytes())
    ended = exhibit("compare", f"{sample}", f"{sample}")
    assert ended.exit_code == 0
    assert "Nothing, apart from what always varies." in ended.output
    assert exhibit("compare", f"{sample}", f"{days}").exit_code == 2  # it has no steps
    assert (
        json.loads(exhibit("compare", f"{sample}", f"{sample}", "--json").output)["first"]["recordings"] == 1
    )


def test_the_report_is_written_and_a_year_is_another(days):
    folder = f"{SAMPLE.parents[1] / 'scripts/whimbrel'}"
    for which, said in (
        (["--since", "2026-11-01"], "before the visit"),
        (["--year", "2026"], "the year 2026"),
    ):
        to = f"{days / 'report.html'}"
        ended = exhibit("report", f"{days}", *which, "--folder", folder, "--to", to)
        assert ended.exit_code == 0, ended.output
        assert said in (days / "report.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], "Give the day of your last visit with --since"),
        (["--since", "2026-11-01", "--year", "2026"], "Give the day of your last visit with --since"),
        (["--since", "2026-11-01", "--notes"], "There are no notes in"),
        (["--since", "2030-11-01"], "no recording in that time"),
    ],
)
def test_a_report_that_can_t_be_made_is_refused_in_words(days, arguments, said):
    ended = exhibit("report", f"{days}", *arguments)
    assert ended.exit_code == 2
    assert said in ended.output


@pytest.mark.parametrize(
    "command",
    [
        ["excerpt", "--fact", "2928", "--before", "5 s"],
        ["excerpt", "--at", "10:02:20", "--before", "5 s", "--as", "text"],
        ["incidents"],
        ["report", "--year", "2026"],
    ],
    ids=" ".join,
)
def test_a_compressed_recording_says_the_same(tmp_path, command):
    plain, packed = tmp_path / "plain" / SAMPLE.name, tmp_path / "packed" / f"{SAMPLE.name}.zst"
    for path in (plain, packed):
        path.parent.mkdir()
    plain.write_bytes(SAMPLE.read_bytes())
    with plain.open("rb") as file:
        compress(file, packed)
    said, same = (exhibit(*command, f"{path}") for path in (plain, packed))
    assert said.exit_code == same.exit_code == 0, same.output
    assert same.output.replace(".exhibit.zst", ".exhibit").replace("packed", "plain") == said.output
