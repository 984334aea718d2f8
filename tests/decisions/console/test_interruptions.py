"""A broadcast is lifted out wherever it breaks in, and everything goes on as if it had not come."""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from exhibit.decisions.commands import Arm, Command, Drop, Type
from exhibit.decisions.console.console import Console
from exhibit.decisions.console.outcomes import Failed, TypingEnd
from exhibit.decisions.console.typing_console import TypingConsole
from exhibit.decisions.machine.description import Interruption, LinePattern
from exhibit.decisions.machine.pattern import Pattern
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.feeds import byte_by_byte, in_every_feed
from tests.decisions.heron import (
    ECHO_US,
    MACHINE,
    SECRET,
    SETTLE_US,
    S,
    command,
    machine,
    pause,
    press,
    wait,
)
from tests.decisions.one_round import one_round

GALE = b"== GALE ==\r\n"
STORM = b"STORM WARNING 7\r\nWAVES\r\nEND OF WARNING\r\n"
SEEN = kinds.InterruptionSeen(interruption="notice", text="== GALE ==")
STORM_SEEN = kinds.InterruptionSeen(interruption="storm", text="STORM WARNING 7\nWAVES\nEND OF WARNING")
BROADCASTS = pytest.mark.parametrize(("broadcast", "seen"), [(GALE, SEEN), (STORM, STORM_SEEN)])
NEW_LINE = pytest.mark.parametrize("new_line", [b"", b"\r\n"], ids=["same-line", "own-line"])
BOARD = b"\x1b[2J\x1b[1;1HHERON BOARD 9\x1b[3;1HLOAD 42\x1b[4;1HMODE BUSY\x1b[24;1H"


class AtConsole:
    """A console at which somebody types. Time passes only with deadlines."""

    def __init__(self, feed=byte_by_byte, described=MACHINE) -> None:
        self.watched = Console(described, 1.0)
        self.typing = TypingConsole(described, self.watched, 1.0)
        self.sent = b""
        self.ends: list[object] = []
        self.facts: list[kinds.AnyFact] = []
        self.deadlines: dict[str, int] = {}
        self.now_us = 0
        self._feed = feed

    def prints(self, data: bytes) -> AtConsole:
        for piece in self._feed(data):
            self.watched.heard(self.now_us)
            for item in self.watched.items(piece):
                self.facts += self.watched.see(item)
                keyed = self.typing.take(item, self.now_us)
                self._follow(keyed.commands)
                self.ends += [keyed.end] if keyed.end else []
            self._follow(self.watched.deadlines_wanted())
        return self

    def types(self, text: str, *, secret: bool = False) -> AtConsole:
        keyed = self.typing.type_command(text, self.now_us, by="a test", secret=secret)
        self._follow(keyed.commands)
        return self

    def passes(self, name: str) -> AtConsole:
        self.now_us = self.deadlines.pop(name)
        facts, commands = self.watched.deadline_passed(name, self.now_us)
        self.facts += facts
        keyed = self.typing.deadline_passed(name, self.now_us)
        self._follow([*commands, *keyed.commands, *self.watched.deadlines_wanted()])
        self.ends += [keyed.end] if keyed.end else []
        return self

    def take(self) -> list[kinds.AnyFact]:
        """What was recognised since this was last asked."""
        facts, self.facts = self.facts, []
        return facts

    def _follow(self, commands: Iterable[Command]) -> None:
        for order in commands:
            match order:
                case Type(data=data, secret=hidden):
                    self.sent += b"*" * len(data) if hidden else data
                case Arm(name=name, due_us=due_us):
                    self.deadlines[name] = due_us
                case Drop(name=name):
                    self.deadlines.pop(name, None)


def at_ready(feed=byte_by_byte, described=MACHINE) -> AtConsole:
    console = AtConsole(feed, described).prints(b"READY: ").passes("settle")
    console.take()
    return console


# -- behind a standing prompt


