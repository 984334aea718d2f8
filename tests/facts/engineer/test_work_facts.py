"""What an engineer writes down, as it stands on disc."""

import json

from exhibit.facts.codec import FIRST_CRC, FORMAT, decode_line, encode_line
from exhibit.facts.kinds import Entry, PackEntered, UnknownFact, WorkDone

DONE = WorkDone(
    at="2026-11-25T14:30:00+01:00", by="engineer 1", act="swapped", part="lower-drive", board="A12"
)


def test_work_is_one_line_that_says_what_was_done_to_what():
    line, _ = encode_line(Entry(2, 0, DONE), FIRST_CRC)
    said = json.loads(line)
    assert said["fact"] == "work_done"
    assert (said["part"], said["board"], said["act"]) == ("lower-drive", "A12", "swapped")
    assert "name" not in said


def test_what_nobody_knows_of_a_pack_is_null_and_not_nought():
    line, _ = encode_line(Entry(2, 0, PackEntered(at=DONE.at, by="engineer 1", label="SALLOW 1")), FIRST_CRC)
    assert json.loads(line)["hours"] is None
    assert json.loads(line)["errors"] is None


def test_an_act_that_this_version_does_not_know_is_kept_and_not_guessed():
    line, _ = encode_line(
        Entry(2, 0, UnknownFact(name="work_done", raw='{"fact":"work_done","act":"blessed"}')), FIRST_CRC
    )
    assert isinstance(decode_line(line, FIRST_CRC, FORMAT).fact, UnknownFact)
