"""Facts written by hand: a short, whole day of the Whimbrel, for the pages' tests and pictures.

Everything is told with its time in seconds, and goes through the real recording writer.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from exhibit.facts import kinds
from exhibit.facts.display import Display
from exhibit.folder.whole import read_folder
from exhibit.streams.recording import RecordingWriter

WHIMBREL = read_folder(Path(__file__).resolve().parents[2] / "scripts/whimbrel")
Told = tuple[float, kinds.AnyFact]

WALL = "2026-11-25T09:12:00.000+00:00"
SETTLED_S = 0.03

BOARD_HEAD = "TIDEBOOK BOARD    25.11.1998  DAY 329   TIME 09.15.20   UP  0.04.12"
JOBS = [
    ("1", "SHUTTLE", "TIDES", "9", "12.1", "2217", "0", "DISC"),
    ("2", "SUMS", "TIDES", "41", "55.0", "0", "0", "RUNS"),
    ("3", "TIDES", "TIDES", "40", "21.7", "31", "0", "READY"),
]
JOB_COLUMNS = ("job", "name", "desk", "share", "seconds", "transfers", "errors", "state")


def opened(**changed: object) -> kinds.RecordingOpened:
    """The first fact, as a bridge would give it."""
    fields: dict[str, object] = {
        "format": 1,
        "how_to_read": "",
        "software": "made by hand",
        "machine": "whimbrel",
        "title": {"en": "The Whimbrel, the tide computer of Sallowmouth", "de": "Der Whimbrel"},
        "parts": {
            "processor": {"en": "Processor", "de": "Rechnerschrank"},
            "small-drive": {"en": "Small disc drive", "de": "Kleines Laufwerk"},
            "upper-drive": {"en": "Upper disc drive", "de": "Oberes Laufwerk"},
            "lower-drive": {"en": "Lower disc drive", "de": "Unteres Laufwerk"},
            "console": {"en": "Console", "de": "Konsole"},
        },
        "drawn": WHIMBREL.machine.drawn,
        "switches": WHIMBREL.machine.switches,
        "now": WHIMBREL.machine.now,
        "cards": list(WHIMBREL.cards),
        "exercisers": WHIMBREL.exercisers,
        "languages": {"en": "English"},
        "machine_is": "real",
        "typing": "scripts",
        "rate": 1.0,
        "wall": WALL,
        "line": "/dev/serial/by-id/console, 2400 baud, 8 bits, no parity, 1 stop bit",
        "eighth_bit": "drop",
        "parity": "none",
        "display": Display(kind="screen", rows=24, columns=80),
        "digests": {},
        "previous_file": "",
        "previous_crc": "",
    }
    return kinds.RecordingOpened(**{**fields, **changed})  # type: ignore[arg-type]


class Teller:
    """Writes a day down, counting the numbers that its facts will have."""

    def __init__(self) -> None:
        self.told: list[Told] = []
        self.at_s = 0.0

    @property
    def seq(self) -> int:
        """The number of the last fact told; the first one, `opened`, has 1."""
        return len(self.told) + 1

    def tell(self, fact: kinds.AnyFact, after_s: float = 0.0) -> int:
        """The next fact. Gives its number."""
        self.at_s += after_s
        self.told.append((self.at_s, fact))
        return self.seq

    def prints(self, text: str, after_s: float = 0.4) -> int:
        """The machine prints, at 2400 baud, recorded in pieces of up to 40 ms."""
        self.at_s += after_s
        for start in range(0, len(text), 10):
            piece = text[start : start + 10]
            first_us = int(self.at_s * 1e6)
            self.at_s += len(piece) / 240
            self.told.append((self.at_s, kinds.BytesReceived(bytes=piece, first_us=first_us)))
        return self.seq

    def types(self, command: str) -> None:
        """A command is typed and comes back."""
        for character in command + "\r":
            self.tell(kinds.BytesTyped(bytes=character, count=1, by="script"), 0.02)
        self.prints(command + "\r\n", 0.01)
        self.tell(kinds.TypingConfirmed(command=command, attempts=1))

    def stands_at(self, landmark: str, line: str, **fields: str) -> int:
        """A prompt stands and has settled."""
        self.prints(line)
        return self.tell(kinds.LandmarkReached(landmark=landmark, line=line, fields=fields), SETTLED_S)

    def caption(
        self, name: str, kind: kinds.CaptionKind, words: str, part: str, because: list[int], source: str = ""
    ) -> int:
        """Visitors are told something."""
        german = {"de": f"[deutsch] {words}"}
        return self.tell(
            kinds.CaptionShown(
                caption=name,
                kind=kind,
                words={"en": words, **german},
                part=part,
                because=because,
                source={"en": source} if source else {},
            )
        )

    def step(self, script: str, name: str) -> int:
        """A step begins."""
        return self.tell(kinds.StepStarted(script=script, step=name))


def a_day() -> list[Told]:
    """From cold through the opening into the first round, with the board on the screen at its end."""
    day = Teller()
    day.tell(kinds.LineOpened(line="/dev/serial/by-id/console"), 0.1)
    day.tell(kinds.Heartbeat(wall=WALL), 0.1)
    day.tell(kinds.ScriptStarted(script="opening", title={"en": "Bringing the machine up"}, by="docent 1"))
    day.step("opening", "turn-the-key")
    words = {"en": "Turn the key at the processor cabinet to ON."}
    caution = {"en": "Mains voltage behind the panels. Open nothing."}
    day.tell(kinds.HandsOnAsked(script="opening", step="turn-the-key", words=words, caution=caution), 0.1)
    confirmed = day.tell(kinds.HandsOnConfirmed(step="turn-the-key", by="docent 1"), 3.0)
    day.tell(kinds.StepEnded(script="opening", step="turn-the-key"))
    day.prints("WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND\r\n")
    seen = day.tell(
        kinds.PatternSeen(pattern="core-sound", line="WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND")
    )
    day.caption(
        "core-is-sound",
        "seen",
        "The machine has tested its own memory, all 65,536 words of it, and found it sound.",
        "processor",
        [seen - 1, seen],
    )
    day.prints("SET THE SWITCHES AND PRESS START\r\n", 1.0)
    day.tell(
        kinds.PackMounted(label="SALLOW 2", drive="lower-drive", may_be_written=True, by="docent 1"), 1.0
    )
    ready = "LOWER READY: SALLOW 2, MAY BE WRITTEN"
    day.prints(f"{ready}\r\n", 1.0)
    seen = day.tell(kinds.PatternSeen(pattern="lower-ready", line=ready))
    day.caption(
        "listen-to-lower",
        "look or listen for",
        "Listen: the lower drive should now be humming at 2,400 turns a minute.",
        "lower-drive",
        [confirmed, seen - 1, seen],
    )
    stands = day.stands_at("day-and-year", "DAY OF YEAR AND YEAR? ")
    day.caption(
        "asks-the-date",
        "background",
        "The machine has no clock that runs while it is off, so it is told the date each morning.",
        "processor",
        [stands - 1, stands],
        "Operator’s handbook, section 4",
    )
    day.step("opening", "tell-the-date")
    day.types("329 1998")
    day.stands_at("date-right", "WEDNESDAY 25.11.1998, DAY 329. RIGHT (YES)? ", date="25.11.1998")
    day.types("YES")
    day.stands_at("no-desk", "NO DESK: ")
    day.tell(kinds.ScriptEnded(script="opening", outcome="done", tidy=True, why=""))
    day.tell(
        kinds.ScriptStarted(script="round", title={"en": "Working out the tides"}, by="session", round=1)
    )
    day.step("round", "take-the-desk")
    day.types("TAKE TIDES")
    day.tell(kinds.BytesTyped(bytes="", count=9, by="script", secret=True), 0.3)
    day.tell(kinds.BytesWithheld(count=2, why="a secret was being typed"), 0.1)
    day.stands_at("desk-tides", "DESK TIDES: ")
    day.step("round", "begin-shuttle")
    day.types("BEGIN SHUTTLE LOWER 2 MINUTES")
    line = "JOB 1 BEGUN: SHUTTLE LOWER 2 MINUTES"
    day.prints(line + "\r\n")
    matched = day.tell(
        kinds.StepMatched(script="round", step="begin-shuttle", name="begun", line=line, fields={"job": "1"})
    )
    day.caption(
        "shuttle-begun",
        "seen",
        "A first job is at work: it writes to the lower disc and reads back what it wrote.",
        "lower-drive",
        [matched - 1, matched],
    )
    day.tell(kinds.Heartbeat(wall="2026-11-25T09:12:20.000+00:00"), 0.1)
    day.step("round", "show-the-board")
    day.types("BOARD")
    last = day.prints(board(load=87))
    read = readings(day, load=87)
    day.caption(
        "board-stands",
        "seen",
        "Three jobs share one processor: it turns from each to the next in no time.",
        "processor",
        [last, read],
    )
    return day.told


def board(load: int) -> str:
    """The status display, painted by cursor addressing; the parked cursor ends the frame."""

    def at(row: int, column: int = 1) -> str:
        return f"\x1b[{row};{column}H"

    head = "JOB  NAME     DESK     SHARE  SECONDS  TRANSFERS  ERRORS  STATE"
    text = "\x1b[2J" + at(1) + f"\x1b[7m{BOARD_HEAD}\x1b[0m"
    text += at(3) + f"PROCESSOR LOAD {load:3} PER CENT   JOBS GOING  3"
    text += at(4) + "DISC TRANSFERS  SMALL      12   UPPER    1043   LOWER    2217"
    text += at(5) + "DISC ERRORS         0" + at(7) + f"\x1b[1m{head}\x1b[0m"
    for row, job in enumerate(JOBS, 8):
        number, name, desk, share, seconds, transfers, errors, state = job
        text += at(row) + f"{number:>3}  {name:8} {desk:8} {share:>5}  {seconds:>7}  "
        text += f"{transfers:>9}  {errors:>6}  {state}"
    return text + at(22) + "\x1b[4mANY KEY PUTS THE BOARD AWAY\x1b[0m" + at(24)


def readings(day: Teller, load: int) -> int:
    """What was read off one frame. Gives the number of the last fact."""
    for name, value in (
        ("load", load),
        ("jobs-going", 3),
        ("small-transfers", 12),
        ("upper-transfers", 1043),
        ("lower-transfers", 2217),
        ("disc-errors", 0),
    ):
        day.tell(kinds.ReadingTaken(display="board", frame=1, name=name, value=value))
    table = [dict(zip(JOB_COLUMNS, job, strict=True)) for job in JOBS]
    day.tell(kinds.ReadingTaken(display="board", frame=1, name="jobs", table=table))
    return day.tell(kinds.LandmarkReached(landmark="board", line=BOARD_HEAD))


def entries(told: Iterable[Told], first: kinds.RecordingOpened | None = None) -> Iterator[kinds.Entry]:
    """The same facts in their places, without a file."""
    yield kinds.Entry(1, 0, first or opened())
    for seq, (at_s, fact) in enumerate(told, 2):
        yield kinds.Entry(seq, int(at_s * 1e6), fact)


def begin(folder: Path, first: kinds.RecordingOpened | None = None) -> RecordingWriter:
    """A new recording in `folder`, open for writing, with a small reserve."""
    folder.mkdir(parents=True, exist_ok=True)
    return RecordingWriter(folder, first or opened(), reserve_bytes=4096)


@contextmanager
def beating(
    folder: Path, first: kinds.RecordingOpened | None = None
) -> Iterator[Callable[[kinds.AnyFact], None]]:
    """A recording that is being written, with signs of life. Gives what writes a fact."""
    writer = begin(folder, first)
    over, one_at_a_time = threading.Event(), threading.Lock()

    def tell(fact: kinds.AnyFact) -> None:
        with one_at_a_time:
            writer.append(fact, 1)

    def beat() -> None:
        while not over.wait(0.5):
            tell(kinds.Heartbeat(wall=WALL))

    heart = threading.Thread(target=beat)
    heart.start()
    try:
        yield tell
    finally:
        over.set()
        heart.join()
        writer.abandon()


def write(
    folder: Path,
    told: Iterable[Told],
    first: kinds.RecordingOpened | None = None,
    close: bool = True,
) -> Path:
    """A whole recording in `folder`, in good order or as a killed bridge leaves it."""
    writer = begin(folder, first)
    last_us = 0
    for at_s, fact in told:
        last_us = int(at_s * 1e6)
        writer.append(fact, last_us)
    if close:
        writer.close("the day is over", last_us)
    else:
        writer.abandon()
    return writer.path
