"""What `exhibit check` says of the risk that noise leaves: a table of the scripts' commands.

The noise of a line isn't known beforehand. So each kind is reckoned with at one character in a thousand,
each way, and the worst is told. Ten times less noise makes a beginning ten times rarer, and what came
back right although it was wrong, a hundred times rarer.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.filling import DATE, PLACE
from exhibit.decisions.machine.script import Folder, TypeCommand
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
SAMPLE_FIGURES: Final = "12"
"""Stands for a number that isn't known before the machine gives it."""


class CommandRisk(msgspec.Struct, frozen=True):
    """The worst that noise can do to a command, over all kinds of noise."""

    script: str
    step: str
    command: str
    beginning: float
    """The chance that a beginning of it is executed."""
    by_one_bit: dict[str, float]
    """The beginnings that are executed where a single bit is wrong, each with its chance."""
    wrong: float
    """The chance that something else is."""
    bare: float
    """The chance that a RETURN alone is."""


def risks(folder: Folder) -> Iterator[CommandRisk]:
    """Give the risk of each command that the folder's scripts type, in their order."""
    machine = folder.machine
    console = console_of(machine.typing, flow_control=machine.line.flow == "xon/xoff")
    known: dict[str, list[Risk]] = {}
    way = folder.way_home
    ways = [] if way is None else [script for name in way.ways if (script := way.from_place(name))]
    for script in (*folder.scripts.values(), *ways):
        for step in (*script.steps, *script.tidy_up):
            if isinstance(step, TypeCommand):
                typed = _filled(step.command, machine)
                if typed not in known:
                    known[typed] = [
                        noise_risk(typed, console, noise, noise, window=machine.typing.window)
                        for noise in KINDS
                    ]
                yield _worst(script.name, step, known[typed])


def risk_report(folder: Folder) -> list[str]:
    """Say what remains: some lines in general, then a table of the commands, the riskiest first."""
    by_command: dict[str, list[CommandRisk]] = {}
    for risk in sorted(risks(folder), key=lambda risk: -(risk.beginning + risk.wrong)):
        by_command.setdefault(risk.command, []).append(risk)
    if not by_command:
        return []
    bare = max(risk.bare for found in by_command.values() for risk in found)
    lifted = folder.machine.never_lifted
    lines = [
        f"What noise could still do, were one character in {1 / RATE:.0f} damaged on its way, each way:",
        f"A RETURN alone might be taken behind any command, once in {_once_in(bare)} times: "
        "no echo can prevent that. So wherever a question may come, its default must do no harm.",
        _seen_by(folder.machine),
        "",
        "Executed, once in so many times:",
        _HEAD,
        *(line for found in by_command.values() for line in _rows(found)),
    ]
    if lifted is not None:
        lines[:0] = [f'closing.{lifted.step} alone may type "{lifted.command}": {lifted.reason}', ""]
    return lines


def _seen_by(machine: Machine) -> str:
    """How it is seen that something is wrong."""
    if machine.typing.show_again:
        return (
            "Each command is shown again and looked at before its RETURN: "
            "for a wrong one to be sent, three faults would have to hide each other."
        )
    if machine.typing.echo == "none":
        return "The machine doesn't echo, so what it is sent wrong is executed."
    return (
        "No key is given that shows a half-typed line again (show_again): "
        "two faults that hide each other in the echo are not seen."
    )


def _worst(script: str, step: TypeCommand, by_kind: list[Risk]) -> CommandRisk:
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
    """A line for a command and the steps that type it; one more where a single bit is enough."""
    risk, *others = found
    where = f"{risk.script}.{risk.step}" + (f" and {len(others)} more" if others else "")
    yield f'{_once_in(risk.beginning):>12}{_once_in(risk.wrong):>17}   "{risk.command}" {where}'
    chances = risk.by_one_bit
    if sum(chances.values()) > RATE**2:
        named = sorted(chances, key=lambda text: -chances[text])[:MOST_NAMED]
        as_what = " or ".join(f'"{text}"' for text in named if chances[text] > RATE**2)
        yield f"{_once_in(sum(chances.values())):>12}{'':17}   by a single bit, as {as_what}"


def _once_in(chance: float) -> str:
    """To two figures, and never rarer than it is: "6 800" times."""
    if chance < 1e-12:
        return "never"
    times = 1 / chance
    step = 10 ** max(0, len(f"{int(times)}") - 2)
    return f"{int(times) // step * step:,}".replace(",", " ")


def _filled(command: str, machine: Machine) -> str:
    """The command as it might be typed."""
    places = PLACE.split(command)
    for index in range(1, len(places), 2):
        date = DATE.fullmatch(places[index].strip())
        written = machine.calendars[date[1]].template if date else ""
        places[index] = PLACE.sub(SAMPLE_FIGURES, written) if date else SAMPLE_FIGURES
    return "".join(places)
