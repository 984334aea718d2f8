"""A page that stays open for a whole day: what it holds in memory, and how many elements, doesn't grow.

    python -m tests.trials.day_open [HOURS] [SPEED]         by default 8 hours, 300 times as fast

A day's recording, round after round, is played in Chromium. At each eighth of it the replay pauses, the
page's garbage is collected and what is left is measured (the browser's own protocol: Runtime.getHeapUsage and
Memory.getDOMCounters), several times: the least is what the page must hold, for beside other tests one
collection may come in the middle of much work. Claim: neither grows. What the page holds comes and goes with
what it shows, so the least of the day's second half is compared with the least of its second quarter: in the
first one the trace of ten minutes and the 200 lines that were printed before fill up.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import msgspec
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import start, wait_until

DAY_H = 8
DAY_SPEED = 300
ROUND_S = 60.0
"""How long a round of the day takes, with its rest."""
PARTS = 8
LOOKS = 3
"""How often the page is measured at each moment, so long apart:"""
BETWEEN_LOOKS_MS = 200
MOST_GROWTH = 1.15


class Held(msgspec.Struct, frozen=True):
    """What the page holds at a moment."""

    fact: int
    heap_kB: int
    nodes: int
    listeners: int


def a_long_day(folder: Path, hours: float) -> tuple[Path, int]:
    """A recording of so many hours, and the number of its last fact."""
    writer = made_facts.begin(folder)
    seq, rounds = 1, int(hours * 3600 / ROUND_S)
    day = made_facts.a_day()
    for number in range(rounds):
        for at_s, fact in day:
            if isinstance(fact, kinds.CaptionShown):
                # Each round says something of its own, as readings make captions do.
                words = {tag: f"{text} ({number})" for tag, text in fact.words.items()}
                fact = msgspec.structs.replace(fact, words=words, because=[seq])
            elif isinstance(fact, kinds.ReadingTaken) and fact.name == "load":
                fact = msgspec.structs.replace(fact, value=(number * 7) % 100)
            seq = writer.append(fact, int((number * ROUND_S + at_s) * 1e6)).seq
    writer.close("the day is over", int(rounds * ROUND_S * 1e6))
    return writer.path, seq + 1


def held_through(browser: Browser, folder: Path, hours: float, speed: float, planted: str = "") -> list[Held]:
    """What a page holds after each eighth of such a day. `planted`: a script that the page begins with."""
    path, last = a_long_day(folder / "day", hours)
    page = browser.new_page(viewport={"width": 1920, "height": 1080})
    if planted:
        page.add_init_script(planted)
    found: list[Held] = []
    with web_processes.replay(path, folder / "cache", rate=speed) as web:
        page.goto(web.address)
        browser_line = page.context.new_cdp_session(page)
        for part in range(1, PARTS + 1):
            fact = last * part // PARTS
            reached = f"+document.documentElement.dataset.seq >= {fact}"
            wait_until(page, reached, limit_s=60 + 20 * hours * 3600 / speed / PARTS)
            paused(page, True)  # however long the looks take, the day doesn't run on meanwhile
            found.append(least_held(page, browser_line, fact))
            paused(page, False)
    page.close()
    return found


def paused(page: Page, pauses: bool) -> None:
    """Pause the replay or let it go on, and wait until it does. At its end it stands by itself."""
    now, then = ("Pause", "Play") if pauses else ("Play", "Pause")
    button = "document.querySelector('#play').textContent"
    if "end of the recording" in page.inner_text("#where"):
        return
    wait_until(page, f"{button} === {now!r}")
    page.click("#play")
    wait_until(page, f"{button} === {then!r} || document.querySelector('#where').textContent.includes('end')")


def least_held(page: Page, browser_line: CDPSession, fact: int) -> Held:
    """The least that the page holds about this moment, of each kind."""
    looks = []
    for _ in range(LOOKS):
        for _ in range(2):  # what the first one finalises, the second one frees
            browser_line.send("HeapProfiler.collectGarbage")
        heap = browser_line.send("Runtime.getHeapUsage")["usedSize"]
        counted = browser_line.send("Memory.getDOMCounters")
        looks.append((round(heap / 1000), counted["nodes"], counted["jsEventListeners"]))
        page.wait_for_timeout(BETWEEN_LOOKS_MS)
    return Held(fact, *(min(values) for values in zip(*looks, strict=True)))


def grows(found: list[Held]) -> list[str]:
    """What was more in the second half than in the first by more than is allowed."""
    grown = []
    for name in ("heap_kB", "nodes", "listeners"):
        half = len(found) // 2
        before, after = (
            min(getattr(one, name) for one in part) for part in (found[half // 2 : half], found[half:])
        )
        if after > before * MOST_GROWTH:
            grown.append(f"{name} grew from {before} to {after}")
    return grown


def main() -> None:
    """Try it, and tell."""
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else DAY_H
    speed = float(sys.argv[2]) if len(sys.argv) > 2 else DAY_SPEED
    with sync_playwright() as playwright, tempfile.TemporaryDirectory() as name:
        browser = start(playwright)
        found = held_through(browser, Path(name), hours, speed)
        browser.close()
    print(f"a page open for {hours:g} hours, {speed:g} times as fast as real")
    for one in found:
        print(f"  at fact {one.fact}: {one.heap_kB} kB, {one.nodes} nodes, {one.listeners} listeners")
    grown = grows(found)
    print("\n".join(grown) or "nothing grows")
    sys.exit(bool(grown))


if __name__ == "__main__":
    main()
