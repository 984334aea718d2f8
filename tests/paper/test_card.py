"""The card: everything that people do by hand, cautions first, with the same drawings as on the desk."""

from __future__ import annotations

import html
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.decisions.machine.script import CheckPack, HandsOn
from exhibit.decisions.panel.drawing import drawn
from exhibit.facts.errors import SetUpFault
from exhibit.folder.whole import read_folder
from exhibit.paper.card import card
from exhibit.paper.card_words import CARD

WHIMBREL = Path("scripts/whimbrel")
FOLDER = read_folder(WHIMBREL)


def text(page: str) -> str:
    bare = re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL)
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", bare)).split())


@pytest.fixture(scope="module", params=["en", "de"])
def tag(request) -> str:
    return request.param


@pytest.fixture(scope="module")
def page(tag) -> str:
    return card(WHIMBREL, tag)


def test_each_step_by_hand_has_its_number_and_its_caution_before_it(page, tag):
    said, at = text(page), 0
    for name in ("opening", "closing"):
        steps = [step for step in FOLDER.scripts[name].steps if isinstance(step, HandsOn | CheckPack)]
        for number, step in enumerate(steps, 1):
            caution = said.index(step.caution[tag], at)
            numbered = said.index(CARD[tag]["step"].format(number=number, count=len(steps)), caution)
            at = said.index(step.words[tag], numbered)


def test_it_has_the_same_drawings_as_the_desk(page, tag):
    acts = [
        act for step in FOLDER.scripts["opening"].steps if isinstance(step, HandsOn) for act in step.panel
    ]
    for act in acts:
        if picture := drawn(act, tag):
            assert re.search(r'viewBox="[^"]*"', picture)[0] in page
            assert page.count("<svg") == 2


def test_emergencies_come_first_and_whole(page, tag):
    said = text(page)
    for emergency in FOLDER.emergencies.values():
        at = said.index(emergency.title[tag])
        assert at < said.index(FOLDER.scripts["opening"].title[tag])
        for line in emergency.do[tag]:
            at = said.index(line, at)


def test_the_head_that_comes_on_each_sheet_says_mains_stop_and_keyholder(page, tag):
    head = re.search(r"<thead>(.*?)</thead>", page, flags=re.DOTALL)[1]
    assert FOLDER.machine.site.mains_stop[tag] in text(head)
    assert FOLDER.machine.site.keyholder[tag] in text(head)


def test_stopping_by_hand_has_its_caution_first(page, tag):
    said = text(page)
    at = said.index(CARD[tag]["stopping"])
    for one in FOLDER.exercisers.values():
        at = said.index(one.stop_by_hand[tag], said.index(one.caution[tag], at))


def test_the_terminal_goes_back_with_the_line_settings_of_the_folder(page, tag):
    said = text(page)
    away = said[said.index(CARD[tag]["away"]) :]
    assert away.index(CARD[tag]["away caution"]) < away.index(FOLDER.machine.plug[tag])
    words = {
        "en": "2400 baud, 8 data bits, no parity, 1 stop bit",
        "de": "2400 Baud, 8 Datenbits, keine Parität",
    }
    assert words[tag] in away


def test_it_says_what_to_type_but_no_secret_and_no_date_of_today(page, tag):
    said = text(page)
    assert "LOAD TIDEBOOK" in said
    assert "[day of year] [year]" in said
    assert CARD[tag]["secret"].split("{at}")[0] in said


def test_it_needs_nothing_but_itself(page):
    assert not re.search(r'(?:src|href)="|url\(|@import|<script', page)


def test_both_languages_have_every_sentence():
    assert {*CARD["en"]} == {*CARD["de"]}
    for name, sentence in CARD["en"].items():
        assert {*re.findall(r"\{\w+\}", sentence)} == {*re.findall(r"\{\w+\}", CARD["de"][name])}


def test_a_language_that_the_folder_lacks_is_refused():
    with pytest.raises(SetUpFault, match="no words in the language 'fr'"):
        card(WHIMBREL, "fr")


def test_the_command_writes_the_file_or_prints_it(tmp_path):
    written = tmp_path / "card.html"
    done = CliRunner().invoke(main, ["card", f"{WHIMBREL}", "--language", "de", "--to", f"{written}"])
    assert done.exit_code == 0
    assert written.read_text(encoding="utf-8") == card(WHIMBREL, "de")
    assert CliRunner().invoke(main, ["card", f"{WHIMBREL}"]).output == card(WHIMBREL)


def test_a_place_where_nothing_can_be_written_is_said():
    done = CliRunner().invoke(main, ["card", f"{WHIMBREL}", "--to", "/proc/none/card.html"])
    assert done.exit_code == 2
    assert "can't be written" in done.output
