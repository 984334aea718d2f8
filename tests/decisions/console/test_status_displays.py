"""A status display is read when its frame has ended, whole, and only where its title stands."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.console.status_displays import Displays
from exhibit.decisions.display.screen import Screen
from exhibit.decisions.display.wire import Wire
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.kinds import LandmarkReached, ReadingTaken, TroubleRaised
from tests.decisions.feeds import byte_by_byte, in_every_feed
from tests.decisions.heron import BOARD, GAUGE, machine


class Painted:
    """The displays of a machine that paints on a screen of 24 rows."""

    def __init__(self, feed=byte_by_byte, described=None):
        self.displays = Displays(described or machine())
        self.screen = Screen(24, 80)
        self.now_us = 0
        self._wire = Wire("drop")
        self._feed = feed

    def paints(self, data: bytes) -> list:
        facts = []
        for piece in self._feed(data):
            self.displays.heard(self.now_us)
            for item in self._wire.feed(piece):
                self.screen.apply([item])
                facts += self.displays.take(item, self.screen)
        return facts

    def quiet(self) -> list:
        due_us = self.displays.quiet_due_us()
        if due_us is None:
            return []
        self.now_us = due_us
        return self.displays.quiet(self.screen, due_us)


def at(row: int, text: str = "", column: int = 1) -> bytes:
    return b"\x1b[%d;%dH" % (row, column) + text.encode()


def board(time="09.15", load="87", mode="DAY", jobs=("1 SHUTTLE", "2 SUMS")) -> bytes:
    rows = b"".join(at(6 + number, job) for number, job in enumerate(jobs))
    return b"\x1b[2J" + at(1, f"HERON BOARD {time}") + at(3, f"LOAD {load}") + at(4, f"MODE {mode}") + rows


PARK = at(24)
GAUGE_FRAME = b"\x1b[2J" + at(1, "HERON GAUGE") + at(2, "LEVEL 4")


STANDS_ON = {"load": [3], "mode": [4], "jobs": [6, 7], "level": [2]}


def taken(name, value="", table=None, frame=1, display="board"):
    rows = [] if table == [] else STANDS_ON[name]
    return ReadingTaken(display=display, frame=frame, name=name, value=value, table=table, rows=rows)


def reached(time="09.15"):
    return LandmarkReached(landmark="board", line=f"HERON BOARD {time}", fields={"time": time})


WHOLE_FRAME = [
    taken("load", 87),
    taken("mode", "DAY"),
    taken("jobs", table=[{"job": "1", "name": "SHUTTLE"}, {"job": "2", "name": "SUMS"}]),
    reached(),
]


@in_every_feed
def test_a_frame_is_read_when_the_cursor_comes_to_rest_at_its_end(feed):
    painted = Painted(feed)
    assert painted.paints(board()) == []
    assert painted.paints(PARK) == WHOLE_FRAME
    assert painted.displays.standing == reached()


@in_every_feed
def test_trailing_bytes_change_nothing_of_the_frame(feed):
    assert Painted(feed).paints(board() + PARK + b"MORE" + at(3, "LOAD 9")) == WHOLE_FRAME


def test_half_a_frame_is_not_read():
    painted = Painted()
    painted.paints(board()[:-6])
    assert painted.displays.standing is None
    assert painted.quiet() == []


def test_a_frame_that_only_repaints_what_has_changed_is_read_whole():
    painted = Painted()
    painted.paints(board() + PARK)
    assert painted.paints(at(3, "LOAD 12") + PARK) == [
        taken("load", 12, frame=2),
        taken("mode", "DAY", frame=2),
        taken("jobs", table=WHOLE_FRAME[2].table, frame=2),
        reached(),
    ]


def test_a_cursor_that_passes_the_place_while_printing_ends_no_frame():
    painted = Painted()
    painted.paints(board())
    assert painted.paints(at(23) + b"\r\n") == []


def test_without_its_title_there_is_no_display():
    assert Painted().paints(at(1, "SOMETHING ELSE") + at(3, "LOAD 87") + PARK) == []


@pytest.mark.parametrize("wipe", [b"\x1b[2J", at(1, "OTHER TITLE\x1b[K") + PARK])
def test_a_display_that_was_wiped_away_no_longer_stands(wipe):
    painted = Painted()
    painted.paints(board() + PARK)
    painted.paints(wipe)
    assert painted.displays.standing is None


def test_erasing_part_of_the_screen_leaves_the_display_standing():
    painted = Painted()
    painted.paints(board() + PARK + b"\x1b[J")
    assert painted.displays.standing == reached()


def test_a_display_is_over_when_a_prompt_stands():
    painted = Painted()
    painted.paints(board() + PARK)
    painted.displays.gone()
    assert painted.displays.standing is None


def test_a_trouble_is_raised_once_for_as_long_as_it_shows_and_again_when_the_display_comes_back():
    painted = Painted()
    stuck = board(jobs=("1 STUCK",)) + PARK
    raised = [
        [fact.line for fact in painted.paints(stuck) if isinstance(fact, TroubleRaised)] for _ in range(3)
    ]
    assert raised == [["1 STUCK"], [], []]
    painted.displays.gone()
    assert [fact.line for fact in painted.paints(stuck) if isinstance(fact, TroubleRaised)] == ["1 STUCK"]


@pytest.mark.parametrize(
    ("load", "value"),
    [("0", 0), ("-3", -3), ("+5", 5), ("1.5", 1.5), ("007", 7), ("123456789012345", 123456789012345)],
)
def test_a_number_is_a_number(load, value):
    facts = Painted().paints(board(load=load) + PARK)
    assert facts[0] == taken("load", value)
    assert type(facts[0].value) is type(value)


def test_a_reading_that_doesnt_stand_there_is_not_taken():
    names = [
        fact.name for fact in Painted().paints(board(load="NONE") + PARK) if isinstance(fact, ReadingTaken)
    ]
    assert names == ["mode", "jobs"]


def test_a_table_without_rows_is_an_empty_table():
    facts = Painted().paints(board(jobs=()) + PARK)
    assert facts[2] == taken("jobs", table=[])


def test_a_row_of_a_table_that_cannot_be_read_is_told_and_a_blank_one_is_not():
    facts = Painted().paints(board(jobs=("1 SHUTTLE", "?? RE+KON", "")) + PARK)
    (table,) = [fact for fact in facts if isinstance(fact, ReadingTaken) and fact.name == "jobs"]
    assert (table.rows, table.unread) == ([6], [7])


def test_a_title_below_the_last_row_is_never_there():
    low = msgspec.structs.replace(BOARD, title_row=99)
    assert Painted(described=machine(displays=(low,))).paints(board() + PARK) == []


def test_of_two_displays_that_end_at_the_same_place_the_one_whose_title_stands_is_read():
    other = msgspec.structs.replace(BOARD, name="other", title=GAUGE.title, readings=())
    painted = Painted(described=machine(displays=(other, BOARD)))
    assert painted.paints(board() + PARK) == WHOLE_FRAME


@in_every_feed
def test_a_display_that_a_question_was_printed_over_no_longer_stands(feed):
    painted = Painted(feed)
    painted.paints(board() + PARK + b"\r\n")
    assert painted.displays.standing is not None
    painted.paints(b"REALLY END ALL JOBS? ")
    assert painted.displays.standing is None
    painted.paints(board() + PARK)
    assert painted.displays.standing is not None


def test_a_frame_that_ends_its_rows_with_line_feeds_stands_while_it_is_painted_again():
    painted = Painted()
    painted.paints(board() + PARK)
    painted.paints(at(3, "LOAD 88\r\nMODE DAY\r\n"))
    assert painted.displays.standing is not None


# -- displays whose frame ends by quiet


@in_every_feed
def test_a_quiet_display_is_read_when_nothing_came_for_its_time(feed):
    painted = Painted(feed)
    assert painted.paints(GAUGE_FRAME) == []
    assert painted.displays.quiet_due_us() == GAUGE.ends_after_quiet_us
    assert painted.displays.quiet(painted.screen, GAUGE.ends_after_quiet_us - 1) == []
    assert painted.quiet() == [
        taken("level", 4, display="gauge"),
        LandmarkReached(landmark="gauge", line="HERON GAUGE"),
    ]


def test_whatever_comes_puts_the_quiet_off():
    painted = Painted()
    painted.paints(GAUGE_FRAME)
    painted.now_us = 100
    painted.paints(b"\x00")
    assert painted.displays.quiet_due_us() == 100 + GAUGE.ends_after_quiet_us


def test_a_quiet_frame_is_read_once():
    painted = Painted()
    painted.paints(GAUGE_FRAME)
    assert len(painted.quiet()) == 2
    assert painted.displays.quiet_due_us() is None
    painted.paints(at(2, "LEVEL 5"))
    assert painted.quiet()[0] == taken("level", 5, frame=2, display="gauge")


def test_what_is_merely_printed_is_no_frame_to_wait_for():
    painted = Painted()
    painted.paints(b"JOB 3 ENDED\r\n" * 30)
    assert painted.displays.quiet_due_us() is None


def test_the_longest_quiet_counts_so_that_half_a_frame_of_none_is_read():
    slow = msgspec.structs.replace(GAUGE, name="slow", ends_after_quiet_us=900_000)
    painted = Painted(described=machine(displays=(GAUGE, slow)))
    painted.paints(GAUGE_FRAME)
    assert painted.displays.quiet_due_us() == 900_000


def test_a_machine_without_displays_waits_for_none():
    painted = Painted(described=machine(displays=()))
    assert painted.paints(board() + PARK) == []
    assert painted.displays.quiet_due_us() is None


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_displays_whose_titles_both_fit_the_more_particular_counts(turned):
    general = msgspec.structs.replace(BOARD, name="general", title=Pattern("HERON {...}"), readings=())
    displays = (general, BOARD) if turned else (BOARD, general)
    painted = Painted(described=machine(displays=displays))
    assert painted.paints(board() + PARK)[-1] == reached()
    other = painted.paints(b"\x1b[2J" + at(1, "HERON LOG") + PARK)
    assert [fact.landmark for fact in other] == ["general"]


def test_a_frame_isnt_read_as_a_general_display_while_the_particular_one_is_still_painted():
    general = msgspec.structs.replace(BOARD, name="general", title=Pattern("HERON {...}"), readings=())
    painted = Painted(described=machine(displays=(general, GAUGE)))
    assert painted.paints(GAUGE_FRAME + PARK) == []
    assert [fact.landmark for fact in painted.quiet() if isinstance(fact, LandmarkReached)] == ["gauge"]


def test_a_display_counts_as_damaged_only_once_it_has_been_seen_whole():
    painted = Painted()
    painted.paints(at(1, "HERON B0ARD") + PARK)
    assert painted.displays.damaged == ""
    painted.paints(board() + PARK)
    assert painted.displays.damaged == ""
    painted.paints(b"\x1b[2J" + at(1, "HERON B0ARD") + PARK)
    assert painted.displays.damaged == "board"
    painted.paints(board() + PARK)
    assert painted.displays.damaged == ""
    painted.paints(b"\x1b[2JGOOD NIGHT")
    assert painted.displays.damaged == "", "it was put away"
