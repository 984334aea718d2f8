"""What `exhibit days` prints: a line for each day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from exhibit.output.columns import in_columns
from exhibit.output.json_lines import json_line
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import Day, PartRow, ScriptRow
from exhibit.records.went_wrong import went_wrong

HEADINGS: Final = (
    "date", "machine", "rounds", "done", "failed", "troubles", "errors", "garbled", "wrong", "recorded",
    "running", "by hand", "notes", ""
)  # fmt: skip
EXPLANATION: Final = (
    "failed: scripts, rounds included, that failed or were stopped. errors: disc errors that the machine",
    "reported. garbled: commands that came back wrong. recorded: how long was recorded. running: how long",
    "scripts ran. by hand: steps that a person confirmed. notes: with photographs and minutes kept. Days are",
    "those of the museum's computer. troubles: those that the machine's folder names. wrong: all that went",
    "wrong, which are troubles, late and failed steps, failed scripts, disc errors each time that they were",
    "reported, garbled commands, silences, lost lines; `exhibit incidents` gathers these with their like,",
    "and leaves out steps that failed with their script.",
)


def days_as_json(days: Sequence[Day]) -> Iterator[str]:
    """A JSON object for each day. Lengths are in seconds."""
    for day in days:
        yield json_line(day)


class OfDay(NamedTuple):
    """What else the index says of a day."""

    wrong: int = 0
    """How much went wrong, of every kind."""
    ran: tuple[str, ...] = ()
    """The scripts that ran."""
    left_on: tuple[str, ...] = ()
    """The parts whose last start of that day has no recorded stop."""


Whose = tuple[str, bool, str]
"""A machine, whether it was simulated, and a local date."""


def days_more(index: Index, machine: str | None = None, *, practice: bool = False) -> dict[Whose, OfDay]:
    """What else an index says of its days."""
    of = {one.recording: (one.machine, one.simulated) for one in index.recordings(machine)}
    wrong: dict[Whose, int] = {}
    for one in went_wrong(index, machine, practice=practice):
        wrong[*of[one.recording], one.date] = wrong.get((*of[one.recording], one.date), 0) + 1
    ran: dict[Whose, dict[str, None]] = {}
    for script in index.rows(ScriptRow, machine=machine, practice=practice):
        ran.setdefault((*of[script.recording], script.at[:10]), {})[script.script] = None
    stopped: dict[Whose, dict[str, bool]] = {}
    for part in sorted(index.rows(PartRow, machine=machine, practice=practice), key=lambda row: row.at):
        stopped.setdefault((*of[part.recording], part.at[:10]), {})[part.part] = part.stopped
    return {
        key: OfDay(
            wrong.get(key, 0),
            tuple(ran.get(key, ())),
            tuple(name for name, is_off in stopped.get(key, {}).items() if not is_off),
        )
        for key in {*wrong, *ran, *stopped}
    }


def day_table(days: Sequence[Day], more: Mapping[Whose, OfDay] | None = None) -> list[str]:
    """A line for each day, with headings and what they mean; `more` is what `days_more` gave."""
    if not days:
        return ["There is no recording."]
    known = more or {}
    cells = [_cells(day, known.get((day.machine, day.simulated, day.date), OfDay())) for day in days]
    rows = in_columns([HEADINGS, *cells], left=(0, 1, len(HEADINGS) - 1))
    return [*rows, "", *EXPLANATION]


def _cells(day: Day, more: OfDay) -> tuple[str, ...]:
    remarks = [
        *(["simulated"] if day.simulated else []),
        *(["a part can't be read"] if day.damaged else []),
        *([] if day.closed else ["not ended in good order, or still running"]),
        *([] if day.rounds or not more.ran else [f"ran: {', '.join(more.ran)}"]),
        *([f"not seen to be stopped: {', '.join(more.left_on)}"] if more.left_on else []),
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
        f"{more.wrong}",
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
