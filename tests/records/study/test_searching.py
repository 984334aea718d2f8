"""What is searched is found where it was, in one recording or in all; and what makes no sense is refused."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.records.study import searching
from exhibit.records.study.searching import Within, search
from exhibit.records.study.shelf import Shelf
from exhibit.streams.recording import RecordingWriter, read_all
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shelf]:
    folder = tmp_path_factory.mktemp("recordings")
    (folder / SAMPLE.name).write_bytes(SAMPLE.read_bytes())
    other = kinds.BytesReceived(bytes="DISC ERROR 05\r\n", first_us=900)
    opened = msgspec.structs.replace(an_opening(), eighth_bit="drop")
    writer = RecordingWriter(folder, opened, reserve_bytes=SMALL_RESERVE_BYTES)
    writer.append(other, 1000)
    writer.close("over", 2000)
    writer.path.rename(folder / "second.exhibit")
    made = Shelf([folder], tmp_path_factory.mktemp("cache"))
    yield made
    made.close()


def found(shelf: Shelf, wanted: str, within: Within, *, everywhere: bool = False) -> list[dict[str, Any]]:
    places = search(shelf, SAMPLE.stem, wanted, within, everywhere=everywhere)["found"]
    assert isinstance(places, list)
    return places


def test_each_place_of_a_text_is_one_at_which_it_stood_on_the_console(shelf: Shelf) -> None:
    places = found(shelf, "tides taken", "printed")
    assert places
    entries = {entry.seq: entry.at_us for entry in read_all(SAMPLE).entries}
    for place in places:
        assert "TIDES TAKEN" in place["says"]
        assert place["recording"] == SAMPLE.stem
        assert entries[place["seq"]] == place["at_us"]


def test_a_pattern_finds_what_it_matches_and_a_wrong_one_is_refused(shelf: Shelf) -> None:
    assert found(shelf, r"JOB \d BEGUN", "pattern")
    with pytest.raises(SetUpFault, match="This pattern can't be used"):
        found(shelf, "(", "pattern")


def test_what_was_typed_is_found_with_who_typed_it(shelf: Shelf) -> None:
    (place, *_) = found(shelf, "BEGIN SHUTTLE", "typed")
    assert "round" in place["says"]


def test_a_kind_of_fact_is_found_by_a_part_of_its_name(shelf: Shelf) -> None:
    asked = [one.seq for one in read_all(SAMPLE).entries if isinstance(one.fact, kinds.HandsOnAsked)]
    assert [place["seq"] for place in found(shelf, "hands_on asked", "kind")] == asked
    with pytest.raises(SetUpFault, match="There is no kind of fact called moon"):
        found(shelf, "moon", "kind")
    with pytest.raises(SetUpFault, match="too many"):
        found(shelf, "bytes received", "kind")


def test_a_step_is_found_with_how_it_ended_and_how_long_it_took(shelf: Shelf) -> None:
    places = found(shelf, "Round.read-a", "step")
    assert places
    assert all(": done, " in place["says"] for place in places)


def test_all_recordings_are_searched_if_asked(shelf: Shelf) -> None:
    assert found(shelf, "disc error 05", "printed") == []
    (place,) = found(shelf, "disc error 05", "printed", everywhere=True)
    assert place["recording"] == "second"


def test_of_very_many_places_only_the_first_are_given_and_that_is_said(
    shelf: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(searching, "MOST_FOUND", 3)
    answer = search(shelf, SAMPLE.stem, "e", "printed", everywhere=False)
    assert (len(answer["found"]), answer["more"]) == (3, True)
