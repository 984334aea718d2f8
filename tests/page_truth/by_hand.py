"""A day on which a person operates the machine, and the program only watches."""

from __future__ import annotations

from exhibit.simulator.bench import StillWaiting
from exhibit.simulator.tidebook.desks import WORDS
from tests.page_truth.day import Day, S

_TIDES = WORDS["TIDES"]
BY_HAND = (
    ("do key on", "PRESS START", 0), ("do start small", "", 2), ("do load SALLOW 1 upper protected", "", 1),
    ("do start upper", "", 2), ("do load SALLOW 2 lower writable", "", 1),
    ("do start lower", "LOWER READY", 3), ("do switches 14000200", "", 1), ("do press start", "YEAR? ", 2),
    ("329 1987", "STARTER: ", 3), ("LOAD TIDEBOOK", "(UPPER)? ", 1), ("UPPER", "YEAR? ", 2),
    ("25.11.1998", "MINUTES? ", 2), ("9.14", "(YES)? ", 2), ("YES", "(YES)? ", 1), ("YES", "(YES)? ", 1),
    ("YES", "OPERATOR: ", 2), ("OPEN THE OFFICE", "NO DESK: ", 4),
    ("TAKE TIDES", "TIDES? ", 2), ("secret", "TIDES: ", 1), ("BEGIN SHUTTLE LOWER 2 MINUTES", "TIDES: ", 5),
    ("BEGIN SUMS 1 MINUTES", "TIDES: ", 8), ("BOARD", "\x1b[24;1H", 21), ("key", "TIDES: ", 9),
    ("STOP 1", "TIDES: ", 4), ("BOARD", "\x1b[24;1H", 60), ("key", "TIDES: ", 5), ("LEAVE", "NO DESK: ", 3),
)  # fmt: skip
"""What the person does or types, for what he then waits, and how many seconds he then thinks."""


class DayByHand(Day):
    """Plays one. In every second one the person's typing can be heard."""

    def _play(self) -> None:
        try:
            for what, until, think_s in BY_HAND:
                self._do(what, until)
                self._pass(think_s)
        except StillWaiting:
            pass  # something disturbed him, and he goes for help
        self.outcome = "done"

    def _do(self, what: str, until: str) -> None:
        self.printed = ""
        if what.startswith("do "):
            self.bench.act(what.removeprefix("do "))
            self.judge.moment(self.view, self.bench.now_us)
        elif what == "key":
            self._type(" ")
        else:
            for character in (_TIDES if what == "secret" else what) + "\r":
                self._type(character)
                self._pass(0.15)
        give_up_us = self.bench.now_us + 90 * S
        while until and until not in self.printed:
            if self.bench.now_us >= give_up_us:
                raise StillWaiting(what)
            self._pass(0.5)

    def _type(self, character: str) -> None:
        if self._chance % 2:
            for fact in self._decider.typed_by_hand(character.encode()):
                self._run.note(fact)
        self.bench.send(character.encode())

    def _pass(self, for_s: float) -> None:
        until_us = self.bench.now_us + round(for_s * S)
        while self.bench.now_us < until_us:
            self._turn(until_us)
