"""What comes to the bridge from other threads, one thing after the other, and how long it is waited for."""

from __future__ import annotations

import queue
import threading

import msgspec

from exhibit.bridge.request_door import Reply, Request
from exhibit.line.events import LineEvent, Received
from exhibit.streams.pacing import RecordingClock

LATE_S = 0.05
LISTEN_S = 0.1
"""Real seconds. Woken so much too late, this computer was busy: the machine may have printed what
nobody has read yet. So the line is listened to for so long before any deadline passes."""
TURN_BYTES = 2048
"""A machine that never pauses must not keep the heartbeat waiting."""
MOST_WAITING_BYTES = 256 * 1024
"""More than four minutes at 9600 baud, and a few seconds' work. A far end that sends faster than it can be
recorded, as a network address that isn't the machine's may, has to wait: it would fill the memory."""
LOOK_FOR_ROOM_S = 0.01


class StopWanted(msgspec.Struct, frozen=True):
    """The program is asked to end (a signal)."""

    why: str


class Asked(msgspec.Struct, frozen=True):
    """A request, and the way to answer it."""

    request: Request
    reply: Reply


Event = LineEvent | Asked | StopWanted


class Inbox:
    """What has come and wasn't taken yet. Anything may be put in at any time, in a signal's handler too."""

    def __init__(self) -> None:
        self._events: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self._over = threading.Event()
        # Each is counted by one thread alone: the line's reader, and the bridge.
        self._came_bytes = 0
        self._taken_bytes = 0

    def put(self, event: Event) -> None:
        """Put it in, behind all that came before. Received bytes are put in by one thread alone."""
        if isinstance(event, Received):
            self._came_bytes += len(event.data)
        self._events.put(event)

    def get(self, timeout: float) -> Event:
        """The next one, waited for. Raises queue.Empty."""
        event = self._events.get(timeout=timeout)
        if isinstance(event, Received):
            self._taken_bytes += len(event.data)
        return event

    def empty(self) -> bool:
        """Whether nothing has come that wasn't taken."""
        return self._events.empty()

    def wait_for_room(self) -> None:
        """Return when no more than MOST_WAITING_BYTES of what was received wait, or when it is over."""
        while self._came_bytes - self._taken_bytes > MOST_WAITING_BYTES:
            if self._over.wait(LOOK_FOR_ROOM_S):
                return

    def end(self) -> None:
        """Nothing more is taken: nobody is to wait for room."""
        self._over.set()


class BridgeQueue:
    """The events that have come. Any thread may put one in; the bridge alone takes them out."""

    def __init__(self, events: Inbox, clock: RecordingClock) -> None:
        self._events = events
        self._clock = clock

    def put(self, event: Event) -> None:
        """Take an event from any thread."""
        self._events.put(event)

    @property
    def empty(self) -> bool:
        """Whether nothing has come that wasn't taken."""
        return self._events.empty()

    def until(self, due_us: int) -> tuple[list[Event], int]:
        """What has come, waiting until `due_us` if nothing has, and up to when that is all that came."""
        events = self._next(self._clock.wait_s(due_us))
        if not events and self._clock.now_us() - due_us > int(LATE_S * self._clock.rate * 1_000_000):
            events = self._next(LISTEN_S)
        # Taken before the queue is looked through: what comes later can't hold off a deadline, nor be
        # overtaken by one.
        now_us = self._clock.now_us()
        room_bytes = TURN_BYTES
        while room_bytes > 0 and (more := self._next(0.0)):
            events += more
            room_bytes -= len(more[0].data) if isinstance(more[0], Received) else 1
        last = events[-1] if events and not self._events.empty() else None
        return events, min(last.at_us, now_us) if isinstance(last, Received) else now_us

    def _next(self, within_s: float) -> list[Event]:
        try:
            return [self._events.get(timeout=within_s)]
        except queue.Empty:
            return []
