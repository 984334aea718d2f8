"""A line with faults between the far end and a machine. It is used as the machine itself would be.

Its times are the far end's: where the machine's clock stops for a while, what is true is told in the time of
whoever watches. Everything by chance follows from a seed.
"""

from bisect import bisect_left, bisect_right
from collections import deque
from dataclasses import replace
from random import Random
from typing import Literal, get_args

from tests.foreign.core import Core
from tests.foreign.truths import Truths

Fault = Literal["none", "loss", "doubling", "flips", "stall", "freeze", "lost", "notices"]
FAULTS: tuple[Fault, ...] = get_args(Fault)
LOST_US = 3_000_000
S = 1_000_000
EVERY_US: dict[Fault, tuple[int, int]] = {
    "stall": (20 * S, 90 * S),
    "freeze": (20 * S, 90 * S),
    "lost": (60 * S, 240 * S),
    "notices": (20 * S, 60 * S),
}
"""From the end of one until the next begins."""
FOR_US: dict[Fault, tuple[int, int]] = {
    "stall": (1 * S, 8 * S),
    "freeze": (1 * S, 8 * S),
    "lost": (LOST_US, LOST_US),
    "notices": (0, 0),
}
NOTICES = (
    "STORES CLOSE AT NOON",
    "LINE 3 IS BACK",
    "MIND THE WET FLOOR",
    "KEY OF THE BOAT HOUSE PLEASE",
    "REEL 14 WANTED",
)


class Plan:
    """When a fault is there: spans of time without end, worked out as far as somebody asks."""

    def __init__(self, fault: Fault, active: Fault, begins_us: int, chance: Random) -> None:
        self._every = EVERY_US[fault] if fault == active else None
        self._for = FOR_US[fault]
        self._chance = chance
        self._known_us = begins_us
        self._from: list[int] = []
        self._to: list[int] = []
        self._from_less: list[int] = []
        """Each beginning, less what the earlier spans took."""

    def _reach(self, us: int) -> None:
        """Work out all spans that begin up to `us`, and one more."""
        while self._every is not None and (not self._from or self._from[-1] <= us):
            from_us = self._known_us + self._chance.randint(*self._every)
            self._known_us = from_us + self._chance.randint(*self._for)
            self._from_less.append(from_us - self.spent_us(from_us, reach=False))
            self._from.append(from_us)
            self._to.append(self._known_us)

    def ends_us(self, us: int) -> int | None:
        """When the span that `us` is in ends; None if it is in none. The end itself is outside."""
        self._reach(us)
        place = bisect_right(self._from, us)
        return self._to[place - 1] if place and us < self._to[place - 1] else None

    def next_change_us(self, after_us: int) -> int | None:
        """When, after `after_us`, a span begins or ends next."""
        if (end_us := self.ends_us(after_us)) is not None:
            return end_us
        place = bisect_right(self._from, after_us)
        return self._from[place] if place < len(self._from) else None

    def spent_us(self, us: int, *, reach: bool = True) -> int:
        """How much of the time until `us` lies in spans."""
        if reach:
            self._reach(us)
        place = bisect_left(self._from, us)
        if not place:
            return 0
        before_us = self._from[place - 1] - self._from_less[place - 1]
        return before_us + min(us, self._to[place - 1]) - self._from[place - 1]

    def with_spans_us(self, less_us: int) -> int:
        """The earliest time that, less what the spans took until then, is `less_us`."""
        self._reach(less_us)
        while self._from_less and self._from_less[-1] < less_us:
            self._reach(self._from[-1])
        place = bisect_left(self._from_less, less_us)
        if not place:
            return less_us
        return less_us - self._from_less[place - 1] + self._to[place - 1]


