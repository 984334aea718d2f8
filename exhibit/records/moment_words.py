"""What `exhibit show` prints: a moment of a recording, as text or as JSON."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import msgspec

from exhibit.facts.fact import Words
from exhibit.output.json_lines import json_line
from exhibit.records.moment import Moment


def moment_as_json(moment: Moment) -> str:
    """One JSON object. Each `at_us` is replaced by `at`, the date and time."""

    def dated(value: Any) -> Any:
        if isinstance(value, dict):
            return {
                ("at" if key == "at_us" else key): moment.walls.get(one, "") if key == "at_us" else dated(one)
                for key, one in value.items()
                if key not in ("walls", "over")
            }
        return [dated(one) for one in value] if isinstance(value, list) else value

    return json_line(dated(msgspec.to_builtins(moment, str_keys=True)))


def moment_lines(moment: Moment, language: str = "") -> Iterator[str]:
    """Lines for a terminal. `language`: the tag of the caption's words; empty for the first."""
    kind = "a simulated machine" if moment.simulated else "a real machine"
    yield f"{moment.machine}, {kind}, {_time(moment.at, 0, 19)}, fact {moment.seq} of {moment.recording}"
    if moment.clock:
        yield moment.clock
    yield from _screen(moment.rows)
    at = moment.walls
    if moment.line != "open":
        yield f"line       {'lost' if moment.line == 'lost' else 'not open yet'}"
    if moment.script is not None:
        round_ = f", round {moment.script.round}" if moment.script.round else ""
        yield f"script     {moment.script.name}{round_}, since {_time(at[moment.script.at_us])}"
    if moment.step is not None:
        yield f"step       {moment.step.name}, since {_time(at[moment.step.at_us])} (fact {moment.step.seq})"
    if moment.caption is not None:
        caption = moment.caption
        about = f", about {caption.part}" if caption.part else ""
        yield f"caption    {_words(caption.words, language)}"
        yield f"           {caption.caption}, {caption.kind}{about}, shown {_time(at[caption.at_us])}"
        for one in moment.because:
            said = f"{one.kind}  {one.text}" if one.kind else "can't be read any more"
            yield f"because    {_time(one.at)}  fact {one.seq}  {said}"
    if moment.typed is not None:
        typed = moment.typed
        yield f"typed      {typed.text}   by {typed.by}, {_time(at[typed.at_us])} (fact {typed.seq})"
    for seq, line in moment.troubles.items():
        yield f"trouble    {line} (fact {seq}, not over)"
    for name, reading in moment.readings.items():
        yield f"reading    {name} {reading.value}   {_time(at[reading.at_us])}"


def _screen(rows: list[str]) -> Iterator[str]:
    shown = [row.rstrip() for row in rows]
    while shown and not shown[-1]:
        shown.pop()
    width = max((len(row) for row in shown), default=0)
    yield f"+{'-' * (width + 2)}+"
    yield from (f"| {row:<{width}} |" for row in shown)
    yield f"+{'-' * (width + 2)}+"


def _words(words: Words, language: str) -> str:
    return words.get(language) or next(iter(words.values()), "")


def _time(at: str, first: int = 11, last: int = 23) -> str:
    return at[first:last].replace("T", " ") or "at an unknown time"
