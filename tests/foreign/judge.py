"""Judges what was said about a foreign machine by the machine's own log of what was true.

Each kind of fact that a person is told about, in the terminal or on the page, has a rule here, or is listed
as one that only says what the program itself did.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping
from typing import Any, Final

from exhibit.decisions.console.printed import PrintedLine
from exhibit.decisions.display.choice import display_for
from exhibit.decisions.display.wire import Text
from exhibit.decisions.display.wire import Wire as Items
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import Folder
from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from tests.foreign.truths import State
from tests.foreign.wire import Wire

S: Final = 1_000_000
REACTS_WITHIN_US: Final = 30 * S
"""A machine does something within this time after a line was given to it, or it hasn't taken it."""
SPOILT_WITHIN_US: Final = 20 * S
"""A line quoted wrongly is laid to the line's fault if a character was spoilt within this time before it."""


class Judge:
    """Takes each fact as it is recorded. `wrong` lists what was untrue, or should never have been done.

    `unknowable` counts quoted lines that a fault of the line changed on the way, as nobody can know who only
    has what arrived. `judged` counts the judged sentences by the kind of fact.
    """

    def __init__(
        self,
        folder: Folder,
        wire: Wire,
        places: Mapping[str, Callable[[State], bool]],
        secrets: Collection[str],
    ) -> None:
        self._folder = folder
        self._machine: Machine = folder.machine
        self._wire = wire
        self._places = places
        self._secrets = [secret.upper() for secret in secrets]
        self._printed = _Printed(self._machine)
        self._doubts: dict[int, str] = {}
        """The jobs in doubt, and the number of each if one is known."""
        self._told_jobs: set[str] = set()
        """The numbers of the jobs that were said to have begun, and not to have ended."""
        self._misread = 0
        """How many jobs were told with another number than theirs, because the line had changed it."""
        self._heard_us: list[int] = []
        """When something was recorded as received, the last few times."""
        self._nothing_typed_since_us: int | None = None
        self._commands: list[str] = []
        """The commands for which RETURN was typed, as they were typed."""
        self.wrong: list[str] = []
        self.unknowable: Counter[str] = Counter()
        self.judged: Counter[str] = Counter()
        _tap(wire, self._printed)

    def take(self, entry: kinds.Entry, view: View) -> None:
        """Judges what this fact says."""
        fact = entry.fact
        rule = RULES.get(type(fact))
        if rule is None:
            return
        self.judged[type(fact).__name__] += 1
        said = rule(self, fact, entry.at_us)
        if said:
            self.wrong.append(f"{entry.at_us / S:.3f} s: {said}")

    def at_the_end(self, view: View, now_us: int, *, line_up: bool) -> None:
        """Judges the end of the day: what was executed, and whether every job that runs was told."""
        self._judge_commands()
        self._judge_jobs(view, now_us)

    # -- what was done

    def _judge_commands(self) -> None:
        from tests.foreign.driven import commands_of

        known = commands_of(self._folder)
        for truth in self._wire.truth.of("command"):
            if truth.about.strip() and not any(one.fullmatch(truth.about.strip()) for one in known):
                self.wrong.append(f"{truth.at_us / S:.3f} s: the machine carried out {truth.about!r}")
        for truth in self._wire.truth.of("harm"):
            self.wrong.append(f"{truth.at_us / S:.3f} s: the machine carried out the harmful {truth.about!r}")

    def _judge_jobs(self, view: View, now_us: int) -> None:
        running = self._wire.truth.at(now_us).jobs
        told = view.recorded_state().may_run
        numbers = {one.job for one in told if one.job}
        without = sum(not one.job for one in told)
        untold = [job for number, job in running.items() if f"{number}" not in numbers]
        if len(untold) > without + self._misread:
            self.wrong.append(f"at the end these jobs run untold: {untold}; told: {told}")

    # -- what was said

    def _state(self, at_us: int) -> State:
        return self._wire.truth.at(at_us)

    def _quoted(self, what: str, line: str, at_us: int) -> str:
        if self._printed.has(line):
            return ""
        if self._spoilt_before(at_us):
            self.unknowable[what] += 1
            return ""
        return f"{what}: the machine never printed {line!r}"

    def _spoilt_before(self, at_us: int) -> bool:
        """Whether the line spoilt something on the way from the machine a short time before."""
        spoilt = (us for us, way, _ in self._wire.spoilt if way == "out")
        return any(at_us - SPOILT_WITHIN_US <= us <= at_us for us in spoilt)

    def pattern_seen(self, fact: kinds.PatternSeen, at_us: int) -> str:
        return self._quoted(f"the line {fact.pattern}", fact.line, at_us)

    def landmark(self, fact: kinds.LandmarkReached, at_us: int) -> str:
        return self._quoted(f"the prompt {fact.landmark}", fact.line, at_us)

    def place(self, fact: kinds.PlaceRecognised, at_us: int) -> str:
        holds = self._places.get(fact.place)
        state = self._state(at_us)
        if holds is None or holds(state):
            return ""
        return f"it was said to be at {fact.place}, and {state}"

    def begun(self, fact: kinds.ExerciserBegun, at_us: int) -> str:
        known = {f"{truth.number}" for truth in self._wire.truth.of("job begun") if truth.at_us <= at_us}
        self._told_jobs.add(fact.job)
        self._doubts.pop(fact.asked, "")
        if not fact.job or fact.job in known:
            return ""
        if self._spoilt_before(at_us):  # a figure was lost or doubled on a line without parity
            self.unknowable["a job's number"] += 1
            self._misread += 1
            return ""
        return f"job {fact.job} was said to have begun"

    def ended(self, fact: kinds.ExerciserEnded, at_us: int) -> str:
        self._told_jobs.discard(fact.job)
        runs = fact.job.isdigit() and int(fact.job) in self._state(at_us).jobs
        return f"job {fact.job} was said to have ended, and it runs" if runs else ""

    def in_doubt(self, fact: kinds.JobInDoubt, at_us: int) -> str:
        self._doubts[fact.asked] = fact.job
        return ""

    def listed(self, fact: kinds.JobListed, at_us: int) -> str:
        self._doubts[fact.asked] = fact.job
        known = {f"{truth.number}" for truth in self._wire.truth.of("job begun") if truth.at_us <= at_us}
        return "" if fact.job in known else f"{fact.job} was said to be the number of a job"

    def doubt_over(self, fact: kinds.JobDoubtOver, at_us: int) -> str:
        job = self._doubts.pop(fact.asked, "")
        running = self._state(at_us).jobs
        told = {number for number in self._told_jobs if number in {f"{n}" for n in running}}
        if job and job.isdigit() and int(job) in running:
            return f"job {job} was said not to be running ({fact.how}), and it runs"
        if not job and len(running) > len(told):
            return f"a job without a known number was said not to be running ({fact.how}); running: {running}"
        return ""

    def silent(self, fact: kinds.MachineSilent, at_us: int) -> str:
        heard = [us for us in self._heard_us if us > fact.heard_us]
        return f"something was heard at {heard[-1]}, after {fact.heard_us}" if heard else ""

    def late(self, fact: kinds.AnsweredLate, at_us: int) -> str:
        return self._quoted(f"the late answer {fact.name}", fact.line, at_us)

    def confirmed(self, fact: kinds.TypingConfirmed, at_us: int) -> str:
        """The machine took a line: it then did something, which its log shows, a moment before."""
        if not fact.command:
            return ""
        did = [truth for truth in self._wire.truth if at_us - REACTS_WITHIN_US <= truth.at_us <= at_us]
        if did:
            return ""
        if self._spoilt_before(at_us):
            self.unknowable["taken"] += 1
            return ""
        return f"{fact.command!r} was said to have been taken"

    def script_ended(self, fact: kinds.ScriptEnded, at_us: int) -> str:
        """A script that is called tidy left no job of its own that nobody was told of."""
        running = {f"{number}" for number in self._state(at_us).jobs}
        without = sum(not job for job in self._doubts.values())
        untold = running - self._told_jobs - set(self._doubts.values())
        too_many = fact.tidy and len(untold) > without + self._misread
        return f"{fact.script} was called tidy, and {untold} ran untold" if too_many else ""

    def lost(self, fact: kinds.LineLost, at_us: int) -> str:
        return "" if self._wire.lost else "the line was said to be lost"

    def part_started(self, fact: kinds.PartStarted, at_us: int) -> str:
        return "" if self._state(at_us).powered else f"{fact.part} was said to have been started"

    def typed(self, fact: kinds.BytesTyped, at_us: int) -> str:
        if self._nothing_typed_since_us is not None:
            return f"{fact.bytes!r} was typed after it was said that nothing more is typed"
        return ""

    def failed(self, fact: kinds.SessionFailed, at_us: int) -> str:
        self._nothing_typed_since_us = at_us
        return ""

    def cleared(self, fact: kinds.SessionCleared, at_us: int) -> str:
        self._nothing_typed_since_us = None
        return ""

    def caption(self, fact: kinds.CaptionShown, at_us: int) -> str:
        if fact.kind != "seen" or self._state(at_us).powered:
            return ""
        since = [truth.at_us for truth in self._wire.truth.of("power") if truth.about == "off"]
        return (
            "" if not since or at_us - since[-1] < 30 * S else f"it was off, and visitors read {fact.words}"
        )

    def secrets(self, text: str, at_us: int) -> str:
        shown = text.upper()
        found = any(
            secret[start : start + 4] in shown for secret in self._secrets for start in range(len(secret) - 3)
        )
        return "four characters of a secret in a row were recorded" if found else ""

    def received(self, fact: kinds.BytesReceived, at_us: int) -> str:
        self._heard_us = [*self._heard_us[-3:], at_us]
        return self.secrets("".join(chr(ord(c) & 0x7F) for c in fact.bytes), at_us)


