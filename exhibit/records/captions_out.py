"""What `exhibit captions` prints: a recording's captions as WebVTT."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.streams.recording import Damaged, read, read_opened
from exhibit.sums.webvtt import cues_of, webvtt_text


def captions_as_webvtt(path: Path, language: str | None) -> str:
    """The recording's captions as the text of a WebVTT file. `language`: a tag; None means its first one.

    Raises RecordingFault if it can't be read, and SetUpFault if it has no captions in that language.
    """
    opened = read_opened(path)
    tag = language or next(iter(opened.languages), "")
    if tag not in opened.languages:
        languages = ", ".join(f"{known} ({name})" for known, name in opened.languages.items()) or "none"
        raise SetUpFault(
            f"{path} has no captions in the language {tag!r}.",
            f"Its languages are: {languages}.",
            "Choose one of those with --language.",
        )
    title = opened.title.get(tag) or opened.machine
    damages: list[Damaged] = []
    # One after another, because a recording can be longer than this computer's memory.
    cues = cues_of(_entries(path, damages), tag)
    return webvtt_text(cues, title, _notes(opened, tag, path, damaged=bool(damages)))


def _entries(path: Path, damages: list[Damaged]) -> Iterator[kinds.Entry]:
    """The entries of a recording; adds what is damaged."""
    for entry in read(path):
        if isinstance(entry, Damaged):
            damages[:] = [entry]
        else:
            yield entry


def _notes(opened: kinds.RecordingOpened, tag: str, path: Path, *, damaged: bool) -> list[str]:
    when = read_wall(opened.wall)
    notes = [
        f"Captions in {opened.languages[tag]} ({tag}) of the recording {path.name}.",
        f"It begins at {when:%H:%M:%S} on {when:%Y-%m-%d}; the times below count from then.",
    ]
    if opened.machine_is == "simulated":
        notes.append("The machine was simulated.")
    if opened.rate != 1:
        notes.append(f"Its clock ran {opened.rate:g} times as fast as real time.")
    if damaged:
        notes.append("The recording is damaged: captions may be missing.")
    return notes
