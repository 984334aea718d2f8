"""The smallest complete folder in the docs is complete, is the smallest, is shipped, and runs."""

import re

import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.folder.checks.captions import check_captions
from exhibit.folder.files import read_files
from exhibit.folder.whole import examine, folder_from
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver, opened
from tests.folder.folder_writing import ROOT, mistakes_in, written_lines

PAGE = (ROOT / "docs/smallest-folder.md").read_text("utf-8")
FILES = {
    name: text.encode()
    for name, text in re.findall(r"^## (\S+\.toml)\n\n```toml\n(.*?)```$", PAGE, re.M | re.S)
}
MOST_LINES = 43  # three of them since what must be known about the site is never left out


def test_it_is_the_folder_that_is_shipped():
    assert read_files(ROOT / "scripts/heron") == FILES


def test_check_finds_nothing_in_it():
    assert len(FILES) == 6
    found = examine(FILES)
    assert [mistake.text() for mistake in found.mistakes] == []
    assert check_captions(FILES, folder_from(FILES, "the smallest folder")) == []


def test_it_has_few_lines():
    assert written_lines(FILES) <= MOST_LINES


def test_it_needs_all_of_its_lines():
    """Each line that says something is required, or the folder no longer says the same."""
    before = folder_from(FILES, "before")
    needless = []
    for name, content in FILES.items():
        lines = content.decode().splitlines(keepends=True)
        for number, line in enumerate(lines):
            if not line.strip() or line.startswith("#"):
                continue
            without = {**FILES, name: "".join(lines[:number] + lines[number + 1 :]).encode()}
            if mistakes_in(without):
                continue
            after = folder_from(without, "after")
            same = all(
                getattr(after, field) == getattr(before, field)
                for field in ("machine", "scripts", "captions")
            )
            needless += [(name, number + 1, line)] if same else []
    assert needless == []


def test_its_round_runs_on_such_a_machine():
    folder = folder_from(FILES, "the smallest folder")
    driver = Driver(decider_for(folder, opened(), Wanted(before=("round",), rounds=0, after=()), {}))
    driver.open_line()
    driver.prints(b"READY: ")
    driver.passes("settle")
    for character in b"ADD 2 3":
        driver.prints(bytes([character]))
    driver.passes("echo")
    assert driver.typed == b"ADD 2 3\r"
    driver.prints(b"\r\nSUM IS 5\r\n")
    (caption,) = driver.facts(kinds.CaptionShown)
    assert caption.words["en"] == "We asked for two and three together. The machine says: 5."
    assert driver.over == "done"


@pytest.mark.parametrize(
    "name", ["machine.toml", "opening.toml", "round.toml", "closing.toml", "captions/en.toml"]
)
def test_without_one_of_these_files_it_is_refused_in_one_message(name):
    (mistake,) = mistakes_in({other: text for other, text in FILES.items() if other != name})
    assert mistake.file == name


def test_without_a_story_it_is_complete_and_shows_no_caption():
    folder = folder_from({name: text for name, text in FILES.items() if name != "story.toml"}, "no story")
    assert folder.captions == ()
