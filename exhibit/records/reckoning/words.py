"""Numbers as the sums print them."""

from __future__ import annotations

import math
from collections.abc import Sequence


def chance_words(chance: float) -> str:
    """How often it happens by chance: "1 in 40", "less than 1 in 10,000", "3 in 4"."""
    if chance >= 0.995:
        return "nearly always"
    if chance >= 0.3:
        return f"{chance:.0%} of the time"
    if chance < 1e-4:
        return "less than once in 10,000 times"
    return f"once in {round(1 / chance):,} times"


def number(value: float) -> str:
    """To three figures; "no limit" if infinite."""
    if math.isinf(value):
        return "no limit"
    if value == int(value) or abs(value) >= 1000:
        return f"{value:,.0f}"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:.{places}f}"


def range_words(lower: float, upper: float) -> str:
    """Limits: "0.12 to 3.4", "at least 12", "at most 3.4"."""
    if math.isinf(upper):
        return f"at least {number(lower)}"
    return f"{number(lower)} to {number(upper)}" if lower > 0 else f"at most {number(upper)}"


def seconds(value_s: float) -> str:
    """A time to three figures, with its unit."""
    if value_s < 1:
        return f"{value_s * 1000:.0f} ms"
    if value_s < 100:
        return f"{number(value_s)} s"
    return f"{value_s / 60:.1f} min"


def day_and_time(at: str) -> str:
    """A moment (RFC 3339) as people write it: 2026-11-25 14:32:05."""
    return at[:19].replace("T", " ") if at else "an unknown time"


def places_words(places: Sequence[str], most: int = 3) -> str:
    """The first few of several."""
    shown = ", ".join(places[:most])
    return shown if len(places) <= most else f"{shown} and {len(places) - most} more"
