"""A whole demonstration whose computer's date and time are really set, back and forth, while it runs."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from datetime import timedelta
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import RecordingFault
from exhibit.streams.recording import RecordingFolder, read_all
from tests.pages.web_processes import free_port
from tests.web.page_line import Line

pytestmark = pytest.mark.waits
WITHIN_S = 100.0
DAY = timedelta(days=1)
AT_START = """
import datetime, pathlib, time
file, really_time, Really = pathlib.Path({file!r}), time.time, datetime.datetime

def ahead():
    return float(file.read_text())

class Set(Really):
    @classmethod
    def now(cls, tz=None):
        return Really.fromtimestamp(really_time() + ahead(), tz)

time.time = lambda: really_time() + ahead()
time.time_ns = lambda: int(time.time() * 1e9)
datetime.datetime = Set
"""
"""Python runs this in each process before anything else (sitecustomize): the date is what a file says."""


class Clock:
    """The date and time of the processes that are given `environment`; their steady clock isn't touched."""

    def __init__(self, place: Path) -> None:
        self._file = place / "ahead"
        self.set(timedelta())
        (place / "start").mkdir()
        (place / "start" / "sitecustomize.py").write_text(AT_START.format(file=f"{self._file}"))
        path = os.pathsep.join([f"{place / 'start'}", os.environ.get("PYTHONPATH", "")])
        self.environment = {**os.environ, "PYTHONPATH": path}

    def set(self, ahead: timedelta) -> None:
        written = self._file.with_suffix(".new")
        written.write_text(f"{ahead.total_seconds()}")
        written.rename(self._file)


def facts_of(recordings: Path) -> list[kinds.AnyFact]:
    """Of all recordings, in their order."""
    found: list[kinds.AnyFact] = []
    for file in RecordingFolder(recordings).recordings():
        with suppress(RecordingFault):
            found += [entry.fact for entry in read_all(file.path).entries]
    return found


def until(recordings: Path, enough) -> None:
    give_up_s = time.monotonic() + WITHIN_S
    while not enough(facts_of(recordings)):
        assert time.monotonic() < give_up_s, "it never came"
        time.sleep(0.05)


def test_rounds_go_on_and_the_page_stays_true_while_the_date_is_set_by_days(tmp_path):
    clock, port, recordings = Clock(tmp_path), free_port(), tmp_path / "recordings"
    run = subprocess.Popen(
        [sys.executable, "-m", "exhibit", "demo", "--rounds", "1", "--speed", "20", "--no-browser"]
        + ["--recordings", f"{recordings}", "--port", f"{port}"],
        env=clock.environment,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    assert run.stdout is not None
    try:
        until(recordings, lambda facts: any(isinstance(fact, kinds.StepStarted) for fact in facts))
        for number, ahead in enumerate((-DAY, timedelta(), DAY, -3 * DAY, timedelta(seconds=-1)), 1):
            clock.set(ahead)

            def stepped(facts, number=number) -> bool:
                return len([fact for fact in facts if isinstance(fact, kinds.ClockStepped)]) >= number

            until(recordings, stepped)
        web = type("Web", (), {"port": port, "address": f"http://127.0.0.1:{port}/"})()
        with Line(web) as page:
            items = page.ask(stream="", after=0, news=0)
            assert items["badge"]["name"] == "simulated machine"
        assert run.wait(WITHIN_S) == 0, run.stdout.read()
    finally:
        run.send_signal(signal.SIGTERM)
        run.communicate()
    facts = facts_of(recordings)
    days = [fact.by_us / 1e6 / 86_400 for fact in facts if isinstance(fact, kinds.ClockStepped)]
    assert [round(day) for day in days] == [-1, 1, 1, -4, 3]
    outcomes = [(fact.script, fact.outcome) for fact in facts if isinstance(fact, kinds.ScriptEnded)]
    assert outcomes == [("opening", "done"), ("round", "done"), ("closing", "done")]
