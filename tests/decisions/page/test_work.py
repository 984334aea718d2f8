"""How busy the machine is: what was printed is counted in pieces, shares and transfers over ten minutes."""

from __future__ import annotations

import pytest

from exhibit.decisions.page.work import Printed, pieces_with, trace_with, transfers_now

S_US = 1_000_000


def test_what_is_printed_is_counted_in_pieces_of_ten_seconds() -> None:
    printed = Printed()
    assert printed.take(1 * S_US, 30) == []
    assert printed.take(9_999_999, 12) == []
    assert printed.take(10 * S_US, 5) == [[0, 42]]
    assert printed.take(10 * S_US, 0) == []
    assert printed.take(35 * S_US, 0) == [[10, 5]]


def test_a_piece_in_which_nothing_came_is_none() -> None:
    printed = Printed()
    printed.take(0, 1)
    assert printed.take(100 * S_US, 0) == [[0, 1]]
    assert printed.take(200 * S_US, 0) == []


def test_counting_goes_on_from_a_snapshot() -> None:
    printed, later = Printed(), Printed()
    printed.take(12 * S_US, 7)
    later.restore(printed.snapshot())
    assert later.take(20 * S_US, 0) == [[10, 7]]


@pytest.mark.parametrize(("last_s", "kept"), [(590, 2), (610, 1)])
def test_the_last_ten_minutes_are_kept(last_s: int, kept: int) -> None:
    assert len(pieces_with([[0, 9]], [[last_s, 4]])) == kept
    assert len(trace_with([[0.0, 50]], float(last_s), 60)) == kept


def test_a_trace_holds_151_points_at_most() -> None:
    points: list[list[float]] = []
    for second in range(500):
        points = trace_with(points, float(second), 1)
    assert len(points) == 151
    assert points[-1] == [499.0, 1]


def test_transfers_a_minute_are_those_since_the_reading_before() -> None:
    """100 in 10 s are 600 a minute; a count that went back says nothing."""
    first = transfers_now(None, 50, 0.0, "a")
    assert first["per_min"] is None
    assert transfers_now(first, 150, 10.0, "b")["per_min"] == 600
    assert transfers_now(first, 40, 10.0, "b")["per_min"] is None
    assert transfers_now(first, 60, 0.0, "b")["per_min"] is None
