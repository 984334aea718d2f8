"""Recognises where a machine's console stands: the landmark of a prompt, a display or the last line."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.facts.kinds import LandmarkReached


class Place(msgspec.Struct, frozen=True):
    """A landmark and what stood there; the landmark is empty where what stands belongs to none."""

    landmark: str
    line: str


def place_of(machine: Machine, standing: LandmarkReached | None, last_lines: Sequence[str]) -> Place | None:
    """The place at which the console stands settled; None where nothing that we know does.

    `standing`: the prompt or display that stands. `last_lines`, the last of which counts where nothing
    stands: what was printed last. Call it only when the line has been quiet.
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
