"""`exhibit work`, as an engineer types it."""

import json
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from PIL import Image

from exhibit.commands.cli import main
from exhibit.commands.engineer.moments import wall_of
from exhibit.desk.people import Engineer, PeopleFile
from exhibit.facts.errors import SetUpFault
from exhibit.records.work.reading import written_down

WHIMBREL = f"{Path(__file__).resolve().parents[3] / 'scripts/whimbrel'}"
AT = datetime(2026, 11, 25, 18, 0, tzinfo=timezone(timedelta(hours=1)))


@pytest.fixture
def place(tmp_path: Path) -> Path:
    with PeopleFile(tmp_path / "people.json").change() as people:
        people.engineers.append(Engineer(number=people.next_number("engineer"), name="Robin", password="-"))
    return tmp_path


def work(place: Path, *arguments: str) -> Result:
    where = ["--recordings", f"{place / 'recordings'}", "--people", f"{place / 'people.json'}"]
    return CliRunner().invoke(main, ["work", *arguments, *(where if arguments[0] != "list" else [])])


def test_work_is_written_down_with_a_number_for_the_name(place):
    ended = work(place, "done", WHIMBREL, "--part", "lower-drive", "--act", "cleaned", "--by", "robin")
    assert ended.exit_code == 0, ended.output
    (done,) = written_down([place / "recordings"]).work
    assert (done.by, done.act, done.part) == ("engineer 1", "cleaned", "lower-drive")
    assert all(b"Robin" not in path.read_bytes() for path in (place / "recordings").rglob("*.exhibit"))


def test_a_photograph_and_a_note_are_files_known_by_their_digest(place):
    Image.new("RGB", (8, 8)).save(place / "board.jpg")
    ended = work(place, "done", WHIMBREL, "--part", "lower-drive", "--act", "swapped", "--by", "1", "--note",
                 "Pin 4 was bent.", "--photograph", f"{place / 'board.jpg'}")  # fmt: skip
    assert ended.exit_code == 0, ended.output
    (done,) = written_down([place / "recordings"]).work
    notes = place / "recordings/saved/notes"
    assert (notes / f"{done.note}.txt").read_text() == "Pin 4 was bent."
    assert (notes / f"{done.photographs[0]}.jpg").read_bytes() == (place / "board.jpg").read_bytes()


def test_what_is_no_photograph_stops_all_of_it(place):
    (place / "board.jpg").write_text("no photograph")
    ended = work(place, "done", WHIMBREL, "--part", "lower-drive", "--act", "swapped", "--by", "1",
                 "--photograph", f"{place / 'board.jpg'}")  # fmt: skip
    assert ended.exit_code == 2
    assert "neither a JPEG nor a PNG" in ended.output
    assert written_down([place / "recordings"]).work == []


def test_a_wrong_part_leaves_no_note_behind(place):
    ended = work(place, "done", WHIMBREL, "--part", "lid", "--act", "cleaned", "--by", "1", "--note", "x")
    assert ended.exit_code == 2
    assert "has no part 'lid'" in ended.output
    assert not (place / "recordings").exists()


def test_somebody_unknown_is_not_given_a_number(place):
    ended = work(place, "done", WHIMBREL, "--part", "lower-drive", "--act", "cleaned", "--by", "Sasha")
    assert ended.exit_code == 2
    assert "'Sasha' is nobody in the list of people" in ended.output


def test_values_and_packs_are_listed_as_json_too(place):
    assert work(place, "measured", WHIMBREL, "21.5 C", "--what", "room", "--by", "1").exit_code == 0
    assert work(place, "pack", WHIMBREL, "SALLOW 1", "--holds", "TIDEBOOK", "--original", "--has-copy",
                "SALLOW 3", "--verified", "2026-11-20", "--hours", "120", "--errors", "0", "--kept",
                "the fireproof cupboard", "--by", "1").exit_code == 0  # fmt: skip
    said = json.loads(work(place, "list", f"{place / 'recordings'}", "--json").output)
    assert (said["measured"][0]["value"], said["measured"][0]["unit"]) == (21.5, "°C")
    assert said["packs"][0]["verified"] == "2026-11-20"
    assert "the fireproof cupboard" in work(place, "list", f"{place / 'recordings'}").output


def test_when_it_was_can_be_a_time_today_a_date_or_nothing():
    assert wall_of("", AT) == "2026-11-25T18:00:00+01:00"
    assert wall_of("14:30+01:00", AT) == "2026-11-25T14:30:00+01:00"
    assert wall_of("2026-11-20 09:00+01:00", AT) == "2026-11-20T09:00:00+01:00"


@pytest.mark.parametrize("text", ["19:00+01:00", "2027-01-01 00:00", "noon", "2026-13-01 00:00"])
def test_what_is_no_time_in_the_past_is_refused(text):
    with pytest.raises(SetUpFault, match="not a date and time in the past"):
        wall_of(text, AT)
