"""The records page with a long day: how soon it opens, how long a moment and a search take, and its memory.

    python -m tests.benchmarks.bench_records_page [HOURS | FILE]

A day of HOURS (8 unless told otherwise) is made flat out at 9600 baud, with a step, a caption and a display
every six seconds; FILE is a recording, such as one of bench_day's. The page's process is started as an
engineer starts it, and asked by HTTP from here. Nothing here passes or fails.
"""

from __future__ import annotations

import http.client
import json
import random
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit

from exhibit.facts import kinds
from exhibit.facts.units import H_US, S_US
from exhibit.streams.recording import RecordingWriter
from tests.benchmarks.bench_day import BYTES_PER_S, console
from tests.benchmarks.bench_recording import opening

PIECE_BYTES = 38
EVERY_US = 6 * S_US
"""Each step takes so long."""


def make_day(folder: Path, hours: float) -> Path:
    """Received bytes without a pause, heartbeats, and now and then what a script does."""
    writer = RecordingWriter(folder, opening())
    at_us = number = beat_us = step_us = 0
    waiting = b""
    while at_us < hours * H_US:
        while len(waiting) < PIECE_BYTES:
            waiting += console(number)
            number += 1
        piece, waiting = waiting[:PIECE_BYTES], waiting[PIECE_BYTES:]
        first_us, at_us = at_us, at_us + PIECE_BYTES * S_US // BYTES_PER_S
        writer.append(kinds.BytesReceived(bytes=kinds.to_text(piece), first_us=first_us), at_us)
        if at_us - beat_us > S_US:
            beat_us = at_us
            writer.append(kinds.Heartbeat(wall="2026-11-25T09:30:00+00:00"), at_us)
        if at_us - step_us > EVERY_US:
            step_us = at_us
            for fact in script_facts(at_us // EVERY_US):
                writer.append(fact, at_us)
    writer.close("made for a benchmark", at_us)
    return writer.path


def script_facts(number: int) -> list[kinds.AnyFact]:
    step = f"step-{number % 90}"
    words = {"en": "The machine works out the tides of a whole year."}
    return [
        kinds.StepEnded(script="round", step=f"step-{(number - 1) % 90}"),
        kinds.StepStarted(script="round", step=step),
        kinds.CaptionShown(caption=step, kind="seen", words=words, part="disc", because=[5], source={}),
        *(kinds.ReadingTaken(display="board", frame=number, name=f"r{n}", value=n) for n in range(6)),
    ]


class Page:
    """The page's process."""

    def __init__(self, path: Path, home: Path) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", "records", f"{path}", "--no-browser"],
            env={"PATH": "/usr/bin:/bin", "HOME": f"{home}", "PYTHONPATH": f"{Path.cwd()}"},
            stdout=subprocess.PIPE,
            text=True,
        )
        assert self._process.stdout is not None
        address = urlsplit(self._process.stdout.readline().split()[-1])
        self._host, self._root = address.netloc, address.path
        self._name = path.name.partition(".")[0]

    def ask(self, what: str, **about: object) -> tuple[Any, float]:
        """The answer, and how many seconds it took."""
        query = "&".join(f"{key}={quote(f'{value}')}" for key, value in about.items())
        connection = http.client.HTTPConnection(self._host, timeout=600)
        began_s = time.perf_counter()
        connection.request("GET", f"{self._root}{what}?recording={quote(self._name)}&{query}")
        answer = connection.getresponse().read()
        taken_s = time.perf_counter() - began_s
        connection.close()
        return json.loads(answer), taken_s

    def memory_mb(self) -> tuple[float, float]:
        """What the process has now, and the most that it has had."""
        said = dict(
            line.split(":", 1) for line in Path(f"/proc/{self._process.pid}/status").read_text().splitlines()
        )
        return int(said["VmRSS"].split()[0]) / 1e3, int(said["VmHWM"].split()[0]) / 1e3

    def end(self) -> None:
        self._process.terminate()
        self._process.wait()


def measure(path: Path, home: Path) -> None:
    page = Page(path, home)
    chance = random.Random(13)
    line, line_s = page.ask("line")
    first, first_s = page.ask("moment", at_us=0)
    print(f"{path.stat().st_size / 1e6:.0f} MB, {line['end_seq']:,} facts, {line['end_us'] / H_US:.1f} h")
    print(f"  the day's line, first time    {line_s:6.2f} s")
    print(f"  the first moment              {first_s * 1e3:6.0f} ms  (both, aim with drawing <= 1.5 s)")
    began_s = time.perf_counter()
    while not page.ask("checked")[0]["is_checked"]:
        time.sleep(0.2)
    print(
        f"  reading through, once         {time.perf_counter() - began_s:6.1f} s   while others can be asked"
    )
    taken = sorted(page.ask("moment", seq=chance.randrange(1, line["end_seq"]))[1] for _ in range(100))
    print(f"  a moment, half below          {taken[50] * 1e3:6.1f} ms  (aim <= 60)")
    print(f"  the longest of 100            {taken[-1] * 1e3:6.1f} ms")
    page.end()
    page = Page(path, home)
    print(f"  the line, opened again        {page.ask('line')[1]:6.2f} s")
    moment, _ = page.ask("moment", at_us=0)
    began_s = time.perf_counter()
    at_us = 0
    while at_us < line["end_us"] and time.perf_counter() - began_s < 10:
        wanted_us = min(int((time.perf_counter() - began_s) * 1000 * S_US), line["end_us"])
        moment, _ = page.ask(
            "moment", at_us=wanted_us, after=moment["seq"], stream=moment["stream"], playing=1
        )
        at_us = moment["at_us"]
    print(f"  played at 1,000 x             {at_us / 1e6 / (time.perf_counter() - began_s):6.0f} x  in fact")
    began_s = time.perf_counter()
    while "fault" in page.ask("search", wanted="never printed", **{"in": "printed"})[0]:
        pass
    print(f"  the index, once               {time.perf_counter() - began_s:6.1f} s   more to wait for it")
    for within, wanted in (
        ("printed", "TIDE 12345"),
        ("printed", "never printed"),
        ("pattern", "TIDE.*7777"),
    ):
        found, taken_s = page.ask("search", wanted=wanted, **{"in": within})
        print(f"  search {within:8} {wanted:14} {taken_s:6.2f} s   {len(found['found'])} found (aim <= 1.5)")
    now_mb, most_mb = page.memory_mb()
    print(f"  memory                        {now_mb:6.0f} MB  at most {most_mb:.0f} MB (aim <= 200)")
    page.end()


def main() -> None:
    given = sys.argv[1] if len(sys.argv) > 1 else "8"
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        path = Path(given) if Path(given).is_file() else make_day(home / "recordings", float(given))
        measure(path, home)


if __name__ == "__main__":
    main()
