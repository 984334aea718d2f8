"""Reads docs/whimbrel.md: its dialogues, its screen, its tables."""

import re
from dataclasses import dataclass
from pathlib import Path

HANDBOOK = Path(__file__).parents[2] / "docs" / "whimbrel.md"


@dataclass(frozen=True)
class Printed:
    """What the machine prints, or echoes."""

    text: str


@dataclass(frozen=True)
class Typed:
    """What a person types, RETURN included."""

    text: str
    secret: bool


@dataclass(frozen=True)
class Act:
    """What a person does at the front."""

    text: str


Part = Printed | Typed | Act


def blocks(language: str) -> list[str]:
    """The fenced blocks of one kind, in order."""
    text = HANDBOOK.read_text(encoding="utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)


def parts_of(block: str) -> list[Part]:
    """The parts of one dialogue."""
    parts: list[Part] = []
    for line in block.splitlines():
        act = re.fullmatch(r"\(act (.*)\)", line)
        if act:
            parts.append(Act(act[1]))
            continue
        typed = re.fullmatch(r"(.*)\{(~?)(.*)\}", line)
        if typed:
            parts += [Printed(typed[1]), Typed(typed[3], bool(typed[2]))]
        elif line.endswith((": ", "? ")):
            parts.append(Printed(line))
        else:
            parts.append(Printed(line + "\r\n"))
    return parts


def table(heading: str) -> list[list[str]]:
    """The rows (without the head) of the table whose first head cell is `heading`, cells stripped."""
    lines = HANDBOOK.read_text(encoding="utf-8").splitlines()
    start = next(number for number, line in enumerate(lines) if line.startswith(f"| {heading} |"))
    rows = []
    for line in lines[start + 2 :]:
        if not line.startswith("|"):
            break
        rows.append([cell.strip() for cell in line.strip("|").split("|")])
    return rows
