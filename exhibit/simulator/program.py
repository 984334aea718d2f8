"""What a program may ask for, what a job is, and the tray that collects what a job prints.

A program is a generator of requests. The processor carries each out in virtual time and sends the
outcome back into the generator. Requests marked "front only" are for the front alone, the one
program that has the keyboard (see `processor`).
"""

from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import Any

TRAY_FULL_PIECES = 4
"""A job that is being followed waits for the console while its tray holds this many pieces."""
TRAY_KEEPS_PIECES = 400
"""The tray of a job that nobody follows keeps this many pieces, the newest ones."""


@dataclass(frozen=True)
class Work:
    """Use the processor for `us` microseconds."""

    us: int


@dataclass(frozen=True)
class Transfer:
    """Read a sector (`word` is None) or write `word` to it; the outcome is a `disc.Outcome`."""

    drive: str
    track: int
    sector: int
    word: int | None = None


@dataclass(frozen=True)
class Say:
    """Print: a job prints into its tray, the front on the console."""

    text: str


@dataclass(frozen=True)
class Pause:
    """Do nothing for `us` microseconds. Front only."""

    us: int


@dataclass(frozen=True)
class Ask:
    """Print a prompt; the outcome is the line typed, or None if a secret was cancelled. Front only."""

    prompt: str
    secret: bool = False


@dataclass(frozen=True)
class Drain:
    """Wait until everything printed has left the line. Front only."""


@dataclass(frozen=True)
class News:
    """Wait for `Processor.wake`; the outcome is what it was called with. Front only."""


@dataclass(frozen=True)
class Follow:
    """Wait for the next piece in a job's tray; the outcome is the piece, ENDED or LET_GO. Front only."""

    job: "Job"


Request = Work | Transfer | Say | Pause | Ask | Drain | News | Follow
Steps = Generator[Request, Any, None]
ENDED, LET_GO = object(), object()


class Tray:
    """Collects what a job prints until somebody reads it on the console, piece by piece."""

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
        """Add a piece. When far too many are unread, the oldest is lost."""
        self._pieces.append(piece)
        if len(self._pieces) > TRAY_KEEPS_PIECES:
            self._pieces.popleft()
        self.on_piece()

    def take(self) -> str | None:
        """Remove and return the oldest piece; None if there is none."""
        piece = self._pieces.popleft() if self._pieces else None
        if not self.full:
            self.on_space()
        return piece

    def set_followed(self, followed: bool) -> None:
        """Somebody now follows the job, or no longer does."""
        self.followed = followed
        if not self.full:
            self.on_space()


@dataclass
class Job:
    """A program that has been begun. `state`: RUNS, READY, DISC, LINE, IDLE (front only) or ENDED."""

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
    back_from_disc: bool = False
    remaining_us: int = 0
    request: Request | None = None
    tray: Tray = field(default_factory=Tray)

    def seconds_text(self) -> str:
        """The processor time used, in seconds with one decimal place."""
        return f"{self.processor_us // 1_000_000}.{self.processor_us // 100_000 % 10}"

    def outcome(self) -> str:
        """The result as the machine prints it: passes, for a program that makes any, and errors."""
        passes = f"{self.passes} PASSES, " if self.name in ("SHUTTLE", "SUMS") else ""
        return f"{passes}ERRORS {self.errors}"