class Wire:
    """A machine behind a line with one kind of fault.

    `chance_of_each`: how likely each character in either direction is lost, doubled, or has one bit changed.
    The fault begins at `begins_us`. `lost`: the line is gone at the moment, as its far end would notice.
    """

    def __init__(
        self,
        core: Core,
        fault: Fault = "none",
        *,
        seed: int = 1,
        chance_of_each: float = 0.01,
        begins_us: int = 0,
    ) -> None:
        if fault not in FAULTS:
            raise ValueError(f"{fault} is none of {FAULTS}")
        self.core = core
        self.fault: Fault = fault
        self.now_us = 0
        self.truth = Truths()
        self.spoilt: list[tuple[int, str, int]] = []
        """When, which way (in, out), and which byte was lost, doubled, changed, held up or gone."""
        self._chance = Random(f"characters {seed}")
        self._each = chance_of_each if fault in ("loss", "doubling", "flips") else 0.0
        self._begins_us = begins_us
        self._stall, self._freeze, self._lost, self._notices = (
            Plan(kind, fault, begins_us, Random(f"{kind} {seed}"))
            for kind in ("stall", "freeze", "lost", "notices")
        )
        self._inward: deque[tuple[int, int]] = deque()
        self._outward: deque[tuple[int, bytes]] = deque()
        self._seen_truths = 0

    @property
    def lost(self) -> bool:
        """The line is gone at the moment."""
        return self._lost.ends_us(self.now_us) is not None

    # ---- used like the machine

    def receive(self, data: bytes, at_us: int) -> None:
        """The far end puts `data` on the line."""
        for byte in data:
            for due_us, spoilt in self._passed("in", byte, at_us):
                self._inward.append((due_us, spoilt))

    def advance(self, to_us: int) -> list[tuple[int, bytes]]:
        """Let time pass; returns what arrived at the far end, with its times."""
        self._run_to(to_us)
        out = []
        while self._outward and self._outward[0][0] <= self.now_us:
            out.append(self._outward.popleft())
        return out

    def next_event_us(self) -> int | None:
        """When something happens by itself."""
        core_us = self.core.next_event_us()
        due = [
            self.at_far_end(core_us) if core_us is not None else None,
            self._inward[0][0] if self._inward else None,
            self._outward[0][0] if self._outward else None,
            self._lost.next_change_us(self.now_us),
            self._notices.next_change_us(self.now_us),
        ]
        return min((max(us, self.now_us) for us in due if us is not None), default=None)

    def panel(self, act: str, at_us: int) -> str:
        """A person does something at the front of the machine."""
        self._run_to(at_us)
        answer = self.core.panel(act, self.at_machine(at_us))
        self._tell_truths(at_us)
        return answer

    # ---- the two clocks

    def at_machine(self, us: int) -> int:
        """What the machine's own clock shows at `us`."""
        return us - self._freeze.spent_us(us)

    def at_far_end(self, machine_us: int) -> int:
        """When the machine's own clock shows `machine_us`; the earliest such moment."""
        return self._freeze.with_spans_us(machine_us)

    # ---- what happens to what passes

    def _passed(self, way: str, byte: int, at_us: int) -> list[tuple[int, int]]:
        """A character that enters the line at `at_us`: when it leaves it, and what it then is."""
        if self._lost.ends_us(at_us) is not None:
            self.spoilt.append((at_us, way, byte))
            return []
        stalled_until_us = self._stall.ends_us(at_us)
        due_us = at_us if stalled_until_us is None else stalled_until_us
        if stalled_until_us is not None:
            self.spoilt.append((at_us, way, byte))
        if at_us < self._begins_us or self._chance.random() >= self._each:
            return [(due_us, byte)]
        self.spoilt.append((at_us, way, byte))
        if self.fault == "loss":
            return []
        if self.fault == "doubling":
            return [(due_us, byte), (due_us, byte)]
        return [(due_us, byte ^ 1 << self._chance.randrange(8))]

    def _run_to(self, to_us: int) -> None:
        while self.now_us < to_us or (self._inward and self._inward[0][0] <= to_us):
            notice_us = self._notices.next_change_us(self.now_us)
            stops = [to_us, *(us for us, _ in list(self._inward)[:1]), *([notice_us] if notice_us else [])]
            self._core_to(max(self.now_us, min(stops)))
            while self._inward and self._inward[0][0] <= self.now_us:
                self.core.receive(bytes((self._inward.popleft()[1],)), self.at_machine(self.now_us))
            if self.now_us == notice_us:
                self.core.panel(f"notice {self._chance.choice(NOTICES)}", self.at_machine(self.now_us))
        self._core_to(to_us)

    def _core_to(self, us: int) -> None:
        for core_us, data in self.core.advance(self.at_machine(us)):
            at_us = self.at_far_end(core_us)
            for byte in data:
                for due_us, spoilt in self._passed("out", byte, at_us):
                    self._outward.append((due_us, bytes((spoilt,))))
        self._tell_truths(None)
        self.now_us = max(self.now_us, us)

    def _tell_truths(self, act_us: int | None) -> None:
        for truth in self.core.truth[self._seen_truths :]:
            at_us = self.at_far_end(truth.at_us) if act_us is None else act_us
            ends_us = None if truth.ends_us is None else self.at_far_end(truth.ends_us)
            last_us = self.truth[-1].at_us if self.truth else 0
            self.truth.append(replace(truth, at_us=max(at_us, last_us), ends_us=ends_us))
        self._seen_truths = len(self.core.truth)
