"""From `exhibit demo`, at its own speed, to the first seen caption in Chromium.

    python -m tests.benchmarks.bench_first_caption

Aim: within 15 s. The browser is there before, as a visitor's is.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from playwright.sync_api import sync_playwright

from exhibit.facts import kinds
from exhibit.streams.recording import RecordingFolder, read_all
from tests.pages.browser import WITH_WINDOW, start, wait_until

SEEN = "document.querySelector('#story').dataset.kind === 'seen'"
TIMES = 3


def once(folder: Path) -> float:
    with sync_playwright() as playwright:
        page = start(playwright, WITH_WINDOW).new_page(viewport={"width": 1920, "height": 1080})
        began_s = time.monotonic()
        command = ["exhibit", "demo", "--no-browser", "--port", "0", "--recordings", f"{folder}"]
        demo = subprocess.Popen([sys.executable, "-m", *command], stdout=subprocess.PIPE, text=True)
        try:
            assert demo.stdout is not None
            page.goto(next(line for line in demo.stdout if "http://" in line).split()[-1])
            wait_until(page, SEEN)
            took_s = time.monotonic() - began_s
            words = page.inner_text("#caption")
        finally:
            demo.terminate()
            demo.communicate()
    recording = RecordingFolder(folder).newest()
    assert recording is not None
    entries = {entry.seq: entry.fact for entry in read_all(recording.path).entries}
    (first, *_) = [f for f in entries.values() if isinstance(f, kinds.CaptionShown) and f.kind == "seen"]
    received = any(isinstance(entries[seq], kinds.BytesReceived) for seq in first.because)
    print(f"{took_s:.1f} s (aim <= 15); it rests on received bytes: {received}; {words!r}")
    return took_s


def main() -> None:
    for _ in range(TIMES):
        with tempfile.TemporaryDirectory() as name:
            once(Path(name))


if __name__ == "__main__":
    main()
