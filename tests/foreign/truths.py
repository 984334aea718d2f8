"""What is true of a machine, noted by the machine itself at the moment when it becomes so."""

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal, get_args

What = Literal[
    "power",
    "state",
    "prompt",
    "command",
    "refused",
    "answer",
    "job begun",
    "job ended",
    "jobs stopped",
    "signed on",
    "signed off",
    "secret shown",
    "notice",
    "crash",
    "asleep",
    "awake",
    "halted",
    "harm",
]
KINDS: tuple[str, ...] = get_args(What)


@dataclass(frozen=True)
class Truth:
    """One thing that became so. A job's records carry its number; its beginning carries its planned end.

    `about` says more: power: on or off; state: what runs (loader, loading, system, closing); prompt: what
    the machine now waits at, empty when it stops waiting; command: the text carried out; refused: what was
    turned down; answer: `question = answer`; job begun, job ended: the kind of job; jobs stopped: how many;
    halted: why (closed after a proper shutdown); harm: the harmful command that was carried out.
    """

    at_us: int
    what: What
    about: str = ""
    number: int | None = None
    ends_us: int | None = None


@dataclass(frozen=True)
class Job:
    """A job that is running, and when it will end by itself."""

    number: int
    kind: str
    begun_us: int
    ends_us: int


@dataclass(frozen=True)
class State:
    """What is true of the machine at one moment."""

    powered: bool = False
    runs: str = "off"
    """off, halted, or what runs: loader, loading, system, closing."""
    asleep: bool = False
    signed_on: str | None = None
    jobs: Mapping[int, Job] = field(default_factory=dict)
    prompt: str | None = None
    """What the machine waits at for something to be typed."""
    last_command: str | None = None
    last_command_us: int | None = None
    crashed: bool = False
    """It halted by itself, and hasn't been started since."""
    closed: bool = True
    """The last system that ran was shut down properly; power can be turned off without harm."""
    harms: tuple[str, ...] = ()

    def after(self, truth: Truth) -> "State":
        """What is true once `truth` has become so."""
        nothing_runs = replace(self, asleep=False, signed_on=None, jobs={}, prompt=None)
        match truth.what:
            case "power" if truth.about == "on":
                return replace(nothing_runs, powered=True, runs="halted", crashed=False)
            case "power":
                return replace(nothing_runs, powered=False, runs="off", crashed=False)
            case "state":
                closed = self.closed and truth.about != "system"
                return replace(self, runs=truth.about, crashed=False, closed=closed)
            case "halted":
                return replace(nothing_runs, runs="halted", closed=self.closed or truth.about == "closed")
            case "crash":
                return replace(nothing_runs, runs="halted", crashed=True)
            case "prompt":
                return replace(self, prompt=truth.about or None)
            case "command":
                return replace(self, prompt=None, last_command=truth.about, last_command_us=truth.at_us)
            case "job begun" if truth.number is not None and truth.ends_us is not None:
                job = Job(truth.number, truth.about, truth.at_us, truth.ends_us)
                return replace(self, jobs={**self.jobs, truth.number: job})
            case "job ended":
                return replace(self, jobs={n: job for n, job in self.jobs.items() if n != truth.number})
            case "jobs stopped":
                return replace(self, jobs={})
            case "signed on":
                return replace(self, signed_on=truth.about)
            case "signed off":
                return replace(self, signed_on=None)
            case "asleep":
                return replace(self, asleep=True, prompt=None)
            case "awake":
                return replace(self, asleep=False)
            case "harm":
                return replace(self, harms=(*self.harms, truth.about))
        return self


class Truths(list[Truth]):
    """All that became so, in order of time."""

    def __init__(self) -> None:
        super().__init__()
        self._times_us: list[int] = []
        self._states: list[State] = []

    def append(self, truth: Truth) -> None:
        """Note `truth`, which may not be older than the last one."""
        if self and truth.at_us < self[-1].at_us:
            raise ValueError(f"{truth} comes after {self[-1]}")
        self._states.append((self._states[-1] if self._states else State()).after(truth))
        self._times_us.append(truth.at_us)
        super().append(truth)

    def at(self, us: int) -> State:
        """What is true at `us`, whatever becomes so in that microsecond included."""
        place = bisect_right(self._times_us, us)
        return self._states[place - 1] if place else State()

    def of(self, *whats: What) -> list[Truth]:
        """The records of these kinds."""
        return [truth for truth in self if truth.what in whats]
