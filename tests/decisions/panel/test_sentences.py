"""The acts at the machine's front in words."""

from __future__ import annotations

import pytest

from exhibit.decisions.panel.positions import positions
from exhibit.decisions.panel.sentences import in_words, says, what_to_do
from exhibit.decisions.panel.sequence import filled, shown
from exhibit.facts.parts_and_cards import PanelAct

pytestmark = pytest.mark.pure

SET = PanelAct(act="set", value="5001", positions=positions("5001", 12, 3, "octal"))
LAMPS = PanelAct(act="lamps", name="ADDRESS", value="0003", positions=positions("0003", 12, 3, "octal"))
START = PanelAct(act="press", name="START")


def test_which_switches_are_up_is_said_by_group():
    assert in_words(SET, "en") == (
        "Up, counted from the left: the first and third switch of group 1; the third switch of group 4. "
        "Down: all the others."
    )
    assert in_words(SET, "de") == (
        "Nach oben, von links gezählt: der erste und dritte Schalter der Gruppe 1; der dritte Schalter der "
        "Gruppe 4. Nach unten: alle anderen."
    )


def test_a_place_in_a_group_cannot_be_read_as_a_number_of_switches():
    assert "the third switch of group 1" in in_words(PanelAct(act="set", positions="001 000"), "en")
    assert "die 9. Lampe der Gruppe 1" in in_words(PanelAct(act="lamps", positions="000000001 0"), "de")


def test_switches_without_groups_are_counted_along_the_row():
    alone = PanelAct(act="set", value="0110", positions="0 1 1 0", by_switch=True)
    assert in_words(alone, "en") == "Up, counted from the left: 2 and 3. Down: all the others."


@pytest.mark.parametrize(("bits", "words"), [("000", "Down: all of them."), ("111", "Up: all of them.")])
def test_all_up_or_all_down_is_said_shortly(bits, words):
    assert in_words(PanelAct(act="set", positions=bits), "en") == words


def test_lamps_are_what_must_show_and_never_what_was_seen():
    assert what_to_do(LAMPS, "en") == "The lamps ADDRESS must now show 0003."
    assert what_to_do(LAMPS, "de") == "Die Lampen ADDRESS müssen jetzt 0003 zeigen."
    assert in_words(LAMPS, "en").startswith(
        "Lit, counted from the left: the second and third lamp of group 4."
    )


def test_a_key_has_no_positions():
    assert what_to_do(START, "en") == "Press START."
    assert in_words(START, "en") == ""


def test_a_language_without_sentences_of_its_own_gets_english():
    assert what_to_do(START, "he") == "Press START."
    assert {*says("en")} == {*says("de")}


def test_the_places_in_a_step_s_words_are_filled_from_its_acts():
    words = "Set them to {value}. {up} Then press {key}; wait for { lamps }. {other}"
    assert filled(words, [SET, LAMPS, START], "en") == (
        "Set them to 5001. Up, counted from the left: the first and third switch of group 1; the third "
        "switch of group 4. Down: all the others. Then press START; wait for 0003. {other}"
    )


def test_each_act_is_shown_in_each_language_and_only_switches_and_lamps_are_drawn():
    acts = shown([SET, START, LAMPS], ["en", "de"])
    assert [act["act"] for act in acts] == ["set", "press", "lamps"]
    assert [bool(act["svg"]["de"]) for act in acts] == [True, False, True]
    assert acts[1]["words"] == {"en": "Press START.", "de": "Drücken Sie START."}
