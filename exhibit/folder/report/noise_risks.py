"""Reports what noise on the line could still do to the scripts' commands.

The noise of a line isn't known in advance. So the chances are worked out for each kind of noise, at one
damaged character in a thousand each way, and the worst is reported. With ten times less noise, executing
a beginning of a command is ten times rarer, and executing a wrong command with a right echo a hundred times.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Final

import msgspec

from exhibit.decisions.display.characters import codes_of
from exhibit.decisions.machine.description import Machine, Typing
from exhibit.decisions.machine.filling import DATE, PLACE
from exhibit.decisions.machine.script import Folder, TypeCommand
from exhibit.decisions.session.script_run import typing_of
from exhibit.sums.line_noise import Noise
from exhibit.sums.noise_risk import Risk, console_of, noise_risk

RATE: Final = 0.001
ONE_BIT: Final = Noise(flipped=RATE)
KINDS: Final = (
    ONE_BIT,
    Noise(lost=RATE),
    Noise(doubled=RATE),
    Noise(replaced=RATE),
    Noise(garbled=RATE),
)
MOST_NAMED: Final = 2
_HEAD: Final = f"{'a beginning':>12}{'something else':>17}   of the command"
LONGEST_COMMAND: Final = 80
"""Characters. The time that it takes to work this out grows with the square of them."""
MOST_WORK: Final = 40_000
"""Of all commands together: the sum of the squares of their lengths."""
SAMPLE_FIGURES: Final = "12"
"""Replaces a number or a part of a date, which isn't known in advance."""


class CommandRisk(msgspec.Struct, frozen=True):
    """The worst that any kind of noise can do to a command."""

    script: str
    step: str
    command: str
    beginning: float
    """The chance that a beginning of the command is executed."""
    by_one_bit: dict[str, float]
    """The beginnings that are executed if a single bit is wrong, each with its chance."""
    wrong: float
    """The chance that something else is executed."""
    bare: float
    """The chance that a RETURN alone is executed."""


def risks(folder: Folder) -> Iterator[CommandRisk]:
    """Yield the risk of each command that the folder's scripts and ways home type, in their order.

    Those are left out that would keep this program busy for minutes.
    """
    work = 0
    machine = folder.machine
    flows = machine.line.flow == "xon/xoff"
    looked_at: set[tuple[str, Typing]] = set()
    way = folder.way_home
    ways = [] if way is None else [script for name in way.ways if (script := way.from_place(name))]
    for script in (*folder.scripts.values(), *ways):
        for step in (*script.steps, *script.tidy_up):
            if isinstance(step, TypeCommand):
                typed = codes_of(_filled(step.command, machine), machine.display.characters).decode("ascii")
                typing = typing_of(step, machine)
                if (typed, typing) not in looked_at:
                    work += len(typed) ** 2
                    if len(typed) > LONGEST_COMMAND or work > MOST_WORK:
                        continue
                    looked_at.add((typed, typing))
                yield _worst(script.name, step, _risks_of(typed, typing, flows))


@cache
def _risks_of(typed: str, typing: Typing, flows: bool) -> tuple[Risk, ...]:
    """The risk of each kind of noise. Several scripts type the same command, and so do copies of a folder."""
    console = console_of(typing, flow_control=flows)
    seen = float(_cancel_is_seen(typing))
    return tuple(
        noise_risk(typed, console, noise, noise, window=typing.window, prompt_recognised=seen)
        for noise in KINDS
    )


def _typed_in(folder: Folder) -> set[str]:
    """Return the commands that the scripts type."""
    steps = [step for script in folder.scripts.values() for step in (*script.steps, *script.tidy_up)]
    return {step.command for step in steps if isinstance(step, TypeCommand)}


def _cancel_is_seen(typing: Typing) -> bool:
    """Whether a command that came back wrong is typed again; if not, a person is asked."""
    return bool(typing.cancel) and (typing.after_cancel == "prompt" or bool(typing.show_again))


