"""Holds what a page says against what the machine is doing, at every moment, and keeps what was untrue."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import msgspec

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.simulator.core import Whimbrel
from exhibit.simulator.dialogue import day_text
from exhibit.simulator.truth import BoardShown

_TELLS: Final = (
    kinds.PartStarted,
    kinds.PartStopped,
    kinds.MachineSilent,
    kinds.LineLost,
    kinds.RecordingClosed,
)
DRIVES: Final = {"small-drive": "SMALL", "upper-drive": "UPPER", "lower-drive": "LOWER"}


class Untrue(msgspec.Struct, frozen=True):
    """A statement that was untrue from one moment to another, in the machine's time."""

    statement: str
    from_us: int
    to_us: int
    known_us: int
    """From when on the program could know it: at once, unless the power was gone (see could_know_us)."""

    @property
    def for_us(self) -> int:
        """For how long the page said it although it could be known."""
        return max(0, self.to_us - self.known_us)


class Judge:
    """`untrue` is what was found, once the day is over."""

    def __init__(self, machine: Whimbrel, within_us: int) -> None:
        self.untrue: list[Untrue] = []
        self.statements: set[str] = set()
        """All that was ever said."""
        self.within_us = within_us
        self._machine = machine
        self._since: dict[str, int] = {}
        self._power_off_us: list[int] = []
        self._owed_us: list[int] = []
        """When something was typed, and when a step was late: then the machine owes something."""
        self._told_us: list[int] = []
        """When a fact said that the machine was started or stopped, or that nobody knows what it does."""
        self._heard_us = 0
        self._all_true_until_us = 0
        self._claims: list[tuple[str, Any]] = []
        self._claims_of: tuple[int, int] = (0, 0)
        self._down_us: dict[str, int] = {}
        self._state: tuple[Any, ...] = ()
        self._at_us_of: dict[int, int] = {}
        self._read_records = 0
        self._frame: BoardShown | None = None

    def fact(self, view: View, entry: kinds.Entry, at_us: int) -> None:
        """A fact was recorded."""
        if entry.seq == 1:
            self._at_us_of = {}
        self._at_us_of[entry.seq] = at_us
        if isinstance(entry.fact, kinds.BytesTyped | kinds.StepOverdue):
            self._owed_us.append(at_us)
        elif isinstance(entry.fact, kinds.BytesReceived):
            self._heard_us = at_us
        elif isinstance(entry.fact, _TELLS) and getattr(entry.fact, "part", "processor") == "processor":
            self._told_us.append(at_us)
        self.moment(view, at_us)

    def moment(self, view: View, at_us: int) -> None:
        """Something happened, at the machine or on the page."""
        state = self._truth(at_us)
        claims_of = (id(view), view.items_seq)
        if state == self._state and claims_of == self._claims_of:
            return
        if claims_of != self._claims_of:
            self._claims = list(claims(view))
            self.statements |= {statement for statement, _ in self._claims}
            self._claims_of = claims_of
        self._state = state
        false = {statement for statement, about in self._claims if not self._holds(statement, about)}
        for statement in [one for one in self._since if one not in false]:
            self._end(statement, at_us)
        if false and not self._since:
            self._all_true_until_us = at_us
        for statement in false:
            self._since.setdefault(statement, at_us)

    def forget(self) -> None:
        """From now on the page says itself that its picture is old."""
        self._since.clear()

    def over(self, at_us: int) -> None:
        """The day is over."""
        for statement in list(self._since):
            self._end(statement, at_us)

    def longest_us(self) -> int:
        """The longest time for which something was said that could be known to be untrue."""
        return max((one.for_us for one in self.untrue), default=0)

    def _end(self, statement: str, at_us: int) -> None:
        from_us = self._since.pop(statement)
        self.untrue.append(Untrue(statement, from_us, at_us, self.could_know_us(from_us, at_us)))

    def could_know_us(self, from_us: int, to_us: int) -> int:
        """From when on a program could know that a statement was untrue; `to_us` if it couldn't.

        A machine without power prints nothing, and one that gets it back may print where nobody can
        recognise it: behind what was half typed or printed. So no program can know it before a fact tells it,
        or before something is due from the machine and nothing at all comes. The same holds for what happened
        just before, if the power went while the machine still had time to print it.
        """
        until_us = from_us + self.within_us
        if not any(self._all_true_until_us <= off_us <= until_us for off_us in self._power_off_us):
            return from_us
        owed = (at_us for at_us in self._owed_us if from_us <= at_us and self._heard_us <= at_us)
        told = (at_us for at_us in self._told_us if from_us <= at_us)
        return min((*owed, *told), default=to_us)

    # -- what is true

    def _truth(self, at_us: int) -> tuple[Any, ...]:
        machine = self._machine
        if self._state and self._state[0] and not machine.powered:
            self._power_off_us.append(at_us)
        for part in ("processor", *DRIVES):
            if self._is_up(part):
                self._down_us.pop(part, None)
            else:
                self._down_us.setdefault(part, at_us)
        drives = tuple(drive.state for drive in machine.drives.values())
        going = tuple(job.number for job in machine.processor.jobs.values() if not job.over)
        return machine.powered, drives, going, self._shows_board(), self._date(), self._board_shown()

    def _is_up(self, part: str) -> bool:
        if part == "processor":
            return self._machine.powered
        return self._machine.drives[DRIVES[part]].state in ("starting", "ready")

    def _shows_board(self) -> bool:
        tidebook = self._machine.tidebook
        return tidebook is not None and tidebook.notices.on_board is not None

    def _board_shown(self) -> BoardShown | None:
        """The last whole frame."""
        records = self._machine.truth.records
        for record in records[self._read_records :]:
            if isinstance(record, BoardShown):
                self._frame = record
        self._read_records = len(records)
        return self._frame

    def _date(self) -> str:
        tidebook = self._machine.tidebook
        return day_text(tidebook.clock.now()) if tidebook is not None else ""

    def _holds(self, statement: str, about: Any) -> bool:
        """Whether this is true now."""
        match about:
            case ("part", part, "runs"):
                return self._machine.powered if part == "processor" else self._is_ready(part)
            case ("part", part, "starting"):
                return self._is_up(part)
            case ("part", part, "stands"):
                return not self._is_up(part)
            case ("job", number, name):
                job = self._machine.processor.jobs.get(int(number)) if number.isdigit() else None
                return job is not None and not job.over and name in ("", job.name)
            case ("board", "board"):
                return self._shows_board()
            case ("date", date):
                return self._date() == date
            case ("share", value):
                return self._frame is not None and self._frame.processor_load == value
            case ("transfers", part, total):
                return self._frame is not None and self._frame.transfers[DRIVES[part]] == total
            case ("busy",):
                return any(not job.over for job in self._machine.processor.jobs.values())
            case ("powered",):
                return self._machine.powered
            case ("since", part, seq):
                # It was said before the part was stopped, and so of a part that was running.
                down_us = self._down_us.get(part)
                return down_us is None or down_us <= self._at_us_of.get(seq, 0)
        raise AssertionError(statement)

    def _is_ready(self, part: str) -> bool:
        return self._machine.drives[DRIVES[part]].state == "ready"


