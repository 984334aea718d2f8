"""An excerpt as a table (CSV, RFC 4180), as captions (WebVTT), and as the text of the console."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import msgspec

from exhibit.records.excerpt.span import Span
from exhibit.records.transcript import Transcript
from exhibit.streams.recording import read
from exhibit.sums.webvtt import cues_of, webvtt_text

HEADS: Final = ("at", "after_s", "fact_number", "fact", "kind", "said")
_FORMULAS: Final = ("=", "+", "-", "@", "\t", "\r")


def as_csv(span: Span) -> str:
    """A row for each moment. A cell that a spreadsheet would take for a formula begins with an apostrophe."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(HEADS)
    for one in span.moments:
        cells = one.at, f"{one.ms / 1000:.3f}", f"{one.seq}", one.fact, one.kind, one.said
        table.writerow(f"'{cell}" if cell.startswith(_FORMULAS) else cell for cell in cells)
    return out.getvalue()


def as_webvtt(span: Span, from_us: int) -> str:
    """The captions that were shown in the span, with times from its beginning by the recording's clock."""
    since = (msgspec.structs.replace(one, at_us=one.at_us - from_us) for one in span.entries)
    title = span.opened.title.get(span.tag) or span.opened.machine
    notes = [
        f"Captions of {span.file} from {span.from_at} to {span.until_at}; the times below count from then.",
        *(["The machine was simulated."] if span.opened.machine_is == "simulated" else []),
    ]
    return webvtt_text(cues_of(since, span.tag), title, notes)


def as_text(path: Path, from_us: int, until_us: int) -> Iterator[str]:
    """The lines of the console in the span, with times and with what was typed by whom.

    All before it is read too, since it says what the display was showing. Raises RecordingFault.
    """
    transcript = Transcript()
    for row in transcript.rows(read(path)):
        if row.at_us > until_us:
            return
        if row.at_us >= from_us or row.kind == "heading":
            for line in transcript.as_text(row):
                yield "".join(character if character.isprintable() else "\ufffd" for character in line)
