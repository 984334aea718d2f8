"""Troubles in machine.toml: on printed lines, and on rows of a status display."""

import pytest

from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

ON_THE_BOARD = """[troubles.drive-stopped-behind-the-board]
display = "board"
rows = "23"
"""


def with_change(old: str, new: str) -> dict[str, bytes]:
    machine = FILES["machine.toml"].decode()
    assert machine.count(old) == 1
    return {**FILES, "machine.toml": machine.replace(old, new).encode()}


def test_a_trouble_says_whether_it_ends_the_script_and_where_it_appears():
    troubles = {trouble.name: trouble for trouble in folder_from(FILES, "whimbrel").machine.troubles}
    assert troubles["cannot"].ends_script
    assert troubles["cannot"].display == ""
    assert not troubles["small-not-ready"].ends_script
    on_the_board = troubles["drive-stopped-behind-the-board"]
    assert (on_the_board.display, on_the_board.first_row, on_the_board.last_row) == ("board", 23, 23)
    assert on_the_board.words["de"].startswith("Ein Laufwerk")


@pytest.mark.parametrize(
    ("old", "new", "said", "write"),
    [
        (ON_THE_BOARD, ON_THE_BOARD.replace('display = "board"\n', ""), "lacks display", 'display = "board"'),
        (ON_THE_BOARD, ON_THE_BOARD.replace('rows = "23"\n', ""), "lacks rows", 'rows = "5"'),
        (ON_THE_BOARD, ON_THE_BOARD.replace('"board"', '"bord"'), 'no display is named "bord"', '"board"'),
        (ON_THE_BOARD, ON_THE_BOARD.replace('"23"', '"23 to 25"'), "only 24 rows", 'rows = "23"'),
    ],
)
def test_a_mistake_in_a_trouble_is_reported_with_what_to_write(old, new, said, write):
    found = mistakes_in(with_change(old, new))
    assert [(said in m.what, write in m.write_instead) for m in found] == [(True, True)]


@pytest.mark.parametrize(
    ("line", "trouble"),
    [
        # As the lasting store and the starter's DRIVES print them (the handbook of the Whimbrel).
        ("LOWER READY: SALLOW 2, PROTECTED", "lower-cannot-be-written"),
        ("LOWER READY   SALLOW 2   PROTECTED", "lower-cannot-be-written"),
        ("UPPER READY: SALLOW 1, MAY BE WRITTEN", "upper-could-be-written"),
        ("LOWER READY: SALLOW 2, MAY BE WRITTEN", ""),
        ("UPPER READY: SALLOW 1, PROTECTED", ""),
    ],
)
def test_a_pack_whose_switch_is_set_wrong_is_a_trouble_on_either_drive(line, trouble):
    troubles = folder_from(FILES, "whimbrel").machine.troubles
    said = [t for t in troubles if not t.display and t.pattern.match(line) is not None]
    assert [t.name for t in said] == ([trouble] if trouble else [])
    assert all(t.ends_script and set(t.do) == {"en", "de"} for t in said)


def test_a_trouble_says_what_to_bring_as_a_list_or_one_alone():
    troubles = {trouble.name: trouble for trouble in folder_from(FILES, "whimbrel").machine.troubles}
    assert "a spare read amplifier" in troubles["disc-cannot-be-read"].bring
    assert troubles["cannot"].bring == ()
    one = with_change('bring = ["a breakout box for the console line"]', 'bring = "a breakout box"')
    held = {trouble.name: trouble for trouble in folder_from(one, "whimbrel").machine.troubles}
    assert held["holds-up-typing"].bring == ("a breakout box",)


@pytest.mark.parametrize("bring", ["[]", "7", '[""]', "[7]"])
def test_what_to_bring_is_said_in_words(bring):
    files = with_change('bring = ["a breakout box for the console line"]', f"bring = {bring}")
    assert [mistake.what for mistake in mistakes_in(files) if "bring" in mistake.what]
