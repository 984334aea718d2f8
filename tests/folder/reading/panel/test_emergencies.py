"""What to do in an emergency: general words, the folder's own in their place, and none missing."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.decisions.machine.first_fact import first_fact
from exhibit.folder.files import read_files
from exhibit.folder.reading.panel.general_emergencies import GENERAL, NAMES
from exhibit.folder.whole import examine, folder_from

HERON = read_files(Path("scripts/heron"))
OWN = '\n[emergencies.{name}]\n{title}do = ["Press the button.", "Call 12."]\n'


def files(english: str, german: str | None = None) -> dict[str, bytes]:
    words = HERON["captions/en.toml"].decode()
    found = {**HERON, "captions/en.toml": (words + english).encode()}
    if german is None:
        return found
    # A folder of several languages has all words in their files.
    whimbrel = read_files(Path("scripts/whimbrel"))
    english, german = (
        whimbrel[f"captions/{tag}.toml"].decode() + more for tag, more in (("en", english), ("de", german))
    )
    return {**whimbrel, "captions/en.toml": english.encode(), "captions/de.toml": german.encode()}


def mistakes(folder: dict[str, bytes]) -> list[str]:
    return [mistake.what for mistake in examine(folder).mistakes if not mistake.is_advice]


def test_without_a_word_of_its_own_a_folder_has_the_general_ones():
    found = folder_from(HERON, "heron").emergencies
    assert list(found) == list(NAMES)
    assert found["power-back"].do["en"][0].startswith("Breakers off first")
    assert any("Nothing restarts itself" in line for line in found["power-back"].do["en"])


def test_the_folder_replaces_one_and_adds_another():
    more = OWN.format(name="smoke", title="") + OWN.format(name="flood", title='title = "Water comes in"\n')
    found = folder_from(files(more), "heron").emergencies
    assert found["smoke"].title == {"en": GENERAL["en"]["smoke"][0]}
    assert found["smoke"].do == {"en": ["Press the button.", "Call 12."]}
    assert list(found) == [*NAMES, "flood"]
    assert found["flood"].title == {"en": "Water comes in"}


def test_one_of_its_own_needs_words_in_each_language_and_a_replaced_one_does_not():
    own = OWN.format(name="flood", title='title = "Water comes in"\n')
    assert mistakes(files(own, "")) == ['[emergencies] lacks words for "flood", which another language has']
    assert mistakes(files(OWN.format(name="smoke", title=""), "")) == []


@pytest.mark.parametrize(
    ("more", "what"),
    [
        ('\n[emergencies.flood]\ntitle = "Water"\n', "lacks do"),
        ('\n[emergencies.flood]\ntitle = "Water"\ndo = []\n', "do is empty"),
        ('\n[emergencies.flood]\ndo = ["Go."]\n', "lacks title"),
        ('\n[emergencies.smoke]\ndo = ["Go."]\nsay = "x"\n', "say"),
    ],
)
def test_one_that_says_too_little_is_a_mistake(more, what):
    assert [what in mistake for mistake in mistakes(files(more))] == [True]


def test_a_language_that_the_program_does_not_speak_gets_english_and_advice():
    words = HERON["captions/en.toml"]
    other = {name: content for name, content in HERON.items() if name != "captions/en.toml"}
    other["captions/fr.toml"] = (
        words
        + '\n[language]\ntag = "fr"\nname = "Français"\n[parts]\nprocessor = "Ordinateur"\n'
        '[scripts]\nopening = "Matin"\nround = "Tour"\nclosing = "Soir"\n'.encode()
    )
    found = examine(other)
    assert [m.what for m in found.mistakes if "emergencies" in m.what] == [
        "the emergencies are shown in English, because nobody wrote them in Français"
    ]
    assert folder_from(other, "heron").emergencies["smoke"].title == {"fr": GENERAL["en"]["smoke"][0]}


def test_both_languages_say_the_same_number_of_things_and_defer_to_people():
    assert list(GENERAL["en"]) == list(GENERAL["de"]) == list(NAMES)
    for name in NAMES:
        assert len(GENERAL["en"][name][1]) == len(GENERAL["de"][name][1])
        assert "keyholder" in " ".join(GENERAL["en"][name][1])
        assert "zuständige Person" in " ".join(GENERAL["de"][name][1])


def test_they_stand_in_the_first_fact_so_that_they_are_there_without_the_bridge():
    folder = folder_from(HERON, "heron")
    opened = first_fact(folder, wall="2026-11-25T09:00:00+01:00", machine_is="real")
    assert opened.emergencies == folder.emergencies
