"""Every sentence that a docent is told has a German one, and no sentence is left over."""

from __future__ import annotations

import re
from string import Formatter

import pytest

from exhibit.commands.answers import meaning
from exhibit.commands.saying import ENGLISH, Say
from exhibit.commands.sentences_de import GERMAN
from tests.commands.said import looked_up_otherwise, sentences


def places(sentence: str) -> set[str]:
    return {name for _, name, *_ in Formatter().parse(sentence) if name}


def typed_words(sentence: str) -> list[str]:
    """What a sentence says that a person can type, in its quotation marks."""
    return re.findall(r'"([^"{]+)"|„([^“{]+)“', sentence) and [
        one or other for one, other in re.findall(r'"([^"{]+)"|„([^“{]+)“', sentence)
    ]


def test_every_sentence_has_a_german_one_and_no_german_one_is_left_over():
    said = sentences()
    assert len(said) > 100
    assert set(said) - set(GERMAN) == set()
    assert set(GERMAN) - set(said) == set()


def test_no_sentence_is_put_together_where_it_is_said():
    assert looked_up_otherwise() == []


@pytest.mark.parametrize("english", GERMAN)
def test_a_sentence_has_the_same_places_and_the_same_room_before_it_in_both_languages(english: str):
    german = GERMAN[english]
    assert places(german) == places(english)
    assert len(german) - len(german.lstrip()) == len(english) - len(english.lstrip())
    assert german.count("\n") == english.count("\n")
    assert "{}" not in english


@pytest.mark.parametrize("english", [one for one in GERMAN if typed_words(one)])
def test_a_word_that_a_german_sentence_offers_means_what_the_english_one_means(english: str):
    offered = [meaning(word, german=False)[0] for word in typed_words(english)]
    assert all(offered)
    assert [meaning(word, german=True)[0] for word in typed_words(GERMAN[english])] == offered


@pytest.mark.parametrize("english", [one for one in GERMAN if one.startswith("Answer: ")])
def test_the_answers_that_are_listed_mean_the_same_in_both_languages(english: str):
    def listed(sentence: str, *, german: bool) -> list[str]:
        words = re.split(r",? (?:or|oder) |, ", sentence.split(": ")[1].rstrip("."))
        return [meaning(re.sub(r" \(.*", "", word), german=german)[0] for word in words]

    assert all(listed(english, german=False))
    assert listed(GERMAN[english], german=True) == listed(english, german=False)


@pytest.mark.parametrize(
    ("line", "means", "why"),
    [
        ("ja", "yes", ""),
        (" JA\n", "yes", ""),
        ("noch nicht", "not yet", ""),
        ("zu früh", "too early", ""),
        ("es ging nicht", "it didn't", ""),
        ("nein, die Lampe bleibt dunkel.", "no", "die Lampe bleibt dunkel"),
        ("geht nicht: der Deckel klemmt", "can't", "der Deckel klemmt"),
        ("weiter", "go on", ""),
        ("warten", "wait on", ""),
        ("auslassen", "leave out", ""),
        ("Stopp", "stop", ""),
        ("Kein Auftrag läuft.", "no job is running", ""),
        ("freigeben", "let go", ""),
        ("das ist der Prompt", "it is the prompt", ""),
        ("öffnen", "open", ""),
        ("Mittag", "away", ""),
        ("zurück", "back", ""),
        ("Ruhe 15 Minuten", "quiet", "15"),
        ("jetzt eine Runde", "round now", ""),
        ("ruhe", "", ""),
        ("jawohl", "", ""),
        ("neindoch", "", ""),
    ],
)
def test_german_answers_count_only_where_the_folder_begins_with_german(line: str, means: str, why: str):
    assert meaning(line, german=True) == (means, why)
    assert meaning(line, german=False) == ("", "")


@pytest.mark.parametrize("german", [True, False])
def test_english_answers_always_count(german: bool):
    for word in ("yes", "not yet", "can't", "no", "wait on", "leave out", "stop", "go on", "let go"):
        assert meaning(word, german=german) == (word, "")


@pytest.mark.parametrize(
    ("tag", "said"), [("de", "Fertig."), ("de-AT", "Fertig."), ("en", "Done."), ("fr", "Done.")]
)
def test_a_language_that_the_program_lacks_is_spoken_in_english(tag: str, said: str):
    assert Say(tag)("  Done.") == f"  {said}"


def test_the_folders_words_are_in_its_language_or_else_in_the_first_that_they_have():
    words = {"en": "Turn the key.", "de": "Drehen Sie den Schlüssel."}
    assert Say("de").words(words) == "Drehen Sie den Schlüssel."
    assert Say("fr").words(words) == ENGLISH.words(words) == "Turn the key."
    assert Say("de").words({}) == ""
