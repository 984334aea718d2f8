"""When what a caption says is over, so that it is withdrawn, or not shown at all if it had to wait too long.

A caption of a display or a reading is over when the display is put away; one about a job that has begun,
when the job has ended; one about a part, when that was stopped; one for which the folder names an end, when
that has come; any caption, when the machine is off or silent or the line is lost. Each of them only if what
brought the caption came before that. What brought it is the last of the facts that it rests on.
"""

from __future__ import annotations

from typing import Any, Final

import msgspec

from exhibit.decisions.story.ended import Ended
from exhibit.facts import kinds

JOBS_KEPT: Final = 32


class _Kept(msgspec.Struct):
    """The facts at which things last came or ended, in a form that fits into a keyframe."""

    names: dict[str, int] = {}
    """By prompt, line, display, interruption, or step (SCRIPT.STEP): when it last came, or was done."""
    displays: dict[str, int] = {}
    """When each was last put away."""
    jobs: dict[str, int] = {}
    """By number: when it ended."""
    parts: dict[str, int] = {}
    """By part: what reported that it was stopped."""
    confirmed_seq: int = 0
    """When a person last confirmed a step."""
    all_seq: int = 0
    """When nothing that was said before held any more."""


class CaptionsOver:
    """Folds facts. The recording says of each caption what it is about."""

    def __init__(self) -> None:
        self._kept = _Kept()

    def see(self, seq: int, fact: kinds.AnyFact | kinds.UnknownFact, ended: Ended) -> None:
        """Take in one fact, and what has ended with it."""
        kept = self._kept
        match fact:
            case kinds.RecordingOpened():
                self._kept = _Kept()
                return
            case kinds.PatternSeen(pattern=name) | kinds.LandmarkReached(landmark=name):
                kept.names[name] = seq
            case kinds.InterruptionSeen(interruption=name):
                kept.names[name] = seq
            case kinds.StepEnded():
                kept.names[f"{fact.script}.{fact.step}"] = seq
            case kinds.HandsOnConfirmed():
                kept.confirmed_seq = seq
        for display in ended.displays:
            kept.displays[display] = seq
        for job in ended.jobs:
            kept.jobs.pop(job, None)
            kept.jobs[job] = seq
        while len(kept.jobs) > JOBS_KEPT:
            del kept.jobs[next(iter(kept.jobs))]
        # What reported the stop may itself have brought a caption, which says what comes after it.
        since = (kept.confirmed_seq if "." in ended.by else kept.names.get(ended.by, 0)) or seq
        if ended.part:
            kept.parts[ended.part] = since
        if ended.off:
            kept.all_seq = since
        if ended.all:
            kept.all_seq = seq

    def is_over(self, shown: dict[str, Any]) -> bool:
        """Whether what this caption says, as the page has it, is over."""
        kept, since = self._kept, shown["trigger_seq"]
        over = [
            kept.all_seq,
            kept.displays.get(shown["display"], 0),
            kept.jobs.get(shown["job"], 0),
            kept.parts.get(shown["part"], 0),
            *(kept.names.get(name, 0) for name in shown["ends"]),
        ]
        return any(seq > since for seq in over)

    def snapshot(self) -> dict[str, Any]:
        """As plain JSON values."""
        kept: dict[str, Any] = msgspec.to_builtins(self._kept)
        return kept

    def restore(self, kept: dict[str, Any]) -> None:
        """Go on from a snapshot."""
        self._kept = msgspec.convert(kept, _Kept)