RULES: Final[dict[type, Callable[[Judge, Any, int], str]]] = {
    kinds.BytesReceived: Judge.received,
    kinds.BytesTyped: Judge.typed,
    kinds.CaptionShown: Judge.caption,
    kinds.ExerciserBegun: Judge.begun,
    kinds.ExerciserEnded: Judge.ended,
    kinds.LandmarkReached: Judge.landmark,
    kinds.AnsweredLate: Judge.late,
    kinds.JobDoubtOver: Judge.doubt_over,
    kinds.JobInDoubt: Judge.in_doubt,
    kinds.JobListed: Judge.listed,
    kinds.LineLost: Judge.lost,
    kinds.MachineSilent: Judge.silent,
    kinds.PartStarted: Judge.part_started,
    kinds.PatternSeen: Judge.pattern_seen,
    kinds.PlaceRecognised: Judge.place,
    kinds.ScriptEnded: Judge.script_ended,
    kinds.SessionCleared: Judge.cleared,
    kinds.SessionFailed: Judge.failed,
    kinds.TypingConfirmed: Judge.confirmed,
}


class _Printed:
    """All that the machine really sent, whatever became of it on the line."""

    def __init__(self, machine: Machine) -> None:
        self._items = Items(
            machine.eighth_bit, parity=machine.line.parity, characters=machine.display.characters
        )
        self._screen = display_for(machine.display)
        self._stream = ""
        self._rows: set[str] = set()
        self._broadcasts = [one.starts for one in machine.interruptions]
        self._line = PrintedLine(machine.display.tab_columns, paper=machine.display.kind == "paper")
        self._without = ""
        """What was printed, without the lines of broadcasts: what they broke is whole in it."""

    def take(self, data: bytes) -> None:
        items = self._items.feed(data)
        self._screen.apply(items)
        self._stream += "".join(_bare(item.text) for item in items if isinstance(item, Text))
        for item in items:
            line = self._line.take(item)
            if line is not None and not any(one.match(line) for one in self._broadcasts):
                self._without += _bare(line)
        self._rows.update(_bare(row) for row in self._screen.text_rows()[-30:])

    def has(self, line: str) -> bool:
        """Whether it printed this line, whatever the spaces, at any time until now."""
        bare = _bare(line)
        without = self._without + _bare(self._line.text)
        return bare in self._stream or bare in without or any(bare in row for row in self._rows)


def _bare(text: str) -> str:
    return "".join(text.split())


def _tap(wire: Wire, printed: _Printed) -> None:
    """Lets `printed` hear what the machine sends, before the line can spoil it."""
    advance = wire.core.advance

    def tapped(to_us: int) -> list[tuple[int, bytes]]:
        sent = advance(to_us)
        for _, data in sent:
            printed.take(data)
        return sent

    wire.core.advance = tapped  # type: ignore[method-assign]
