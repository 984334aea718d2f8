"""Where each switch stands for a value: 1 is up, 0 is down.

    positions("1400", 12, 3, "octal")  ->  "001 100 000 000"

The first group can have fewer switches than the others: of 16 in groups of three it has one, so its digit is
0 or 1.
"""

from __future__ import annotations

from typing import Final

from exhibit.facts.parts_and_cards import Base, PanelAct

_DIGITS: Final[dict[Base, tuple[str, int]]] = {
    "binary": ("01", 1),
    "octal": ("01234567", 3),
    "hex": ("0123456789ABCDEF", 4),
}
"""The digits of each base, and how many switches one of them takes."""


class DoesNotFit(Exception):
    """The value can't be set there. The message says why, and `write_instead` what to write."""

    def __init__(self, what: str, write_instead: str) -> None:
        super().__init__(what)
        self.write_instead = write_instead


def usual_base(group: int) -> Base:
    """How the value of switches in groups of so many is written if nothing else is said."""
    return next((base for base, (_, size) in _DIGITS.items() if size == group), "binary")


def group_size(base: Base) -> int:
    """How many switches make one digit in this base."""
    return _DIGITS[base][1]


def sizes(count: int, group: int) -> list[int]:
    """How many switches each group has, from the left; only the first can have fewer."""
    first = count % group
    return [*([first] if first else []), *[group] * (count // group)]


def positions(value: str, count: int, group: int, base: Base) -> str:
    """Where each of `count` switches stands, with a space between groups. Raises DoesNotFit."""
    digits, size = _DIGITS[base]
    bare = value.replace(" ", "")
    strange = next((digit for digit in bare if digit not in digits), "")
    if strange:
        write = bare.upper() if base == "hex" and set(bare.upper()) <= {*digits} else ""
        raise DoesNotFit(
            f'"{value}" can\'t be set, because "{strange}" is no digit in {base}',
            f'"{write}"' if write else f"a value of the digits {digits[0]} to {digits[-1]}",
        )
    wanted = -(-count // size)
    if len(bare) != wanted:
        why = f"{count} switches take {wanted} digits in {base}, and it has {len(bare)}"
        short = f'"{bare.rjust(wanted, "0")}"'
        raise DoesNotFit(
            f'"{value}" can\'t be set: {why}', short if len(bare) < wanted else f"{wanted} digits"
        )
    bits = "".join(f"{digits.index(digit):0{size}b}" for digit in bare)
    surplus = len(bits) - count
    if "1" in bits[:surplus]:
        most = digits[2 ** (size - surplus) - 1]
        what = f'"{value}" can\'t be set: the first digit has only {size - surplus} of the {size} switches'
        raise DoesNotFit(what, f"a first digit from 0 to {most}")
    return grouped(bits[surplus:], count, group)


def grouped(bits: str, count: int, group: int) -> str:
    """These positions with a space between the groups."""
    parts, at = [], 0
    for size in sizes(count, group):
        parts.append(bits[at : at + size])
        at += size
    return " ".join(parts)


def figures(act: PanelAct) -> list[str]:
    """The figure that stands beneath each group: its digit, or in binary the digits of its switches."""
    groups = act.positions.split()
    return groups if act.by_switch else [f"{int(bits, 2):X}" for bits in groups]