@in_every_feed
@NEW_LINE
@BROADCASTS
def test_a_prompt_still_stands_behind_a_broadcast(broadcast, seen, new_line, feed):
    console = at_ready(feed).prints(new_line + broadcast)
    assert console.take() == [seen]
    assert console.watched.prompt is None  # nothing is typed while it isn't clear what comes next
    console.passes("settle")
    assert console.watched.prompt is not None
    assert console.watched.prompt.line.strip() == "READY:"


@in_every_feed
@NEW_LINE
def test_a_prompt_that_is_printed_once_more_behind_a_broadcast_stands_once(new_line, feed):
    console = at_ready(feed).prints(new_line + GALE + b"READY: ").passes("settle")
    assert [type(fact) for fact in console.take()] == [kinds.InterruptionSeen, kinds.LandmarkReached]


@in_every_feed
@NEW_LINE
def test_broadcasts_that_follow_each_other_at_once_leave_the_prompt_standing(new_line, feed):
    console = at_ready(feed).prints(new_line + 3 * GALE)
    assert console.take() == [SEEN, SEEN, SEEN]
    console.passes("settle")
    assert console.watched.prompt is not None


@in_every_feed
@NEW_LINE
def test_what_comes_behind_the_broadcast_counts_as_if_it_had_not_come(new_line, feed):
    console = at_ready(feed).prints(new_line + GALE + b"X")
    assert console.take() == [SEEN]
    assert console.watched.settle_due_us is None
    console = at_ready(feed).prints(new_line + GALE + b"JOB 3 ENDED\r\n")
    assert [type(fact) for fact in console.take()] == [kinds.InterruptionSeen, kinds.PatternSeen]


@pytest.mark.parametrize("line", [b"READY: SEE == GALE ==", b"NOTE == GALE ==", b"READY: ==GALE=="])
def test_a_line_that_quotes_a_broadcast_is_none(line):
    console = AtConsole().prints(line + b"\r\nTHIS FOLLOWS\r\n")
    assert console.take() == []


# -- in the middle of a word that is being typed


@in_every_feed
@NEW_LINE
@BROADCASTS
@pytest.mark.parametrize("place", range(6))
@pytest.mark.parametrize("again", [b"", b"READY: "])
def test_the_echo_goes_on_behind_a_broadcast(again, place, broadcast, seen, new_line, feed):
    console = at_ready(feed).types("begin")
    for byte in b"BEGIN"[:place]:
        console.prints(bytes((byte,)))
    console.prints(new_line + broadcast)
    assert console.take() == [seen]
    if again:
        console.prints(again + b"BEGIN"[:place])
    for number, byte in enumerate(b"BEGIN"[place:], place):
        while len(console.sent) <= number:
            console.passes("echo")
        console.prints(bytes((byte,)))
    while not console.sent.endswith(b"\r"):
        console.passes("echo")
    assert console.sent == b"begin\r"
    console.prints(b"\r\n")
    assert console.ends == [TypingEnd.CONFIRMED]
    assert console.take() == []


@in_every_feed
def test_a_broadcast_may_begin_with_the_character_that_is_awaited(feed):
    console = at_ready(feed).types("go slow")
    for byte in b"GO ":
        console.prints(bytes((byte,)))
    console.prints(STORM)  # its S is taken for the echo at first
    assert console.take() == [STORM_SEEN]
    sent = console.sent
    console.passes("echo")
    assert console.sent == sent  # nothing more before the real echo has come
    console.prints(b"S")
    for byte in b"LOW":
        console.prints(bytes((byte,)))
    while not console.sent.endswith(b"\r"):
        console.passes("echo")
    assert console.sent == b"go slow\r"
    assert console.ends == []


def test_the_time_for_an_echo_stands_still_while_a_broadcast_is_printed_slowly():
    console = at_ready().types("begin").prints(b"B")
    for byte in GALE:
        console.now_us += ECHO_US // 3
        while console.deadlines["echo"] <= console.now_us:
            console.passes("echo")
        console.prints(bytes((byte,)))
    assert console.ends == []
    assert console.take() == [SEEN]
    console.passes("echo").prints(b"E")
    assert console.sent == b"beg"


