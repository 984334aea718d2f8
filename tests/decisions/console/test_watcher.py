"""The watcher tells what was printed, and only what was printed."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.interruptions import LONGEST_LINES as LONGEST_INTERRUPTION_LINES
from exhibit.decisions.console.watcher import KEPT_LINES, Watcher
from exhibit.decisions.display.wire import Wire
from exhibit.decisions.machine.description import LinePattern, Prompt
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts.display import Display
from exhibit.facts.kinds import (
    AnyFact,
    InterruptionSeen,
    LandmarkReached,
    PatternSeen,
    TroubleRaised,
)
from tests.decisions.feeds import FEEDS, byte_by_byte, in_every_feed, whole
from tests.decisions.heron import ECHO_US, MACHINE, SETTLE_US, machine


class Watched:
    """A watcher whose machine prints at one moment and is then quiet."""

    def __init__(self, feed=byte_by_byte, described=MACHINE):
        self.watcher = Watcher(described)
        self._wire = Wire("drop", flow_control=True)
        self._feed = feed
        self.now_us = 0

    def prints(self, data: bytes) -> list[AnyFact]:
        """What follows at once."""
        facts: list[AnyFact] = []
        for piece in self._feed(data):
            self.watcher.heard(self.now_us)
            for item in self._wire.feed(piece):
                facts += self.watcher.take(item)
        return facts

    def quiet(self) -> list[AnyFact]:
        """What follows when nothing more comes."""
        due_us = self.watcher.settle_due_us()
        if due_us is None:
            return []
        self.now_us = due_us
        settled = self.watcher.settle(due_us)
        return [settled] if settled else []

    def sees(self, data: bytes) -> list[AnyFact]:
        return [*self.prints(data), *self.quiet()]


def pattern(name, line, /, **fields):
    return PatternSeen(pattern=name, line=line, fields=fields)


def landmark(name, line, /, **fields):
    return LandmarkReached(landmark=name, line=line, fields=fields)


def notice(text):
    return InterruptionSeen(interruption="notice", text=text)


ENDED_3 = pattern("ended", "JOB 3 ENDED", job="3")
READY = landmark("ready", "READY: ")
FIRE = TroubleRaised(
    trouble="fire",
    line="DRIVE LEFT FAILED",
    words={"en": "A drive has failed."},
    do={"en": "Call the engineer."},
)

CASES = {
    "a known line": (b"JOB 3 ENDED\r\n", [ENDED_3]),
    "a known line is known only when it has ended": (b"JOB 3 ENDED", []),
    "an unknown line": (b"GOOD MORNING\r\n", []),
    "a prompt": (b"READY: ", [READY]),
    "a prompt behind a known line": (b"JOB 3 ENDED\r\nREADY: ", [ENDED_3, READY]),
    "a prompt that something follows is none": (b"READY: SO", []),
    "a prompt that ended as a line is none": (b"READY: \r\n", []),
    "a prompt with a field": (b"DESK TERN: ", [landmark("desk", "DESK TERN: ", name="TERN")]),
    "a line rubbed out and printed again": (b"JOB 4\b3 ENDED\r\n", [ENDED_3]),
    "a line printed over another": (
        b"WORKING.....\rJOB 3 ENDED \r\n",
        [pattern("ended", "JOB 3 ENDED ", job="3")],
    ),
    "a trouble": (b"DRIVE LEFT FAILED\r\n", [FIRE]),
    "a prompt painted after the screen was cleared": (b"STATUS\x1b[2J\x1b[24;1HREADY: ", [READY]),
    "a notice alone": (b"\r\n== GALE ==\r\n", [notice("== GALE ==")]),
    "a notice in the middle of a prompt": (b"REA\r\n== GALE ==\r\nDY: ", [notice("== GALE =="), READY]),
    "a notice behind a prompt, which isn't printed again": (
        b"READY: \r\n== GALE ==\r\n",
        [notice("== GALE =="), READY],
    ),
    "two notices behind a prompt": (
        b"READY: \r\n== GALE ==\r\n\r\n== CALM ==\r\n",
        [notice("== GALE =="), notice("== CALM =="), READY],
    ),
    "two notices in the middle of a prompt": (
        b"REA\r\n== GALE ==\r\n\r\n== CALM ==\r\nDY: ",
        [notice("== GALE =="), notice("== CALM =="), READY],
    ),
    "two notices at two places of a line": (
        b"JO\r\n== GALE ==\r\nB 3 EN\r\n== CALM ==\r\nDED\r\n",
        [notice("== GALE =="), notice("== CALM =="), ENDED_3],
    ),
    "a notice in the middle of a known line": (
        b"JOB 3 \r\n== GALE ==\r\nENDED\r\n",
        [notice("== GALE =="), ENDED_3],
    ),
    "a notice between two known lines": (
        b"JOB 3 ENDED\r\n== GALE ==\r\nJOB 4 ENDED\r\n",
        [ENDED_3, notice("== GALE =="), pattern("ended", "JOB 4 ENDED", job="4")],
    ),
    "a known line isn't joined to what follows a notice": (
        b"JOB 3 BEGUN: X\r\n== GALE ==\r\nSOMETHING ELSE\r\n",
        [pattern("begun", "JOB 3 BEGUN: X", job="3", what="X"), notice("== GALE ==")],
    ),
    "a broadcast of two lines": (
        b"REA\r\nTWO LINES: A\r\nB\r\nDY: ",
        [InterruptionSeen(interruption="pair", text="TWO LINES: A\nB"), READY],
    ),
    "a broadcast that ends with a line": (
        b"REA\r\nSTORM WARNING 1\r\nJOB 3 ENDED\r\n\r\nEND OF WARNING\r\nDY: ",
        [
            InterruptionSeen(interruption="storm", text="STORM WARNING 1\nJOB 3 ENDED\n\nEND OF WARNING"),
            READY,
        ],
    ),
    "a broadcast that ends with a second blank line": (
        b"REA\r\nTIDE NEWS 1\r\n\r\nREADY:\r\n\r\nDY: ",
        [InterruptionSeen(interruption="tide", text="TIDE NEWS 1\n\nREADY:\n"), READY],
    ),
    "a notice that first wipes the prompt out": (
        b"READY: \r" + b" " * 20 + b"\r\r\n== GALE ==\r\n",
        [notice("== GALE =="), READY],
    ),
    "two notices that first wipe the line out": (
        b"REA" + b"\r          \r\n== GALE ==\r\n" + b"\r          \r\n== CALM ==\r\nDY: ",
        [notice("== GALE =="), notice("== CALM =="), READY],
    ),
    "a line wiped out is none": (b"JOB 3 ENDED\r               \r\n", []),
    "a prompt within a broadcast isn't one": (b"STORM WARNING 1\r\nREADY: ", []),
    "a trouble within a broadcast is one": (
        b"STORM WARNING 1\r\nDRIVE LEFT FAILED\r\nEND OF WARNING\r\n",
        [
            InterruptionSeen(interruption="storm", text="STORM WARNING 1\nDRIVE LEFT FAILED\nEND OF WARNING"),
            FIRE,
        ],
    ),
}


@in_every_feed
@pytest.mark.parametrize("case", CASES)
def test_what_is_printed_means_the_same_in_every_feed(case, feed):
    data, facts = CASES[case]
    assert Watched(feed).sees(data) == facts


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("cut", FEEDS, ids=lambda feed: feed.__name__)
def test_trailing_bytes_take_back_only_the_prompt_that_they_stand_behind(case, cut):
    data, facts = CASES[case]
    trailing = Watched(cut).prints(data + b"?")
    assert trailing == [fact for fact in facts if not isinstance(fact, LandmarkReached)]


# -- settling


def test_a_prompt_has_settled_when_nothing_came_for_the_machines_settling_time():
    watched = Watched()
    watched.prints(b"READY: ")
    assert watched.watcher.settle_due_us() == SETTLE_US
    assert watched.watcher.settle(SETTLE_US - 1) is None
    assert watched.watcher.standing is None
    assert watched.watcher.settle(SETTLE_US) == READY
    assert watched.watcher.standing == READY


def test_a_prompt_settles_once():
    watched = Watched()
    assert watched.sees(b"READY: ") == [READY]
    assert watched.quiet() == []


@pytest.mark.parametrize("more", [b"\x00", b"\x11", b"\x07", b"\x1b[m", b" "])
def test_whatever_comes_puts_off_the_settling(more):
    watched = Watched()
    watched.prints(b"READY: ")
    watched.now_us = SETTLE_US - 1
    watched.prints(more)
    assert watched.watcher.settle_due_us() == 2 * SETTLE_US - 1


def test_a_carriage_return_alone_means_that_the_prompt_no_longer_stands_settled():
    watched = Watched()
    watched.sees(b"READY: ")
    watched.prints(b"\r")
    assert watched.watcher.standing is None
    assert watched.quiet() == [READY]


@pytest.mark.parametrize("more", [b"X", b"\r\n", b"\x1b[2J", b"\x1b[H"])
def test_a_prompt_behind_which_more_comes_no_longer_stands(more):
    watched = Watched()
    watched.sees(b"READY: ")
    watched.prints(more)
    assert watched.watcher.standing is None
    assert watched.quiet() == []


def test_a_prompt_that_a_notice_pushed_up_is_gone_when_the_screen_is_cleared():
    watched = Watched()
    watched.sees(b"READY: \r\n== GALE ==\r\n")
    assert watched.sees(b"\x1b[2J\x1b[1;1H") == []
    assert watched.watcher.standing is None


def test_a_prompt_doesnt_stand_while_a_notice_is_being_printed():
    watched = Watched()
    watched.sees(b"READY: ")
    assert watched.sees(b"\r\n== GA") == []
    assert watched.watcher.standing is None


def test_flow_control_doesnt_unsettle_a_prompt():
    watched = Watched()
    watched.sees(b"READY: ")
    watched.prints(b"\x13\x11")
    assert watched.watcher.standing == READY


# -- what we type ourselves


@in_every_feed
def test_the_echo_of_what_we_type_is_never_matched(feed):
    watched = Watched(feed)
    watched.sees(b"READY: ")
    watched.watcher.begin_typing()
    assert watched.sees(b"JOB 3 ENDED\r\n") == []
    watched.watcher.taken()
    assert watched.sees(b"JOB 3 ENDED\r\n") == [ENDED_3]


def test_an_echo_that_looks_like_a_prompt_doesnt_settle():
    watched = Watched()
    watched.watcher.begin_typing()
    assert watched.sees(b"READY:") == []


@in_every_feed
def test_after_the_cancel_key_nothing_is_matched_until_a_prompt_settles(feed):
    watched = Watched(feed)
    watched.sees(b"READY: ")
    watched.watcher.begin_typing()
    watched.prints(b"JOB 3 ENDE")
    watched.watcher.cancelled(watched.now_us)
    assert watched.sees(b"D\r\nJOB 4 ENDED\r\n") == []
    assert watched.sees(b"READY: ") == [READY]
    assert watched.sees(b"\r\nJOB 3 ENDED\r\n") == [ENDED_3]


def test_after_the_cancel_key_a_prompt_settles_only_when_no_echo_can_be_on_its_way_any_more():
    watched = Watched()
    watched.watcher.begin_typing()
    watched.prints(b"BEGX")
    watched.watcher.cancelled(watched.now_us)
    watched.prints(b" CANCELLED\r\nREADY: ")
    assert watched.watcher.settle_due_us() == watched.now_us + ECHO_US
    watched.prints(b"\r\nREADY: ")
    assert watched.quiet() == [READY]
    watched.prints(b"\r\nREADY: ")
    assert watched.watcher.settle_due_us() == watched.now_us + SETTLE_US


def test_a_prompt_from_before_the_cancel_key_doesnt_settle_behind_it():
    watched = Watched()
    watched.watcher.begin_typing()
    watched.prints(b"BEG\r\n== GALE ==\r\nREADY: ")
    watched.watcher.cancelled(watched.now_us)
    assert watched.watcher.settle_due_us() is None
    watched.now_us += 5 * ECHO_US
    watched.prints(b"\r\nREADY: ")
    assert watched.watcher.settle_due_us() == watched.now_us + ECHO_US


def test_quiet_is_counted_from_the_cancel_key_at_the_soonest():
    watched = Watched()
    watched.watcher.begin_typing()
    watched.prints(b"X\r\nREADY: ")
    watched.watcher.cancelled(watched.now_us + ECHO_US)
    watched.prints(b"READY: ")
    assert watched.watcher.settle_due_us() == watched.now_us + 2 * ECHO_US


def test_a_notice_while_we_type_is_told_all_the_same():
    watched = Watched()
    watched.watcher.begin_typing()
    assert watched.prints(b"BEG\r\n== GALE ==\r\n") == [notice("== GALE ==")]


def test_a_prompt_that_we_have_typed_behind_doesnt_come_back_by_a_notice():
    watched = Watched()
    watched.sees(b"READY: ")
    watched.watcher.begin_typing()
    watched.prints(b"GO\r\n")
    watched.watcher.taken()
    assert watched.sees(b"\r\n== GALE ==\r\n") == [notice("== GALE ==")]


# -- the line goes away


def test_after_a_loss_what_stood_there_no_longer_counts():
    watched = Watched()
    watched.sees(b"READY: ")
    watched.watcher.forget()
    assert watched.watcher.standing is None
    assert watched.quiet() == []
    assert watched.sees(b"READY: ") == [READY]


def test_half_a_broadcast_is_forgotten_with_the_line():
    watched = Watched()
    watched.prints(b"STORM WARNING 1\r\nWAVES\r\n")
    watched.watcher.forget()
    assert watched.sees(b"JOB 3 ENDED\r\nREADY: ") == [ENDED_3, READY]


# -- bounds


@in_every_feed
def test_a_broadcast_that_lost_its_end_swallows_no_more_than_its_longest(feed):
    watched = Watched(feed)
    facts = watched.prints(b"STORM WARNING 1\r\n" + b"WAVES\r\n" * 2 * LONGEST_INTERRUPTION_LINES)
    assert [fact.text.count("\n") + 1 for fact in facts] == [LONGEST_INTERRUPTION_LINES]
    assert watched.sees(b"JOB 3 ENDED\r\n") == [ENDED_3]


@in_every_feed
def test_the_last_lines_are_kept_for_whoever_must_look(feed):
    watched = Watched(feed)
    watched.prints(b"".join(b"LINE %d\r\n\r\n" % number for number in range(50)) + b"HALF A LI")
    assert watched.watcher.last_lines() == [
        *(f"LINE {number}" for number in range(50 - KEPT_LINES, 50)),
        "HALF A LI",
    ]


def test_tabs_and_paper_are_read_as_the_machines_display_has_them():
    described = machine(display=Display(kind="paper", tab_columns=4))
    assert Watched(whole, described).sees(b"JOB\t3\tENDED\r_________\r\n") == [
        pattern("ended", "JOB 3   ENDED", job="3")
    ]


def test_the_first_of_two_prompts_that_fit_is_the_one():
    described = machine(
        prompts=(
            *MACHINE.prompts,
            MACHINE.prompts[0].__class__(name="any", pattern=Pattern("{...}:"), kind="command"),
        )
    )
    assert [fact.landmark for fact in Watched(whole, described).sees(b"READY: ")] == ["ready"]
    assert [fact.landmark for fact in Watched(whole, described).sees(b"OTHER: ")] == ["any"]


# -- prompts that both fit, and printed tables


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_prompts_that_both_fit_the_more_particular_counts_in_any_order(turned):
    prompts = [
        Prompt(name="any", pattern=Pattern("{name: word}:"), kind="command"),
        Prompt(name="desk", pattern=Pattern("DESK{number: number}:"), kind="command"),
    ]
    watched = Watched(described=machine(prompts=tuple(prompts[::-1] if turned else prompts)))
    assert watched.sees(b"DESK7: ") == [landmark("desk", "DESK7: ", number="7")]
    assert watched.sees(b"\r\nHALL: ") == [landmark("any", "HALL: ", name="HALL")]


TABLE = machine(
    lines=(
        LinePattern(name="heading", pattern=Pattern("JOB MINUTES {...}")),
        LinePattern(
            name="row",
            pattern=Pattern("{job: number} {minutes: number} {errors: number}", places_alone=True),
            below="heading",
        ),
        LinePattern(name="ended", pattern=Pattern("JOB {job: number} ENDED")),
    )
)
HEADING = pattern("heading", "JOB MINUTES ERRORS")
ROW = pattern("row", "  12   3.45  0", job="12", minutes="3.45", errors="0")


@in_every_feed
def test_rows_of_figures_count_below_their_heading_until_a_line_that_doesnt_fit(feed):
    watched = Watched(feed, TABLE)
    row = b"  12   3.45  0\r\n"
    assert watched.sees(row) == [], "no heading stands above it"
    assert watched.sees(b"JOB MINUTES ERRORS\r\n\r\n" + row + row) == [HEADING, ROW, ROW]
    assert watched.sees(b"THAT IS ALL\r\n" + row) == []
    assert watched.sees(b"JOB MINUTES ERRORS\r\n" + row + b"\r\n" + row) == [HEADING, ROW]


def test_a_broadcast_doesnt_end_a_printed_table_but_the_next_command_does():
    watched = Watched(described=TABLE)
    row = b"  12   3.45  0\r\n"
    seen = watched.sees(b"JOB MINUTES ERRORS\r\n" + row + b"== GALE ==\r\n" + row)
    assert [fact for fact in seen if isinstance(fact, PatternSeen)] == [HEADING, ROW, ROW]
    watched.watcher.begin_typing()
    watched.watcher.taken()
    assert watched.sees(row) == []
