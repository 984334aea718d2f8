"""Converts the captions of a recording to WebVTT (W3C, webvtt1), for a film made at the same time.

Times are those of the recording's own clock, so they start when the recording does. A caption is shown until
the next one appears. "Look or listen for" captions are left out, because they are meant for people on site.
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
    """A caption, and when it was shown."""

    seq: int
    """The number of the caption's fact, which is unique and names the cue."""
    start_us: int
    end_us: int
    text: str


def cues_of(entries: Iterable[kinds.Entry], language: str) -> list[Cue]:
    """Return the captions that were shown, in this language, without those that have no words in it."""
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
        # Even if the recording ended with it, there must be time to read it.
        end_us = max(last_us, cues[-1].start_us + reading_us(cues[-1].text))
        cues[-1] = msgspec.structs.replace(cues[-1], end_us=end_us)
    return cues


def webvtt_text(cues: Iterable[Cue], heading: str, notes: Iterable[str]) -> str:
    """Return the content of the file: the heading, the notes, one in each line, and the cues."""
    blocks = ["WEBVTT - " + _one_line(heading)]
    blocks += ["NOTE\n" + "\n".join(map(_one_line, notes))]
    for cue in cues:
        start_ms, end_ms = cue.start_us // US_PER_MS, cue.end_us // US_PER_MS
        # A cue must end after its start, if only by a millisecond.
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
    """Return the text in one line and without arrows, neither of which a heading or a note can contain."""
    return _ARROW.sub("->", " ".join(text.split())) or "-"
