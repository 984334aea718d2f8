"""How often somebody was called by a trouble, against the published figures for operators.

    alarm_load([60, 75, 4000], span_s=28_800).most_in_ten_min      # 2

The targets are those of ANSI/ISA-18.2-2016 (IEC 62682), clause 16, "recommended alarm performance metrics",
known here at second hand: about 6 an hour is very likely acceptable, about 12 the most that is manageable; at
most 10 in any ten minutes; above 10 in ten minutes a flood begins, below 5 it ends. They are for 30 days
or more, and the standard itself says that the rate alone is no indicator of acceptability.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from typing import Final, Literal

import msgspec

PERIOD_S: Final = 600.0
ACCEPTABLE_AN_HOUR: Final = 6.0
MANAGEABLE_AN_HOUR: Final = 12.0
MOST_IN_A_PERIOD: Final = 10
FLOOD_ENDS_BELOW: Final = 5
Load = Literal["acceptable", "manageable", "too much"]


class AlarmLoad(msgspec.Struct, frozen=True, kw_only=True):
    """The load of a span. A share is of its periods of ten minutes, and 0 if it has none."""

    number: int
    an_hour: float
    most_in_ten_min: int
    """The most in any ten minutes, wherever they begin."""
    share_over: float
    """The periods with more than ten."""
    share_in_flood: float
    load: Load
    """By the rate, and "too much" also if there were more than ten in any ten minutes."""


def alarm_load(times_s: Sequence[float], span_s: float) -> AlarmLoad:
    """The load of these alarms, at seconds from the beginning of a span of `span_s`.

    Raises ValueError if a time lies outside the span, or the span has no length.
    """
    if span_s <= 0 or any(not 0 <= time_s <= span_s for time_s in times_s):
        raise ValueError("an alarm outside the span, or a span without length")
    in_order = sorted(times_s)
    most = max(
        (bisect_left(in_order, time_s + PERIOD_S) - bisect_left(in_order, time_s) for time_s in in_order),
        default=0,
    )
    counts = [0] * max(1, -int(-span_s // PERIOD_S))
    for time_s in in_order:
        counts[min(int(time_s // PERIOD_S), len(counts) - 1)] += 1
    an_hour = len(in_order) / span_s * 3600
    return AlarmLoad(
        number=len(in_order),
        an_hour=an_hour,
        most_in_ten_min=most,
        share_over=sum(count > MOST_IN_A_PERIOD for count in counts) / len(counts),
        share_in_flood=_in_flood(counts) / len(counts),
        load=_load(an_hour, most),
    )


def _in_flood(counts: Sequence[int]) -> int:
    periods, floods = 0, False
    for count in counts:
        floods = count > MOST_IN_A_PERIOD or (floods and count >= FLOOD_ENDS_BELOW)
        periods += floods
    return periods


def _load(an_hour: float, most: int) -> Load:
    if most > MOST_IN_A_PERIOD or an_hour > MANAGEABLE_AN_HOUR:
        return "too much"
    return "acceptable" if an_hour <= ACCEPTABLE_AN_HOUR else "manageable"
