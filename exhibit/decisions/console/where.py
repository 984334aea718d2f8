"""Recognises the state of a machine's console: the landmark of a prompt, a display or the last line."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import SILENT
from exhibit.facts.kinds import LandmarkReached


class Place(msgspec.Struct, frozen=True):
    """A landmark and the line that shows it. The landmark is empty if the folder names none for that line."""

    landmark: str
    line: str


def place_of(machine: Machine, standing: LandmarkReached | None, last_lines: Sequence[str]) -> Place | None:
    """The place that the console is at; None if it shows nothing that the folder describes.

    `standing`: the prompt or display that is showing. If there is none, the last of `last_lines` counts. Call
    this only when the line has been quiet.
    """
    if standing is not None:
        return Place(_landmark_with(machine, standing.landmark), standing.line)
    printed = last_lines[-1:]
    for line in machine.lines:
        if printed and line.pattern.match(printed[0]) is not None:
            landmark = _landmark_with(machine, line.name)
            return Place(landmark, printed[0]) if landmark else None
    return None


def _landmark_with(machine: Machine, name: str) -> str:
    return next((landmark for landmark, names in machine.landmarks.items() if name in names), "")


def silent_landmark(machine: Machine) -> str:
    """The landmark of a machine that sends nothing, and that no key has woken: `silent` if none is named."""
    return next((silence.landmark for silence in machine.silences if not silence.wake), SILENT)
