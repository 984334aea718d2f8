"""The docent's page beside a day's run: there, started again, or away for a reason that is said once."""

from __future__ import annotations

import os
import signal
import socket
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from exhibit.commands.docents_page.beside import GOES_ON, NOT_THERE, STARTED_AGAIN, DocentsPage
from exhibit.web.places import scripts_folder

pytestmark = pytest.mark.waits
WITHIN_S = 90.0


@contextmanager
def beside(recordings: Path, port: int = 0) -> Iterator[DocentsPage]:
    page = DocentsPage(scripts_folder() / "heron", recordings, port)
    try:
        yield page
    finally:
        page.end()


def look_until(page: DocentsPage, true: Callable[[], object]) -> None:
    give_up_s = time.monotonic() + WITHIN_S
    while not true():
        assert time.monotonic() < give_up_s
        page.look()


def test_it_can_be_opened_where_it_says_and_comes_back_when_it_was_killed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", f"{tmp_path}")
    with beside(tmp_path / "recordings") as page:
        look_until(page, lambda: page.address)
        with urllib.request.urlopen(page.address) as answer:
            assert answer.status == 200
        assert page.address in capsys.readouterr().out
        assert page._child is not None
        os.kill(page._child.pid, signal.SIGKILL)
        look_until(page, lambda: not page.address)
        look_until(page, lambda: page.address)
        assert STARTED_AGAIN in capsys.readouterr().out


def test_one_that_can_t_be_served_says_why_once_and_the_day_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", f"{tmp_path}")
    with (
        socket.create_server(("127.0.0.1", 0)) as taken,
        beside(tmp_path / "recordings", taken.getsockname()[1]) as page,
    ):
        look_until(page, lambda: page._stays_away)
        for _ in range(20):
            page.look()
        said = capsys.readouterr().out
    assert (said.count(NOT_THERE), said.count(GOES_ON)) == (1, 1)
    assert "that port is in use" in said
    assert page.address == ""
