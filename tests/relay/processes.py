"""Commands of `exhibit` in processes of their own: a relay, and pages that are served by one or several."""

from __future__ import annotations

import os
import queue
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import websocket

from tests.pages.web_processes import ROOT
from tests.relay.as_a_page import Page
from tests.web.page_line import Line

WITHIN_S = 90


class Process:
    """One command. What it prints is read all along."""

    def __init__(self, *arguments: str) -> None:
        environment = {
            **os.environ,
            "PYTHONPATH": os.pathsep.join([f"{ROOT}", os.environ.get("PYTHONPATH", "")]),
        }
        self.process = subprocess.Popen(
            [sys.executable, "-m", "exhibit", *arguments],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env=environment,
        )
        self.said: list[str] = []
        self._lines: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._reader = threading.Thread(target=self._read)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line)
        self._lines.put("")

    def line(self, pattern: str) -> str:
        """Wait for a line like this. Returns the first group in it."""
        give_up_s = time.monotonic() + WITHIN_S
        while True:
            line = self._lines.get(timeout=max(0.0, give_up_s - time.monotonic()))
            assert line, f"it ended: {''.join(self.said)}"
            self.said.append(line)
            if found := re.search(pattern, line):
                return found[1]

    def end(self) -> None:
        """End it in good order."""
        self.process.send_signal(signal.SIGCONT)
        self.process.terminate()
        self.status()

    def status(self) -> int:
        """Its exit status, once it has ended."""
        status = self.process.wait(WITHIN_S)
        self._reader.join(WITHIN_S)
        assert self.process.stdout is not None
        self.process.stdout.close()
        return status

    def workers(self) -> list[int]:
        """The processes that it has started."""
        pid = self.process.pid
        return [int(one) for one in Path(f"/proc/{pid}/task/{pid}/children").read_text("ascii").split()]


@contextmanager
def exhibit(*arguments: str) -> Iterator[Process]:
    """A command for as long as this lasts."""
    process = Process(*arguments)
    try:
        yield process
    finally:
        process.end()


class Served:
    """Where a page is served, for Line."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.port = int(address.rstrip("/").rsplit(":", 1)[1])


class Visitor:
    """A page that asks on and on, and connects again whenever it has to."""

    def __init__(self, served: Served) -> None:
        self._served = served
        self._line: Line | None = None
        self.page = Page()
        self.captions: list[str] = []

    def ask(self) -> dict[str, Any]:
        """The next answer."""
        give_up_s = time.monotonic() + WITHIN_S
        while True:
            try:
                if self._line is None:
                    self._line = Line(self._served)  # type: ignore[arg-type]
                page = self.page
                answer = self._line.ask(stream=page.stream, after=page.seq, news=page.news, console=True)
                break
            except (OSError, websocket.WebSocketException):
                self.close()
                assert time.monotonic() < give_up_s, "no page is served"
                time.sleep(0.05)
        self.page.take(answer)
        caption = answer.get("picture", {}).get("items", {}).get("caption")
        if caption:
            self.captions.append(caption["words"]["en"])
        return answer

    def until(self, badge: str = "", caption: str = "") -> float:
        """Ask until the page has this badge, and this caption. Returns how long that took."""
        began_s = time.monotonic()
        while True:
            self.ask()
            words = (self.page.items.get("caption") or {}).get("words", {}).get("en", "")
            if badge in ("", self.page.badge["name"]) and caption in ("", words):
                return time.monotonic() - began_s
            assert time.monotonic() - began_s < WITHIN_S, (self.page.badge, words)

    def close(self) -> None:
        """Leave."""
        if self._line is not None:
            self._line.__exit__()
            self._line = None
