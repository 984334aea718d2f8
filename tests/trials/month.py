"""Days in virtual time, each with opening, rounds and closing, and one page that is there all month.

    python -m tests.trials.month [DAYS] [ROUNDS]          by default 30 days of 2 rounds

The days are those of tests/page_truth: the simulated machine, its docent, the decisions, and a page that
is held to the machine at every fact. Each day's recording is written as a bridge writes it, and begins with
what the days before left; the page's own follower reads it as it grows. Claim: what a day costs in memory,
threads and open files is given back. And what the first fact of a day carries over doesn't grow.
"""

from __future__ import annotations

import datetime
import gc
import os
import sys
import tempfile
import threading
from pathlib import Path
from typing import Final

import msgspec

from exhibit.facts import kinds
from exhibit.streams.recording import (
    RecordingFolder,
    RecordingWriter,
    day_of_recordings,
    read_all,
    use_of_recordings,
)
from exhibit.web.following import Follower
from exhibit.web.picture import Ask, Picture
from tests.page_truth.day import WALL, Day, Disturbance
from tests.trials.soak import held_by

DAYS: Final = 30
ROUNDS: Final = 2
MOST_GROWTH_KB: Final = 4 * 1024
MOST_FIRST_FACT: Final = 1.3
"""How much longer a first fact may be than that of the second week: it says how much was used in all."""


class AfterDay(msgspec.Struct, frozen=True):
    """What there was at a day's end."""

    outcome: str
    rounds: int
    facts: int
    first_fact_bytes: int
    untrue: list[str]
    memory_kB: int
    threads: int
    files: int
    on_disc: int


class MonthDay(Day):
    """One day, recorded in a folder and followed by the month's page."""

    def __init__(self, folder: Path, number: int, rounds: int, page: Follower) -> None:
        self._recordings = folder
        self._page = page
        super().__init__(
            Disturbance("nothing"), number, begins=WALL + datetime.timedelta(days=number), rounds=rounds
        )

    def _opened(self, first: kinds.RecordingOpened) -> kinds.RecordingOpened:
        today = day_of_recordings(self._recordings, first)
        first = msgspec.structs.replace(
            first, use_before=use_of_recordings(self._recordings, first), today=today
        )
        self._writer = RecordingWriter(self._recordings, first, reserve_bytes=4096)
        self._follow()
        assert isinstance(self._writer.opened.fact, kinds.RecordingOpened)
        return self._writer.opened.fact

    def _keep(self, entry: kinds.Entry) -> None:
        if not isinstance(entry.fact, kinds.RecordingOpened):
            self._writer.append(entry.fact, entry.at_us)
        super()._keep(entry)
        if entry.seq % 100 == 0:
            self._follow()

    def _follow(self) -> None:
        while self._page.step():
            pass

    def ends(self) -> int:
        """Close the recording. Returns how many facts it has."""
        facts = len(self.entries[-1])
        self._writer.close("the scripts are over: done", self.entries[-1][-1].at_us)
        self._follow()
        return facts


def month(folder: Path, days: int, rounds: int) -> list[AfterDay]:
    """Plays so many days."""
    picture = Picture("live")
    page = Follower(picture, folder)
    found = []
    for number in range(days):
        day = MonthDay(folder, number, rounds, page)
        facts = day.ends()
        picture.encoded_answer(Ask(), {}, controls=False)
        newest = RecordingFolder(folder).newest()
        assert newest is not None
        scripts = [e.fact for e in read_all(newest.path).entries if isinstance(e.fact, kinds.ScriptEnded)]
        most_us, outcome = 2 * day.folder.machine.typing.answer_within_us, f"{day.outcome}"
        untrue = [f"{one}" for one in day.judge.untrue if one.for_us > most_us]
        done = len([one for one in scripts if (one.script, one.outcome) == ("round", "done")])
        del day, scripts
        gc.collect()
        held = held_by(os.getpid())
        found.append(
            AfterDay(
                outcome=outcome,
                rounds=done,
                facts=facts,
                first_fact_bytes=newest.path.read_bytes().index(b"\n"),
                untrue=untrue,
                memory_kB=held.memory_kB,
                threads=threading.active_count(),
                files=held.files,
                on_disc=len(list(folder.iterdir())),
            )
        )
    page.close()
    return found


def wrong(found: list[AfterDay], rounds: int) -> list[str]:
    """What was not as every day should be, and what grew."""
    said = [
        f"day {number}: {day.outcome}, {day.rounds} rounds, {day.untrue[:2]}"
        for number, day in enumerate(found)
        if day.untrue or day.rounds != rounds
    ]
    early, late = found[len(found) // 4 : len(found) // 2], found[-(len(found) // 4 or 1) :]
    for name in ("threads", "files"):
        if early and min(getattr(day, name) for day in late) > max(getattr(day, name) for day in early):
            said.append(f"{name} grew from {getattr(early[0], name)} to {getattr(late[-1], name)}")
    if early and min(d.memory_kB for d in late) > min(d.memory_kB for d in early) + MOST_GROWTH_KB:
        said.append(f"memory grew from {early[0].memory_kB} to {late[-1].memory_kB} kB")
    if early and late[-1].first_fact_bytes > MOST_FIRST_FACT * early[-1].first_fact_bytes:
        said.append(f"the first fact grew from {early[-1].first_fact_bytes} to {late[-1].first_fact_bytes}")
    if [day.on_disc for day in found] != list(range(1, len(found) + 1)):
        said.append(f"files beside the recordings: {found[-1].on_disc}")
    return said


def main() -> None:
    """Try it, and tell."""
    days = int(sys.argv[1]) if len(sys.argv) > 1 else DAYS
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else ROUNDS
    with tempfile.TemporaryDirectory() as name:
        found = month(Path(name), days, rounds)
    for number, day in enumerate(found, 1):
        print(
            f"  day {number}: {day.outcome}, {day.rounds} rounds, {day.facts} facts; {day.memory_kB} kB, "
            f"{day.threads} threads, {day.files} open files, first fact {day.first_fact_bytes} bytes"
        )
    said = wrong(found, rounds)
    print("\n".join(said) or f"{days} days alike; nothing grows")
    sys.exit(bool(said))


if __name__ == "__main__":
    main()