def risk_report(folder: Folder) -> list[str]:
    """Return the report: some general lines, then a table of the commands, the riskiest first."""
    by_command: dict[str, list[CommandRisk]] = {}
    for risk in sorted(risks(folder), key=riskiest_first):
        by_command.setdefault(risk.command, []).append(risk)
    if not by_command:
        return []
    bare = max(risk.bare for found in by_command.values() for risk in found)
    lifted = folder.machine.never_lifted
    lines = [
        f"What noise could still do if it damaged one character in {1 / RATE:.0f}, each way:",
        f"After any command the machine might receive a RETURN too many, once in {_once_in(bare)} times; "
        "no echo can prevent that. So the default of any question that can follow must do no harm.",
        _detection(folder.machine),
        "",
        "Executed once in this many times:",
        _HEAD,
        *(line for found in by_command.values() for line in _rows(found)),
    ]
    if left_out := _typed_in(folder) - by_command.keys():
        lines += ["", f"Not worked out, because it would take minutes: {len(left_out)} long commands."]
    if lifted is not None:
        lines[:0] = [f'Only closing.{lifted.step} may type "{lifted.command}": {lifted.reason}', ""]
    return lines


def riskiest_first(risk: CommandRisk) -> tuple[float, str]:
    """Return what commands are sorted by: their risk, and their text if it is the same."""
    return -_rounded(risk.beginning + risk.wrong), risk.command


def _rounded(chance: float) -> float:
    """Return the chance to six figures: the last ones depend on the order of the sum, which isn't fixed."""
    return float(f"{chance:.6g}")


def _detection(machine: Machine) -> str:
    """Return a sentence on how damage to a command is noticed."""
    if machine.typing.show_again:
        return (
            "Each command is shown again and checked before its RETURN: "
            "a wrong one is sent only if three faults hide each other."
        )
    if machine.typing.echo == "none":
        return "The machine doesn't echo, so a damaged command is executed unnoticed."
    return (
        "The folder gives no key that shows a half-typed line again (show_again): "
        "two faults that hide each other in the echo are not noticed."
    )


def _worst(script: str, step: TypeCommand, by_kind: tuple[Risk, ...]) -> CommandRisk:
    return CommandRisk(
        script=script,
        step=step.name,
        command=step.command,
        beginning=max(risk.beginning for risk in by_kind),
        by_one_bit=by_kind[KINDS.index(ONE_BIT)].beginnings,
        wrong=max(risk.wrong for risk in by_kind),
        bare=max(risk.bare for risk in by_kind),
    )


def _rows(found: list[CommandRisk]) -> Iterator[str]:
    """Yield a line for a command and the steps that type it, and one more if a single bit is enough."""
    risk, *others = found
    where = f"{risk.script}.{risk.step}" + (f" and {len(others)} more" if others else "")
    yield f'{_once_in(risk.beginning):>12}{_once_in(risk.wrong):>17}   "{risk.command}" {where}'
    chances = risk.by_one_bit
    if sum(chances.values()) > RATE**2:
        named = sorted(chances, key=lambda text: (-_rounded(chances[text]), text))[:MOST_NAMED]
        examples = " or ".join(f'"{text}"' for text in named if chances[text] > RATE**2)
        as_what = f", as {examples}" if examples else ""
        yield f"{_once_in(sum(chances.values())):>12}{'':17}   by a single bit{as_what}"


def _once_in(chance: float) -> str:
    """Format a chance as "6 800" (once in 6 800 times), to two figures and never rarer than it is."""
    if chance < 1e-12:
        return "never"
    times = 1 / chance
    step = 10 ** max(0, len(f"{int(times)}") - 2)
    return f"{int(times) // step * step:,}".replace(",", " ")


def _filled(command: str, machine: Machine) -> str:
    """Return the command with its places filled in, as it might be typed."""
    places = PLACE.split(command)
    for index in range(1, len(places), 2):
        date = DATE.fullmatch(places[index].strip())
        form = machine.calendars[date[1]].template if date else ""
        places[index] = PLACE.sub(SAMPLE_FIGURES, form) if date else SAMPLE_FIGURES
    return "".join(places)
