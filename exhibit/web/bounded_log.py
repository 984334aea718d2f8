"""Logs strangers' mistakes to standard error, but only so many a minute."""

from __future__ import annotations

import logging
import time

MOST_A_MINUTE = 20


class FewAMinute(logging.Filter):
    """Passes a limited number of records a minute, and says when it starts to leave some out."""

    def __init__(self, most: int = MOST_A_MINUTE) -> None:
        super().__init__()
        self._most = most
        self._minute = -1
        self._passed = 0

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether to log this record."""
        minute = int(time.monotonic() // 60)
        if minute != self._minute:
            self._minute, self._passed = minute, 0
        self._passed += 1
        if self._passed == self._most:
            record.msg, record.args = "(further messages of this minute are left out)", None
            record.exc_info = None
        return self._passed <= self._most


def web_log() -> logging.Logger:
    """The log of the web process."""
    log = logging.getLogger("exhibit.web")
    log.setLevel(logging.ERROR)
    log.propagate = False
    if not log.handlers:
        handler = logging.StreamHandler()
        handler.addFilter(FewAMinute())
        log.addHandler(handler)
    return log
