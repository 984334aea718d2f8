"""How long exercisers ran in the last hour, and when that will be little enough again."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import msgspec

from exhibit.facts.units import H_US


class Span(msgspec.Struct):
    """A time during which a constant number of exercisers ran."""

    from_us: int
    to_us: int
    exercisers: int


class LastHour:
    """The spans of the last hour. They are on the recording's clock, but the hour is in real time.

    `real_us` converts microseconds of the recording's clock to real ones, `clock_us` the other way.
    """

    def __init__(
        self, spans: list[Span], real_us: Callable[[int], int], clock_us: Callable[[int], int]
    ) -> None:
        self._spans = spans
        self._real_us = real_us
        self._clock_us = clock_us

    def went_on(self, from_us: int, to_us: int, exercisers: int) -> None:
        """This many exercisers ran from `from_us`, where the last span ended or later, to `to_us`."""
        last = self._spans[-1] if self._spans else None
        if last is not None and (last.to_us, last.exercisers) == (from_us, exercisers):
            last.to_us = to_us
            return
        self._spans = [*self.since(from_us), Span(from_us, to_us, exercisers)]

    def since(self, at_us: int) -> list[Span]:
        """The spans that reach into the hour before `at_us`."""
        return [span for span in self._spans if span.to_us > at_us - self._clock_us(H_US)]

    def exercised_us(self, at_us: int) -> int:
        """Exerciser time in the hour before `at_us`, in real microseconds."""
        since_us = at_us - self._clock_us(H_US)
        return sum(
            self._real_us(span.to_us - max(span.from_us, since_us)) * span.exercisers
            for span in self.since(at_us)
        )

    def is_below_us(self, most_us: int, at_us: int, ends_us: Iterable[int]) -> int:
        """When the hour's exerciser time is at most `most_us` again, if the running ones end at `ends_us`."""
        ahead = [Span(at_us, end_us, 1) for end_us in ends_us]
        spans = sorted([*self._spans, *ahead], key=lambda span: span.to_us)
        over_us = sum(self._real_us(s.to_us - s.from_us) * s.exercisers for s in spans) - most_us
        for span in spans:
            if over_us <= 0:
                break
            whole_us = self._real_us(span.to_us - span.from_us) * span.exercisers
            if over_us <= whole_us:
                within_us = -(-over_us // span.exercisers)
                return max(at_us, span.from_us + self._clock_us(within_us + H_US))
            over_us -= whole_us
        return at_us
