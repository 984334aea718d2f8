"""Where each switch stands for a value: the digits and largest values of the usual widths."""

from __future__ import annotations

import pytest

from exhibit.decisions.panel.positions import DoesNotFit, figures, positions, sizes, usual_base
from exhibit.facts.parts_and_cards import PanelAct

pytestmark = pytest.mark.pure

# Arithmetic: an octal digit is three switches, the most significant first. There are ceil(bits / 3) digits,
# and the largest value is 2 ** bits - 1.
OCTAL = [
    (12, "7777"),
    (16, "177777"),
    (18, "777777"),
    (22, "17777777"),
    (24, "77777777"),
    (36, "777777777777"),
]


def test_an_octal_digit_is_three_switches_the_most_significant_first():
    assert positions("1234", 12, 3, "octal") == "001 010 011 100"


@pytest.mark.parametrize(("count", "most"), OCTAL)
def test_each_width_has_its_digits_and_its_largest_value(count, most):
    assert int(most, 8) == 2**count - 1
    at = positions(most, count, 3, "octal")
    assert at.replace(" ", "") == "1" * count
    assert len(at.split()) == len(most) == -(-count // 3)
    with pytest.raises(DoesNotFit):
        positions("1" + most, count, 3, "octal")


@pytest.mark.parametrize(("count", "base", "group"), [(16, "hex", 4), (22, "hex", 4), (24, "binary", 6)])
def test_every_single_switch_is_set_by_its_own_value(count, base, group):
    for place in range(count):
        number = 2 ** (count - 1 - place)
        digits = {"hex": f"{number:0{-(-count // 4)}X}", "binary": f"{number:0{count}b}"}[base]
        bits = positions(digits, count, group, base).replace(" ", "")
        assert bits == "0" * place + "1" + "0" * (count - 1 - place)


@pytest.mark.parametrize(
    ("value", "count", "base", "write"),
    [
        ("200000", 16, "octal", "from 0 to 1"),
        ("27777777", 22, "octal", "from 0 to 1"),
        ("1238", 12, "octal", "0 to 7"),
        ("123", 12, "octal", '"0123"'),
        ("12345", 12, "octal", "4 digits"),
        ("ff0", 12, "hex", '"FF0"'),
        ("012", 3, "binary", "0 to 1"),
        ("", 12, "octal", '"0000"'),
    ],
)
def test_a_value_that_does_not_fit_says_what_to_write(value, count, base, write):
    group = {"octal": 3, "hex": 4, "binary": 3}[base]
    with pytest.raises(DoesNotFit) as caught:
        positions(value, count, group, base)
    assert write in caught.value.write_instead


def test_only_the_first_group_has_fewer_switches():
    assert sizes(16, 3) == [1, 3, 3, 3, 3, 3]
    assert sizes(22, 4) == [2, 4, 4, 4, 4, 4]
    assert sizes(24, 3) == [3] * 8


def test_the_figures_beneath_the_groups_are_the_value():
    for value, count, group, base in (("177777", 16, 3, "octal"), ("3FA0C1", 22, 4, "hex")):
        act = PanelAct(act="set", value=value, positions=positions(value, count, group, base))
        assert "".join(figures(act)) == value


def test_groups_of_another_size_are_read_in_binary():
    assert [usual_base(group) for group in (1, 2, 3, 4, 6)] == [
        "binary",
        "binary",
        "octal",
        "hex",
        "binary",
    ]
