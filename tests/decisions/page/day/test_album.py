"""The album: four pictures of the last round that was done, each as things were then."""

from __future__ import annotations

import pytest

from exhibit.decisions.page.day.album import best
from exhibit.facts import kinds
from tests.decisions.page.day.work import after, began, ended, exerciser, line, reading, rows, started, step

pytestmark = pytest.mark.pure


def prints(text):
    return kinds.BytesReceived(bytes=f"{text}\r\n", first_us=0)


ROUND = (
    started("round", 1),
    step("round", "take-the-desk"),
    prints("DESK TIDES TAKEN"),
    step("round", "begin-shuttle"),
    exerciser(),
    step("round", "run-tides"),
    began(),
    *rows("00 01", "1 2"),
    line("followed-ended", job="3"),
    step("round", "show-the-board"),
    prints("\x1b[2J\x1b[HTHE BOARD"),
    reading("load", 4),
    kinds.LandmarkReached(landmark="board", line="THE BOARD"),
    prints("\x1b[2J\x1b[HBOARD PUT AWAY"),
    step("round", "look-in-the-log"),
)


def album(*steps):
    return after(*steps)["album"]


def pictures(found):
    return [(one["chapter"], one["picture"]) for one in found]


def test_while_a_round_goes_on_its_pictures_are_not_shown_yet():
    assert album(*ROUND) == []


def test_a_round_that_was_done_is_told_in_four_pictures_in_their_order():
    assert pictures(album(*ROUND, ended("round"))) == [
        ("signing-on", "console"),
        ("shuttle", "part:lower-drive"),
        ("tides", "plot:tide"),
        ("board", "console"),
    ]


def test_each_shows_things_as_they_were_then():
    signing_on, shuttle, tides, board = album(*ROUND, ended("round"))
    assert signing_on["lines"] == ["DESK TIDES TAKEN"]
    assert (shuttle["part"], shuttle["job"], shuttle["lines"]) == (
        "lower-drive",
        {"job": "1", "name": "SHUTTLE"},
        [],
    )
    assert [point[:2] for point in tides["plot"]["points"]] == [[0.0, 1.0], [1.0, 2.0]]
    assert tides["plot"]["done"]
    assert board["lines"] == ["THE BOARD"]
    assert [one["seq"] for one in (signing_on, shuttle, tides, board)] == [4, 6, 8, 13]


def test_a_picture_of_a_plot_that_this_round_didn_t_make_shows_none():
    again = [started("round", 2), step("round", "run-tides"), ended("round")]
    (tides,) = album(*ROUND, ended("round"), *again)
    assert tides["plot"] is None


@pytest.mark.parametrize("outcome", ["failed", "stopped"])
def test_a_round_that_wasn_t_done_leaves_the_album_of_the_one_before(outcome):
    again = [started("round", 2), step("round", "run-tides"), ended("round", outcome)]
    assert len(album(*ROUND, ended("round"), *again)) == 4
    assert album(*ROUND, ended("round", outcome)) == []


def test_an_opening_is_no_round():
    assert album(started("opening"), step("opening", "turn-the-key"), ended("opening")) == []


def test_the_best_are_spread_over_the_round_with_every_plot_among_them():
    def one(name, picture, plot=None):
        return {"chapter": name, "picture": picture, "plot": plot}

    parts = [one(f"{number}", "console") for number in range(7)]
    plain, plotted = one("plain", ""), one("plotted", "plot:tide", {})
    assert [a["chapter"] for a in best([plain, *parts[:3], plotted, *parts[3:]])] == [
        "0",
        "plotted",
        "3",
        "6",
    ]
    assert [a["chapter"] for a in best([plain, *parts[:2]])] == ["plain", "0", "1"]
    assert best([]) == []
