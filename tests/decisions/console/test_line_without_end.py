"""A line that has no end is a line once nothing has followed it for long enough, and is reported once."""

from __future__ import annotations

import pytest

from exhibit.decisions.console.console import LAST_ROWS, UNENDED, Console
from exhibit.decisions.machine.description import LinePattern
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts import kinds
from exhibit.facts.display import Display
from tests.decisions.again import check_decided_again
from tests.decisions.console.test_interruptions import AtConsole
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.feeds import byte_by_byte, in_every_feed
from tests.decisions.heron import (
    ECHO_US,
    MACHINE,
    SETTLE_US,
    S,
    command,
    folder,
    machine,
    opened,
    wait,
)
from tests.decisions.one_round import one_round

HALTED = machine(
    lines=(
        *MACHINE.lines,
        LinePattern(name="halted", pattern=Pattern("HALT AT {address: number}")),
        LinePattern(name="really", pattern=Pattern("REALLY STOP?")),
        LinePattern(name="off", pattern=Pattern("GOING OFF {...}")),
    )
)


def halted(address: str, line: str = "") -> kinds.PatternSeen:
    return kinds.PatternSeen(pattern="halted", line=line or f"HALT AT {address}", fields={"address": address})


def console(feed=byte_by_byte) -> AtConsole:
    return AtConsole(feed, HALTED)


@in_every_feed
@pytest.mark.parametrize(
    ("line", "name"), [(b"HALT AT 1234", "halted"), (b"REALLY STOP?", "really"), (b"REALLY STOP? ", "really")]
)
def test_a_line_without_an_end_is_known_once_it_has_settled(line, name, feed):
    at = console(feed).prints(b"SOMETHING ELSE\r\n" + line)
    assert at.take() == []
    assert at.deadlines[UNENDED] == ECHO_US
    at.passes(UNENDED)
    assert [fact.pattern for fact in at.take()] == [name]


@in_every_feed
def test_a_trouble_without_an_end_is_raised_once_it_has_settled(feed):
    at = console(feed).prints(b"DRIVE LEFT FAILED").passes(UNENDED)
    assert [fact.trouble for fact in at.take()] == ["fire"]
    at.prints(b"\r\n")
    assert at.take() == []


def test_it_settles_only_when_an_echo_could_have_come():
    at = console().prints(b"HALT AT 12")
    at.now_us = ECHO_US - 1
    at.prints(b"34")
    at.passes(UNENDED)
    assert at.take() == []  # half of a slow line isn't taken for a whole one
    assert at.deadlines[UNENDED] == 2 * ECHO_US - 1
    at.passes(UNENDED)
    assert at.take() == [halted("1234")]


@in_every_feed
def test_a_line_that_ends_in_time_is_told_at_its_end_and_leaves_no_deadline(feed):
    at = console(feed).prints(b"HALT AT 1234\r\n")
    assert at.take() == [halted("1234")]
    assert UNENDED not in at.deadlines


@in_every_feed
def test_its_end_doesnt_tell_it_a_second_time(feed):
    at = console(feed).prints(b"HALT AT 1234").passes(UNENDED)
    at.take()
    at.prints(b" \r\n")
    assert at.take() == []
    at.prints(b"HALT AT 1234\r\n")  # this is another line
    assert at.take() == [halted("1234")]


@in_every_feed
def test_more_text_on_the_line_is_told_only_if_the_whole_line_says_something_else(feed):
    at = console(feed).prints(b"HALT AT 12").passes(UNENDED)
    assert at.take() == [halted("12")]
    at.prints(b"34\r\n")
    assert at.take() == [halted("1234")]
    at.prints(b"GOING OFF ").passes(UNENDED)
    assert len(at.take()) == 1
    at.prints(b"NOW\r\n")
    assert at.take() == []
    at.prints(b"HALT AT 12").passes(UNENDED)
    at.take()
    at.prints(b" OR SO\r\n")
    assert at.take() == []


@in_every_feed
def test_a_line_that_is_printed_over_itself_is_told_once(feed):
    at = console(feed).prints(b"HALT AT 12").passes(UNENDED)
    at.take()
    at.prints(b"\rHALT AT 12\r\n")
    assert at.take() == []


