"""The lines that can be searched: those of the console, and what facts say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from exhibit.facts import kinds
from exhibit.facts.fact import name_on_disc
from exhibit.records.index.fact_words import MOST_CHARACTERS, fact_words
from exhibit.records.index.moments import Moments
from exhibit.records.transcript import Row, Transcript
from exhibit.streams.recording import Damaged

_OF_THE_CONSOLE: Final = ("printed", "screen", "typed")


class Said(NamedTuple):
    """The values of a line in the table `said`, without its recording."""

    seq: int
    at_us: int
    local_ms: int | None
    offset_min: int
    kind: str
    step: str
    who: str
    text: str


class SaidRows:
    """Follows one recording; each call gives the lines that are complete now."""

    def __init__(self, moments: Moments) -> None:
        self._now = moments
        self._transcript = Transcript()
        self._step = ""
        self._names: dict[type, str] = {}

    def take(self, entry: kinds.Entry) -> Iterator[Said]:
        """Takes the next entry, after Moments."""
        for row in self._transcript.take(entry):
            yield from self._row(row)
        fact = entry.fact
        text = fact_words(fact)
        if text:
            kind = fact.name if isinstance(fact, kinds.UnknownFact) else self._name(type(fact))
            yield self._said(entry.seq, entry.at_us, kind, "", text)

    def lost(self, damaged: Damaged) -> Iterator[Said]:
        """A part of the recording can't be read."""
        for row in self._transcript.take(damaged):
            yield from self._row(row)

    def end(self) -> Iterator[Said]:
        """The recording is over."""
        for row in self._transcript.end():
            yield from self._row(row)

    def _row(self, row: Row) -> Iterator[Said]:
        if row.kind in _OF_THE_CONSOLE and row.text:
            yield self._said(row.seq, row.at_us, row.kind, row.by, row.text.strip(" ")[:MOST_CHARACTERS])
        elif row.kind == "damaged":
            yield self._said(row.seq, row.at_us, row.kind, "", row.text)

    def _said(self, seq: int, at_us: int, kind: str, by: str, text: str) -> Said:
        now = self._now
        times = now.times
        return Said(seq, at_us, times.local_ms(at_us), times.offset_min, kind, now.running_step, by, text)

    def _name(self, kind: type[kinds.AnyFact]) -> str:
        return self._names.setdefault(kind, name_on_disc(kind.__name__))
