"""The queue through which other threads reach the bridge, and how the bridge waits for it."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable

import msgspec

from exhibit.bridge.request_door import Reply, Request
from exhibit.line.awake import Awake
from exhibit.line.events import LineEvent, Received, Typed
from exhibit.streams.pacing import RecordingClock

LATE_S = 0.05
LISTEN_S = 0.1
"""Real seconds. If the bridge wakes up later than LATE_S, this computer was busy, and output of the machine
may not have been read yet. So the bridge listens for LISTEN_S before any deadline passes."""
LISTEN_AWAKE_S = 1.0
"""Real seconds. After a sleep, the line's reader reports within 0.2 s that it has heard nothing meanwhile."""
TURN_BYTES = 2048
"""The most to take at once, so that a machine that never pauses doesn't delay the heartbeat."""
MOST_WAITING_BYTES = 256 * 1024
"""More than four minutes at 9600 baud, and a few seconds' work. A far end that sends faster than the bridge
can record (perhaps a network address that isn't the machine's) has to wait: it must not fill the memory."""
LOOK_FOR_ROOM_S = 0.01


class StopWanted(msgspec.Struct, frozen=True):
    """The program was asked to end, by a signal."""

    why: str


class Asked(msgspec.Struct, frozen=True):
    """A request, and the way to answer it."""

    request: Request
    reply: Reply


Event = LineEvent | Asked | StopWanted


class Inbox:
    """The events that the bridge hasn't taken yet. `put` works at any time, even in a signal handler."""

    def __init__(self, came: Callable[[], None] = lambda: None) -> None:
        """`came` is called each time the bridge comes for events, which it does at least every second."""
        self.came = came
        self._events: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self._ended = threading.Event()
        # Received and typed. Each is changed by only one thread: a line's reader, and the bridge.
        self._put_bytes = [0, 0]
        self._taken_bytes = [0, 0]

    def put(self, event: Event) -> None:
        """Add an event at the end. Only one thread may add `Received`, and only one `Typed`."""
        if isinstance(event, Received | Typed):
            self._put_bytes[isinstance(event, Typed)] += len(event.data)
        self._events.put(event)

    def get(self, timeout: float) -> Event:
        """The next event, after waiting up to `timeout` seconds. Raises queue.Empty if there is none."""
        event = self._events.get(timeout=timeout)
        if isinstance(event, Received | Typed):
            self._taken_bytes[isinstance(event, Typed)] += len(event.data)
        return event

    def taken(self) -> tuple[int, int]:
        """How many received, and how many typed, bytes have been taken so far."""
        return self._taken_bytes[0], self._taken_bytes[1]

    def empty(self) -> bool:
        """Whether there is no event to take."""
        return self._events.empty()

    def wait_for_room(self) -> None:
        """Return when at most MOST_WAITING_BYTES are waiting, or after `end`."""
        while sum(self._put_bytes) - sum(self._taken_bytes) > MOST_WAITING_BYTES:
            if self._ended.wait(LOOK_FOR_ROOM_S):
                return

    def end(self) -> None:
        """Let nobody wait for room any longer, since nothing more will be taken."""
        self._ended.set()


def wait_for_events(
    inbox: Inbox, clock: RecordingClock, due_us: int, awake: Awake
) -> tuple[list[Event], int]:
    """Wait for an event, at most until `due_us` by the recording's clock.

    Returns (events, complete_until_us): the events, and until when nothing else has arrived.
    """
    inbox.came()
    events = _next(inbox, clock.wait_s(due_us))
    if awake.look():
        events += _next(inbox, LISTEN_AWAKE_S)
    if not events and clock.now_us() - due_us > int(LATE_S * clock.rate * 1_000_000):
        events = _next(inbox, LISTEN_S)
    # Taken before emptying the queue, so that an event that arrives meanwhile neither delays a deadline nor
    # counts as handled before it.
    now_us = clock.now_us()
    room_bytes = TURN_BYTES
    while room_bytes > 0 and (more := _next(inbox, 0.0)):
        events += more
        room_bytes -= len(more[0].data) if isinstance(more[0], Received) else 1
    last = events[-1] if events and not inbox.empty() else None
    return events, min(last.at_us, now_us) if isinstance(last, Received) else now_us


def _next(inbox: Inbox, within_s: float) -> list[Event]:
    try:
        return [inbox.get(timeout=within_s)]
    except queue.Empty:
        return []
