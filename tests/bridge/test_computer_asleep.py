"""All of a real run is stopped while the machine goes on, or the computer sleeps; then it wakes up."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from exhibit.facts import kinds
from tests.bridge import stage as stages
from tests.bridge.stage import Bridge, Stage, stage
from tests.pages import web_processes
from tests.web.page_line import Line

pytestmark = pytest.mark.waits
SPEED = 5.0
"""So slow because a computer that is busy for a moment must not make the round fail before the stop."""
STOPPED_S = 8.0
WITH_A_CLOCK = """
import pathlib, runpy, sys, time
from exhibit.line import awake
file, really = pathlib.Path({file!r}), time.clock_gettime
time.clock_gettime = lambda clock: really(clock) + float(file.read_text())
awake.STOPPED_S = {stopped_s}
sys.argv[0] = "exhibit"
runpy.run_module("exhibit", run_name="__main__", alter_sys=True)
"""
"""A bridge for which eight seconds are a long stop, and whose computer has slept as long as a file says."""


@pytest.fixture
def staged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Stage]:
    """A stage on which each bridge has such a clock."""
    slept = tmp_path / "slept"
    slept.write_text("0")
    code = WITH_A_CLOCK.format(file=f"{slept}", stopped_s=STOPPED_S)
    really = stages.start

    def start(*arguments: str) -> subprocess.Popen[str]:
        if arguments[0] != "bridge":
            return really(*arguments)
        command = [sys.executable, "-c", code, *arguments, "--with-starter"]
        return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    monkeypatch.setattr(stages, "start", start)
    with stage(tmp_path, SPEED) as made:
        yield made


def first(bridge: Bridge, kind: type[kinds.Fact]) -> kinds.Entry:
    """The first such entry, awaited."""
    for entry in bridge.entries:
        if isinstance(entry.fact, kind):
            return entry
    return bridge.until(lambda entry: isinstance(entry.fact, kind))


def tidied_up(bridge: Bridge) -> bool:
    """Whether the round is over, and what it had started was stopped. It counts as not done."""
    first(bridge, kinds.SessionFailed)
    bridge.end()
    stopped = [entry.fact for entry in bridge.entries if isinstance(entry.fact, kinds.ExerciserEnded)]
    scripts = [entry.fact for entry in bridge.entries if isinstance(entry.fact, kinds.ScriptEnded)]
    return bool(stopped) and scripts[-1].outcome == "failed" and scripts[-1].tidy


def test_after_a_long_stop_of_everything_it_listens_before_it_types_and_all_say_so(staged: Stage) -> None:
    bridge = staged.bridge("--rounds", "1")
    with web_processes.live(staged.recordings) as web:
        first(bridge, kinds.ExerciserBegun)
        for pid in (bridge.process.pid, web.pid):
            os.kill(pid, signal.SIGSTOP)
        bridge.follow()
        before = len(bridge.entries)
        # Meanwhile the machine, which isn't stopped, goes on with its job.
        threading.Event().wait(1.5 * STOPPED_S)
        for pid in (bridge.process.pid, web.pid):
            os.kill(pid, signal.SIGCONT)
        lost = first(bridge, kinds.LineLost)
        assert lost.fact.why.startswith("this program was stopped for ")
        meanwhile = bridge.entries[before : bridge.entries.index(lost)]
        assert not any(isinstance(entry.fact, kinds.BytesTyped) for entry in meanwhile)
        # The page's process was stopped as well, and goes on with it.
        with Line(web) as page:
            while (page.ask().get("picture") or {"seq": 0})["seq"] < lost.seq:
                pass
    assert tidied_up(bridge)


def test_after_the_computer_has_slept_the_record_says_for_how_long(staged: Stage) -> None:
    bridge = staged.bridge("--rounds", "1")
    first(bridge, kinds.ExerciserBegun)
    (staged.place / "woke").write_text("7260")
    (staged.place / "woke").replace(staged.place / "slept")  # at once: it is read all the time
    why = first(bridge, kinds.LineLost).fact.why
    assert why == "this computer was asleep for 2 h 1 min and heard nothing"
    assert tidied_up(bridge)
