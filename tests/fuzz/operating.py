"""Whatever a machine prints while it is operated, only what its folder allows is typed, and no secret shows.

An input is a story: what the machine prints, when time goes on, what a person asks. `echo_judge` watches what
is typed.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, Final

import msgspec

from exhibit.decisions.commands import Command
from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import AnyStep, Folder, WayHome, WhenLate
from exhibit.decisions.operating import Operating
from exhibit.decisions.page.views import View
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds
from tests.decisions import heron
from tests.decisions.driver import Driver
from tests.decisions.far_end import PROMPTS, FarHeron
from tests.decisions.heron import AT_REST, SECRET, S, command, press, script, secret, wait
from tests.fuzz.choices import Choices
from tests.fuzz.echo_judge import NUDGE, SHOW_AGAIN, Judge

TYPING: Final[tuple[Mapping[str, Any], ...]] = (
    {},
    {"show_again": SHOW_AGAIN},
    {"window": 3},
    {"cancel": b""},
    {"echo": "none", "pause_after_us": 50_000},
    {"show_again": SHOW_AGAIN, "after_cancel": "nothing", "window": 20},
)
PRINTED: Final = (
    b"READY: ", b"\r\nREADY: ", b"SIGN WORD? ", b"DESK TERN: ", b"SURE (NO)? ", b"\r\n",
    b"JOB 12 BEGUN: TERN\r\n", b"\r\n== GALE AT SEA ==\r\n", b"== GALE", b"STORM WARNING 1\r\n",
    b"END OF WARNING\r\n", b"TIDE NEWS\r\n\r\n\r\n", b"\x13", b"\x11", b" CANCELLED\r\n",
    b"JOB 12 STOPPED\r\n", b"DRIVE 1 FAILED\r\n", b"\x1b[2J\x1b[1;1HHERON BOARD 9", b"\x1b[24;1H",
    b"\x1b7\x1b[5;5H", b"\x1b8", b"\x08", b"WREN", b"QUAY", b"\x07", b"\x0eREADY: ", b"TWO LINES: A\r\n",
    b"\x1b[2;1HLOAD 5", b"?", b" ", b"BEGIN TERN", b"SIGN", b"LEAVE", b"END 12", b"LET GO OF JOB 12\r\n",
)  # fmt: skip
REQUESTS: Final = (
    "stop",
    "clear",
    "confirm",
    "refuse",
    "wait on",
    "leave out",
    "it is the prompt",
    "let go",
    "not yet",
)
FIRST_TYPED: Final = (10, 9, 8, 7, 6, 4)
"""After these waits, 2 s together, the first character of a round is about to be typed."""
MOST_TURNS: Final = 100
LONGEST_WAIT: Final = 16
"""Time goes on for 1 ms, or twice as long, and so on: 16 lengths."""


def _late(step: AnyStep) -> AnyStep:
    return msgspec.structs.replace(step, late=WhenLate("again", 2))


ROUND: Final = script(
    "round",
    _late(command("begin", "begin tern", "begun")),
    command("sign", "sign", "word"),
    secret("say", "desk"),
    command("leave", "leave", "ready", at="desk"),
    tidy_up=(
        press("put-away", "space", "ready", at="board"),
        press("give-up", "cancel", "ready", at="word"),
        command("end", "end {begin.job}", "stopped"),
    ),
)
CLOSING: Final = script("closing", wait("look", "ready"))
WAY: Final[WayHome] = msgspec.structs.replace(
    AT_REST,
    home=("signed-out",),
    ways={
        "word-wanted": (press("no-word", "cancel", "ready", at="word"),),
        "signed-on": (command("go-away", "leave", "ready", at="desk"),),
    },
)
LEFT: Final = (
    NOTHING,
    msgspec.structs.replace(NOTHING, half_typed="BEG", recording="r"),
    msgspec.structs.replace(NOTHING, question="sure", recording="r"),
    msgspec.structs.replace(
        NOTHING, script="round", step="begin", numbers={"begin": {"job": "12"}}, recording="r"
    ),
    msgspec.structs.replace(NOTHING, half_typed="****", question="word", recording="r"),
)


@cache
def _folder(variant: int) -> Folder:
    machine: Machine = heron.machine(
        typing={"nudge": NUDGE, **TYPING[variant]},
        display=heron.Display(columns=400),
        landmarks={
            "signed-out": ("ready",),
            "word-wanted": ("word",),
            "signed-on": ("desk",),
            "asked": ("sure",),
        },
    )
    return msgspec.structs.replace(heron.folder(ROUND, CLOSING, machine=machine), way_home=WAY)


def seeds() -> list[bytes]:
    """Inputs to begin with: stories in which the machine answers rightly for a while."""
    disturbed = (b"", b"\4\0", b"\5\0\5\1", b"\2A", b"\1\14\0\1\1\15", b"\7\1?", b"\5\2", b"\6\0", b"\1\20")
    waits = ((3,), (3, 2), (4, 2), (4, 3, 1), (5,), (5, 3), (6,), (9,))
    return [
        bytes((variant, left)) + _waits(FIRST_TYPED) + _waits(wait) + happens + _waits((11, 13, 15))
        for happens in disturbed
        for number, wait in enumerate(waits)
        for variant in range(len(TYPING))
        for left in (0, *([variant % len(LEFT)] if number == 0 else []))
    ]


def _waits(lengths: tuple[int, ...]) -> bytes:
    return b"".join(bytes((0, length)) for length in lengths)


class _Heard:
    """A decider whose input a judge hears too."""

    def __init__(self, decider: Decider, judge: Judge) -> None:
        self._decider, self._judge = decider, judge

    def __getattr__(self, name: str) -> Any:
        return getattr(self._decider, name)

    def received(self, data: bytes, at_us: int) -> list[Command]:
        self._judge.received(data)
        return [*self._decider.received(data, at_us)]


def one(data: bytes) -> None:
    """Plays the story that these bytes tell."""
    given = Choices(data)
    variant, left = given.below(len(TYPING)), given.one_of(LEFT)
    folder = _folder(variant)
    opened = heron.opened(folder.machine)
    judge = Judge(echoes=TYPING[variant].get("echo") != "none")
    operating = Operating(
        Watching(folder, opened), Wanted(before=(), rounds=2, by="a docent"), {"word": SECRET}
    )
    far = _Far()
    driver = Driver(_Heard(operating, judge), far, judge.ordered, opened)  # type: ignore[arg-type]
    driver.note(left)
    driver.open_line()
    story = _Story(driver, far)
    for _ in range(MOST_TURNS):
        if not given.remaining:
            break
        story.goes_on(given)
    driver.note(kinds.RecordingClosed(why="enough"))
    _no_secret(driver)
    _is_shown(driver)


class _Far(FarHeron):
    """The machine, which answers rightly unless a story wants something else."""

    def _hear(self, byte: int) -> None:
        if byte in NUDGE and self.place != "board":
            self.print(f"\r\n{PROMPTS[self.place]}")
        elif byte in SHOW_AGAIN and self.place != "board":
            self.print(f"\r\n{PROMPTS[self.place]}{self._line}")
        else:
            super()._hear(byte)


class _Story:
    """Lets things happen to a driver and the machine at its far end."""

    def __init__(self, driver: Driver, far: _Far) -> None:
        self._driver = driver
        self._far = far

    def goes_on(self, given: Choices) -> None:
        """The next thing happens."""
        driver, far = self._driver, self._far
        match given.below(8):
            case 0:
                driver.run(within_us=1_000 << given.below(LONGEST_WAIT))
            case 1:
                driver.prints(given.one_of(PRINTED))
            case 2:
                driver.prints(given.take(1))
            case 3:
                driver.prints(given.take(1 + given.below(8)))
            case 4:
                driver.asks(given.one_of(REQUESTS), step="begin", why="x")
            case 5:
                self._disturbs(given.below(4))
            case 6:
                far.place = given.one_of(sorted(PROMPTS))
                far.echoes = given.below(4) != 0
            case _:
                becomes = given.take(given.below(3))
                far.way_in = lambda byte: self._arrives(byte, becomes)

    def _arrives(self, byte: int, becomes: bytes) -> bytes:
        """The next byte that is typed arrives as something else, and those after it as they are."""
        self._far.way_in = lambda byte: bytes((byte,))
        return becomes

    def _disturbs(self, what: int) -> None:
        driver = self._driver
        match what:
            case 0:
                driver.lose_line()
            case 1:
                driver.open_line()
            case 2:
                self._far.notice()
            case _:
                driver.typing_fails = "" if driver.typing_fails else "stuck"


def _no_secret(driver: Driver) -> None:
    for entry in driver.entries:
        if not isinstance(entry.fact, kinds.BytesReceived):
            assert SECRET not in msgspec.json.encode(entry.fact).decode().upper(), entry


def _is_shown(driver: Driver) -> None:
    """The page can show all of it."""
    view = View()
    for entry in driver.entries:
        view.apply(entry)
    assert len(msgspec.json.encode(view.batch(0))) < 200_000
    assert driver.now_us < 1_000_000 * S
