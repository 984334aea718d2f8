"""Whatever a stranger does, a visitor's page is answered as before, and what he took is given back.

No page may wait longer than 150 ms. The tests' computer has other things to do, so what counts here is how
much the web process works while a page waits. `python -m tests.benchmarks.bench_crowds` prints the times too.
"""

from __future__ import annotations

import math
import select
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import websocket

from tests.pages import made_facts, web_processes
from tests.sampling import number_of, sample
from tests.web.crowd import ALL_HERE, BEGUN, HOWS
from tests.web.page_line import Line, get, memory_kB, worked_s

WORK_AT_MOST_S = 0.15
LASTS_S = number_of(15, 6)
GIVEN_BACK_kB = 10_000
GIVEN_BACK_WITHIN_S = 60.0
ALL_HERE_WITHIN_S = 60.0
CUT_OFF = (math.inf, math.inf)


def attack(how: str, folder: Path, lasts_s: float) -> dict[str, float | str]:
    """What a visitor's page sees while it lasts: how long it waits at most, and half of the times.

    `work_s` is the most processor time that the web process used while the page waited.
    """
    writer = made_facts.begin(folder)
    for at_s, fact in made_facts.a_day():
        writer.append(fact, int(at_s * 1e6))
    with web_processes.live(folder) as web, Line(web) as page:
        _waits_s(page, web.pid, until=_after(1.0))
        assert get(web, "/").status == 200
        before_kB = most_kB = memory_kB(web.pid)
        stranger = subprocess.Popen(
            [sys.executable, "-m", "tests.web.crowd", how, f"{web.port}"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            assert stranger.stdin is not None
            assert stranger.stdout is not None
            assert stranger.stdout.readline().strip() == BEGUN
            over = _after(ALL_HERE_WITHIN_S)
            all_here = False
            waits: list[tuple[float, float]] = []
            while not over() and CUT_OFF not in waits:
                waits += _waits_s(page, web.pid, until=_after(0.2))
                most_kB = max(most_kB, memory_kB(web.pid))
                if not all_here and select.select([stranger.stdout], [], [], 0)[0]:
                    all_here = stranger.stdout.readline().strip() == ALL_HERE
                    over = _after(lasts_s)
            fetched_s = time.monotonic()
            assert get(web, "/").status == 200
            fetched_s = time.monotonic() - fetched_s
            became = stranger.communicate("stop\n")[0].splitlines()[-1]
        finally:
            stranger.kill()
            stranger.communicate()
        over = _after(GIVEN_BACK_WITHIN_S)
        while (kept_kB := memory_kB(web.pid) - before_kB) > GIVEN_BACK_kB and not over():
            time.sleep(0.2)
        writer.abandon()
    waits_s = [wait_s for wait_s, _ in waits]
    return {
        "work_s": max(work_s for _, work_s in waits),
        "longest_s": max(waits_s),
        "median_s": sorted(waits_s)[len(waits_s) // 2],
        "fetched_s": fetched_s,
        "most_kB": most_kB - before_kB,
        "kept_kB": kept_kB,
        "became": became,
    }


def _after(limit_s: float) -> Callable[[], bool]:
    until_s = time.monotonic() + limit_s
    return lambda: time.monotonic() >= until_s


def _waits_s(page: Line, pid: int, until: Callable[[], bool]) -> list[tuple[float, float]]:
    """How long a page waits for what is there already: an answer to whoever has no news yet.

    And how much the web process works meanwhile. CUT_OFF, where the page's connection is cut off.
    """
    has: dict[str, Any] = {}
    waits: list[tuple[float, float]] = []
    while not waits or not until():
        used_s, asked_s = worked_s(pid), time.monotonic()
        try:
            answer = page.ask(**has, news=0)
        except (websocket.WebSocketException, OSError):
            return [*waits, CUT_OFF]
        has = {"stream": answer["stream"], "after": answer["picture"]["seq"]}
        waits.append((time.monotonic() - asked_s, worked_s(pid) - used_s))
        time.sleep(0.005)
    return waits


@pytest.mark.trial(name="crowds")
@pytest.mark.waits
@pytest.mark.timeout(300)
@pytest.mark.parametrize("how", sample(sorted(HOWS), 1))
def test_a_visitor_s_page_is_answered_whatever_a_stranger_does(how: str, tmp_path: Path) -> None:
    seen = attack(how, tmp_path / "recordings", LASTS_S)
    print(how, seen)
    assert float(seen["work_s"]) < WORK_AT_MOST_S
    assert float(seen["kept_kB"]) <= GIVEN_BACK_kB
