"""Recordings for these tests, written fact by fact."""

from __future__ import annotations

import os
from pathlib import Path

from exhibit.facts import codec, kinds
from tests.decisions.heron import S, machine, opened

WALL = "2026-11-25T09:00:00+01:00"


def write(path: Path, *facts: tuple[float, kinds.AnyFact], wall: str = WALL, closed: bool = True, **opening):
    """Write a recording: facts, each with the second at which it was recorded. Returns its path."""
    last_s = facts[-1][0] if facts else 0
    told = [(0.0, opened(machine(), wall=wall, **opening)), *facts]
    told += [(last_s, kinds.RecordingClosed(why="the day is over"))] if closed else []
    crc = codec.FIRST_CRC
    with path.open("wb") as file:
        for seq, (at_s, fact) in enumerate(told, 1):
            line, crc = codec.encode_line(kinds.Entry(seq, round(at_s * S), fact), crc)
            file.write(line)
    return path


def received(text: str, at_s: float) -> tuple[float, kinds.BytesReceived]:
    """These characters, all at once."""
    return at_s, kinds.BytesReceived(bytes=text, first_us=round(at_s * S))


def script(name: str, round_: int, at_s: float, *steps: tuple[str, float], outcome: str = "done"):
    """The facts of a script, whose steps each last for some seconds."""
    facts = [
        (at_s, kinds.ScriptStarted(script=name, title={"en": name.title()}, by="docent 1", round=round_))
    ]
    for step, lasts_s in steps:
        facts.append((at_s, kinds.StepStarted(script=name, step=step)))
        at_s += lasts_s
        facts.append((at_s, kinds.StepEnded(script=name, step=step)))
    return [*facts, (at_s, kinds.ScriptEnded(script=name, outcome=outcome, tidy=True, why=""))]


def die(name: str, path: Path) -> None:
    """In place of reading: this process ends at once."""
    os._exit(1)
