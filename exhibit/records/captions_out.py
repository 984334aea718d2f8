"""Gives a recording's captions to those who weren't there, as WebVTT."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.streams.recording import read_all, read_opened
from exhibit.sums.webvtt import cues_of, written


def captions_as_webvtt(path: Path, language: str | None) -> str:
    """The captions of the recording, as a WebVTT file, in a language of its own; None takes its first.

    Raises RecordingFault if it can't be read, and SetUpFault if it wasn't told in that language.
    """
    opened = read_opened(path)
    recording = read_all(path)
    tag = language or next(iter(opened.languages), "")
    if tag not in opened.languages:
        told = ", ".join(f"{known} ({name})" for known, name in opened.languages.items()) or "none"
        raise SetUpFault(
            f"{path} has no captions in the language {tag!r}.",
            f"Visitors were told in: {told}.",
            "Choose one of those with --language.",
        )
    title = opened.title.get(tag) or opened.machine
    return written(cues_of(recording.entries, tag), title, _notes(opened, tag, path, len(recording.damages)))


def _notes(opened: kinds.RecordingOpened, tag: str, path: Path, damages: int) -> list[str]:
    when = read_wall(opened.wall)
    notes = [
        f"Captions in {opened.languages[tag]} ({tag}) of the recording {path.name}.",
        f"It begins at {when:%H:%M:%S} on {when:%Y-%m-%d}; the times below count from then.",
    ]
    if opened.machine_is == "simulated":
        notes.append("The machine was simulated.")
    if opened.rate != 1:
        notes.append(f"Its clock ran {opened.rate:g} times as fast as real.")
    if damages:
        notes.append("The recording is damaged: captions may be lacking.")
    return notes
