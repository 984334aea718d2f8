"""What a folder expects and types consists of characters that the console has."""

import pytest

from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

IN_DISPLAY = 'form_feed = "ignore"'


def found_with(characters, *, line="LOG IS EMPTY", command="BOARD"):
    machine = FILES["machine.toml"].decode().replace(IN_DISPLAY, f'{IN_DISPLAY}\ncharacters = "{characters}"')
    machine = machine.replace('line = "LOG IS EMPTY"', f'line = "{line}"')
    rounds = FILES["round.toml"].decode().replace('type = "BOARD"', f'type = "{command}"')
    files = {**FILES, "machine.toml": machine.encode(), "round.toml": rounds.encode()}
    return [mistake.text() for mistake in mistakes_in(files)]


def test_a_national_letter_is_accepted_where_the_console_prints_and_types_it():
    assert found_with("german", line="KEIN EINTRAG GEÄNDERT", command="LÖSCHE") == []


@pytest.mark.parametrize(
    ("characters", "line", "said", "write"),
    [
        ("german", "LOG [EMPTY]", 'have no "["', '"LOG ÄEMPTY]", since that code is printed as "Ä"'),
        ("ascii", "LOG GEÄNDERT", 'have no "Ä"', '"german", "swedish", "latin-1"'),
        ("latin-1", "LOG IS EMPTY", "the eighth bit belongs to the character", 'eighth_bit = "data"'),
        ("germann", "LOG IS EMPTY", "germann", '"german"'),
    ],
)
def test_a_line_that_the_console_never_prints_is_a_mistake(characters, line, said, write):
    (found,) = found_with(characters, line=line)
    assert said in found
    assert write in found


@pytest.mark.parametrize(
    ("characters", "command", "write"),
    [("german", "LIST [A", 'type = "LIST ÄA"'), ("ascii", "LÖSCHE", 'type = "LSCHE"')],
)
def test_a_command_with_a_character_without_a_key_is_a_mistake(characters, command, write):
    found = [one for one in found_with(characters, command=command) if "has no key for" in one]
    assert len(found) == 2, "the round types it twice"
    assert all(write in one for one in found)


def test_a_barred_command_with_a_character_that_the_console_lacks_is_a_mistake():
    machine = FILES["machine.toml"].decode().replace('    "HALT",', '    "HÄLT",')
    files = {**FILES, "machine.toml": machine.encode()}
    (found,) = [m.text() for m in mistakes_in(files) if "HÄLT" in m.text()]
    assert 'have no "Ä"' in found
