"""Every sample recording that travels with the package is whole, safe and worth seeing."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.folder.secret_words import demo_secrets
from exhibit.simulator.tidebook.desks import WORDS
from exhibit.streams.recording import read_all
from exhibit.web.places import recordings_folder

SAMPLES = sorted(recordings_folder().glob("*.exhibit"))


def test_there_is_a_sample():
    assert SAMPLES


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_is_whole_and_ended_in_good_order(path: Path):
    recording = read_all(path)
    assert recording.damages == []
    assert isinstance(recording.entries[0].fact, kinds.RecordingOpened)
    assert recording.entries[0].fact.machine_is == "simulated"
    assert isinstance(recording.entries[-1].fact, kinds.RecordingClosed)
    assert not [e for e in recording.entries if isinstance(e.fact, kinds.UnknownFact | kinds.SessionFailed)]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_runs_at_the_machines_own_speed_and_shows_its_work(path: Path):
    facts = [entry.fact for entry in read_all(path).entries]
    assert isinstance(facts[0], kinds.RecordingOpened)
    assert facts[0].rate == 1.0
    assert {f.script for f in facts if isinstance(f, kinds.ScriptEnded)} == {"opening", "round", "closing"}
    assert len([f for f in facts if isinstance(f, kinds.CaptionShown) and f.kind == "seen"]) >= 20
    assert [f for f in facts if isinstance(f, kinds.ReadingTaken)]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_sample_holds_no_secret_and_shows_none(path: Path):
    view = View()
    shown = set()
    for entry in read_all(path).entries:
        view.apply(entry)
        shown.add("\n".join(view.text_rows()).upper())
    # Checksums and digests are hexadecimal, in which four characters of a secret may well turn up.
    raw = re.sub(r"[0-9a-f]{64}|\"crc\":\"[0-9a-f]{8}\"", "", path.read_text()).upper()
    for secret in demo_secrets(WORDS).values():
        for start in range(len(secret) - 3):
            four = secret[start : start + 4]
            assert four not in raw
            assert not [screen for screen in shown if four in screen]
