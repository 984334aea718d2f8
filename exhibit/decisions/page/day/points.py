"""The points of a plot, in order from left to right: [x, y, number of the fact].

Where nobody knows how high the work was, there is a point without y, so that no line is drawn across it:
where a value came garbled, and between two rows if a whole row between them seems to be missing.
"""

from __future__ import annotations

from typing import Any, Final

Point = list[Any]
_WIDEST_STEP: Final = 1.5
"""How much further than from point to point it may be from one row to the next."""


def with_row(
    points: list[Point], xs: list[float | None], ys: list[float | None], seq: int, *, after_gap: bool = False
) -> list[Point]:
    """The points with those of one more row, which the machine printed with fact `seq`.

    If there aren't as many values as places, nobody knows which belongs where. `after_gap`: something came
    before this row that could not be read.
    """
    if len(xs) != len(ys):
        ys = [None] * len(xs)
    row: list[Point] = []
    unknown_place = False
    for x, y in zip(xs, ys, strict=True):
        if x is None:
            unknown_place = True
            continue
        if unknown_place and row:
            row.append([_between(row[-1][0], x), None, seq])
        unknown_place = False
        row.append([x, y, seq])
    if not row:
        return points
    last = max((point[0] for point in points if point[0] < row[0][0]), default=None)
    if last is not None and (after_gap or row[0][0] - last > _WIDEST_STEP * _step(row, points)):
        row.insert(0, [_between(last, row[0][0]), None, seq])
    return _merged(points, row)


def _step(row: list[Point], points: list[Point]) -> float:
    """How far it usually is from one point to the next; 0 gives no answer, so nothing is missing."""
    places = [point[0] for point in (row if len(row) > 1 else points)]
    steps = [later - earlier for earlier, later in zip(places, places[1:], strict=False) if later > earlier]
    return max(steps) if steps else float("inf")


def _between(one: float, other: float) -> float:
    return (one + other) / 2


def _merged(points: list[Point], row: list[Point]) -> list[Point]:
    """What was printed before stays, unless it could not be read and now could."""
    by_place = {point[0]: point for point in points}
    for point in row:
        had = by_place.get(point[0])
        if had is None or had[1] is None:
            by_place[point[0]] = point
    return [by_place[x] for x in sorted(by_place)]
