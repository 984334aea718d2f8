"""Followers (tests/benchmarks/followers.py) that connect again whenever they lose their page's process.

python -m tests.trials.returning PORT CONSOLES PHONES
"""

from __future__ import annotations

import asyncio
import random

from tests.benchmarks.followers import Page, main

AGAIN_AFTER_S = (0.1, 0.3)
"""As web/shared/asking.js tells its library."""
AGAIN_AFTER_AT_MOST_S = 1.0


class Returning(Page):
    """A page that goes on with what it has."""

    async def live(self) -> None:
        """Ask until cancelled, at whichever process answers."""
        wait_s = 0.0
        while True:
            answers = self.answers
            try:
                await self._live()
            except (OSError, ValueError, asyncio.IncompleteReadError):
                self._leave()
            wait_s = 0.0 if self.answers > answers else wait_s
            wait_s = min(AGAIN_AFTER_AT_MOST_S, wait_s + random.uniform(*AGAIN_AFTER_S))
            await asyncio.sleep(wait_s)

    def _leave(self) -> None:
        if (writer := getattr(self, "writer", None)) is not None:
            writer.close()


if __name__ == "__main__":
    main(Returning)
