"""What `exhibit days` prints: a line for each day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from exhibit.output.columns import in_columns
from exhibit.output.json_lines import json_line
from exhibit.records.index.rows import Day

HEADINGS: Final = (
    "date", "machine", "rounds", "done", "failed", "troubles", "errors", "garbled", "recorded", "running",
    "by hand", "notes", ""
)  # fmt: skip
EXPLANATION: Final = (
    "failed: scripts, rounds included, that failed or were stopped. errors: disc errors that the machine",
    "reported. garbled: commands that came back wrong. recorded: how long was recorded. running: how long",
    "scripts ran. by hand: steps that a person confirmed. notes: with photographs and minutes kept. Days are",
    "those of the museum's computer.",
)


def days_as_json(days: Sequence[Day]) -> Iterator[str]:
    """A JSON object for each day. Lengths are in seconds."""
    for day in days:
        yield json_line(day)


def day_table(days: Sequence[Day]) -> list[str]:
    """A line for each day, with headings and what they mean."""
    if not days:
        return ["There is no recording."]
    rows = in_columns([HEADINGS, *map(_cells, days)], left=(0, 1, len(HEADINGS) - 1))
    return [*rows, "", *EXPLANATION]


def _cells(day: Day) -> tuple[str, ...]:
    remarks = [
        *(["simulated"] if day.simulated else []),
        *(["a part can't be read"] if day.damaged else []),
        *([] if day.closed else ["not ended in good order, or still running"]),
    ]
    return (
        day.date or "unknown",
        day.machine,
        f"{day.rounds}",
        f"{day.rounds_done}",
        f"{day.scripts_failed}",
        f"{day.troubles}",
        f"{day.disc_errors}",
        f"{day.garbled}",
        hours(day.recorded_s),
        hours(day.script_s),
        f"{day.by_hand}",
        f"{day.notes + day.photographs + day.minutes_kept}",
        ", ".join(remarks),
    )


def hours(seconds: float) -> str:
    """Hours and minutes, such as 3:05 h."""
    minutes = round(seconds / 60)
    return f"{minutes // 60}:{minutes % 60:02d} h"
