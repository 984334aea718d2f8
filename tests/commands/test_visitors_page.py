"""The page that serves all day, how a run finds it, and when a run starts one of its own."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from exhibit.commands import visitors_page
from exhibit.commands.visitors_page import (
    DOES_NOT_ANSWER,
    ENDED_TOO,
    NOT_STARTED,
    NOW_AT,
    STARTED_AGAIN,
    STAYS,
    STILL_THERE,
    TO_END_IT,
    WAS_THERE,
    Note,
    VisitorsPage,
    note_left,
    page_there,
)
from exhibit.facts.errors import SetUpFault
from tests.bridge.stage import page_address
from tests.pages.web_processes import free_port

WITHIN_S = 100.0


def note(port: int = 8000, machine: str = "", pid: int = 1, host: str = "127.0.0.1") -> Note:
    return Note(address=f"http://{host}:{port}/", host=host, port=port, machine=machine, pid=pid)


def until(true: Callable[[], Any]) -> Any:
    give_up_s = time.monotonic() + WITHIN_S
    while not (value := true()):
        assert time.monotonic() < give_up_s, "it never became true"
        time.sleep(0.02)
    return value


@contextmanager
def served(recordings: Path, *arguments: str) -> Iterator[subprocess.Popen[str]]:
    """`exhibit page` as a person or a service starts it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "exhibit", "page", "--recordings", f"{recordings}", *arguments],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield process
    finally:
        process.kill()
        process.communicate()


def answers(address: str) -> bool:
    with suppress(OSError), urllib.request.urlopen(address, timeout=WITHIN_S) as answer:
        return b"<html" in answer.read()
    return False


# -- the note


def test_a_page_is_found_by_its_note_while_it_lives(tmp_path: Path):
    assert page_there(tmp_path / "not there", "whimbrel") is None
    with note_left(tmp_path, note()):
        assert page_there(tmp_path, "whimbrel") == note()
        assert page_there(tmp_path / "another folder", "whimbrel") is None
    assert page_there(tmp_path, "whimbrel") is None
    assert list(tmp_path.iterdir()) == []


def test_a_page_of_another_machine_is_not_taken_and_one_of_this_machine_alone_comes_first(tmp_path: Path):
    with note_left(tmp_path, note(8001, "heron")):
        assert page_there(tmp_path, "whimbrel") is None
        with note_left(tmp_path, note(8002)), note_left(tmp_path, note(8003, "whimbrel")):
            assert page_there(tmp_path, "whimbrel") == note(8003, "whimbrel")
            assert page_there(tmp_path, "heron") == note(8001, "heron")
            assert page_there(tmp_path, "posix") == note(8002)


def test_a_note_that_can_t_be_left_leaves_nothing_else_behind(tmp_path: Path):
    (tmp_path / "page-8000.json").mkdir()
    with pytest.raises(OSError, match="page-8000"), note_left(tmp_path, note()):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["page-8000.json"]


@pytest.mark.parametrize("left", [b"", b"{}", b'{"address"', b"[1]", b"\xff" * 5000])
def test_what_is_no_note_is_no_page(left: bytes, tmp_path: Path):
    (tmp_path / "page-8000.json").write_bytes(left)
    assert page_there(tmp_path, "whimbrel") is None


# -- the command


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_the_note_of_a_page_that_was_killed_deceives_nobody_and_the_next_page_replaces_it(tmp_path: Path):
    port = f"{free_port()}"
    with served(tmp_path, "--port", port, "--machine", "whimbrel") as page:
        address = page_address(page)
        there = page_there(tmp_path, "whimbrel")
        assert there == note(int(port), "whimbrel", page.pid)
        assert there.address == address
        assert answers(address)
        assert visitors_page.answers(there)
        page.kill()
        page.wait()
        assert (tmp_path / f"page-{port}.json").exists()
        assert page_there(tmp_path, "whimbrel") is None
    with served(tmp_path, "--port", port) as page:
        page_address(page)
        assert page_there(tmp_path, "whimbrel") == note(int(port), pid=page.pid)
        page.send_signal(signal.SIGTERM)
        assert page.wait(WITHIN_S) == 0
        assert list(tmp_path.iterdir()) == []


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_a_second_page_of_the_same_recordings_at_the_same_port_is_refused_and_told_of_the_first(
    tmp_path: Path,
):
    port = f"{free_port()}"
    with served(tmp_path, "--port", port) as first:
        address = page_address(first)
        with served(tmp_path, "--port", port) as second:
            assert second.wait(WITHIN_S) == 2
            what, _, do = second.stderr.read().splitlines()
        assert address in what
        assert f"kill {first.pid}" in do
        with served(tmp_path / "others", "--port", port) as stranger:
            assert stranger.wait(WITHIN_S) == 2
            assert "that port is in use" in stranger.stderr.read()


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_where_no_note_can_be_left_the_page_is_served_and_says_what_that_means(tmp_path: Path):
    (tmp_path / "in the way").write_text("a file")
    with served(tmp_path / "in the way" / "recordings", "--port", "0") as page:
        assert answers(page_address(page))
        page.terminate()
        complaint = page.communicate()[1].splitlines()
    assert "can be written" in complaint[0]
    assert "starts one of its own" in complaint[1]


