"""Lengths and joins of the parts in machine.toml."""

import pytest

from exhibit.edges.settings_parts import length_cm
from exhibit.edges.settings_values import ValueMistake
from tests.edges.folder_writing import mistakes_in
from tests.edges.test_settings import FILES


@pytest.mark.parametrize(("text", "cm"), [("1 cm", 1), ("60 cm", 60), ("2000 cm", 2000)])
def test_a_length_is_read(text, cm):
    assert length_cm(text) == cm


@pytest.mark.parametrize(
    ("text", "write"),
    [("60", '"60 cm"'), ("60 mm", '"60 cm"'), ("wide", '"60 cm"'), ("0 cm", "from"), ("2001 cm", "from")],
)
def test_what_is_no_length_is_told_with_what_to_write(text, write):
    with pytest.raises(ValueMistake) as told:
        length_cm(text)
    assert write in told.value.write_instead


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('joins = ["small-drive",', 'joins = ["processor",', "joins itself"),
        ('joins = ["small-drive",', 'joins = ["nothing",', 'no part is named "nothing"'),
    ],
)
def test_a_cable_that_leads_nowhere_is_a_mistake(old, new, said):
    machine = FILES["machine.toml"].decode()
    assert old in machine
    found = mistakes_in({**FILES, "machine.toml": machine.replace(old, new).encode()})
    assert [said in mistake.what for mistake in found] == [True]
