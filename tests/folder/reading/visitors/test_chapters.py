"""Chapters of a script: what they mean, and each mistake in them."""

from __future__ import annotations

import pytest

from exhibit.folder.whole import folder_from
from tests.folder import folder_writing
from tests.folder.folder_writing import mistakes_in
from tests.folder.reading.visitors.heron_at_work import FILES, with_edit

pytestmark = pytest.mark.pure


def test_a_chapter_has_words_of_its_name_in_english_and_is_told_in_the_past():
    adding, again = folder_from(FILES, "heron").chapters["round"]
    assert (adding.words, adding.told) == ({"en": "Adding"}, {"en": "It added up."})
    assert (again.name, again.from_step, again.picture) == ("again", "second", "part:processor")


def test_without_words_in_the_past_it_is_told_as_it_is():
    files, _ = with_edit(
        "captions/en.toml", '[told.round]\nadding = "It added up."\nagain = "It added up again."\n', ""
    )
    adding, _ = folder_from(files, "heron").chapters["round"]
    assert adding.told == {"en": "Adding"}


def test_its_words_can_stand_beside_it():
    files, _ = with_edit("round.toml", 'from = "first"', 'from = "first"\nwords = "It adds up"')
    assert folder_from(files, "heron").chapters["round"][0].words == {"en": "It adds up"}


def test_the_whimbrel_s_chapters_have_words_in_both_its_languages():
    chapters = folder_from(folder_writing.FILES, "whimbrel").chapters
    for chapter in sum(chapters.values(), []):
        for words in (chapter.words, chapter.told):
            assert list(words) == ["en", "de"]
            assert all(words.values())
        assert chapter.words != chapter.told


@pytest.mark.parametrize(
    ("old", "new", "said", "write"),
    [
        ('from = "second"', 'from = "secnd"', "no step of this script", '"second"'),
        ('from = "first"', 'from = "second"', "comes before the step of an earlier", "a later step"),
        ('"plot:tide"', '"plot:tid"', "no picture is named", '"plot:tide"'),
        ('"part:processor"', '"part:procesor"', "no picture is named", '"part:processor"'),
        ('from = "second"\n', "", "lacks from", "run-tides"),
        ('picture = "plot:tide"', 'picure = "plot:tide"', 'did you mean "picture"', "picture ="),
        ('name = "again"', 'name = "adding"', "is already named", '"adding-2"'),
    ],
)
def test_each_mistake_is_reported_with_what_to_write(old, new, said, write):
    files, _ = with_edit("round.toml", old, new)
    found = [one for one in mistakes_in(files) if said in one.what]
    assert [(one.file, write in one.write_instead) for one in found] == [("round.toml", True)]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('adding = "It added up."', 'added = "It added up."', 'nothing is named "added"'),
        ("[told.round]", "[told.rounds]", 'no script with chapters is named "rounds"'),
        ("[told.round]", "[told.closing]", 'no script with chapters is named "closing"'),
    ],
)
def test_words_that_are_missing_or_unused_are_reported(old, new, said):
    files, _ = with_edit("captions/en.toml", old, new)
    found = [one for one in mistakes_in(files) if said in one.what]
    assert [one.file for one in found] == ["captions/en.toml"]


def test_what_is_told_in_one_language_must_be_in_each():
    files = folder_writing.FILES
    german = files["captions/de.toml"].decode()
    cut = german.index("[told.round]")
    first = german.index("\n", german.index(" = ", cut))
    without = german[: german.index("\n", cut) + 1] + german[first + 1 :]
    found = mistakes_in({**files, "captions/de.toml": without.encode()})
    assert [("lacks words for" in one.what, one.file) for one in found] == [(True, "captions/de.toml")]
