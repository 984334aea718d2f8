"""Lengths and joins of the parts in machine.toml."""

import pytest

from exhibit.folder.reading.parts import length_cm
from exhibit.folder.reading.values import ValueMistake
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure


@pytest.mark.parametrize(("text", "cm"), [("1 cm", 1), ("60 cm", 60), ("2000 cm", 2000)])
def test_a_length_is_read(text, cm):
    assert length_cm(text) == cm


@pytest.mark.parametrize(
    ("text", "write"),
    [("60", '"60 cm"'), ("60 mm", '"60 cm"'), ("wide", '"60 cm"'), ("0 cm", "from"), ("2001 cm", "from")],
)
def test_a_text_that_is_not_a_length_is_reported_with_what_to_write(text, write):
    with pytest.raises(ValueMistake) as caught:
        length_cm(text)
    assert write in caught.value.write_instead


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('joins = ["small-drive",', 'joins = ["processor",', "joined to itself"),
        ('joins = ["small-drive",', 'joins = ["nothing",', 'no part is named "nothing"'),
    ],
)
def test_a_cable_that_leads_nowhere_is_a_mistake(old, new, said):
    machine = FILES["machine.toml"].decode()
    assert old in machine
    found = mistakes_in({**FILES, "machine.toml": machine.replace(old, new).encode()})
    assert [said in mistake.what for mistake in found] == [True]


@pytest.mark.parametrize(
    ("count", "start", "fits"),
    [
        (24, "14000200", True),  # references: 24 bits are 8 octal digits, up to 77777777
        (24, "77777777", True),
        (24, "1400020", False),
        (24, "14000280", False),
        (16, "177777", True),  # 16 bits: 6 digits, the top one 0 or 1 only
        (16, "277777", False),
    ],
)
def test_a_start_address_must_fit_the_switches(count, start, fits):
    machine = FILES["machine.toml"].decode()
    changed = machine.replace("count = 24", f"count = {count}").replace(
        'start = "14000200"', f'start = "{start}"'
    )
    found = mistakes_in({**FILES, "machine.toml": changed.encode()})
    assert [m.what for m in found] == ([] if fits else [found[0].what])
    assert fits or "can't be set" in found[0].what
