"""The clock: whether it can be right, its zone, and who sets it."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta

import pytest

from exhibit.doctor.clock import looks_at_clock
from exhibit.web.places import recordings_folder
from tests.doctor.made_computer import keys

SYNCHRONISED = "timedatectl show --property=NTPSynchronized"


@pytest.fixture
def recordings(tmp_path):
    folder = tmp_path / "recordings"
    folder.mkdir()
    shutil.copy(recordings_folder() / "whimbrel-one-round.exhibit", folder)
    return folder


def written(recordings) -> datetime:
    return datetime.fromtimestamp(next(recordings.iterdir()).stat().st_mtime, UTC)


@pytest.mark.parametrize(("ahead_min", "key"), [(-3, "time went back"), (-1, "time"), (60, "time")])
def test_a_clock_behind_the_last_recording_is_found(made, recordings, ahead_min, key):
    now = written(recordings) + timedelta(minutes=ahead_min)
    assert keys(looks_at_clock(made.computer, recordings, now))[0] == key


def test_without_recordings_nothing_speaks_against_it(made, tmp_path):
    assert (
        keys(looks_at_clock(made.computer, tmp_path / "none", datetime(2000, 1, 1, tzinfo=UTC)))[0] == "time"
    )


def test_a_missing_zone_is_found(made, tmp_path):
    assert keys(looks_at_clock(made.computer, tmp_path))[1] == "zone"
    (made.root / "etc/localtime").unlink()
    assert keys(looks_at_clock(made.computer, tmp_path))[1] == "zone missing"


@pytest.mark.parametrize(
    ("said", "battery", "key"),
    [
        ("yes", True, "clock synchronised"),
        ("yes", False, "clock synchronised without battery"),
        ("no", True, "clock of its own"),
        ("no", False, "clock by nobody"),
    ],
)
def test_who_sets_the_clock(made, tmp_path, said, battery, key):
    made.boots_systemd()
    made.answers[SYNCHRONISED] = f"{said}\n"
    if battery:
        made.write("/sys/class/rtc/rtc0/name", "x")
    assert keys(looks_at_clock(made.computer, tmp_path))[2] == key
