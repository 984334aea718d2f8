"""Facts of a machine at work, for the tests of what the page says is running now, and of when that ends."""

from __future__ import annotations

from typing import Any

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.parts_and_cards import PartDrawn
from exhibit.facts.visitor_words import Ahead, ExerciserWords, TellTale
from tests.decisions.heron import S, opened


def _part(**changes: str) -> PartDrawn:
    look = {"shape": "cabinet", "cabinet": "one", "width_cm": 60, "height_cm": 170, "state": "working"}
    return PartDrawn(**{**look, "joins": [], **changes})  # type: ignore[arg-type]


DRAWN = {
    "processor": _part(share="board.load"),
    "left": _part(transfers="board.left-transfers"),
    "right": _part(),
    "desk": _part(),
}
WORK = ExerciserWords(part="left", stop_by_hand={"en": "Stop it."}, begun="work-begun", called="WORK")
HUM = TellTale(
    kind="sound", state="busy", part="left", lamps="", begins=["work-begun"], ends=["never"],
    at_most_us=10_000 * S, confirmed_by=["round.turn"], words={"en": "It hums."}, see_or_feel={},
)  # fmt: skip
GLOW = TellTale(
    kind="lamps", state="busy", part="desk", lamps="*", begins=["board"], ends=["never"],
    at_most_us=10_000 * S, confirmed_by=["round.turn"], words={"en": "It glows."}, see_or_feel={},
)  # fmt: skip
NEXT = Ahead(
    part="left", begins="round.go", step="round.frame", usually_us=40 * S, display="board",
    words={"en": "It is painted anew."},
)  # fmt: skip
FIRST: dict[str, Any] = {
    "parts": {name: {"en": name} for name in DRAWN},
    "drawn": DRAWN,
    "marked": ["processor", "left", "right"],
    "displays": ["board"],
    "tested": {"processor": ["core-sound"]},
    "exercisers": {"work": WORK},
    "tell_tales": {"hum": HUM, "glow": GLOW},
    "ahead": {"next": NEXT},
}

KEY = kinds.BytesTyped(bytes=" ", count=1, by="x")
PROMPT = kinds.LandmarkReached(landmark="ready", line="READY:")
CORE = kinds.PatternSeen(pattern="core-sound", line="CORE SOUND")
BEGUN_LINE = kinds.PatternSeen(pattern="work-begun", line="JOB 1 BEGUN")
BEGUN = kinds.ExerciserBegun(exerciser="work", job="1", part="left", ends_us=240 * S)
OVER = kinds.ExerciserEnded(exerciser="work", job="1", by="work-ended")
SILENT = kinds.MachineSilent(heard_us=1, due_us=2, due="step")
LOST = kinds.LineLost(why="unplugged")
CLOSED = kinds.RecordingClosed(why="lunch")
OPENED = kinds.LineOpened(line="x")


def started(part: str, by: str = "") -> kinds.PartStarted:
    """The machine reported that it was started, unless `by` is a step."""
    return kinds.PartStarted(part=part, by=by or f"{part}-ready")


def stopped(part: str, by: str = "") -> kinds.PartStopped:
    """The machine reported that it was stopped, unless `by` is a step."""
    return kinds.PartStopped(part=part, by=by or f"{part}-stopped")


def frame(number: int, load: int | None = 40, transfers: int = 100) -> list[kinds.AnyFact]:
    """The facts of a frame of the board; `load` may be unreadable."""
    read = {"load": load, "left-transfers": transfers}
    return [
        *(
            kinds.ReadingTaken(display="board", frame=number, name=name, value=value)
            for name, value in read.items()
            if value is not None
        ),
        kinds.LandmarkReached(landmark="board", line="BOARD"),
    ]


ALL_ON = (started("processor"), CORE, started("left"), started("right"))
AT_WORK = (*ALL_ON, kinds.HandsOnAsked(script="round", step="turn", words={}, caution={}), BEGUN_LINE, BEGUN)


def entries(*facts: kinds.AnyFact, **first: Any) -> list[kinds.Entry]:
    """A recording of these facts, one each second."""
    all_facts = [opened(**{**FIRST, **first}), *facts]
    return [kinds.Entry(seq, (seq - 1) * S, fact) for seq, fact in enumerate(all_facts, 1)]


def view(*facts: kinds.AnyFact, **first: Any) -> View:
    """A page that has seen them."""
    seen = View()
    for entry in entries(*facts, **first):
        seen.apply(entry)
    return seen


def items(*facts: kinds.AnyFact, **first: Any) -> dict[str, Any]:
    """What it then shows."""
    shown: dict[str, Any] = view(*facts, **first).batch(0)["items"]
    return shown


def caption(name: str = "it", because: tuple[int, ...] = (), **about: Any) -> kinds.CaptionShown:
    """A caption; `because`: the facts that it rests on."""
    shown: dict[str, Any] = {"part": "", "source": {}, "kind": "seen", "words": {"en": "It works."}, **about}
    return kinds.CaptionShown(caption=name, because=list(because), **shown)
