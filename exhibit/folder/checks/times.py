"""Holds limits against the line: a limit shorter than the line needs is one that always passes.

Only what is certain counts: each character takes its time on the line (start bit, data, parity and
stop bits, by the baud), a command is typed a character after the other, and an answer has at least the
characters that its pattern has. So these are the least times, not good ones: `exhibit timings` finds those.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.fitting import shortest
from exhibit.facts.units import MS_US, S_US
from exhibit.folder.checks.commands import with_dates
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.scripts import ScriptDraft, StepDraft

_LEAST_OF_A_DATE: Final = {"year": 4, "year of century": 2, "hour": 2, "minute": 2, "month name": 3}
"""Characters of what fills a date's place; of the others one. The shortest month is May."""
SLOWEST_BAUD: Final = 10
"""Subpath that it is none that was read."""
GENEROUS: Final = 10
"""By how much a limit that is proposed exceeds the least time."""
MINUTE_S: Final = 60


def check_times(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add the limits of a script that are too short for the line to the mistakes."""
    if machine.typing is None or machine.line.baud < SLOWEST_BAUD:
        return
    whole_us = 0.0
    for step in script.all_steps:
        least_us = _least_us(step, machine)
        if step.kind == "pause":
            whole_us += step.pause_us
        elif not step.only_if_there and not step.in_tidy_up:
            whole_us += least_us
        if step.kind == "wait":
            _check_wait(step, machine)
        if least_us > step.within_us > 1:
            step.table.wrong(
                "within",
                f"at {machine.line.baud} baud what is typed and its shortest answer take "
                f"{_said(least_us)}, longer than this limit",
                f'within = "{_proposed(least_us)}"',
            )
    if whole_us > script.within_us > 1:
        script.table.table("script").wrong(
            "within",
            f"the pauses and what is typed take {_said(whole_us)}, longer than the whole script may",
            f'within = "{_proposed(whole_us, 2)}"',
        )


def _check_wait(step: StepDraft, machine: MachineDraft) -> None:
    """A part of what is waited for may have come before, so that the limit is doubtful, not wrong."""
    answers = [_answer_us(name, machine) for name, _ in step.until]
    least_us = min((us for us in answers if us is not None), default=0)
    if None not in answers and least_us > step.within_us > 1:
        step.table.advise(
            "within",
            f"at {machine.line.baud} baud the shortest that it waits for takes {_said(least_us)}, longer "
            "than this limit",
            f'within = "{_proposed(least_us)}"',
        )


def check_machine_times(machine: MachineDraft) -> None:
    """Add the times of machine.toml that are shorter than a character takes."""
    typing = machine.typing
    if typing is None or machine.line.baud < SLOWEST_BAUD:
        return
    character_us = machine.line.char_us
    if 1 < typing.echo_within_us < 2 * character_us:
        machine.table.table("typing").wrong(
            "echo_within",
            f"a character and its echo take {_said(2 * character_us)} at {machine.line.baud} baud, "
            "longer than an echo may take here",
            f'echo_within = "{_proposed(2 * character_us)}"',
        )
    for name, display in machine.displays.items():
        quiet_us = display.ends_after_quiet_us
        if quiet_us is not None and quiet_us <= character_us:
            machine.table.wrong(
                ("displays", name, "frame_ends"),
                f"a character takes {_said(character_us)} at {machine.line.baud} baud, so a frame would "
                "end between any two",
                f'frame_ends = "quiet {_proposed(character_us)}"',
            )


def _least_us(step: StepDraft, machine: MachineDraft) -> float:
    """The least time that a step takes which types and waits for an answer; 0 for others."""
    character_us = machine.line.char_us
    answers = [_answer_us(name, machine) for name, _ in step.until]
    if step.kind not in ("type", "secret", "press") or None in answers:
        return 0
    answer_us = min((us for us in answers if us is not None), default=0)
    if step.kind == "press":
        return answer_us
    typed = _least_typed(step.texts.get("type", ""), machine) if step.kind == "type" else 1
    assert machine.typing is not None
    unechoed = machine.typing.echo == "none" or step.kind == "secret"
    each_us = max(character_us, machine.typing.pause_after_us if unechoed else 0)
    return typed * each_us + character_us + answer_us


def _answer_us(name: str, machine: MachineDraft) -> float | None:
    """How long it takes at least to print this answer, and to see that it is whole."""
    character_us = machine.line.char_us
    if name in machine.prompts:
        assert machine.typing is not None
        settle_us = machine.typing.settle_characters * character_us + machine.adapter_latency_us
        return shortest(machine.prompts[name].pattern) * character_us + settle_us
    if name in machine.lines:
        return (shortest(machine.lines[name].pattern) + 1) * character_us
    return 0 if name in machine.displays else None


def _least_typed(command: str, machine: MachineDraft) -> int:
    filled = PLACE.sub(
        lambda place: "1" * _LEAST_OF_A_DATE.get(place[1].strip(), 1), with_dates(command, machine.calendars)
    )
    return len(filled)


def _said(us: float) -> str:
    return f"{us / S_US:.1f} s" if us >= S_US else f"{us / MS_US:.1f} ms"


def _proposed(least_us: float, times: int = GENEROUS) -> str:
    """A limit well above the least time, in a round figure."""
    seconds = least_us * times / S_US
    if seconds < 1:
        return f"{-(-int(least_us * times / MS_US) // 10) * 10} ms"
    if seconds < MINUTE_S:
        return f"{int(seconds) + 1} s"
    return f"{int(seconds / MINUTE_S) + 1} min"
