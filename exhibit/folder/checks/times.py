"""Checks that no time limit is shorter than the line needs, because the step would then always be late.

Only what is certain counts: each character takes its time on the line (start bit, data bits, parity and
stop bits at this speed), a command is typed one character at a time, and an answer has at least as many
characters as its pattern. These are minimum times, not good limits; `exhibit timings` finds those.
"""

from __future__ import annotations

from typing import Final

from exhibit.decisions.commands import SECRET_CHARACTERS
from exhibit.decisions.machine.filling import PLACE
from exhibit.decisions.machine.fitting import shortest
from exhibit.facts.units import MS_US, S_US
from exhibit.folder.checks.commands import with_dates
from exhibit.folder.reading.machine import MachineDraft
from exhibit.folder.reading.step_drafts import ScriptDraft, StepDraft

_LEAST_OF_A_DATE: Final = {"year": 4, "year of century": 2, "hour": 2, "minute": 2, "month name": 3}
"""The fewest characters for these places of a date (May is the shortest month); other places take one."""
SLOWEST_BAUD: Final = 10
"""Any lower value means that the speed could not be read."""
GENEROUS: Final = 10
"""How many times the minimum a proposed limit is."""
MINUTE_S: Final = 60


def check_times(script: ScriptDraft, machine: MachineDraft) -> None:
    """Add a mistake for each limit of a script that is too short for the line."""
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
                f"at {machine.line.baud} baud, typing this and receiving its shortest answer take "
                f"{_formatted(least_us)}, longer than this limit",
                f'within = "{_proposed_limit(least_us)}"',
            )
    if whole_us > script.within_us > 1:
        script.with_limit.wrong(
            "within",
            f"the pauses and the typing take {_formatted(whole_us)}, longer than the limit of the script",
            f'within = "{_proposed_limit(whole_us, 2)}"',
        )


def _check_wait(step: StepDraft, machine: MachineDraft) -> None:
    """Add advice if a wait has too short a limit: part of the answer can have come before, so it may do."""
    answers = [_answer_us(name, machine) for name, _ in step.until]
    least_us = min((us for us in answers if us is not None), default=0)
    if None not in answers and least_us > step.within_us > 1:
        step.table.advise(
            "within",
            f"at {machine.line.baud} baud, even the shortest answer takes {_formatted(least_us)}, longer "
            "than this limit",
            f'within = "{_proposed_limit(least_us)}"',
        )


def check_machine_times(machine: MachineDraft) -> None:
    """Add a mistake for each time in machine.toml that is shorter than its characters take on the line."""
    typing = machine.typing
    if typing is None or machine.line.baud < SLOWEST_BAUD:
        return
    character_us = machine.line.char_us
    if 1 < typing.echo_within_us < 2 * character_us:
        machine.table.table("typing").wrong(
            "echo_within",
            f"a character and its echo take {_formatted(2 * character_us)} at {machine.line.baud} baud, "
            "longer than this limit",
            f'echo_within = "{_proposed_limit(2 * character_us)}"',
        )
    for name, display in machine.displays.items():
        quiet_us = display.ends_after_quiet_us
        if quiet_us is not None and quiet_us <= character_us:
            machine.table.wrong(
                ("displays", name, "frame_ends"),
                f"a character takes {_formatted(character_us)} at {machine.line.baud} baud, so a frame would "
                "end after each character",
                f'frame_ends = "quiet {_proposed_limit(character_us)}"',
            )


def _least_us(step: StepDraft, machine: MachineDraft) -> float:
    """Return the minimum time of a step that types and waits for an answer; 0 for other steps."""
    character_us = machine.line.char_us
    answers = [_answer_us(name, machine) for name, _ in step.until]
    if step.kind not in ("type", "secret", "press") or None in answers:
        return 0
    answer_us = min((us for us in answers if us is not None), default=0)
    if step.kind == "press":
        return answer_us
    secret = step.kind == "secret"
    typed = SECRET_CHARACTERS if secret else _least_typed(step.texts.get("type", ""), machine)
    assert machine.typing is not None
    typings = [machine.typing_at_prompt(name) for name, _ in step.lists.get(step.at_key, [])]
    pauses = [
        one.pause_after_us if one.echo == "none" or step.kind == "secret" else 0 for one in typings if one
    ]
    each_us = max(character_us, min(pauses, default=0))
    return typed * each_us + character_us + answer_us


def _answer_us(name: str, machine: MachineDraft) -> float | None:
    """Return the minimum time for printing this answer and recognising it; None if the name is unknown."""
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


def _formatted(us: float) -> str:
    return f"{us / S_US:.1f} s" if us >= S_US else f"{us / MS_US:.1f} ms"


def _proposed_limit(least_us: float, times: int = GENEROUS) -> str:
    """Return a limit well above the minimum, in round figures."""
    seconds = least_us * times / S_US
    if seconds < 1:
        return f"{-(-int(least_us * times / MS_US) // 10) * 10} ms"
    if seconds < MINUTE_S:
        return f"{int(seconds) + 1} s"
    return f"{int(seconds / MINUTE_S) + 1} min"
