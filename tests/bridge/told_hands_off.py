"""Followers (tests/benchmarks/followers.py) that note how often their page said that somebody has to look.

    python -m tests.bridge.told_hands_off PORT CONSOLES PHONES

Prints "following" as they do. After "stop" it prints for each page, as JSON, how many answers it had, how
often it was told, and why it lost its connection; empty if it never did.
"""

from __future__ import annotations

import asyncio
import json
import re
import sys

from tests.benchmarks.followers import Page, follow

TOLD = re.compile(r'"session":\{"state":"failed","since":"([^"]*)"')


class Watcher(Page):
    """A page whose visitor sees that the scripts have stopped, and since when."""

    def __init__(self, port: int, console: bool, number: int = 0) -> None:
        super().__init__(port, console, number)
        self.told: set[str] = set()

    def _look(self, answer: str, now_ms: float) -> None:
        super()._look(answer, now_ms)
        self.told.update(TOLD.findall(answer))


def main() -> None:
    """Follow, and tell."""
    port, consoles, phones = map(int, sys.argv[1:])
    pages = asyncio.run(follow(port, consoles, phones, Watcher))
    seen = [
        {"answers": page.answers, "told": len(page.told), "gone": page.gone}
        for page in pages
        if isinstance(page, Watcher)
    ]
    print(json.dumps(seen), flush=True)


if __name__ == "__main__":
    main()
