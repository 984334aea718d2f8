"""home.toml and the landmarks: what can be missing, and where each wrong name is reported."""

from __future__ import annotations

import re

import pytest

from exhibit.decisions.machine.script import SILENT, TypeCommand
from exhibit.folder.reading.mistakes import Mistake
from exhibit.folder.whole import folder_from, read_folder
from exhibit.web.places import scripts_folder
from tests.folder.folder_writing import FILES, mistakes_in, with_edit

pytestmark = pytest.mark.pure

WHIMBREL = scripts_folder() / "whimbrel"


def test_the_way_home_is_read_as_it_is_written():
    folder = read_folder(WHIMBREL)
    way = folder.way_home
    assert way is not None
    assert (way.listen_us, way.answer_us, way.within_us) == (2_000_000, 3_000_000, 300_000_000)
    assert way.home == ("signed-out",)
    assert way.begins_at("opening") == (SILENT,)
    assert way.begins_at("round") == way.begins_at("closing") == ("signed-out",)
    script = way.from_place("single-user")
    assert script is not None
    assert (script.name, script.title["en"], script.tidy_up) == ("home", "Finding its way back", ())
    assert [step.command for step in script.steps if isinstance(step, TypeCommand)] == ["OPEN THE OFFICE"]
    assert way.from_place("starter") is None
    assert folder.machine.landmarks["signed-in"] == ("desk-tides", "desk-keeper")
    assert folder.machine.typing.nudge == b"\r"
    assert "home" not in folder.scripts


def test_every_prompt_of_both_folders_is_known_by_a_landmark():
    for name in ("whimbrel", "posix"):
        machine = read_folder(scripts_folder() / name).machine
        known = {prompt for names in machine.landmarks.values() for prompt in names}
        assert {prompt.name for prompt in machine.prompts} <= known


def test_a_folder_needs_neither_a_way_home_nor_landmarks():
    files = {name: text for name, text in FILES.items() if name != "home.toml"}
    files = {
        name: text.replace(b'home = "Finding its way back"\n', b"").replace(
            b'home = "Zur\xc3\xbcck zum Anfang"\n', b""
        )
        for name, text in files.items()
    }
    assert folder_from(files, "the folder").way_home is None
    without = re.sub(rb"\[landmarks\..*?\]\nat = \[.*?\]\n", b"", files["machine.toml"], flags=re.S)
    assert b"landmarks." not in without
    assert folder_from({**files, "machine.toml": without}, "the folder").machine.landmarks == {}


def test_there_can_be_no_nudge():
    files, _ = with_edit("machine.toml", 'nudge = "return"', 'nudge = "none"')
    assert folder_from(files, "the folder").machine.typing.nudge == b""


def test_what_can_be_missing_from_home_toml_is_no_mistake():
    for lacks in (b'opening = ["silent"]\n', b""):
        files = {**FILES, "home.toml": FILES["home.toml"].replace(lacks, b"")}
        assert mistakes_in(files) == []
    way = FILES["home.toml"].index(b"[[ways.tidebook-starts]]")
    assert mistakes_in({**FILES, "home.toml": FILES["home.toml"][:way]}) == []


@pytest.mark.parametrize(
    ("file", "old", "new", "said", "write"),
    [
        ("home.toml", 'at = ["signed-out"]', 'at = ["signed-owt"]', 'named "signed-owt"', '"signed-out"'),
        ("home.toml", 'at = ["signed-out"]', "at = []", "is empty", 'at = ["signed-out"]'),
        ("home.toml", 'at = ["signed-out"]', 'at = ["silent"]', 'no landmark is named "silent"', "one of"),
        ("home.toml", 'opening = ["silent"]', 'openning = ["silent"]', 'named "openning"', '"opening"'),
        ("home.toml", 'opening = ["silent"]', 'opening = ["silence"]', 'named "silence"', '"silent"'),
        ("home.toml", "[[ways.signed-in]]", "[[ways.signed-inn]]", 'named "signed-inn"', '"signed-in"'),
        ("home.toml", 'name = "open-again"', 'name = "leave-any-desk"', "is already named", "-desk-2"),
        ("home.toml", 'within = "5 min"', 'within = "10 s"', "longer limit than", "within"),
        ("home.toml", 'press = "space"', 'press = "spase"', 'no key is named "spase"', '"space"'),
        ("machine.toml", 'at = ["no-desk"]', 'at = ["no-desc"]', 'is named "no-desc"', '"no-desk"'),
        ("machine.toml", 'at = ["board"]', 'at = ["board", "no-desk"]', "belongs to", "one landmark"),
        ("machine.toml", 'at = ["board"]', "at = []", "is empty", 'at = ["starter"]'),
        ("machine.toml", "[landmarks.stopped]", "[landmarks.silent]", "is reserved for", "another name"),
        ("machine.toml", 'at = ["one-operator"]', 'at = ["hours-worked"]', "to no landmark", "landmarks"),
    ],
)  # fmt: skip
def test_a_wrong_name_is_reported_on_its_line_with_the_right_one(file, old, new, said, write):
    files, line = with_edit(file, old, new)
    found = [mistake for mistake in mistakes_in(files) if said in mistake.what]
    assert found, mistakes_in(files)
    assert write in found[0].write_instead
    if "to no landmark" not in said and "longer limit" not in said:
        assert (found[0].file, abs(found[0].line - line) <= 1) == (file, True), (found[0], line)


def test_each_way_home_is_checked_by_itself():
    opens = 'type = "OPEN THE OFFICE"\nuntil = ["no-desk"]\nwithin = "30 s"\n'
    leaves = 'at = ["desk-tides"]\ntype = "LEAVE"\nuntil = ["no-desk"]\nwithin = "30 s"\n'
    second = f'{opens}\n[[ways.single-user]]\nname = "leave-too-soon"\n{leaves}'
    files, _ = with_edit("home.toml", opens, second)
    found = [mistake for mistake in mistakes_in(files) if isinstance(mistake, Mistake)]
    assert any('"leave-too-soon" waits for "desk-tides" in vain' in mistake.what for mistake in found)