@pytest.mark.parametrize("more", [b"\x00", b"\x07", b"\x13"])
def test_whatever_comes_puts_off_the_settling_but_tells_nothing_twice(more):
    at = console().prints(b"HALT AT 12")
    at.now_us = S
    at.prints(more).passes(UNENDED)
    assert at.take() == []
    at.passes(UNENDED)
    assert at.take() == [halted("12")]
    at.prints(more)
    assert UNENDED not in at.deadlines


@in_every_feed
def test_what_is_typed_is_never_such_a_line(feed):
    at = console(feed).prints(b"READY: ").passes("settle").types("halt at 12")
    at.take()
    for byte in b"HALT AT 12":
        at.prints(bytes((byte,)))
    assert UNENDED not in at.deadlines


def test_a_prompt_settles_as_soon_as_before():
    at = console().prints(b"JOB 3 ENDED\r\nREADY: ")
    assert at.deadlines == {"settle": SETTLE_US}


def test_a_line_behind_a_lost_line_is_another_one():
    at = console().prints(b"HALT AT 12")
    at.watched.line_changed()
    at.prints(b"\r\n")
    assert at.take() == []
    assert UNENDED not in at.deadlines


def test_the_next_recording_doesnt_tell_it_a_second_time():
    at = console().prints(b"HALT AT 12")
    assert at.watched.carry_over("a line") is None
    carried = at.passes(UNENDED).watched.carry_over("a line")
    assert carried is not None
    following = Console(HALTED, 1.0)
    following.carried_over(carried)
    assert following.deadlines_wanted() == []
    assert [fact for item in following.items(b"\r\n") for fact in following.see(item)] == []


def test_a_step_that_waits_for_the_halt_of_a_machine_is_done_although_the_line_never_ends():
    driver = Driver(one_round(wait("stop", "halted"), described=HALTED))
    driver.open_line()
    driver.prints(b"GOING OFF NOW\r\nHALT AT 777")
    driver.run(until=lambda: driver.over is not None)
    assert driver.over == "done"
    assert [fact.line for fact in driver.facts(kinds.StepMatched)] == ["HALT AT 777"]
    assert driver.now_us < 3 * S


def test_a_trouble_without_an_end_ends_the_script():
    driver = Driver(one_round(wait("stop", "halted"), described=HALTED))
    driver.open_line()
    driver.prints(b"DRIVE LEFT FAILED")
    driver.run(until=lambda: driver.over is not None)
    assert driver.over == "failed"


def test_a_recording_decides_so_again():
    watched = folder(machine=HALTED)
    driver = Driver(decider_for(watched, opened(HALTED)))
    driver.open_line()
    driver.prints(b"HALT AT 12")
    driver.passes(UNENDED)
    driver.prints(b"34\r\nDRIVE LEFT FAILED")
    driver.passes(UNENDED)
    driver.prints(b"\r\nREADY: == GALE ==\r\n")
    driver.passes("settle")
    assert len(driver.facts(kinds.PatternSeen, kinds.TroubleRaised, kinds.InterruptionSeen)) == 4
    check_decided_again(watched, None, driver.entries)


# -- what a person is shown


@pytest.mark.parametrize("display", [Display(), Display(kind="paper")], ids=["screen", "paper"])
def test_a_person_is_shown_what_the_console_shows_prompts_and_commands_included(display):
    driver = Driver(
        one_round(command("go", "go", "begun", within_us=9 * S), described=machine(display=display))
    )
    driver.open_line()
    driver.stands(b"GOOD MORNING\r\nREADY: ")
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")
    driver.prints(b"\r\nWHAT IS THIS\r\n\r\nREADY: ")
    driver.run(until=lambda: bool(driver.facts(kinds.SessionFailed)))
    shown = ["GOOD MORNING", "READY: GO", "WHAT IS THIS", "READY:"]
    assert [fact.last_lines for fact in driver.facts(kinds.StepOverdue, kinds.SessionFailed)] == [
        shown,
        shown,
    ]


def test_no_more_rows_are_shown_than_a_person_reads():
    at = console().prints(b"".join(b"LINE %d\r\n\r\n" % number for number in range(50)) + b"HALF A LI")
    rows = at.watched.last_rows()
    assert (len(rows), rows[-1]) == (LAST_ROWS, "HALF A LI")
