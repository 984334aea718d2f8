"""What happens when, in virtual time: the simulated machine's only source of time."""

import heapq
from collections.abc import Callable


class Booking:
    """Something that will happen at `at_us`, unless it is called off."""

    __slots__ = ("act", "at_us", "off")

    def __init__(self, at_us: int, act: Callable[[], None]) -> None:
        self.at_us = at_us
        self.act = act
        self.off = False

    def call_off(self) -> None:
        """Make sure that it doesn't happen. Calling off twice is harmless."""
        self.off = True


class Agenda:
    """Bookings in order of time; those for the same microsecond in the order in which they were made."""

    def __init__(self) -> None:
        self.now_us = 0
        self._heap: list[tuple[int, int, Booking]] = []
        self._made = 0

    def at(self, at_us: int, act: Callable[[], None]) -> Booking:
        """Book `act` for `at_us`; a time in the past means as soon as possible."""
        booking = Booking(max(at_us, self.now_us), act)
        self._made += 1
        heapq.heappush(self._heap, (booking.at_us, self._made, booking))
        return booking

    def after(self, delay_us: int, act: Callable[[], None]) -> Booking:
        """Book `act` for `delay_us` from now."""
        return self.at(self.now_us + delay_us, act)

    def run_until(self, to_us: int) -> None:
        """Carry out everything booked up to and including `to_us`, and end with the time at `to_us`."""
        while self._heap and self._heap[0][0] <= to_us:
            at_us, _, booking = heapq.heappop(self._heap)
            if booking.off:
                continue
            self.now_us = at_us
            booking.act()
        self.now_us = max(self.now_us, to_us)

    def next_us(self) -> int | None:
        """When the next thing happens, or None when nothing is booked."""
        while self._heap and self._heap[0][2].off:
            heapq.heappop(self._heap)
        return self._heap[0][0] if self._heap else None
