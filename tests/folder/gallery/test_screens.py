"""screens.toml: the screens on which the museum shows the page."""

import pytest

from exhibit.facts.parts_and_cards import Screen
from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, mistakes_in

pytestmark = pytest.mark.pure

HALL = 'width = "53.1 cm"\nheight = "299 mm"\ndistance = "2.5 m"\nlower_edge = "90 cm"\n'


def mistakes(text: str) -> list[str]:
    return [
        f"{one.file}:{one.line}: {one.what}" for one in mistakes_in({**FILES, "screens.toml": text.encode()})
    ]


def test_a_screen_is_read_and_what_is_not_written_is_what_most_screens_are():
    kiosk = '[screens.kiosk]\nwidth = "30 cm"\nheight = "53 cm"\ndistance = "60 cm"\nlower_edge = "0 cm"\n'
    text = f'[screens.hall]\n{HALL}\n{kiosk}touch = true\nhome_after = "90 s"\n'
    screens = folder_from({**FILES, "screens.toml": text.encode()}, "folder").screens
    assert screens == {
        "hall": Screen(
            layout="landscape",
            width_cm=53.1,
            height_cm=29.9,
            distance_cm=250.0,
            lower_edge_cm=90.0,
            touch=False,
            home_after_s=240.0,
        ),
        "kiosk": Screen(
            layout="portrait",
            width_cm=30.0,
            height_cm=53.0,
            distance_cm=60.0,
            lower_edge_cm=0.0,
            touch=True,
            home_after_s=90.0,
        ),
    }


def test_a_folder_needs_no_screens():
    without = {name: content for name, content in FILES.items() if name != "screens.toml"}
    assert folder_from(without, "folder").screens == {}
    assert mistakes("") == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('width = "53.1 cm"', 'width = "53.1"', '2: width: "53.1" is not a length in mm, cm or m'),
        ('width = "53.1 cm"', 'width = "53 feet"', "2: width: "),
        ('width = "53.1 cm"', 'width = "53.1 m"', '2: width: no screen has "53.1 m"'),
        ('distance = "2.5 m"', 'distance = "1 mm"', '4: distance: no screen has "1 mm"'),
        ('distance = "2.5 m"\n', "", "1: [screens.hall] lacks distance"),
        ('distance = "2.5 m"', 'distence = "2.5 m"', '4: there is no key "distence"'),
        (
            'height = "299 mm"',
            'height = "299 mm"\nlayout = "portrait"',
            "4: a picture area of 53.1 by 29.9 cm",
        ),
        ('height = "299 mm"', 'height = "299 mm"\nlayout = "wide"', '4: layout can\'t be "wide"'),
        ('height = "299 mm"', 'height = "299 mm"\ntouch = "yes"', "4: touch is a text"),
        ('height = "299 mm"', 'height = "299 mm"\nhome_after = "4"', "4: home_after: "),
        ("[screens.hall]", "[screens.Hall]", '1: "Hall" can\'t be a name'),
        ("[screens.hall]", "[hall]", '1: there is no key "hall"'),
    ],
)
def test_a_mistake_in_it_is_reported_on_its_line(old, new, said):
    text = f"[screens.hall]\n{HALL}"
    assert old in text
    found = mistakes(text.replace(old, new))
    assert [f"screens.toml:{said}" in one for one in found][:1] == [True]


def test_more_screens_than_anybody_has_are_a_mistake():
    text = "".join(f"[screens.hall-{n}]\n{HALL}" for n in range(13))
    assert ["more than 12 screens" in one for one in mistakes(text)] == [True]
