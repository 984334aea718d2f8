"""What `exhibit captions` prints: a recording's captions as WebVTT."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.streams.recording import read_all, read_opened
from exhibit.sums.webvtt import cues_of, webvtt_text


def captions_as_webvtt(path: Path, language: str | None) -> str:
    """The recording's captions as the text of a WebVTT file. `language`: a tag; None means its first one.

    Raises RecordingFault if it can't be read, and SetUpFault if it has no captions in that language.
    """
    opened = read_opened(path)
    recording = read_all(path)
    tag = language or next(iter(opened.languages), "")
    if tag not in opened.languages:
        languages = ", ".join(f"{known} ({name})" for known, name in opened.languages.items()) or "none"
        raise SetUpFault(
            f"{path} has no captions in the language {tag!r}.",
            f"Its languages are: {languages}.",
            "Choose one of those with --language.",
        )
    title = opened.title.get(tag) or opened.machine
    notes = _notes(opened, tag, path, damaged=bool(recording.damages))
    return webvtt_text(cues_of(recording.entries, tag), title, notes)


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