def test_a_broadcast_that_breaks_off_is_cancelled_when_its_time_is_up():
    console = at_ready().types("begin").prints(b"B== GA")
    while not console.ends:
        console.passes("echo")
    assert console.ends == [TypingEnd.CANCELLED]
    assert console.now_us <= SETTLE_US + ECHO_US
    assert console.sent.endswith(b"\x18")


@pytest.mark.parametrize("wrong", [b"X", b"=X", b"== \r\n", b"STORM FAR OFF\r\n"])
def test_what_only_begins_like_a_broadcast_is_cancelled(wrong):
    console = at_ready().types("begin").prints(b"B" + wrong)
    assert console.ends == [TypingEnd.CANCELLED]


@in_every_feed
def test_a_broadcast_between_return_and_the_machines_answer_is_lifted_out(feed):
    console = at_ready(feed).types("go").prints(b"G").prints(b"O").passes("echo")
    assert console.sent == b"go\r"
    console.prints(GALE)
    assert console.ends == []
    assert console.take() == [SEEN]
    console.prints(b"\r\nJOB 3 ENDED\r\n")
    assert console.ends == [TypingEnd.CONFIRMED]
    assert [type(fact) for fact in console.take()] == [kinds.PatternSeen]


def test_more_than_was_typed_between_return_and_the_answer_still_fails():
    console = at_ready().types("go").prints(b"G").prints(b"O").passes("echo").prints(b"X")
    assert isinstance(console.ends[0], Failed)


def test_the_echo_of_a_command_that_looks_like_a_broadcast_is_none():
    console = at_ready().types("== gale ==")
    for byte in b"== GALE ==":
        console.prints(bytes((byte,)))
    console.passes("echo").prints(b"\r\n")
    assert console.ends == [TypingEnd.CONFIRMED]
    assert console.take() == []


# -- while a secret is being typed


@in_every_feed
@NEW_LINE
@BROADCASTS
def test_a_broadcast_while_a_secret_is_being_typed_is_recognised(broadcast, seen, new_line, feed):
    console = AtConsole(feed).prints(b"SIGN WORD? ").passes("settle").types(SECRET, secret=True)
    console.take()
    console.passes("echo").prints(new_line + broadcast)
    assert console.take() == [seen]
    while not console.sent.endswith(b"\r"):
        console.passes("echo")
    assert console.sent == b"*" * len(SECRET) + b"\r"
    console.prints(b"\r\nDESK TERN: ").passes("settle")
    assert console.ends == [TypingEnd.CONFIRMED]
    assert [fact.landmark for fact in console.take()] == ["desk"]


# -- during a wait


@in_every_feed
@NEW_LINE
@pytest.mark.parametrize("place", range(1, 11))
def test_a_known_line_that_a_broadcast_broke_is_known(place, new_line, feed):
    line = b"JOB 3 ENDED\r\n"
    console = AtConsole(feed).prints(line[:place] + new_line + GALE + line[place:])
    assert console.take() == [
        SEEN,
        kinds.PatternSeen(pattern="ended", line="JOB 3 ENDED", fields={"job": "3"}),
    ]


@in_every_feed
@NEW_LINE
@pytest.mark.parametrize("place", range(1, 7))
def test_a_prompt_that_a_broadcast_broke_settles(place, new_line, feed):
    prompt = b"READY: "
    console = AtConsole(feed).prints(prompt[:place] + new_line + GALE + prompt[place:]).passes("settle")
    assert [type(fact) for fact in console.take()] == [kinds.InterruptionSeen, kinds.LandmarkReached]
    assert console.watched.prompt is not None


def test_a_script_waits_on_as_if_no_broadcast_had_come():
    driver = Driver(one_round(wait("begin", "begun"), wait("end", "ended")))
    driver.open_line()
    driver.prints(b"JOB 1 BEG" + GALE + b"UN: TIDES\r\nREADY: ")
    driver.passes("settle")
    driver.prints(GALE + b"\r\nJOB 1 EN" + GALE + b"DED\r\n")
    assert driver.typed == b""
    assert [fact.name for fact in driver.facts(kinds.StepMatched)] == ["begun", "ended"]
    assert len(driver.facts(kinds.InterruptionSeen)) == 3


