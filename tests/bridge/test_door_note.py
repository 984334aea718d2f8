"""The note that says where the bridge of a machine takes requests, as long as that bridge lives."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from exhibit.bridge.door_note import door_noted, door_of
from exhibit.bridge.request_door import Request
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.streams import recording_lock


def test_the_door_is_known_while_the_bridge_lives_and_only_that_of_this_machine(tmp_path: Path):
    assert door_of(tmp_path, "heron") is None
    with door_noted(tmp_path, "heron", tmp_path / "door"):
        assert door_of(tmp_path, "heron") == tmp_path / "door"
        assert door_of(tmp_path, "whimbrel") is None
    assert [*tmp_path.iterdir()] == []


def test_the_note_of_a_bridge_that_was_killed_deceives_nobody_and_the_next_takes_its_place(tmp_path: Path):
    leaves = (
        "import os, sys; from pathlib import Path; from exhibit.bridge.door_note import door_noted\n"
        "with door_noted(Path(sys.argv[1]), 'heron', Path('old')): os.kill(os.getpid(), 9)"
    )
    killed = subprocess.run([sys.executable, "-c", leaves, f"{tmp_path}"], check=False)
    assert killed.returncode == -9
    assert [file.name for file in tmp_path.iterdir()] == ["door-heron.json"]
    assert door_of(tmp_path, "heron") is None
    with door_noted(tmp_path, "heron", tmp_path / "new"):
        assert door_of(tmp_path, "heron") == tmp_path / "new"


def test_a_bridge_that_ends_leaves_the_note_of_the_one_that_came_after_it(tmp_path: Path):
    note = tmp_path / "door-heron.json"
    with (tmp_path / "theirs").open("wb", buffering=0) as theirs:
        with door_noted(tmp_path, "heron", tmp_path / "door"):
            theirs.write(note.read_bytes().replace(f"{os.getpid()}".encode(), b"1"))
            recording_lock.take(theirs.fileno())
            (tmp_path / "theirs").rename(note)
        assert door_of(tmp_path, "heron") is not None


@pytest.mark.parametrize("broken", [b"", b"[]", b'{"door": 7, "pid": 1}'])
def test_what_is_no_note_leads_nowhere(tmp_path: Path, broken: bytes):
    with door_noted(tmp_path, "heron", tmp_path / "door"):
        (tmp_path / "door-heron.json").write_bytes(broken)
        assert door_of(tmp_path, "heron") is None


def test_where_it_cant_be_written_the_bridge_does_not_begin(tmp_path: Path):
    (tmp_path / "file").write_text("")
    with (
        pytest.raises(SetUpFault, match="nobody would find where to say stop"),
        door_noted(tmp_path / "file", "heron", tmp_path / "door"),
    ):
        pass


def test_a_request_becomes_a_fact_with_all_that_it_says():
    made = Request(request="quiet", by="a docent", why="a talk", minutes=10, about=3).made()
    assert made == kinds.RequestMade(request="quiet", by="a docent", why="a talk", minutes=10, about=3)
