"""From a byte on the line to its paint in the browser, through bridge, recording and web process.

    python -m tests.benchmarks.bench_paint [TIMES [FOLLOWERS]]

A character is put on a pseudo-terminal; the page notes when its row has changed and the frame after that
has begun. Both clocks are this computer's own. Aim: half within 8 ms, 99 of 100 within 30 ms. With
FOLLOWERS so many phones follow meanwhile (tests/benchmarks/followers.py), and the aim is 100 ms.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
import tty
from pathlib import Path

from playwright.sync_api import sync_playwright

from exhibit.web.places import scripts_folder
from tests.bridge.stage import end, first_line, page_address, start
from tests.pages.browser import start as start_browser

SEED = 20261125
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
    arguments = [sys.executable, "-m", "tests.benchmarks.followers", port, f"{count}"]
    followers = subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    assert followers.stdout is not None
    assert followers.stdout.readline() == "following\n"
    return followers


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
        Path(first_line(bridge))
        web = start("page", "--recordings", f"{name}/recordings", "--machine", "whimbrel", "--port", "0")
        browser = start_browser(playwright)
        page = browser.new_page(viewport={"width": 1920, "height": 1080})
        address = page_address(web)
        page.goto(address)
        followers = follow(address, count)
        os.write(master, b"THE LINE IS OPEN\r\n")
        page.wait_for_timeout(3000)
        page.evaluate(NOTE_PAINTS)
        latencies_ms = []
        for number in range(times):
            time.sleep(dice.uniform(0.05, 0.15))
            before = page.evaluate("window.paints.length")
            sent_ms = time.time() * 1000
            os.write(master, b"\r\nX" if number % 60 == 59 else b"X")
            page.wait_for_function("before => window.paints.length > before", arg=before)
            latencies_ms.append(page.evaluate("before => window.paints[before]", before) - sent_ms)
        latencies_ms.sort()
        half_ms, most_ms = latencies_ms[times // 2], latencies_ms[int(times * 0.99)]
        aims = (8, 30) if not count else (100, 100)
        print(
            f"{times} single bytes, page of 1920x1080, {count} phones: half within {half_ms:.1f} ms ", end=""
        )
        print(f"(aim <= {aims[0]}), 99 of 100 within {most_ms:.1f} ms (aim <= {aims[1]}), ", end="")
        print(f"the worst {latencies_ms[-1]:.1f} ms")
        if followers is not None:
            followers.communicate("stop\n")
        browser.close()
        end(web)
        end(bridge)
        os.close(master)


if __name__ == "__main__":
    main()
