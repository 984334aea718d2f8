"""`exhibit stop` finds the bridge that records here, says stop, and says what that isn't."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.bridge.door_note import door_noted
from exhibit.bridge.request_door import Answer, Reply, Request, RequestDoor
from exhibit.commands.cli import main


class Heard:
    def __init__(self, place: Path, answer: Answer) -> None:
        self.requests: list[Request] = []
        self._answer = answer
        self.door = RequestDoor(place / "door", self._take)

    def _take(self, request: Request, reply: Reply) -> None:
        self.requests.append(request)
        reply(self._answer)


@contextlib.contextmanager
def bridge(place: Path, answer: Answer) -> Iterator[Heard]:
    heard = Heard(place, answer)
    try:
        with door_noted(place, "whimbrel", place / "door"):
            yield heard
    finally:
        heard.door.close()


def said(place: Path, *more: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["stop", "--recordings", f"{place}", *more])
    return result.exit_code, result.output


@pytest.mark.parametrize(("option", "request_"), [([], "stop"), (["--hands-off"], "hands off")])
def test_it_says_stop_and_that_it_is_not_the_mains_stop(tmp_path, option, request_):
    with bridge(tmp_path, Answer(accepted=True)) as heard:
        status, output = said(tmp_path, *option)
    assert status == 0
    assert [(one.request, one.by) for one in heard.requests] == [(request_, "exhibit stop")]
    assert "whimbrel: " in output
    assert "not the mains stop" in output
    assert "The card beside the machine says where it is." in output


def test_what_was_refused_is_said_with_the_reason(tmp_path):
    with bridge(tmp_path, Answer(accepted=False, why="nothing is being typed any more")):
        status, output = said(tmp_path)
    assert status == 1
    assert "that was not done: nothing is being typed any more." in output


def test_where_nothing_types_it_says_so_and_what_to_do(tmp_path):
    (tmp_path / "door-whimbrel.json").write_text('{"door": "/nowhere", "pid": 1}\n')  # of one that was killed
    status, output = said(tmp_path)
    assert status == 2
    assert "so nothing was stopped" in output
    assert "use the mains stop" in output
