"""What is to happen when, in virtual time: the only clock that the simulated machine has."""

import heapq
from collections.abc import Callable


class Booking:
    """One thing that is to happen at `at_us`; it can be called off."""

    __slots__ = ("act", "at_us", "off")

    def __init__(self, at_us: int, act: Callable[[], None]) -> None:
        self.at_us = at_us
        self.act = act
        self.off = False

    def call_off(self) -> None:
        """Nothing will happen for this booking. Calling off twice is harmless."""
        self.off = True


class Agenda:
    """Bookings in order of time; at the same microsecond, in the order in which they were made."""

    def __init__(self) -> None:
        self.now_us = 0
        self._heap: list[tuple[int, int, Booking]] = []
        self._made = 0

    def at(self, at_us: int, act: Callable[[], None]) -> Booking:
        """Book `act` for `at_us`; a time that has passed already means as soon as possible."""
        booking = Booking(max(at_us, self.now_us), act)
        self._made += 1
        heapq.heappush(self._heap, (booking.at_us, self._made, booking))
        return booking

    def after(self, delay_us: int, act: Callable[[], None]) -> Booking:
        """Book `act` for `delay_us` from now."""
        return self.at(self.now_us + delay_us, act)

    def run_until(self, to_us: int) -> None:
        """Let everything happen that is booked up to and including `to_us`; then it is `to_us`."""
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
