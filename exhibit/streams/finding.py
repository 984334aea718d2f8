"""Finds a place in a recording by bisecting its bytes, without reading what lies before."""

from __future__ import annotations

from pathlib import Path

from exhibit.streams.recording_reader import Position


def find_seq(path: Path, seq: int) -> Position:
    """The place just before entry `seq`: reading from there gives it first, or the next one if it is damaged.

    A number past the end gives the end. Raises RecordingFault if the file can't be read.
    """
    raise NotImplementedError


def find_time(path: Path, at_us: int) -> Position:
    """The place just before the first entry at `at_us` or later. Raises as find_seq does."""
    raise NotImplementedError
