"""A run that lasts the whole day: a bridge that is killed is started again, and goes on with the day."""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Final

from exhibit.commands.child import LOOK_EVERY_S
from exhibit.commands.docents_page.beside import DocentsPage
from exhibit.commands.running import Run
from exhibit.commands.saying import ENGLISH, Say, Sentence
from exhibit.commands.visitors_page import VisitorsPage
from exhibit.output.terminal import put

AGAIN_AFTER_S: Final = 1.0
AGAIN_AFTER_AT_MOST_S: Final = 60.0
"""A bridge that is killed again and again is started ever more seldom, until one has lasted so long."""
BEGINS_AGAIN: Final = Sentence(
    "The bridge was ended from outside, so it is started again, and the day goes on."
)


class DayRun(Run):
    """A bridge that runs the scripts by the day, the visitors' page of what it records, and the docent's."""

    def __init__(
        self, bridge: Sequence[str], page: VisitorsPage, docents_page: DocentsPage, say: Say = ENGLISH
    ) -> None:
        super().__init__([*bridge, "--by-day"], page, say)
        self._docents_page = docents_page
        self._again_after_s = AGAIN_AFTER_S
        self._began_s = time.monotonic()

    def _meanwhile(self) -> None:
        self._docents_page.look()

    def _begins_again(self, status: int) -> bool:
        # One that ended by itself has said why, and would say the same again.
        if status >= 0 or self._asked_to_stop:
            return False
        put(self._say(BEGINS_AGAIN))
        now_s = time.monotonic()
        if now_s - self._began_s >= AGAIN_AFTER_AT_MOST_S:
            self._again_after_s = AGAIN_AFTER_S
        while time.monotonic() < now_s + self._again_after_s and not self._interrupted:
            self._page.look()
            self._docents_page.look()
            time.sleep(LOOK_EVERY_S)
        self._again_after_s = min(2 * self._again_after_s, AGAIN_AFTER_AT_MOST_S)
        self._began_s = time.monotonic()
        return not self._interrupted
