"""Makes an excerpt in the form that is wanted, of the span that a person means."""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

from exhibit.facts.errors import SetUpFault
from exhibit.facts.kinds import MachineSilent
from exhibit.facts.units import UnitMistake, typed_duration_us
from exhibit.records.excerpt.moment_words import WRONG
from exhibit.records.excerpt.other_forms import as_csv, as_text, as_webvtt
from exhibit.records.excerpt.page import page_of
from exhibit.records.excerpt.places import place_of
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.excerpt.span import Span, take_span
from exhibit.streams.line_chain import Damaged
from exhibit.streams.recording import find_seq, find_time, read, read_opened

NEAR_MS: Final = 1000
"""So near to the moment that a person names it is what is meant: they have read it off in seconds."""


class Wanted(NamedTuple):
    """The span that a person means: around a moment or a fact, or from one moment to another."""

    at: str = ""
    fact: int | None = None
    before: str = "2 min"
    after: str = "2 min"
    """Real time before and after that moment."""
    from_: str = ""
    until: str = ""


def excerpt_text(path: Path, wanted: Wanted, form: str, tag: str | None, privacy: Privacy) -> str:
    """The excerpt as "html", "text", "vtt" or "csv". Raises RecordingFault and SetUpFault."""
    from_us, until_us, about_us = _span(path, wanted)
    if form == "text":
        return "".join(f"{line}\n" for line in as_text(path, from_us, until_us))
    span = take_span(path, from_us, until_us, tag, privacy)
    if form == "csv":
        return as_csv(span)
    if form == "vtt":
        return as_webvtt(span, from_us)
    begin_ms = round((about_us - from_us) / span.opened.rate / 1000)
    return page_of(span, _about(span, wanted, begin_ms), begin_ms)


def _span(path: Path, wanted: Wanted) -> tuple[int, int, int]:
    """From, until, and the moment that it is about, by the recording's clock."""
    rate, end_us = read_opened(path).rate, find_time(path, 2**62).at_us
    if wanted.from_ or wanted.until:
        from_us = place_of(path, wanted.from_, or_the="beginning") if wanted.from_ else 0
        until_us = place_of(path, wanted.until, or_the="end") if wanted.until else end_us
        if from_us >= until_us:
            raise SetUpFault(
                "The span ends before it begins.",
                "So there is nothing in it.",
                "Look at --from and --until once more.",
            )
        return from_us, until_us, from_us
    if wanted.fact is None:
        about_us = place_of(path, wanted.at)
        began_us = about_us
    else:
        began_us, about_us = _times_of(path, wanted.fact)
    before_us, after_us = (round(_real_us(text) * rate) for text in (wanted.before, wanted.after))
    return max(0, began_us - before_us), min(end_us, about_us + after_us), about_us


def _times_of(path: Path, seq: int) -> tuple[int, int]:
    """When what a fact says began, and when it was recorded: of a silence that is later."""
    for entry in read(path, find_seq(path, seq)):
        if not isinstance(entry, Damaged):
            if entry.seq == seq:
                fact = entry.fact
                since_us = fact.since_us if isinstance(fact, MachineSilent) else entry.at_us
                return max(0, min(since_us, entry.at_us)), entry.at_us
            break
    raise SetUpFault(
        f"{path.name} has no fact {seq}, or it is damaged.",
        "So there is no span around it.",
        "Choose another number, or give a time with --at.",
    )


def _real_us(text: str) -> int:
    try:
        return typed_duration_us(text, may_be_zero=True)
    except UnitMistake as mistake:
        raise SetUpFault(
            f"{mistake.what[0].upper()}{mistake.what[1:]}.",
            "So it isn't known how long the span is.",
            f"Write {mistake.write_instead}.",
        ) from mistake


def _about(span: Span, wanted: Wanted, begin_ms: int) -> str:
    """What the span is about: the fact that was named, or what was wrong at the moment that was."""
    for one in span.moments:
        if one.seq == wanted.fact or (one.kind in WRONG and abs(one.ms - begin_ms) <= NEAR_MS):
            return one.said
    return ""
