"""What really happened inside the simulated machine, for tests to check against.

The console shows what a real machine would show; these records say what this one did. They can be kept
in a list, passed on to a sink as they are made (such as a file of JSON lines), or both.
"""

from collections.abc import Callable
from typing import Literal

import msgspec


class Record(msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", tag=True):
    """Something that happened at `at_us`, in microseconds of the machine's virtual time."""

    at_us: int


class ByteArrived(Record, frozen=True, kw_only=True):
    """A character reached the machine's end of the line; `byte` is what the machine saw (0..127).

    `fate`: kept (taken, or waiting to be taken), lost (no room), bad parity, flow (XON or XOFF), off
    (the machine was off).
    """

    byte: int
    fate: Literal["kept", "lost", "bad parity", "flow", "off"]


class BytesSent(Record, frozen=True, kw_only=True):
    """Characters that the machine sent without a gap, before any fault of the line changed them.

    `first_us` and `at_us`: when the first and the last had been sent. `text`: one character for each
    byte (0..127).
    """

    first_us: int
    text: str


class CommandTaken(Record, frozen=True, kw_only=True):
    """The machine took a whole line at `prompt` and acted on it. Of a secret only the length is recorded."""

    prompt: str
    text: str
    secret_length: int | None = None


class PlaceEntered(Record, frozen=True, kw_only=True):
    """The machine entered a state: off, lasting store, starter, tidebook, one operator, open or stopped."""

    place: str


class DeskTaken(Record, frozen=True, kw_only=True):
    """Somebody signed on."""

    desk: str


class DeskLeft(Record, frozen=True, kw_only=True):
    """Somebody signed off."""

    desk: str


class JobBegun(Record, frozen=True, kw_only=True):
    """A job was begun at `desk`."""

    number: int
    name: str
    desk: str
    text: str


class JobOver(Record, frozen=True, kw_only=True):
    """A job is over: it ended by itself, was stopped `by` a desk, or was cut off when the machine stopped."""

    number: int
    name: str
    desk: str
    how: Literal["ended", "stopped", "cut off"]
    by: str
    processor_us: int
    transfers: int
    errors: int
    passes: int


class JobShown(msgspec.Struct, frozen=True, kw_only=True):
    """One job as the board showed it."""

    number: int
    name: str
    desk: str
    share: int
    seconds: str
    transfers: int
    errors: int
    state: str


class BoardShown(Record, frozen=True, kw_only=True):
    """A whole frame of the board had been sent; these are the values that it showed."""

    processor_load: int
    jobs_going: int
    transfers: dict[str, int]
    disc_errors: int
    up_s: int
    jobs: tuple[JobShown, ...]


class DiscFailed(Record, frozen=True, kw_only=True):
    """A transfer failed at least once; `recovered`: it worked in the end."""

    drive: str
    track: int
    sector: int
    writing: bool
    failures: int
    recovered: bool


class DriveChanged(Record, frozen=True, kw_only=True):
    """A drive entered a state: standing, starting, ready or stopping."""

    drive: str
    state: str


class TidesWorked(Record, frozen=True, kw_only=True):
    """The tides that job `number` printed: hourly heights, and turns of the tide as (minute, mm, high)."""

    number: int
    day: str
    heights_mm: tuple[int, ...]
    turns: tuple[tuple[int, int, bool], ...]


class NoticeGiven(Record, frozen=True, kw_only=True):
    """A notice was given: on the console, on the board, or to be printed once a word has been typed."""

    text: str


class ActDone(Record, frozen=True, kw_only=True):
    """Somebody did something at the front of the machine, or caused a fault."""

    act: str
    answer: str


class PowerChanged(Record, frozen=True, kw_only=True):
    """The processor got power or lost it."""

    on: bool


AnyRecord = (
    ByteArrived
    | BytesSent
    | CommandTaken
    | PlaceEntered
    | DeskTaken
    | DeskLeft
    | JobBegun
    | JobOver
    | BoardShown
    | DiscFailed
    | DriveChanged
    | TidesWorked
    | NoticeGiven
    | ActDone
    | PowerChanged
)

_encoder = msgspec.json.Encoder()
_decoder = msgspec.json.Decoder(AnyRecord)


def to_line(record: Record) -> bytes:
    """The record as one line of JSON, newline included."""
    return _encoder.encode(record) + b"\n"


def from_line(line: bytes) -> AnyRecord:
    """The record that `to_line` encoded. Raises msgspec.DecodeError for anything else."""
    record: AnyRecord = _decoder.decode(line)
    return record


class TruthLog:
    """Keeps records in `records`, unless `keep` is false, and passes each to `sink` if there is one."""

    def __init__(self, *, keep: bool = True, sink: Callable[[Record], None] | None = None) -> None:
        self.records: list[Record] = []
        self._keep = keep
        self._sink = sink
        self._run: list[str] = []
        self._run_first_us = 0
        self._run_last_us = 0

    def add(self, record: Record) -> None:
        """Add a record, after one for the characters sent until now."""
        self.close_run()
        self._put(record)

    def sent(self, byte: int, at_us: int, gap_us: int) -> None:
        """Note a character that was sent; a gap of `gap_us` or more before it begins a new record."""
        if self._run and (at_us - self._run_last_us >= gap_us or len(self._run) >= 256):
            self.close_run()
        if not self._run:
            self._run_first_us = at_us
        self._run.append(chr(byte))
        self._run_last_us = at_us

    def close_run(self) -> None:
        """Add a record for the characters sent so far, if there are any."""
        if self._run:
            text, self._run = "".join(self._run), []
            self._put(BytesSent(at_us=self._run_last_us, first_us=self._run_first_us, text=text))

    def _put(self, record: Record) -> None:
        if self._keep:
            self.records.append(record)
        if self._sink is not None:
            self._sink(record)
