"""What a program may want of the machine, what a job is, and the tray that takes its printing.

A program is a generator of wishes; the processor carries each out in virtual time and sends the
outcome back into the generator.
"""

from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import Any

TRAY_FULL_PIECES = 4
"""A job that is followed waits for the console while so many pieces stand in its tray."""
TRAY_KEEPS_PIECES = 400
"""A job that nobody follows keeps its newest so many pieces."""


@dataclass(frozen=True)
class Work:
    """Use the processor for `us` microseconds."""

    us: int


@dataclass(frozen=True)
class Transfer:
    """Read a sector (word None) or write `word` to it; gives a `disc.Outcome`."""

    drive: str
    track: int
    sector: int
    word: int | None = None


@dataclass(frozen=True)
class Say:
    """Print: a job into its tray, the front on the console."""

    text: str


@dataclass(frozen=True)
class Pause:
    """Do nothing until so many microseconds have passed. Front only."""

    us: int


@dataclass(frozen=True)
class Ask:
    """Print a prompt and give the line typed, or None if a secret was cancelled. Front only."""

    prompt: str
    secret: bool = False


@dataclass(frozen=True)
class Drain:
    """Wait until everything printed has left the line. Front only."""


@dataclass(frozen=True)
class News:
    """Wait until `Processor.wake` is called; gives what it was called with. Front only."""


@dataclass(frozen=True)
class Follow:
    """Wait for the next piece in a job's tray; gives it, or ENDED, or LET_GO. Front only."""

    job: "Job"


Wish = Work | Transfer | Say | Pause | Ask | Drain | News | Follow
Steps = Generator[Wish, Any, None]
ENDED, LET_GO = object(), object()


class Tray:
    """Where a job's printing waits until somebody reads it, on the console, piece by piece."""

    def __init__(self) -> None:
        self.followed = False
        self.on_piece: Callable[[], None] = lambda: None
        self.on_space: Callable[[], None] = lambda: None
        self._pieces: deque[str] = deque()

    @property
    def full(self) -> bool:
        """The job has to wait for its reader."""
        return self.followed and len(self._pieces) >= TRAY_FULL_PIECES

    def put(self, piece: str) -> None:
        """Add a piece; the oldest is lost when far too many stand unread."""
        self._pieces.append(piece)
        if len(self._pieces) > TRAY_KEEPS_PIECES:
            self._pieces.popleft()
        self.on_piece()

    def take(self) -> str | None:
        """The oldest piece, or None."""
        piece = self._pieces.popleft() if self._pieces else None
        if not self.full:
            self.on_space()
        return piece

    def set_followed(self, followed: bool) -> None:
        """Somebody reads along from now on, or no longer does."""
        self.followed = followed
        if not self.full:
            self.on_space()


@dataclass
class Job:
    """A program under way. `state`: RUNS, READY, DISC, LINE, IDLE (front only) or ENDED."""

    number: int
    name: str
    desk: str
    text: str
    steps: Steps
    state: str = "READY"
    processor_us: int = 0
    transfers: int = 0
    errors: int = 0
    passes: int = 0
    hung: bool = False
    over: bool = False
    from_disc: bool = False
    work_left_us: int = 0
    wanted: Wish | None = None
    tray: Tray = field(default_factory=Tray)

    def seconds_text(self) -> str:
        """Processor seconds used, with one place."""
        return f"{self.processor_us // 1_000_000}.{self.processor_us // 100_000 % 10}"

    def outcome(self) -> str:
        """What came of it, as the machine says it: passes if it makes any, and errors."""
        passes = f"{self.passes} PASSES, " if self.name in ("SHUTTLE", "RECKON") else ""
        return f"{passes}ERRORS {self.errors}"
