"""For how many days there is room, by what the last days took; and how worn the memory is."""

from __future__ import annotations

import shutil
from collections import namedtuple

import pytest

from exhibit.doctor.disc import FEWEST_DAYS, LEAST_FREE_BYTES, bytes_a_day, looks_at_disc
from tests.doctor.made_computer import keys

Usage = namedtuple("Usage", "total used free")


@pytest.fixture
def recordings(tmp_path):
    folder = tmp_path / "recordings"
    folder.mkdir()
    for day, sizes in {"2026-11-23": [1000], "2026-11-24": [2000, 1000], "2026-11-25": [2000]}.items():
        for hour, size in enumerate(sizes):
            (folder / f"whimbrel-{day}T0{hour}-30-00.exhibit").write_bytes(b"x" * size)
    (folder / "pages-8000.log").write_bytes(b"x" * 50_000)
    return folder


def free(monkeypatch, count: int) -> None:
    monkeypatch.setattr(shutil, "disk_usage", lambda _: Usage(0, 0, count))


def test_a_day_takes_what_the_fullest_took(recordings):
    assert bytes_a_day(recordings) == 3000


def test_only_the_last_days_count(recordings):
    for day in range(1, 15):
        (recordings / f"whimbrel-2026-12-{day:02}T09-30-00.exhibit").write_bytes(b"x" * 10)
    assert bytes_a_day(recordings) == 10


@pytest.mark.parametrize(
    ("days", "key"), [(FEWEST_DAYS, "room for days"), (FEWEST_DAYS - 1, "room for few days")]
)
def test_the_days_that_are_left_decide(made, recordings, monkeypatch, days, key):
    free(monkeypatch, days * 3000)
    (found,) = looks_at_disc(made.computer, recordings)
    assert (found.key, found.places["days"]) == (key, days)


@pytest.mark.parametrize(("short", "key"), [(0, "room"), (1, "room scarce")])
def test_before_the_first_recording_the_free_space_decides(made, tmp_path, monkeypatch, short, key):
    free(monkeypatch, LEAST_FREE_BYTES - short)
    assert keys(looks_at_disc(made.computer, tmp_path / "not" / "yet")) == [key]


@pytest.mark.parametrize(("said", "key"), [("0x01 0x02", "wear"), ("0x02 0x09", "worn"), ("0x00 0x00", None)])
def test_a_memory_that_says_how_worn_it_is_is_believed(made, recordings, said, key):
    made.write("/sys/block/mmcblk0/device/life_time", f"{said}\n")
    assert keys(looks_at_disc(made.computer, recordings))[1:] == ([key] if key else [])
