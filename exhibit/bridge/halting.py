"""Whether somebody has just asked that nothing more be typed, though the request's turn hasn't come yet.

A request waits for what came before it, and a fact may have to wait for the disc. Meanwhile nothing may be
typed that the request would have prevented.
"""

from __future__ import annotations

import queue

from exhibit.bridge.request_door import Request
from exhibit.decisions.decider import Decider


class Halting:
    """The requests to type nothing more that haven't been handled. `asked` works from any thread."""

    def __init__(self, decider: Decider) -> None:
        self._decider = decider
        self._waiting: dict[str, queue.SimpleQueue[Request]] = {
            "stop": queue.SimpleQueue(),
            "hands off": queue.SimpleQueue(),
        }

    def asked(self, request: Request) -> None:
        """This request has just come."""
        if request.request in self._waiting:
            self._waiting[request.request].put(request)

    def handled(self, request: Request) -> None:
        """The decisions have taken this request into account."""
        waiting = self._waiting.get(request.request)
        if waiting is not None and not waiting.empty():
            waiting.get_nowait()

    @property
    def holds(self) -> bool:
        """Whether nothing may be typed now. A stop doesn't hold back the tidy-up, which it would start."""
        if not self._waiting["hands off"].empty():
            return True
        return not self._waiting["stop"].empty() and self._decider.heeds_stop
