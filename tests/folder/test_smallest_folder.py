"""The smallest complete folder in the docs is complete, is the smallest, and runs."""

import re

import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.checks.captions import check_captions
from exhibit.folder.whole import examine, folder_from
from exhibit.simulator.serial_line import with_even_parity
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver, opened
from tests.folder.folder_writing import ROOT, mistakes_in

PAGE = (ROOT / "docs/smallest-folder.md").read_text("utf-8")
FILES = {
    name: text.encode()
    for name, text in re.findall(r"^## (\S+\.toml)\n\n```toml\n(.*?)```$", PAGE, re.M | re.S)
}
EMPTY = {"keys", "interruptions", "displays", "calendars", "packs", "exercisers", "tell_tales"}
"""The tables of machine.toml that have no key."""


def test_check_finds_nothing_in_it():
    assert len(FILES) == 7
    found = examine(FILES)
    assert [mistake.text() for mistake in found.mistakes] == []
    assert check_captions(FILES, folder_from(FILES, "the smallest folder")) == []


@pytest.mark.parametrize("name", FILES)
def test_it_needs_all_of_its_files(name):
    assert mistakes_in({other: text for other, text in FILES.items() if other != name})


def test_it_needs_all_of_its_lines():
    needless = []
    for name, content in FILES.items():
        lines = content.decode().splitlines(keepends=True)
        for number, line in enumerate(lines):
            if line.strip():
                without = "".join(lines[:number] + lines[number + 1 :]).encode()
                needless += [] if mistakes_in({**FILES, name: without}) else [(name, number + 1, line)]
    assert needless == []


def test_its_empty_tables_are_those_that_the_page_lists():
    machine = FILES["machine.toml"].decode()
    empty = {name for name, body in re.findall(r"^\[([a-z_]+)\]\n((?:\w.*\n)*)", machine, re.M) if not body}
    assert empty == EMPTY
    listed = PAGE[: PAGE.index("## machine.toml")]
    assert {name for name in EMPTY if f"`[{name}]`" in listed} == EMPTY
    for one in (
        "`[now]`",
        "`[switches]` with `count = 0`",
        "`[disc_errors]`",
        "`tidy_up = []`",
        "`[sources]`",
    ):
        assert one in listed


def test_its_round_runs_on_such_a_machine():
    folder = folder_from(FILES, "the smallest folder")
    driver = Driver(decider_for(folder, opened(), Wanted(before=("round",), rounds=0, after=()), {}))

    def prints(text: str) -> None:
        driver.prints(bytes(with_even_parity(code) for code in text.encode("ascii")))

    driver.open_line()
    prints("READY: ")
    driver.passes("settle")
    for character in "ADD 2 3":
        prints(character)
    driver.passes("echo")
    assert driver.typed == b"ADD 2 3\r"
    prints("\r\nSUM IS 5\r\n")
    (caption,) = driver.facts(kinds.CaptionShown)
    assert caption.words["en"] == "We asked for two and three together. The machine says: 5."
    driver.passes("step")
    assert driver.over == "done"
