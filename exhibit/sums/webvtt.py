"""The captions of a recording as WebVTT (W3C, webvtt1), for a film that was made beside the machine.

Times are those of the recording's own clock, so they begin when the recording does. A caption stands until
the next one comes. "Look or listen for" is left out: it was said to those who stood there.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

import msgspec

from exhibit.decisions.story.reading_time import reading_us
from exhibit.facts import kinds
from exhibit.sums.caption_lines import lines_of

US_PER_MS: Final = 1000
_ARROW: Final = re.compile("-{2,}>")
_ESCAPES: Final = (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"))


class Cue(msgspec.Struct, frozen=True):
    """A caption and when it stood."""

    seq: int
    """The number of the fact that says so, which is the cue's name: no two are alike."""
    start_us: int
    end_us: int
    text: str


def cues_of(entries: Iterable[kinds.Entry], language: str) -> list[Cue]:
    """The captions that were shown, in this language; those without words in it are left out."""
    cues: list[Cue] = []
    last_us = 0
    for entry in entries:
        last_us = max(last_us, entry.at_us)
        if not isinstance(entry.fact, kinds.CaptionShown) or entry.fact.kind == "look or listen for":
            continue
        text = entry.fact.words.get(language, "")
        if not text.strip():
            continue
        if cues:
            cues[-1] = msgspec.structs.replace(cues[-1], end_us=last_us)
        cues.append(Cue(entry.seq, last_us, last_us, text))
    if cues:
        # The recording may have ended with it, but it must be read.
        end_us = max(last_us, cues[-1].start_us + reading_us(cues[-1].text))
        cues[-1] = msgspec.structs.replace(cues[-1], end_us=end_us)
    return cues


def written(cues: Iterable[Cue], heading: str, notes: Iterable[str]) -> str:
    """The file: the heading, the notes a line each, and the cues."""
    blocks = ["WEBVTT - " + _one_line(heading)]
    blocks += ["NOTE\n" + "\n".join(map(_one_line, notes))]
    for cue in cues:
        start_ms, end_ms = cue.start_us // US_PER_MS, cue.end_us // US_PER_MS
        # A cue ends after it starts, be it by a thousandth of a second.
        timing = f"{_time(start_ms)} --> {_time(max(end_ms, start_ms + 1))}"
        blocks.append("\n".join([f"{cue.seq}", timing, *map(_escaped, lines_of(cue.text))]))
    return "\n\n".join(blocks) + "\n"


def _time(ms: int) -> str:
    seconds, ms = divmod(ms, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}.{ms:03}"


def _escaped(text: str) -> str:
    for character, escape in _ESCAPES:
        text = text.replace(character, escape)
    return text


def _one_line(text: str) -> str:
    """Neither a heading nor a note may have an arrow or a blank line in it."""
    return _ARROW.sub("->", " ".join(text.split())) or "-"