# -- the page of a run


class MadeChild:
    """A page's process that has started at once."""

    made: list[MadeChild] = []

    def __init__(self, arguments: list[str], *, log: object, stays: bool) -> None:
        self.arguments = arguments
        self.stays = stays
        self.pid = 77
        self.ended: int | None = None
        self.log = log
        MadeChild.made.append(self)

    def first_line(self, meanwhile: Callable[[], None] = lambda: None) -> str:
        meanwhile()
        if self.ended is not None:
            return ""
        return "The visitors' page: http://127.0.0.1:8000/"

    def status(self) -> int | None:
        return self.ended

    def end(self, within_s: float) -> None:
        self.ended = 0


class Clock:
    def __init__(self) -> None:
        self.now_s = 100.0

    def monotonic(self) -> float:
        return self.now_s


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    MadeChild.made = []
    made = Clock()
    monkeypatch.setattr(visitors_page, "Child", MadeChild)
    monkeypatch.setattr(visitors_page, "time", made)
    monkeypatch.setattr(visitors_page, "answers", lambda note: True)
    return made


def page_of_run(folder: Path, **how: Any) -> VisitorsPage:
    return VisitorsPage(folder, "whimbrel", **{"port": 8000, "host": "127.0.0.1", **how})


def look(page: VisitorsPage, clock: Clock, for_s: float) -> None:
    """As a run does, ten times a second."""
    until_s = clock.now_s + for_s
    while clock.now_s < until_s:
        clock.now_s += 0.1
        page.look()


def test_without_a_page_a_run_starts_one_that_ends_with_it_and_says_so(tmp_path: Path, clock: Clock):
    page = page_of_run(tmp_path)
    assert page.start() == "http://127.0.0.1:8000/"
    (child,) = MadeChild.made
    assert not child.stays
    assert child.arguments[:3] == ["page", "--recordings", f"{tmp_path}"]
    assert page.about() == ""
    assert page.end(ran=True) == ENDED_TOO
    assert child.ended == 0


def test_whoever_gives_up_waiting_for_the_page_waits_no_longer(tmp_path: Path, clock: Clock):
    page = page_of_run(tmp_path, keep=True)
    assert page.start(lambda: True) == ""
    assert MadeChild.made[0].ended == 0
    assert page.end(ran=False) == ""


def test_a_page_to_be_kept_stays_and_the_run_says_how_to_end_it(tmp_path: Path, clock: Clock):
    page = page_of_run(tmp_path, keep=True)
    page.start()
    (child,) = MadeChild.made
    assert child.stays
    assert page.about() == STAYS
    said = page.end(ran=True)
    assert said == f"{STILL_THERE} {TO_END_IT}".format(address="http://127.0.0.1:8000/", pid=77)
    assert child.ended is None


def test_a_run_that_never_began_leaves_no_page_of_its_own_even_if_it_was_to_be_kept(
    tmp_path: Path, clock: Clock
):
    page = page_of_run(tmp_path, keep=True)
    page.start()
    assert page.end(ran=False) == ""
    assert MadeChild.made[0].ended == 0


def test_a_page_that_is_there_is_used_wherever_it_is_and_stays(tmp_path: Path, clock: Clock):
    with note_left(tmp_path, note(8123)):
        page = page_of_run(tmp_path)
        assert page.start() == "http://127.0.0.1:8123/"
        assert page.about() == WAS_THERE
        look(page, clock, 60)
        assert page.end(ran=True) == STILL_THERE.format(address="http://127.0.0.1:8123/")
    assert MadeChild.made == []
    assert list(tmp_path.iterdir()) == []  # nor was a log begun


