"""From a byte on the line to its paint in the browser, through bridge, recording and web process.

    python -m tests.benchmarks.bench_paint [TIMES [FOLLOWERS]]

A character is put on a pseudo-terminal; the page notes when its row has changed and the frame after that
has begun, once while the drawn machine stands still and once while its discs turn and a job is going. Both
clocks are this computer's own. Aim: half within 9 ms, 99 of 100 within 25 ms. With FOLLOWERS so many phones
follow meanwhile (tests/benchmarks/followers.py), and the aim is 100 ms.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
import tty

from playwright.sync_api import Page, sync_playwright

from exhibit.web.places import scripts_folder
from tests.bridge.stage import end, page_address, recording_of, start
from tests.pages.browser import WITH_WINDOW
from tests.pages.browser import start as start_browser

SEED = 20261125
IT_RUNS = (
    "WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND",
    "SMALL READY: STARTER 5, MAY BE WRITTEN",
    "UPPER READY: SALLOW 1, PROTECTED",
    "LOWER READY: SALLOW 2, MAY BE WRITTEN",
    "DESK TIDES: BEGIN SHUTTLE LOWER 4 MINUTES",
    "JOB 1 BEGUN: SHUTTLE LOWER 4 MINUTES",
)
"""Lines by which the drawing begins to move."""
NOTE_PAINTS = """
() => {
  window.paints = [];
  const note = () => requestAnimationFrame(() => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => window.paints.push(performance.timeOrigin + performance.now());
    channel.port2.postMessage(null);
  });
  new MutationObserver(note).observe(document.querySelector('#rows'),
    { subtree: true, childList: true, characterData: true });
}
"""


def follow(address: str, count: int) -> subprocess.Popen[str] | None:
    """So many phones, which follow; None where none are wanted."""
    if not count:
        return None
    port = address.rstrip("/").rsplit(":", 1)[1]
    arguments = [sys.executable, "-m", "tests.benchmarks.followers", port, "0", f"{count}"]
    followers = subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert followers.stdout is not None
    assert followers.stdout.readline() == "following\n"
    return followers


def paints_ms(page: Page, master: int, times: int, dice: random.Random) -> list[float]:
    """How long each of so many single bytes took, the quickest first."""
    took_ms = []
    for number in range(times):
        time.sleep(dice.uniform(0.05, 0.15))
        before = page.evaluate("window.paints.length")
        sent_ms = time.time() * 1000
        os.write(master, b"\r\nX" if number % 60 == 59 else b"X")
        page.wait_for_function("before => window.paints.length > before", arg=before)
        took_ms.append(page.evaluate("before => window.paints[before]", before) - sent_ms)
    return sorted(took_ms)


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 300
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    dice = random.Random(SEED)
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        master, slave = os.openpty()
        tty.setraw(slave)
        device = os.ttyname(slave)
        os.close(slave)
        arguments = ["bridge", f"{scripts_folder() / 'whimbrel'}"]
        arguments += ["--line", device, "--recordings", f"{name}/recordings", "--watch"]
        bridge = start(*arguments)
        recording_of(bridge)
        web = start("page", "--recordings", f"{name}/recordings", "--machine", "whimbrel", "--port", "0")
        browser = start_browser(playwright, WITH_WINDOW)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        address = page_address(web)
        page.goto(address)
        followers = follow(address, count)
        page.evaluate(NOTE_PAINTS)
        aims = (9, 25) if not count else (100, 100)
        for what, lines in (("standing still", ["THE LINE IS OPEN"]), ("moving", IT_RUNS)):
            for line in lines:
                os.write(master, f"{line}\r\n".encode())
                page.wait_for_timeout(500)
            page.wait_for_timeout(3000)
            page.evaluate("window.paints.length = 0")
            took_ms = paints_ms(page, master, times, dice)
            moves = page.evaluate("document.documentElement.dataset.scene")
            print(
                f"{times} single bytes, page of 1920x1080 {what} ({moves}), {count} phones: "
                f"half within {took_ms[times // 2]:.1f} ms (aim <= {aims[0]}), "
                f"99 of 100 within {took_ms[int(times * 0.99)]:.1f} ms (aim <= {aims[1]}), "
                f"the worst {took_ms[-1]:.1f} ms",
                flush=True,
            )
        if followers is not None:
            followers.communicate("stop\n")
        browser.close()
        end(web)
        end(bridge)
        os.close(master)


if __name__ == "__main__":
    main()
