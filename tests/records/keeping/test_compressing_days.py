"""Recordings of closed days are compressed; a plain one goes only after its copy was found to be the same."""

from __future__ import annotations

from datetime import date

import pytest

import exhibit.records.keeping.compressing_days as compressing
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.compressing_days import closed_days, compress_recording
from exhibit.records.keeping.verifying import verify
from exhibit.streams.recording import RecordingWriter, read_all
from tests.records.keeping.days import a_day
from tests.streams.samples import an_opening

TODAY = date(2026, 11, 28)


def test_only_closed_days_that_no_run_reads_any_more_are_compressed(tmp_path):
    days = [a_day(tmp_path, f"2026-11-{day}") for day in (25, 26)]
    of_today = a_day(tmp_path, "2026-11-28")
    newest = a_day(tmp_path, "2026-11-28")
    writer = RecordingWriter(tmp_path, an_opening(machine="heron"), reserve_bytes=4096)
    found = {one.path: one.why_not for one in closed_days([tmp_path], TODAY)}
    writer.abandon()
    assert [found[day] for day in days] == ["", ""]
    assert found[of_today] == "it is of today"
    assert "the newest" in found[newest]
    assert "still being written" in found[writer.path]


def test_it_takes_the_place_of_the_plain_one_and_says_the_same(tmp_path):
    first, _ = a_day(tmp_path, "2026-11-25"), a_day(tmp_path, "2026-11-26")
    before, times = read_all(first), first.stat().st_mtime_ns
    to = compress_recording(first)
    assert to.name == f"{first.name}.zst"
    assert not first.exists()
    assert read_all(to) == before
    assert to.stat().st_mtime_ns == times
    verify([tmp_path]).refuse()
    assert [one.path for one in closed_days([tmp_path], TODAY) if not one.why_not] == []


def test_if_what_is_read_back_differs_the_plain_one_stays(tmp_path, monkeypatch):
    path = a_day(tmp_path, "2026-11-25")
    kept = path.read_bytes()
    real = compressing.compress

    def spoilt(plain, to):
        digest = real(plain, to)
        content = bytearray(to.read_bytes())
        content[len(content) // 2] ^= 1
        to.write_bytes(content)
        return digest

    monkeypatch.setattr(compressing, "compress", spoilt)
    with pytest.raises(RecordingFault, match="read back"):
        compress_recording(path)
    assert path.read_bytes() == kept
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_one_that_grew_meanwhile_stays(tmp_path, monkeypatch):
    path = a_day(tmp_path, "2026-11-25")
    real = compressing.compress

    def grown(plain, to):
        digest = real(plain, to)
        with path.open("ab") as file:
            file.write(b"more")
        return digest

    monkeypatch.setattr(compressing, "compress", grown)
    with pytest.raises(RecordingFault):
        compress_recording(path)
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_after_an_interruption_the_rest_is_done(tmp_path):
    path = a_day(tmp_path, "2026-11-25")
    kept = path.read_bytes()
    to = compress_recording(path)
    path.write_bytes(kept)  # it was interrupted before the plain one was removed
    assert compress_recording(path) == to
    assert not path.exists()
    path.write_bytes(kept + b"other\n")  # but if they differ, both stay
    with pytest.raises(RecordingFault):
        compress_recording(path)
    assert path.exists()
    assert to.exists()


def test_a_file_in_place_of_a_folder_is_refused(tmp_path):
    with pytest.raises(SetUpFault, match="not a folder"):
        closed_days([a_day(tmp_path, "2026-11-25")], TODAY)
