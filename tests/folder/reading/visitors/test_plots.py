"""[plots] and [loads] of machine.toml: what they mean, and each mistake in them with what to write."""

from __future__ import annotations

import pytest

from exhibit.folder.reading.values import ValueMistake
from exhibit.folder.reading.visitors.plots import range_of
from exhibit.folder.whole import folder_from
from tests.folder import folder_writing
from tests.folder.folder_writing import mistakes_in
from tests.folder.reading.visitors.heron_at_work import FILES, HERON, with_edit

pytestmark = pytest.mark.pure


@pytest.mark.parametrize(("text", "numbers"), [("0 to 24", (0, 24)), ("-2.5 to 2.5", (-2.5, 2.5))])
def test_a_range_is_two_numbers(text, numbers):
    assert range_of(text) == numbers


@pytest.mark.parametrize(
    ("text", "write"), [("24", '"0 to 24"'), ("0-24", "to"), ("6 to 0", '"0 to 6"'), ("1 to 1", "to")]
)
def test_what_is_no_range_is_reported_with_what_to_write(text, write):
    with pytest.raises(ValueMistake) as caught:
        range_of(text)
    assert write in caught.value.write_instead


def test_a_plot_says_what_it_covers_and_how_it_is_read():
    plot = folder_from(FILES, "heron").machine.plots["tide"]
    assert (plot.title, plot.job_words) == ({"en": "The tide"}, {"en": "works out the tide"})
    assert (plot.across.from_, plot.across.to, plot.across.every) == (0, 24, 6)
    assert (plot.across.words, plot.up.words, plot.marks) == (
        {"en": "hour"},
        {"en": "metres"},
        {"top": {"en": "High"}},
    )
    assert (plot.part, plot.drawn_as, plot.read.begins, plot.read.ended) == (
        "processor",
        "water",
        "begun",
        ["over"],
    )


def test_a_load_says_where_from_and_where_to():
    load = folder_from(FILES, "heron").machine.loads["program"]
    assert (load.from_part, load.part) == ("processor", "processor")
    assert (load.begins, load.mark, load.ends) == ("LOADING", ".", "LOADED")


def test_the_whimbrel_s_are_in_both_its_languages():
    machine = folder_from(folder_writing.FILES, "whimbrel").machine
    for plot in machine.plots.values():
        for words in (plot.title, plot.across.words, plot.up.words, plot.job_words, *plot.marks.values()):
            assert list(words) == ["en", "de"]
            assert all(words.values())


@pytest.mark.parametrize(
    ("old", "new", "said", "write"),
    [
        ('begins = "begun"', 'begins = "begon"', "no line is named", '"begun"'),
        ('job = "job"', 'job = "jop"', 'has no place "jop"', 'job = "job"'),
        ('job = "job"', "", "", ""),
        ('ended = ["over"]', 'ended = ["ovr"]', "no line or interruption", '"over"'),
        ('ended = ["over"]', "ended = []", "ended is empty", "tides-ended"),
        ('stopped = ["broken"]', 'stopped = ["over"]', "says that the job is done", "delete"),
        ('worked = "far.hours"', 'worked = "far"', "is not the place of a line", "LINE.PLACE"),
        ('worked = "far.hours"', 'worked = "far.hour"', "has no place", '"far.hours"'),
        ('worked = "far.hours"', 'worked = "plain.hours"', "has no place", "{hours: number}"),
        ('worked = "far.hours"', 'worked = "fr.hours"', "no line is named", "far"),
        ('points_across = "hour-row.hours"', 'points_across = "time"', "are a number", '"number"'),
        (
            'points_up = "metre-row.metres"',
            'points_up = "metre-row.meters"',
            "has no place",
            "metre-row.metres",
        ),
        (
            'points_up = "metre-row.metres"',
            'points_up = "metr-row.metres"',
            "no line is named",
            "metre-row.metres",
        ),
        ('marks = ["top"]', 'marks = ["bottom"]', 'no line is named "bottom"', "one of"),
        ('marks_up = "metres"', 'marks_up = "meters"', "has no place", '"metres"'),
        ('marks_up = "metres"\n', "", "lacks marks_up", "metres"),
        ('across = "0 to 24"', 'across = "24"', "is not a range", '"0 to 24"'),
        ("across_every = 6", "across_every = 60", "doesn't divide", "across_every = 6"),
        ("across_every = 6", "across_every = 0", "doesn't divide", "across_every = 6"),
        ('drawn_as = "water"', 'drawn_as = "watr"', "can't be", "water"),
        ('from = "processor"', 'from = "procesor"', "no part is named", "processor"),
        ('mark = "."', 'mark = ".."', "a single character", '"."'),
        ('begins = "LOADING"', 'begins = "LOADING ."', "begins with the mark", "before the first mark"),
    ],
)
def test_each_mistake_is_reported_with_what_to_write(old, new, said, write):
    files, line = with_edit("machine.toml", old, new)
    found = mistakes_in(files)
    if not said:
        assert found == []
        return
    ours = [one for one in found if said in one.what and write in one.write_instead]
    assert len(ours) == 1, [one.text() for one in found]
    assert ours[0].file == "machine.toml"
    if new and "lacks" not in said and "are a number" not in said:
        assert ours[0].line == line


@pytest.mark.parametrize(
    ("old", "new", "said", "write"),
    [
        ('points_up = "metre-row.metres"', 'points_up = "board.lode"', "no reading", "board.load"),
        ('points_up = "metre-row.metres"', 'points_up = "board.jobs"', "no reading", "board.jobs-going"),
        (
            'points_up = "metre-row.metres"',
            'points_up = "board.load"',
            "only a time",
            'points_across = "time"',
        ),
    ],
)
def test_a_reading_can_be_plotted_over_time_alone(old, new, said, write):
    files, _ = folder_writing.with_edit("machine.toml", old, new)
    ours = [one for one in mistakes_in(files) if said in one.what]
    assert [write in one.write_instead for one in ours] == [True]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('top = "High"\n', "", 'lacks words for "top"'),
        ('top = "High"', 'tip = "High"', 'nothing is named "tip"'),
        ("[plots.tide]", "[plots.tides]", 'no plot is named "tides"'),
        ('does = "It adds up."', 'do = "It adds up."', 'nothing is named "do"'),
        ('program = "The', 'progrm = "The', 'nothing is named "progrm"'),
        ('title = "The tide"', 'title = "The {tide}"', "nothing fills in a {FIELD}"),
    ],
)
def test_words_that_are_missing_or_unused_are_reported(old, new, said):
    files, _ = with_edit("captions/en.toml", old, new)
    assert any(said in one.what for one in mistakes_in(files))


def test_its_words_can_stand_beside_it():
    machine = FILES["machine.toml"].decode()
    words = 'title = "T"\nacross_words = "x"\nup_words = "y"\njob_words = "J"\n'
    files = {**FILES, "machine.toml": machine.replace("[plots.tide]\n", f"[plots.tide]\n{words}").encode()}
    left = '[plots.tide]\ntop = "High"\n[loads]' + FILES["captions/en.toml"].decode().partition("[loads]")[2]
    files["captions/en.toml"] = HERON["captions/en.toml"] + left.encode()
    plot = folder_from(files, "heron").machine.plots["tide"]
    assert (plot.title["en"], plot.across.words["en"], plot.up.words["en"], plot.job_words["en"]) == (
        "T",
        "x",
        "y",
        "J",
    )


def test_a_folder_without_them_is_whole():
    folder = folder_from(HERON, "heron")
    assert (folder.machine.plots, folder.machine.loads, folder.chapters, folder.round_words) == (
        {},
        {},
        {},
        {},
    )
