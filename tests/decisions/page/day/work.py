"""Facts of a machine at work, written by hand, and the items of the page after them."""

from __future__ import annotations

import json
from typing import Any

import msgspec

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.facts.kinds import Entry
from exhibit.facts.visitor_words import Chapter
from tests.pages import made_facts

WHIMBREL = made_facts.WHIMBREL
WORDS = {"en": "It works.", "de": "Sie arbeitet."}
CHAPTERS = {
    "round": [
        Chapter(name=name, words=WORDS, told=WORDS, picture=picture, from_step=from_step)
        for name, from_step, picture in (
            ("signing-on", "take-the-desk", "console"),
            ("shuttle", "begin-shuttle", "part:lower-drive"),
            ("tides", "run-tides", "plot:tide"),
            ("board", "show-the-board", "console"),
            ("log", "look-in-the-log", ""),
        )
    ]
}
Step = kinds.AnyFact | float
"""A fact, or how many seconds pass before the next one."""


def opened(**changed: Any) -> kinds.RecordingOpened:
    """The first fact of the Whimbrel's recording, with all that its folder says."""
    machine = WHIMBREL.machine
    fields = {
        "plots": machine.plots,
        "loads": machine.loads,
        "chapters": CHAPTERS,
        "displays": [display.name for display in machine.displays],
        "marked": [part for part, marks in machine.marks.items() if marks.started or marks.stopped],
    }
    return made_facts.opened(**{**fields, **changed})


def told(*steps: Step, first: kinds.RecordingOpened | None = None) -> list[Entry]:
    """These facts as entries, a tenth of a second after each other, on an open line."""
    at_us, entries = 0, [Entry(1, 0, first or opened())]
    for step in (kinds.LineOpened(line="a line"), *steps):
        if isinstance(step, (int, float)):
            at_us += round(step * 1e6)
            continue
        at_us += 100_000
        entries.append(Entry(len(entries) + 1, at_us, step))
    return entries


def fold(entries: list[Entry]) -> View:
    """The page after these entries."""
    view = View()
    for entry in entries:
        view.apply(entry)
    return view


def after(*steps: Step, first: kinds.RecordingOpened | None = None) -> dict[str, Any]:
    """The items after these facts, as a page gets them."""
    entries = told(*steps, first=first)
    items: dict[str, Any] = json.loads(json.dumps(fold(entries).batch(0)))["items"]
    return items


def line(name: str, text: str = "", **fields: str) -> kinds.PatternSeen:
    """A known line was printed."""
    return kinds.PatternSeen(pattern=name, line=text or name, fields=fields)


def began(job: str = "3") -> kinds.PatternSeen:
    """The job that works out the tides began."""
    return line("tides-begun", job=job)


def rows(hours: str, metres: str) -> list[kinds.AnyFact]:
    """A row of hours and one of heights."""
    return [line("hour-row", hours=hours), line("metre-row", metres=metres)]


def started(script: str, number: int = 0) -> kinds.ScriptStarted:
    """A script was started."""
    return kinds.ScriptStarted(script=script, title=WORDS, by="docent 1", round=number)


def ended(script: str, outcome: kinds.Outcome = "done") -> kinds.ScriptEnded:
    """A script ended."""
    return kinds.ScriptEnded(script=script, outcome=outcome, tidy=True, why="")


def step(script: str, name: str) -> kinds.StepStarted:
    """A step began."""
    return kinds.StepStarted(script=script, step=name)


def caption(part: str = "processor") -> kinds.CaptionShown:
    """Visitors are told something."""
    return kinds.CaptionShown(caption="c", kind="seen", words=WORDS, part=part, because=[], source={})


def reading(name: str, value: float, frame: int = 1) -> kinds.ReadingTaken:
    """A number was read off the board."""
    return kinds.ReadingTaken(display="board", frame=frame, name=name, value=value)


def exerciser(job: str = "1", part: str = "lower-drive") -> kinds.ExerciserBegun:
    """An exerciser began."""
    return kinds.ExerciserBegun(exerciser="shuttle", job=job, part=part, ends_us=0)


SILENT = kinds.MachineSilent(heard_us=1, due_us=2, due="typing")
LOST = kinds.LineLost(why="gone")
AGAIN = kinds.HeardAgain(silent_us=3)


def with_plot(**changed: Any) -> kinds.RecordingOpened:
    """The first fact, with this changed in how the tide is read."""
    plot = WHIMBREL.machine.plots["tide"]
    read = msgspec.structs.replace(plot.read, **changed)
    return opened(plots={"tide": msgspec.structs.replace(plot, read=read)})