def test_a_page_that_lives_but_does_not_answer_is_not_used_and_that_is_said_once(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setattr(visitors_page, "answers", lambda note: False)
    stopped = note(8123, pid=9)
    with note_left(tmp_path, stopped):
        page = page_of_run(tmp_path)
        assert page.start() == "http://127.0.0.1:8000/"
        assert len(MadeChild.made) == 1
        assert capsys.readouterr().out == f"{DOES_NOT_ANSWER}\n".format(address=stopped.address, pid=9)
        MadeChild.made[0].ended = -9
        look(page, clock, 30)
        assert len(MadeChild.made) == 2
        assert capsys.readouterr().out == f"{STARTED_AGAIN}\n"
        page.end(ran=True)


def test_whether_a_page_answers_is_found_out_by_asking_it(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(visitors_page, "ANSWERS_WITHIN_S", 0.2)
    with socket.create_server(("127.0.0.1", 0)) as silent:
        there = note(silent.getsockname()[1])
        assert not visitors_page.answers(there)
    assert not visitors_page.answers(there)


@pytest.mark.parametrize(
    ("how", "own"),
    [({"port": 8123}, False), ({"port": 8124}, True), ({"port": 8123, "host": "0.0.0.0"}, True)],
)
def test_who_asks_for_a_place_gets_the_page_there(
    how: dict[str, Any], own: bool, tmp_path: Path, clock: Clock
):
    with note_left(tmp_path, note(8123)):
        page = page_of_run(tmp_path, chosen=True, **how)
        page.start()
        page.end(ran=True)
    assert bool(MadeChild.made) is own


def test_a_page_of_a_run_that_is_killed_is_started_again_at_the_same_port(
    tmp_path: Path, clock: Clock, capsys: pytest.CaptureFixture[str]
):
    page = page_of_run(tmp_path, port=0)
    page.start()
    MadeChild.made[0].ended = -9
    look(page, clock, 5)
    assert capsys.readouterr().out == f"{STARTED_AGAIN}\n"
    assert [child.arguments[child.arguments.index("--port") + 1] for child in MadeChild.made] == ["0", "8000"]
    page.end(ran=True)


@pytest.mark.parametrize("killed", [True, False], ids=["killed", "ended in good order"])
def test_where_nobody_brings_a_page_back_the_run_puts_one_in_its_place(
    killed: bool, tmp_path: Path, clock: Clock, capsys: pytest.CaptureFixture[str]
):
    page = page_of_run(tmp_path)
    with note_left(tmp_path, note(8123)):
        page.start()
    if killed:  # then its note is left, and nobody holds it
        (tmp_path / "page-8123.json").write_text("whatever it said")
    look(page, clock, 9)
    assert MadeChild.made == []
    look(page, clock, 3)
    (child,) = MadeChild.made
    assert "8123" in child.arguments
    assert child.stays is killed
    assert capsys.readouterr().out == f"{STARTED_AGAIN}\n"
    assert page.end(ran=True).startswith(STILL_THERE.split("{")[0] if killed else ENDED_TOO)


def test_a_page_that_is_brought_back_in_time_is_used_again_wherever_it_is(
    tmp_path: Path, clock: Clock, capsys: pytest.CaptureFixture[str]
):
    page = page_of_run(tmp_path)
    with note_left(tmp_path, note(8123)):
        page.start()
    look(page, clock, 8)
    with note_left(tmp_path, note(8123, pid=2)):
        look(page, clock, 60)
        assert capsys.readouterr().out == ""
    with note_left(tmp_path, note(8200, pid=3)):
        look(page, clock, 60)
    moved = "http://127.0.0.1:8200/"
    assert capsys.readouterr().out == f"{NOW_AT}\n".format(address=moved)
    assert MadeChild.made == []
    assert page.address == moved


def test_a_page_that_took_the_place_of_the_run_s_own_is_used_and_none_is_started_beside_it(
    tmp_path: Path, clock: Clock, capsys: pytest.CaptureFixture[str]
):
    page = page_of_run(tmp_path)
    page.start()
    MadeChild.made[0].ended = 0
    with note_left(tmp_path, note(8000)):
        look(page, clock, 60)
        assert page.about() == WAS_THERE
        assert page.end(ran=True) == STILL_THERE.format(address="http://127.0.0.1:8000/")
    assert len(MadeChild.made) == 1
    assert capsys.readouterr().out == ""


def test_a_page_that_ends_at_once_is_started_ever_more_seldom_and_that_is_said_once(
    tmp_path: Path, clock: Clock, capsys: pytest.CaptureFixture[str]
):
    page = page_of_run(tmp_path)
    page.start()
    for _ in range(6000):
        MadeChild.made[-1].ended = 2
        look(page, clock, 0.1)
    assert 10 < len(MadeChild.made) < 20
    assert capsys.readouterr().out == f"{STARTED_AGAIN}\n{NOT_STARTED}\n"
    look(page, clock, 120)  # the last one lasts
    MadeChild.made[-1].ended = 2
    so_many = len(MadeChild.made)
    look(page, clock, 2)
    assert len(MadeChild.made) == so_many + 1
    page.end(ran=True)


@pytest.mark.parametrize("fault", [BlockingIOError(11, "no room"), ValueError("x")])
def test_no_room_for_another_process_ends_no_run_and_the_page_is_tried_again(
    fault: Exception,
    tmp_path: Path,
    clock: Clock,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
):
    page = page_of_run(tmp_path)
    page.start()
    MadeChild.made[0].ended = -9

    def no_room(*arguments: object, **how: object) -> None:
        raise fault

    with monkeypatch.context() as full:
        full.setattr(visitors_page, "Child", no_room)
        look(page, clock, 100)
    assert capsys.readouterr().out == f"{STARTED_AGAIN}\n{NOT_STARTED}\n"
    look(page, clock, 100)
    assert len(MadeChild.made) == 2
    page.end(ran=True)


def test_one_run_takes_away_nothing_that_the_page_of_another_complains_of(tmp_path: Path, clock: Clock):
    kept = page_of_run(tmp_path, keep=True)
    kept.start()
    log = MadeChild.made[0].log
    log.write(b"early\n")
    others = [page_of_run(tmp_path, port=8001), page_of_run(tmp_path)]
    for other in others:
        other.start()
        assert other.complaints() == ""
    log.write(b"late\n")
    for other in others:
        other.end(ran=True)
    kept.end(ran=True)
    assert [path.name for path in tmp_path.iterdir()] == ["pages-8000.log"]
    assert (tmp_path / "pages-8000.log").read_text() == "early\nlate\n"


def test_an_empty_log_in_which_another_page_still_writes_is_left(tmp_path: Path, clock: Clock):
    kept, other = page_of_run(tmp_path, keep=True), page_of_run(tmp_path)
    kept.start()
    other.start()
    other.end(ran=True)
    assert (tmp_path / "pages-8000.log").exists()
    kept.end(ran=True)


def test_a_log_of_nothing_is_taken_away(tmp_path: Path, clock: Clock):
    page = page_of_run(tmp_path)
    page.start()
    assert (tmp_path / "pages-8000.log").exists()
    page.end(ran=True)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.waits
@pytest.mark.timeout(300)
def test_a_kept_page_outlives_the_program_that_started_it_and_is_found_by_the_next(tmp_path: Path):
    code = (
        "import sys; from pathlib import Path; from exhibit.commands.visitors_page import VisitorsPage;"
        "page = VisitorsPage(Path(sys.argv[1]), 'whimbrel', port=0, host='127.0.0.1', keep=True);"
        "print(page.start()); print(page.end(ran=True))"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, f"{tmp_path}"],
        capture_output=True,
        text=True,
        timeout=WITHIN_S,
        check=True,
    )
    address = ended.stdout.splitlines()[0]
    there = page_there(tmp_path, "whimbrel")
    assert there is not None
    try:
        assert there.address == address
        assert f"kill {there.pid}" in ended.stdout
        assert answers(address)
        assert page_of_run(tmp_path).start() == address
    finally:
        os.kill(there.pid, signal.SIGTERM)
    until(lambda: page_there(tmp_path, "whimbrel") is None)


def test_a_refusal_says_what_it_is_about(tmp_path: Path):
    with note_left(tmp_path, note(8123, pid=9)), pytest.raises(SetUpFault) as refused:
        visitors_page.refuse_a_second(tmp_path, 8123)
    assert "kill 9" in refused.value.do
