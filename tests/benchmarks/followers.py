"""Pages, as many as wanted, in a process of their own: each asks as a page in a browser does.

    python -m tests.benchmarks.followers PORT CONSOLES PHONES

The consoles ask for the console's rows too, as the screen beside the machine does, and look for "T" and a
time in them; the phones don't. A caption's words are "NUMBER SENT" with SENT in milliseconds since 1970, so
that each page can tell how late it was told and whether it missed one. Prints "following" once every page
has had an answer or was turned away, and reads "stop" from its standard input; then it prints how much
processor time it took meanwhile, and what its pages saw as JSON.
"""

from __future__ import annotations

import asyncio
import base64
import json
import os
import re
import resource
import sys
import time

MASK = b"\x00\x00\x00\x00"
CAPTION = re.compile(r'"caption":\{[^{}]*"words":\{"en":"(-?\d+) (\d+)"')
STREAM = re.compile(r'"stream":"([^"]*)"')
NEWS = re.compile(r'"news":(\d+)')
SEQ = re.compile(r'"picture":\{"seq":(\d+)')
STAMP = re.compile(r"T(\d{13})")
FROM_ONE_ADDRESS = 250
"""Pages come from several addresses of this computer, since the web process admits only so many from one."""
EACH_S = 0.003
"""How long after one page the next one comes."""
ALL_HERE_WITHIN_S = 30.0
"""When all have come. Those that still have no answer then are as good as turned away."""


class Page:
    """One page."""

    def __init__(self, port: int, console: bool, number: int = 0) -> None:
        self.port = port
        self.own_address = f"127.0.0.{1 + number // FROM_ONE_ADDRESS}"
        self.console = console
        self.captions: list[int] = []
        self.late_ms: list[float] = []
        self.rows_late_ms: list[float] = []
        self.answers = 0
        self.received_bytes = 0
        self.longest_wait_s = 0.0
        self.gone = ""
        self.has = {"stream": "", "after": 0, "news": 0, "console": console}

    async def live(self) -> None:
        """Ask until cancelled."""
        try:
            await self._live()
        except Exception as trouble:  # whatever it is, nobody may wait for this page any longer
            self.gone = repr(trouble)

    async def _live(self) -> None:
        self.reader, self.writer = await asyncio.open_connection(
            "127.0.0.1", self.port, local_addr=(self.own_address, 0)
        )
        key = base64.b64encode(os.urandom(16)).decode()
        self.writer.write(
            f"GET /socket.io/?EIO=4&transport=websocket HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\n"
            f"Origin: http://127.0.0.1:{self.port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            f"Sec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n\r\n".encode()
        )
        head = await self.reader.readuntil(b"\r\n\r\n")
        if b" 101 " not in head:
            raise ValueError(head.split(b"\r\n")[0].decode())
        await self._next("0")
        self._say("40")
        if (await self._next("4")).startswith("44"):
            raise ValueError("turned away")
        has = self.has
        while True:
            asked_s = time.monotonic()
            self._say("421" + json.dumps(["ask", has]))
            answer = await self._next("43")
            now_ms = time.time() * 1000
            self.longest_wait_s = max(self.longest_wait_s, time.monotonic() - asked_s)
            self.answers += 1
            self._look(answer, now_ms)
            # Not read as JSON: this process must not be what is measured.
            has |= {"stream": STREAM.search(answer)[1], "news": int(NEWS.search(answer)[1])}  # type: ignore[index]
            if (seq := SEQ.search(answer)) is not None:
                has["after"] = int(seq[1])

    def _look(self, answer: str, now_ms: float) -> None:
        if found := CAPTION.search(answer):
            self.captions.append(int(found[1]))
            self.late_ms.append(now_ms - float(found[2]))
        if self.console and (stamps := STAMP.findall(answer)):
            self.rows_late_ms.append(now_ms - float(max(stamps)))

    def _say(self, text: str) -> None:
        data = text.encode()
        length = bytes([0x80 | len(data)]) if len(data) < 126 else bytes([0xFE, *len(data).to_bytes(2)])
        self.writer.write(b"\x81" + length + MASK + data)

    async def _next(self, kind: str) -> str:
        while True:
            head = await self.reader.readexactly(2)
            length = head[1] & 0x7F
            if length > 125:
                length = int.from_bytes(await self.reader.readexactly(2 if length == 126 else 8))
            text = (await self.reader.readexactly(length)).decode()
            self.received_bytes += length
            if head[0] & 0x0F == 8:
                raise ValueError("closed by the web process")
            if text == "2":
                self._say("3")
            elif text.startswith(kind):
                return text


async def follow(port: int, consoles: int, phones: int, kind: type[Page] = Page) -> list[Page]:
    """Let them live until something is read from standard input."""
    pages = [kind(port, number < consoles, number) for number in range(consoles + phones)]
    lives = []
    for page in pages:
        lives.append(asyncio.create_task(page.live()))
        await asyncio.sleep(EACH_S)
    until_s = time.monotonic() + ALL_HERE_WITHIN_S
    while not all(page.answers or page.gone for page in pages) and time.monotonic() < until_s:
        await asyncio.sleep(0.1)
    for page in pages:
        page.gone = page.gone or ("" if page.answers else "never answered")
        page.answers = 0
    print("following", flush=True)
    used_s = time.process_time()
    await asyncio.get_running_loop().run_in_executor(None, sys.stdin.readline)
    print(json.dumps(time.process_time() - used_s), flush=True)
    for life in lives:
        life.cancel()
    return pages


def main(kind: type[Page] = Page) -> None:
    """Follow, and tell."""
    _, at_most = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (at_most, at_most))
    port, consoles, phones = map(int, sys.argv[1:])
    pages = asyncio.run(follow(port, consoles, phones, kind))
    told = [
        {
            "captions": page.captions,
            "late_ms": page.late_ms,
            "rows_late_ms": page.rows_late_ms,
            "answers": page.answers,
            "received_bytes": page.received_bytes,
            "longest_wait_s": page.longest_wait_s,
            "gone": page.gone,
        }
        for page in pages
    ]
    print(json.dumps(told), flush=True)


if __name__ == "__main__":
    main()
