"""What the visitors' page costs its browser: at rest, moving, and while a whole screen is repainted.

    python -m tests.benchmarks.bench_moving

Processor time is that of all Chromium processes together, in per cent of one core. Aims: at rest at most 3,
moving at most 15; while a whole screen is repainted, at most 1 in 100 frames of a 60 Hz screen is missed.
"""

from __future__ import annotations

import os
import tempfile
import threading
import time
import tty
from pathlib import Path

from playwright.sync_api import sync_playwright

from exhibit.web.places import scripts_folder
from tests.benchmarks.bench_paint import IT_RUNS
from tests.benchmarks.bench_weight import used_s
from tests.bridge.stage import end, first_line, page_address, start
from tests.pages.browser import WITH_WINDOW
from tests.pages.browser import start as start_browser

FOR_S = 10.0
BOARD = (
    "\x1b[H\x1b[2JTIDEBOOK BOARD    25.11.1998  DAY 329   TIME 10.02.{n:02d}   UP  0.01.10\x1b[3;1H"
    "PROCESSOR LOAD {load:3d} PER CENT   JOBS GOING  1\x1b[4;1H"
    "DISC TRANSFERS   SMALL       1   UPPER       6   LOWER  {n:6d}\x1b[5;1HDISC ERRORS         0\x1b[7;1H"
    "JOB  NAME     DESK     SHARE  SECONDS  TRANSFERS  ERRORS  STATE\x1b[8;1H"
    "  1  SHUTTLE  TIDES       97      1.0        508       0  DISC\x1b[24;1H"
)
FRAMES = """(for_ms) => new Promise((done) => {
  const times = [];
  const began = performance.now();
  const frame = (now) => {
    times.push(now);
    if (now - began < for_ms) requestAnimationFrame(frame);
    else done(times);
  };
  requestAnimationFrame(frame);
})"""


def chromium() -> list[int]:
    """All its processes that run on this computer: nothing else that uses it may run."""
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            if b"chromium" in (place / "cmdline").read_bytes().split(b"\0")[0]:
                found.append(int(place.name))
        except OSError:
            continue  # it has just ended
    return found


def cost() -> float:
    """The share of one core that it uses for a while, in per cent."""
    before = {pid: used_s(pid) for pid in chromium()}
    time.sleep(FOR_S)
    return sum(used_s(pid) - before.get(pid, 0.0) for pid in chromium()) / FOR_S * 100


def main() -> None:
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        master, slave = os.openpty()
        tty.setraw(slave)
        device = os.ttyname(slave)
        os.close(slave)
        bridge = start(
            *("bridge", f"{scripts_folder() / 'whimbrel'}", "--line", device),
            *("--recordings", f"{name}/recordings", "--watch"),
        )
        first_line(bridge)
        web = start("page", "--recordings", f"{name}/recordings", "--machine", "whimbrel", "--port", "0")
        browser = start_browser(playwright, WITH_WINDOW)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        page.goto(page_address(web))
        os.write(master, b"THE LINE IS OPEN\r\n")
        page.wait_for_timeout(20000)  # the page has found its scene, and nothing fades any more
        print(f"at rest: {cost():.1f} % of one core (aim <= 3)", flush=True)
        for line in IT_RUNS:
            os.write(master, f"{line}\r\n".encode())
            page.wait_for_timeout(300)
        page.wait_for_timeout(3000)
        print(f"discs turn, nothing is printed: {cost():.1f} % (aim <= 15)", flush=True)
        over = threading.Event()

        def paints() -> None:
            number = 0
            while not over.wait(5.0 if number else 0.0):
                number += 1
                os.write(master, BOARD.format(n=number % 60, load=90 + number % 10).encode())

        painting = threading.Thread(target=paints)
        painting.start()
        page.wait_for_timeout(6000)
        print(f"the board stands and is painted every 5 s: {cost():.1f} % (aim <= 15)", flush=True)
        times_ms = page.evaluate(FRAMES, FOR_S * 1000)
        shown = len(times_ms) - 1
        due = round((times_ms[-1] - times_ms[0]) * 60 / 1000)
        print(f"meanwhile {max(0, due - shown)} of {due} frames were missed (aim: 1 in 100)")
        over.set()
        painting.join()
        browser.close()
        end(web)
        end(bridge)
        os.close(master)


if __name__ == "__main__":
    main()
