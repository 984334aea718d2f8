"""Cards of background: what a museum can write, and what is reported about a card that can't be used."""

from pathlib import Path

import pytest

from exhibit.folder.files import read_card_files
from exhibit.folder.reading.cards import MOST_WORDS, read_cards
from exhibit.folder.reading.mistakes import Mistake

pytestmark = pytest.mark.pure

WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
GOOD = (
    "# A title\n\nOne paragraph\non two lines.\n\n- Word length: 24 bits\n- Store: small\n\n> The handbook\n"
)


def read(files: dict[str, str], languages: tuple[str, ...] = ("en",)) -> tuple[list, list[Mistake]]:
    mistakes: list[Mistake] = []
    content = {f"background/{name}": text.encode() for name, text in files.items()}
    return list(read_cards(content, list(languages), mistakes)), mistakes


def test_a_card_is_its_title_its_paragraphs_its_figures_and_its_source():
    (card,), mistakes = read({"en/1-a-card.md": GOOD})
    assert mistakes == []
    assert card.name == "1-a-card"
    assert card.title == {"en": "A title"}
    assert card.text == {
        "en": "One paragraph on two lines.\n\n- Word length: 24 bits\n\n- Store: small",
    }
    assert card.source == {"en": "The handbook"}


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("# A title", "A title", 1, "no title"),
        ("# A title", "## A title", 1, "one title"),
        ("# A title", f"# {'x' * 61}", 1, "61 characters"),
        ("One paragraph", "One\tparagraph", 3, "can't be shown"),
        ("- Store: small", "- Store", 7, "a colon"),
        ("> The handbook", "", 9, "no source"),
        ("> The handbook\n", "> The handbook\n\nMore.\n", 11, "can follow the source"),
        ("One paragraph", "word " * (MOST_WORDS - 10), 1, f"{MOST_WORDS + 1} words"),
    ],
)
def test_each_mistake_in_a_card_is_reported_with_its_line(old, new, line, said):
    _, mistakes = read({"en/a-card.md": GOOD.replace(old, new)})
    assert [(m.line, said in m.what) for m in mistakes] == [(line, True)]


def test_a_card_with_the_maximum_number_of_words_is_in_order():
    _, mistakes = read({"en/a-card.md": GOOD.replace("One paragraph", "word " * (MOST_WORDS - 11))})
    assert mistakes == []


def test_a_folder_of_cards_for_an_unknown_language_is_one_mistake():
    _, mistakes = read({"en/a.md": GOOD, "de/a.md": GOOD, "de/b.md": GOOD}, ("en",))
    assert [(mistake.file, mistake.what) for mistake in mistakes] == [
        ("background/de/a.md", 'no language has the tag "de"')
    ]


def test_a_language_with_cards_needs_all_of_them_and_one_without_any_needs_none():
    _, mistakes = read({"en/a.md": GOOD, "en/b.md": GOOD, "de/a.md": GOOD}, ("en", "de"))
    assert [(m.file, m.line) for m in mistakes] == [("background/de/b.md", 1)]
    cards, mistakes = read({"en/a.md": GOOD}, ("en", "de"))
    assert mistakes == []
    assert cards[0].title == {"en": "A title"}


def test_an_unknown_language_and_an_invalid_name_are_mistakes():
    _, mistakes = read({"fr/a.md": GOOD, "en/A Card.md": GOOD})
    assert [m.file for m in mistakes] == ["background/fr/a.md", "background/en/A Card.md"]


def test_the_demonstration_has_the_cards_that_its_page_speaks_of():
    cards, mistakes = [], []
    files = read_card_files(WHIMBREL)
    languages = sorted({name.split("/")[1] for name in files})
    cards = [card.name for card in read_cards(files, languages, mistakes)]
    assert mistakes == []
    assert {"processor", "small-drive", "upper-drive", "lower-drive", "console"} <= set(cards)
    assert "the-machine-itself" in cards
    assert len([name for name in cards if name[0].isdigit()]) == 7