def claims(view: View) -> Iterator[tuple[str, Any]]:
    """What the page says of the machine in the present tense, each with what must hold."""
    items = view.batch(0, console=False)
    readings, items = items.get("readings", {}), items.get("items", {})
    for part, one in (items.get("parts") or {}).items():
        if one["state"] != "not known":
            yield f"{part} {one['state']}", ("part", part, one["state"])
    for job in items.get("jobs") or []:
        if not job["doubt"]:
            yield f"job {job['job']} runs", ("job", job["job"], job["name"])
    if standing := items.get("standing"):
        yield "the board stands", ("board", standing["display"])
    for part, one in (items.get("share") or {}).items():
        yield f"share of {part}", ("board", "board")
        yield f"how busy {part} is", ("share", one["value"])
    for part, one in (items.get("transfers") or {}).items():
        yield f"transfers of {part}", ("board", "board")
        yield f"how many transfers of {part}", ("transfers", part, one["total"])
    for display, taken in readings.items():
        for name, one in taken.items():
            if "past" not in one:
                yield f"{display}.{name} is as read", ("board", display)
    if (date := items.get("machine_date")) and "past" not in date:
        yield "it believes the date", ("date", date["value"])
    for part in items.get("tested") or {}:
        yield f"{part} tested", ("part", part, "runs")
    for plot, one in (items.get("plots") or {}).items():
        if not (one["done"] or one["until"]):
            yield f"plot {plot} is worked", ("job", one["job"], "")
    if (loading := items.get("loading")) and not loading["done"]:
        yield f"{loading['load']} is loaded", ("powered",)
    yield from _caption_claims(items)
    yield from _hint_claims(items)


def _caption_claims(items: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    for item in ("caption", "seen_caption"):
        shown = items.get(item)
        if not shown:
            continue
        name = f"{item} {shown['id']}"
        if shown["display"]:
            yield f"{name}: its display", ("board", shown["display"])
        if shown["job"]:
            yield f"{name}: its job", ("job", shown["job"], "")
        if shown["kind"] != "background":
            for part in {shown["part"], "processor"} & {"processor", *DRIVES}:
                yield f"{name}: {part}", ("since", part, shown["trigger_seq"])


def _hint_claims(items: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    told = (items.get("recording") or {}).get("tell_tales") or {}
    for one in items.get("tell_tales") or []:
        what = told[one["name"]]
        yield f"tell-tale {one['name']}", ("part", what["part"], "starting")
        if what["state"] == "busy":
            yield f"tell-tale {one['name']}: busy", ("busy",)
    for one in items.get("ahead") or []:
        yield f"promise {one['name']}", ("powered",)
