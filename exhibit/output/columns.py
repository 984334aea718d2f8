"""Lays out a plain table for a terminal."""

from __future__ import annotations

from collections.abc import Collection, Sequence


def in_columns(lines: Sequence[Sequence[str]], left: Collection[int]) -> list[str]:
    """The lines with their cells under one another; the columns in `left` begin at the left."""
    widths = [max(len(line[column]) for line in lines) for column in range(len(lines[0]))]
    return [
        "  ".join(
            cell.ljust(width) if column in left else cell.rjust(width)
            for column, (cell, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    ]
