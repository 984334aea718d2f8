"""A browser that is stopped takes nothing from the page's process: it holds no more, no page waits."""

from __future__ import annotations

import os
import signal
import statistics
import time
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until
from tests.sampling import number_of
from tests.trials.soak import held_by
from tests.web.page_line import Line

pytestmark = pytest.mark.waits
STALLED_S = number_of(whole=60, daily=8)
FACTS_EACH_S = 50
MOST_GROWTH_KB = 8 * 1024
"""What is newer than a page's last answer isn't kept for it. A queue of all that was recorded meanwhile, for
each of the stalled pages, would soon be more."""
PAGES = 4
MOST_WAIT_S = 1.0
"""The demand is 0.15 s on a computer with nothing else to do; here other tests run beside this one."""


def of_browser() -> list[int]:
    """All processes of this test's browser."""
    parents: dict[int, int] = {}
    for status in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            # The name, in brackets, can hold spaces (proc(5)).
            parents[int(status.parent.name)] = int(status.read_text().rpartition(")")[2].split()[1])
    ours, found = {os.getpid()}, set[int]()
    while ours:
        ours = {pid for pid, parent in parents.items() if parent in ours}
        found |= ours
    return [pid for pid in found if "chromium" in os.readlink(f"/proc/{pid}/exe")]


@pytest.mark.trial(name="browser-stalled")
def test_a_stopped_browser_neither_fills_the_memory_nor_delays_another_page(
    tmp_path: Path, browser: Browser
) -> None:
    recording = made_facts.begin(tmp_path / "recordings")
    for at_s, fact in made_facts.a_day():
        recording.append(fact, int(at_s * 1e6))
    at_us = recording.append(kinds.Heartbeat(wall="2026-11-25T10:00:00Z"), 10**9).at_us
    with web_processes.live(recording.path.parent) as web, ExitStack() as opened:
        pages = [browser.new_page() for _ in range(PAGES)]
        for page in pages:
            page.goto(web.address)
            wait_until(page, "+document.documentElement.dataset.seq > 0")
        # Not before: whoever doesn't ask for some seconds isn't kept, and a browser can take longer to begin.
        other = opened.enter_context(Line(web))
        had = other.ask(stream="", after=0, news=0)
        stopped = of_browser()
        assert len(stopped) > PAGES
        for pid in stopped:
            os.kill(pid, signal.SIGSTOP)
        try:
            waits_s: list[float] = []
            held = []
            begun_s = time.monotonic()
            while time.monotonic() < begun_s + STALLED_S:
                at_us += 1_000_000 // FACTS_EACH_S
                written_s = time.monotonic()
                recording.append(kinds.BytesReceived(bytes="TIDE IS OUT\r\n" * 8, first_us=at_us), at_us)
                had = other.ask(stream=had["stream"], after=had["picture"]["seq"], news=had["news"])
                waits_s.append(time.monotonic() - written_s)
                held.append(held_by(web.pid).memory_kB)
                time.sleep(max(0.0, written_s + 1 / FACTS_EACH_S - time.monotonic()))
        finally:
            for pid in stopped:
                os.kill(pid, signal.SIGCONT)
        quarter = len(held) // 4
        grown_kB = min(held[-quarter:]) - min(held[:quarter])
        worst_ms, middle_ms = max(waits_s) * 1000, statistics.median(waits_s) * 1000
        print(f"{STALLED_S} s: {grown_kB} kB more, answers after {middle_ms:.0f}, at most {worst_ms:.0f} ms")
        assert grown_kB < MOST_GROWTH_KB
        assert max(waits_s) < MOST_WAIT_S
        # And when it goes on, its pages show what is true now.
        for page in pages:
            wait_until(page, f"+document.documentElement.dataset.seq >= {had['picture']['seq']}")
            page.close()
    recording.abandon()
