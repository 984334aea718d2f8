"""A file in the folder of the recordings counts as stop, once, and as nobody's but its own."""

from __future__ import annotations

import time
from pathlib import Path

from exhibit.bridge.request_door import Request
from exhibit.bridge.stop_file import LOOK_EVERY_S, NAME, StopFile


def looking(place: Path) -> tuple[StopFile, list[Request]]:
    asked: list[Request] = []
    return StopFile(place, lambda request, reply: asked.append(request)), asked


def test_it_looks_at_least_twice_a_second():
    assert LOOK_EVERY_S <= 0.5


def test_the_file_is_found_by_itself_counts_once_and_is_removed(tmp_path):
    file, asked = looking(tmp_path)
    (tmp_path / NAME).touch()
    give_up_s = time.monotonic() + 60
    while (tmp_path / NAME).exists():
        assert time.monotonic() < give_up_s
    file.close()
    assert [(request.request, request.by) for request in asked] == [("stop", "the stop file")]


def test_one_that_cannot_be_removed_counts_only_once_and_again_when_it_comes_back(tmp_path):
    file, asked = looking(tmp_path)
    file.close()
    (tmp_path / NAME).mkdir()  # a folder can't be unlinked, whoever runs this
    file.look()
    file.look()
    assert len(asked) == 1
    (tmp_path / NAME).rmdir()
    file.look()
    (tmp_path / NAME).mkdir()
    file.look()
    assert len(asked) == 2
