"""Ctrl-C while a run is starting, and a bridge that never begins its recording."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest

from exhibit.commands import child, running
from exhibit.commands.cli import main
from exhibit.commands.running import (
    NOTHING_TYPED,
    STOPPING,
    STOPPING_AFTER_FAILURE,
    STOPPING_AT_ONCE,
    STOPPING_WITHOUT_LINE,
    Run,
)
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from tests.commands.made_page import MadePage

KILLED, TERMINATED = -signal.SIGKILL, -signal.SIGTERM


class MadeChild:
    """The bridge of a run. `waits`: called while Run waits for its first line."""

    made: list[MadeChild]
    waits: Callable[[], None]
    ends_with: int | None

    def __init__(
        self,
        arguments: list[str],
        *,
        may_know_secrets: bool = False,
        keeps_alive: object = (),
        log: object = None,
    ) -> None:
        self.asked_to_end = self.ended = False
        MadeChild.made.append(self)

    def first_line(self, meanwhile: Callable[[], None] = lambda: None) -> str:
        MadeChild.waits()
        meanwhile()
        return ""

    def status(self) -> int | None:
        return MadeChild.ends_with

    status_when_ended = status

    def ask_to_end(self) -> None:
        self.asked_to_end = True

    def end(self, within_s: float) -> None:
        self.ended = True


@pytest.fixture(autouse=True)
def _made_children(monkeypatch: pytest.MonkeyPatch) -> None:
    MadeChild.made = []
    MadeChild.waits = staticmethod(lambda: None)
    MadeChild.ends_with = None
    monkeypatch.setattr(running, "Child", MadeChild)


def ctrl_c() -> None:
    signal.raise_signal(signal.SIGINT)


def execute(page: MadePage | None = None) -> int:
    return Run(["bridge"], page or MadePage()).execute(lambda address, path: None, lambda entry: None)


def test_ctrl_c_before_the_bridge_is_started_types_nothing_at_the_machine(capsys):
    page = MadePage(waits=ctrl_c)
    assert execute(page) == 0
    assert page.given_up  # the wait for it ends at once
    assert capsys.readouterr().out == f"{NOTHING_TYPED}\n"
    assert MadeChild.made == []
    assert page.ended == [False]


def test_without_a_page_nothing_is_typed_and_what_the_page_complained_of_is_shown(capsys):
    page = MadePage(address="")
    assert execute(page) == 2
    assert capsys.readouterr().err == "why\n"
    assert MadeChild.made == []
    page.has_explained = lambda: False
    with pytest.raises(SetUpFault, match="The web server did not start"):
        execute(page)


@pytest.mark.parametrize(("ends_with", "status"), [(TERMINATED, 0), (0, 2), (2, 2)])
def test_ctrl_c_while_the_bridge_starts_reaches_it_at_once(capsys, ends_with: int, status: int):
    MadeChild.waits = staticmethod(ctrl_c)
    MadeChild.ends_with = ends_with
    assert execute() == status
    assert MadeChild.made[0].asked_to_end
    assert capsys.readouterr().out.splitlines() == [
        STOPPING_AT_ONCE,
        *([NOTHING_TYPED] if not status else []),
    ]


def test_a_bridge_that_is_killed_while_it_starts_is_explained():
    MadeChild.ends_with = KILLED
    with pytest.raises(SetUpFault, match="ended from outside"):
        execute()


def test_a_bridge_that_never_begins_its_recording_is_ended_and_explained():
    with pytest.raises(SetUpFault, match="did not begin a recording within 60 s"):
        execute()
    assert [one.ended for one in MadeChild.made] == [True]


def test_other_things_are_done_during_the_wait_for_a_first_line():
    reading, writing = os.pipe()
    with os.fdopen(reading) as out:
        line = child.read_line(out, 60, lambda: os.write(writing, b"ready\n") and None)
    os.close(writing)
    assert line == "ready"


def test_ctrl_c_in_other_commands_is_reported_in_our_own_words(monkeypatch, tmp_path: Path, capsys):
    monkeypatch.setattr("exhibit.folder.whole.read_folder", lambda folder: ctrl_c())
    # As in a terminal. A shell makes its background processes ignore Ctrl-C, and these tests may be one.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        with pytest.raises(SystemExit) as ended:
            main(["bridge", f"{tmp_path}", "--line", "a line"])
    finally:
        signal.signal(signal.SIGINT, before)
    assert ended.value.code == 130
    assert capsys.readouterr().err == "Stopped by Ctrl-C.\n"


def test_ctrl_c_promises_no_tidy_up_that_is_impossible(capsys: pytest.CaptureFixture[str], tmp_path: Path):
    run = Run([], MadePage())
    run.recording = tmp_path / "a"
    run._note_state(kinds.ScriptStarted(script="round", title={}, by="x"))
    for fact, printed in (
        (kinds.LineLost(why="unplugged"), STOPPING_WITHOUT_LINE),
        (kinds.LineOpened(line="x"), STOPPING),
        (kinds.SessionFailed(why="x", last_lines=[]), STOPPING_AFTER_FAILURE),
        (kinds.LineOpened(line="x"), STOPPING_AFTER_FAILURE),
        (kinds.SessionCleared(by="a docent"), STOPPING),
        (kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""), STOPPING_AT_ONCE),
    ):
        run._note_state(fact)
        run._interrupted, run._asked_to_stop = True, False
        run._stop_if_interrupted(MadeChild([]))
        assert capsys.readouterr().out == f"{printed}\n"
    run._folder.cleanup()
