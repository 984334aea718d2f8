"""What the index holds, row by row. Each class is a table (schema.py in this package), each field a column.

`recording` is a file's name within its folder, and `seq` the number of the fact with which the row began.
`at` is that moment by the museum's computer (RFC 3339, with milliseconds and offset; empty if unknown), and
`at_us` the same on the recording's clock. Lengths named `_us` are on the recording's clock, which runs `rate`
times as fast as real time; those named `_s` are real seconds. An empty text means "not known" or "none".

`on_s` says for how long the machine had been on: since a part was reported started while no other part was
on. None if no recording tells.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class RecordingRow:
    """A recording: a file."""

    recording: str
    size_bytes: int
    machine: str
    title: str
    """What the machine is called, in the recording's first language."""
    simulated: bool
    practice: bool
    watched: bool
    """Whether the machine was only watched, and nothing typed."""
    rate: float
    opened_at: str
    ended_at: str
    """The moment of the last fact that can be read."""
    length_us: int
    facts: int
    """The number of its last fact that can be read."""
    closed: bool
    """Whether it was ended in good order."""
    why_closed: str
    damaged: int
    """In how many places, without a torn last line."""
    torn: bool
    previous: str
    """The recording before this one, by the file's name then."""
    software: str
    line: str
    fault: str
    """Why nothing could be read from it, in a sentence; everything else is empty then."""
    copy_of: str = ""
    """The recording of which this is a copy; copies are left out of all the answers."""


@dataclass(frozen=True, kw_only=True)
class Placed:
    """What happened at one moment of a recording."""

    recording: str
    seq: int
    at: str
    at_us: int


@dataclass(frozen=True, kw_only=True)
class ScriptRow(Placed):
    """A script that ran."""

    script: str
    title: str
    by: str
    round: int
    """0 outside the rounds."""
    took_us: int
    ended_at: str
    ended_seq: int
    """0 if its end is not recorded."""
    outcome: str
    """"done", "failed" or "stopped"; empty if its end is not recorded."""
    tidy: bool
    why: str


@dataclass(frozen=True, kw_only=True)
class StepRow(Placed):
    """A step that ran; or the start of a part, from a person's word to the machine's report: "PART ready"."""

    script: str
    step: str
    round: int
    script_seq: int
    """The number of the fact that started its script; 0 if that is not recorded."""
    tidying: bool
    took_us: int
    ended_seq: int
    """0 if its end is not recorded."""
    outcome: str
    """"done", "failed" or "left out"; empty if its end is not recorded."""
    overdue: int
    """How often its time was up."""
    typed_again: bool
    """Whether its command was typed again because it was late."""
    why: str
    on_s: float | None
    overdue_seq: int = 0
    """The number of the fact that first said that its time was up; 0 if none did."""
    overdue_at: str = ""
    overdue_us: int = 0
    """The same moment on the recording's clock."""


@dataclass(frozen=True, kw_only=True)
class TroubleRow(Placed):
    """A trouble, and what became of it."""

    trouble: str
    """Its name in the machine's folder."""
    line: str
    words: str
    """In the recording's first language."""
    repeats: int
    """The number of the fact that raised the same one just before; 0 if none did."""
    times: int
    call: str
    safe_to_leave: str
    script: str
    step: str
    round: int
    parts: str
    """The parts that exercisers kept busy at that moment, in order, with a blank between."""
    seen_at: str
    set_aside_at: str
    over_at: str
    over_how: str
    on_s: float | None


@dataclass(frozen=True, kw_only=True)
class CarriedTroubleRow(Placed):
    """A trouble of an earlier recording that wasn't over when this one began, and what became of it here.

    `Index.rows` adds that to the rows of the trouble itself.
    """

    trouble: str
    since: str
    """When it was first raised (RFC 3339)."""
    seen_at: str
    set_aside_at: str
    over_at: str
    over_how: str


@dataclass(frozen=True, kw_only=True)
class ReadingRow(Placed):
    """A value that was read off a status display, or measured: once, or several times in a row."""

    display: str
    name: str
    value: float | None
    """None if it isn't a number."""
    text: str
    """The value as text; a table as JSON."""
    times: int
    """How often the same value was read in a row."""
    until_at: str
    until_us: int
    """When it was last read so."""
    on_s: float | None


@dataclass(frozen=True, kw_only=True)
class ErrorsRow(Placed):
    """Disc errors that the machine reported."""

    by: str
    """The reading (DISPLAY.READING), or the name of the line of the error log."""
    count: int
    """How many new ones; 0 if the machine began its count again."""
    stands_at: float
    entry: str
    parts: str
    """The parts that exercisers kept busy at that moment."""
    on_s: float | None