# -- in a status display


@in_every_feed
@NEW_LINE
@BROADCASTS
def test_a_status_display_still_stands_behind_a_broadcast(broadcast, seen, new_line, feed):
    console = AtConsole(feed).prints(BOARD)
    console.take()
    console.prints(new_line + broadcast)
    assert console.take() == [seen]
    assert console.watched.standing is not None
    assert console.watched.standing.landmark == "board"
    console.prints(BOARD.replace(b"42", b"43"))
    assert [fact.value for fact in console.take() if isinstance(fact, kinds.ReadingTaken)][:1] == [43]


@in_every_feed
@NEW_LINE
def test_a_broadcast_between_two_frames_or_in_one_makes_no_reading_untrue(new_line, feed):
    torn = BOARD.replace(b"LOAD 42", b"LOAD 4" + new_line + GALE + b"2")
    console = AtConsole(feed).prints(torn)
    taken = [fact for fact in console.take() if isinstance(fact, kinds.ReadingTaken)]
    assert [fact.value for fact in taken if fact.name == "load"] == ([4] if new_line else [])


@in_every_feed
def test_a_line_that_is_no_broadcast_still_ends_a_status_display(feed):
    console = AtConsole(feed).prints(BOARD + b"\r\nBOARD PUT AWAY\r\n" + GALE)
    assert console.watched.standing is None


def test_a_key_for_a_display_is_pressed_when_a_broadcast_over_it_has_ended():
    driver = Driver(one_round(pause("look"), press("away", "space", "ready", at="board")))
    driver.open_line()
    driver.prints(BOARD + b"\r\n== GA")
    driver.run(until=lambda: bool(driver.facts(kinds.StepEnded)))
    assert driver.typed == b""
    driver.prints(b"LE ==\r\n")
    driver.run(until=lambda: bool(driver.typed), within_us=10 * S)
    assert driver.typed == b" "


# -- a line that is both


KERNEL = machine(
    interruptions=(Interruption(name="kernel", starts=Pattern("[{time: number}] {what: text}"), lines=1),),
    lines=(*MACHINE.lines, LinePattern(name="halted", pattern=Pattern("[{time: number}] SYSTEM HALTED"))),
)


@in_every_feed
@pytest.mark.parametrize("before", [b"", b"READY: ", b"READY: \r\n", b"SOME OUT\r\n"])
def test_a_line_that_is_an_interruption_and_a_known_line_is_both(before, feed):
    console = AtConsole(feed, KERNEL).prints(before + b"[12] SYSTEM HALTED\r\n")
    assert console.take() == [
        kinds.InterruptionSeen(interruption="kernel", text="[12] SYSTEM HALTED"),
        kinds.PatternSeen(pattern="halted", line="[12] SYSTEM HALTED", fields={"time": "12"}),
    ]


@in_every_feed
def test_a_known_line_within_a_broadcast_is_only_quoted_there(feed):
    console = AtConsole(feed).prints(b"STORM WARNING 7\r\nJOB 3 ENDED\r\nEND OF WARNING\r\n")
    assert [type(fact) for fact in console.take()] == [kinds.InterruptionSeen]


# -- a whole script


@pytest.mark.parametrize("begins", ["", "\r\n"])
@pytest.mark.parametrize("place", range(1, 10))
def test_wherever_a_notice_breaks_in_everything_is_executed_once(place, begins):
    far_end = FarHeron()
    far_end.notices_at, far_end.notice_begins = {place}, begins
    driver = Driver(one_round(command("go", "begin tides", "begun"), wait("end", "ready")), far_end)
    driver.open_line()
    driver.run(until=lambda: driver.over is not None)
    assert driver.over == "done"
    assert far_end.executed == ["BEGIN TIDES"]
    assert driver.facts(kinds.TypingGarbled) == []
    assert len(driver.facts(kinds.InterruptionSeen)) == 1
