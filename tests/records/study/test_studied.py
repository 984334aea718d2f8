"""One recording that is studied: any moment, however it is reached, is the same; and damage is found."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.records.keeping.compressing_days import compress_recording
from exhibit.records.study import studied as studied_module
from exhibit.records.study.moment import MomentView
from exhibit.records.study.shelf import Shelf
from exhibit.records.study.studied import Studied
from exhibit.streams.recording import read_all
from tests.streams.samples import a_recording

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"


@pytest.fixture
def studied(tmp_path: Path) -> Iterator[Studied]:
    opened = Studied(SAMPLE, tmp_path / "cache")
    yield opened
    opened.close()


def moment(studied: Studied, **asked: Any) -> dict[str, Any]:
    found = msgspec.json.decode(studied.moment(**{"seq": None, "at_us": None, **asked}))
    assert isinstance(found, dict)
    return found


def until_checked(studied: Studied) -> dict[str, Any]:
    studied.start()
    until_s = time.monotonic() + 60
    while not (said := studied.checked())["is_checked"]:
        assert time.monotonic() < until_s
        time.sleep(0.01)
    return said


def as_read(seq: int) -> dict[str, Any]:
    view = MomentView()
    for entry in read_all(SAMPLE).entries[:seq]:
        view.apply(entry)
    found = msgspec.json.decode(msgspec.json.encode(view.shown(0)))
    assert isinstance(found, dict)
    return found


@pytest.mark.parametrize("first", [True, False], ids=["before it was read through", "afterwards"])
def test_a_moment_is_the_same_however_it_is_reached(studied: Studied, first: bool) -> None:
    if not first:
        until_checked(studied)
    for seq in random.Random(5).sample(range(1, 6990), 12):
        shown = moment(studied, seq=seq)
        for name, value in as_read(seq).items():
            assert shown[name] == value, (seq, name)


def test_a_page_that_has_the_picture_gets_only_what_changed(studied: Studied) -> None:
    whole = moment(studied, seq=3000)
    on = moment(studied, seq=3010, after=3000, stream=whole["stream"])
    assert on["after"] == 3000
    assert set(on["console"]["rows"]) < set(whole["console"]["rows"])
    again = moment(studied, seq=3010, after=3000, stream=whole["stream"] + 7)
    assert again["after"] == 0
    assert set(again["console"]["rows"]) == set(whole["console"]["rows"])


def test_a_moment_by_its_time_has_every_fact_up_to_then(studied: Studied) -> None:
    entries = read_all(SAMPLE).entries
    for index in (700, 2500, 6000):
        between_us = (entries[index].at_us + entries[index + 1].at_us) // 2
        last = max(entry.seq for entry in entries if entry.at_us <= between_us)
        assert moment(studied, at_us=between_us)["seq"] == last
        assert moment(studied, at_us=between_us)["at_us"] == between_us


def test_the_wire_and_the_facts_are_those_around_the_moment(studied: Studied) -> None:
    studied.line()
    shown = moment(studied, seq=3000)
    assert all(row["seq"] <= 3000 for row in shown["wire"]["before"])
    assert all(row["seq"] > 3000 for row in shown["wire"]["after"])
    seqs = [fact["seq"] for fact in shown["facts"]]
    assert seqs == sorted(seqs)
    assert min(seqs) < 3000 < max(seqs)


def test_the_facts_on_which_a_caption_rests_are_told(studied: Studied) -> None:
    shown = moment(studied, seq=3000)
    because = shown["now"]["caption"][6]
    assert because
    assert [fact["seq"] for fact in shown["because"]] == because


def test_a_page_that_plays_gets_what_was_reached_in_time(
    studied: Studied, monkeypatch: pytest.MonkeyPatch
) -> None:
    start = moment(studied, seq=2)
    monkeypatch.setattr(studied_module, "LONGEST_WORK_S", 0)
    on = moment(studied, at_us=300_000_000, after=2, stream=start["stream"], whole=False)
    assert 2 < on["seq"] < 6990
    assert on["at_us"] < 300_000_000


def test_damage_is_found_and_what_is_whole_is_shown(tmp_path: Path) -> None:
    content = bytearray(SAMPLE.read_bytes())
    place = content.index(b'{"seq":3500,') + 40
    content[place] ^= 1
    path = tmp_path / "damaged.exhibit"
    path.write_bytes(content)
    studied = Studied(path, tmp_path / "cache")
    try:
        (damage,) = until_checked(studied)["damages"]
        assert damage[1] <= place < damage[1] + damage[2]
        assert damage[3] == "its checksum is wrong"
        assert moment(studied, seq=3400)["seq"] == 3400
        assert moment(studied, seq=6000)["seq"] == 6000
    finally:
        studied.close()


def test_moments_are_answered_while_it_is_being_read_through(tmp_path: Path) -> None:
    studied = Studied(SAMPLE, tmp_path / "cache")
    studied.start()
    try:
        for seq in (6000, 40, 3000, 5000):
            assert moment(studied, seq=seq)["seq"] == seq
        until_checked(studied)
        assert moment(studied, seq=4000)["seq"] == 4000
    finally:
        studied.close()


def test_a_note_has_its_words_only_while_they_stand_beside_the_recording(tmp_path: Path) -> None:
    note = kinds.NoteMade(kind="note", by="docent 2", digest="ab" * 32)
    path = a_recording(tmp_path, [(note, 1_000_000)])
    (tmp_path / "saved/notes").mkdir(parents=True)
    words = tmp_path / "saved/notes" / f"{'ab' * 32}.txt"
    words.write_text("The lower drive\nsmells warm.")
    for says in ("docent 2 wrote a note. The lower drive smells warm.", "docent 2 wrote a note."):
        studied = Studied(path, tmp_path / "cache")
        studied.line()
        assert moment(studied, seq=2)["facts"][-2]["says"] == says
        assert studied.marks().notes[0][4] == says.removeprefix("docent 2 wrote a note.").strip()
        studied.close()
        words.unlink(missing_ok=True)


def test_a_recording_that_is_gone_is_said_in_sentences(tmp_path: Path) -> None:
    path = tmp_path / "gone.exhibit"
    path.write_bytes(SAMPLE.read_bytes())
    studied = Studied(path, tmp_path / "cache")
    path.unlink()
    with pytest.raises(RecordingFault):
        studied.line()
    with pytest.raises(RecordingFault):
        studied.moment(seq=5, at_us=None)
    studied.close()


def test_a_recording_that_was_compressed_is_studied_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / SAMPLE.name
    path.write_bytes(SAMPLE.read_bytes())
    plain = Studied(SAMPLE, tmp_path / "cache")
    compressed = compress_recording(path)
    assert not path.exists()
    shelf = Shelf([tmp_path], tmp_path / "cache")
    assert shelf.names() == [SAMPLE.stem]
    assert shelf.rows()[0]["end_us"] == msgspec.json.decode(plain.line())["end_us"]
    packed = shelf.studied(SAMPLE.stem)
    assert packed.path == compressed
    assert packed.line() == plain.line()
    for seq in (10, 3000, 6900):
        ours, theirs = moment(packed, seq=seq), moment(plain, seq=seq)
        assert {**ours, "stream": 0} == {**theirs, "stream": 0}
    shelf.close()
    plain.close()