@dataclass(frozen=True, kw_only=True)
class TransfersRow:
    """How many disc transfers a reading counted on a local day, after its first value in the recording."""

    recording: str
    date: str
    reading: str
    part: str
    transfers: int


@dataclass(frozen=True, kw_only=True)
class JobRow(Placed):
    """A span of a recording in which an exerciser ran."""

    exerciser: str
    job: str
    part: str
    ended_at: str
    ran_s: float
    ended: str
    """"machine": it said so; "time": its time was up; empty: the recording ended first."""
    carried: bool
    """Whether it ran already when the recording was opened."""
    on_s: float | None


@dataclass(frozen=True, kw_only=True)
class PartRow(Placed):
    """A span of a recording in which a part was on, or turned."""

    part: str
    by: str
    ended_at: str
    ran_s: float
    stopped: bool
    """Whether its stop is recorded; otherwise the recording ended first."""
    carried: bool
    """Whether it was on already when the recording was opened: then this is no start."""


@dataclass(frozen=True, kw_only=True)
class HandsOnRow(Placed):
    """A hands-on step that a person was asked to do; a row for each answer."""

    script: str
    step: str
    words: str
    answer: str
    """"done", "refused", or why it was put off; empty if no answer is recorded."""
    by: str
    took_us: int
    """From the question, or from the answer before, to this answer."""


@dataclass(frozen=True, kw_only=True)
class PackRow(Placed):
    """A pack that was mounted or removed."""

    label: str
    drive: str
    mounted: bool
    """False if it was removed."""
    may_be_written: bool
    original: bool
    by: str


@dataclass(frozen=True, kw_only=True)
class NoteRow(Placed):
    """A note, a photograph, or minutes kept. Its words stand in a file of their own, never in the index."""

    kind: str
    by: str
    digest: str


@dataclass(frozen=True, kw_only=True)
class GapRow(Placed):
    """A time of which something isn't known, or in which nothing came."""

    kind: str
    """"damaged", "torn", "line lost", "characters missed", "machine silent", "clock stepped"."""
    lasted_us: int
    """0 if it isn't known."""
    lost_facts: int
    offset_bytes: int
    """Of damage: where it begins in the file."""
    length_bytes: int
    why: str


@dataclass(frozen=True, kw_only=True)
class LineErrorsRow(Placed):
    """Characters that came damaged over the line."""

    parity: int
    framing: int
    overrun: int
    breaks: int


@dataclass(frozen=True, kw_only=True)
class GarbledRow(Placed):
    """A command that came back wrong and wasn't sent."""

    command: str
    came_back: str
    attempt: int
    script: str
    step: str
    expected: str = ""
    """The echo of what had been typed of it by then."""


@dataclass(frozen=True, kw_only=True)
class DayRow:
    """What one recording says about one local day."""

    recording: str
    date: str
    recorded_s: float
    rounds: int
    rounds_done: int
    scripts: int
    scripts_failed: int
    """Those that failed or were stopped, rounds included."""
    troubles: int
    disc_errors: int
    """Readings and error logs report the same ones, so this is the higher count."""
    garbled: int
    """How often a command came back wrong."""
    by_hand: int
    notes: int
    photographs: int
    minutes_kept: int
    script_s: float
    part_s: str
    """By part: how long it was on, in seconds, as JSON. A run counts on the day on which it ended."""
    damaged: bool


@dataclass(frozen=True, kw_only=True)
class Day:
    """What the recordings say about one local day of one machine."""

    machine: str
    simulated: bool
    date: str
    files: tuple[str, ...]
    recorded_s: float
    rounds: int
    rounds_done: int
    scripts: int
    scripts_failed: int
    troubles: int
    disc_errors: int
    garbled: int
    by_hand: int
    notes: int
    photographs: int
    minutes_kept: int
    script_s: float
    part_s: dict[str, float]
    damaged: bool
    closed: bool
    """Whether all its recordings were ended in good order."""


@dataclass(frozen=True, kw_only=True)
class SaidRow(Placed):
    """A line that can be searched: of the console, or what a fact says."""

    kind: str
    """"printed", "screen" or "typed" for the console; otherwise the kind of fact, such as "caption_shown"."""
    step: str
    """The step that ran then, as SCRIPT.STEP."""
    by: str
    text: str


TABLES: tuple[type[Placed | TransfersRow | DayRow], ...] = (
    ScriptRow,
    StepRow,
    TroubleRow,
    CarriedTroubleRow,
    ReadingRow,
    ErrorsRow,
    TransfersRow,
    JobRow,
    PartRow,
    HandsOnRow,
    PackRow,
    NoteRow,
    GapRow,
    LineErrorsRow,
    GarbledRow,
    DayRow,
)
"""The rows that stand in a table as they are."""
