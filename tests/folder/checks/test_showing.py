"""Tell-tales, what comes next and glosses are read, and each unknown name in them is found."""

from __future__ import annotations

import pytest

from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import ROOT, mistakes_in

pytestmark = pytest.mark.pure

WHIMBREL = {
    path.relative_to(ROOT / "scripts/whimbrel").as_posix(): path.read_bytes()
    for path in (ROOT / "scripts/whimbrel").rglob("*.toml")
}


def edited(file: str, old: str, new: str) -> dict[str, bytes]:
    text = WHIMBREL[file].decode()
    assert old in text, old
    return {**WHIMBREL, file: text.replace(old, new, 1).encode()}


def said(file: str, old: str, new: str) -> list[str]:
    return [f"{one.file}: {one.what} / {one.write_instead}" for one in mistakes_in(edited(file, old, new))]


def test_a_tell_tale_has_everything_that_the_page_needs():
    folder = folder_from(WHIMBREL, "whimbrel")
    starting = folder.machine.tell_tales["lower-starting"]
    assert (starting.kind, starting.state, starting.part, starting.lamps) == (
        *("lamps", "starting", "lower-drive"),
        "o*oo",
    )
    assert (starting.begins, starting.ends, starting.at_most_us) == (
        *(["opening.start-lower"], ["lower-ready"]),
        60_000_000,
    )
    assert set(starting.words) == {"en", "de"}
    states = {one.state for one in folder.machine.tell_tales.values()}
    assert states == {"idle", "busy", "seeking", "starting"}


def test_every_sound_has_something_to_see_or_feel_in_every_language():
    folder = folder_from(WHIMBREL, "whimbrel")
    sounds = [one for one in folder.machine.tell_tales.values() if one.kind == "sound"]
    assert sounds
    assert all(set(one.see_or_feel) == {"en", "de"} for one in sounds)
    (mistake,) = said("captions/de.toml", 'small-ticks = "Oder', 'big-ticks = "Oder')[:1]
    assert '[see_or_feel] lacks words for "small-ticks"' in mistake


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('lamps = "o*oo"', 'lamps = "o*O"', "does not describe lamps"),
        ('lamps = "o*oo"', 'lamps = ""', "does not describe lamps"),
        ('lamps = "o*oo"', f'lamps = "{"o" * 49}"', "more than 48 lamps"),
        ('lamps = "o*oo"\n', "", "lacks lamps"),
        ('kind = "sound"', 'kind = "sound"\nlamps = "o"', "is no key"),
        ('begins = ["lower-ready"]', 'begins = ["lower-redy"]', 'did you mean "lower-ready"'),
        ('begins = ["lower-ready"]', "begins = []", "begins is empty"),
        ('begins = ["opening.press-start"', 'begins = ["opening.press-stert"', "has no step"),
        ('ends = ["lower-ready"]', 'ends = ["lower.ready"]', 'no script is named "lower"'),
        ('part = "lower-drive"\nlamps', 'part = "lower-drve"\nlamps', 'no part is named "lower-drve"'),
        (
            'at_most = "60 s"\nconfirmed_by = ["opening.start-lower"]',
            'at_most = "60 s"\nconfirmed_by = ["opening.say-the-day"]',
            "not a step that a person confirms",
        ),
    ],
)
def test_a_tell_tale_that_cannot_be_shown_is_found(old, new, words):
    mistakes = said("machine.toml", old, new)
    assert len(mistakes) == 1
    assert words in mistakes[0]


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('step = "round.show-the-board"\n', 'step = "round.take-the-desk"\n', "doesn't come after"),
        ('step = "round.show-the-board"\n', 'step = "round.read-about-shuttle"\n', "doesn't come after"),
        ('step = "round.show-the-board"\n', 'step = "closing.stop-tidebook"\n', "in the same script"),
        ('step = "round.show-the-board"\n', 'step = "round.stop-tides"\n', "in the same script"),
        ('step = "round.show-the-board"\n', 'step = "round.show-the-bord"\n', "has no step"),
    ],
)
def test_an_announced_step_comes_after_the_step_that_announces_it(old, new, words):
    mistakes = said("story.toml", old, new)
    assert words in mistakes[0]


def test_nothing_is_announced_across_a_hands_on_step():
    text = WHIMBREL["story.toml"].decode()
    text += '\n[[ahead]]\nname = "day"\npart = "console"\nbegins = "opening.start-small"\n'
    text += 'step = "opening.say-the-day"\nusually = "40 s"\n'
    found = mistakes_in({**WHIMBREL, "story.toml": text.encode()})
    assert any("in between is done by hand" in one.what for one in found)


def test_a_gloss_belongs_to_a_known_name_and_is_needed_in_every_language():
    lacking = said("captions/de.toml", 'no-desk = "so wartet', 'one-desk = "es fragt')
    assert any('[glosses] lacks words for "no-desk"' in one for one in lacking)
    assert any('nothing is named "one-desk"' in one for one in lacking)


def test_two_announcements_can_not_have_the_same_name():
    found = said("story.toml", 'name = "board-comes"', 'name = "tide-table"')
    assert any('an earlier [[ahead]] is already named "tide-table"' in one for one in found)


def test_how_an_exerciser_is_stopped_by_hand_is_said_in_every_language():
    folder = folder_from(WHIMBREL, "whimbrel")
    assert {name: one.part for name, one in folder.exercisers.items()} == {
        "shuttle": "lower-drive",
        "shuttle-without-end": "lower-drive",
        "sums": "processor",
    }
    for one in folder.exercisers.values():
        assert set(one.stop_by_hand) == {"en", "de"}
        assert all("STOP" in words for words in one.stop_by_hand.values())
    lacking = said("captions/de.toml", "\nsums = ", "\nsumming = ")
    assert any('[stop_by_hand] lacks words for "sums" (machine.toml, line' in one for one in lacking)
    assert any('nothing is named "summing"' in one for one in lacking)
