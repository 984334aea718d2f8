"""What the page shows beside the captions: tell-tales, what comes next, plots, loads, chapters, hours."""

from __future__ import annotations

from typing import Literal

import msgspec

from exhibit.facts.fact import Words

TellTaleKind = Literal["lamps", "sound"]
MachineState = Literal["idle", "busy", "seeking", "starting"]
DrawnAs = Literal["line", "water"]
AcrossIs = Literal["number", "hours.minutes"]
TIME = "time"
"""In place of a line's field: the minutes since the job began."""


class TellTale(msgspec.Struct, frozen=True, kw_only=True):
    """A lamp pattern or a sound that goes with a state of the machine.

    `begins`, `ends` and `confirmed_by` name steps as SCRIPT.STEP. The first two can also name prompts, lines,
    displays and interruptions, by which the machine itself shows that the state begins or ends.
    """

    kind: TellTaleKind
    state: MachineState
    part: str
    lamps: str
    """One character for each lamp: o dark, * lit, x blinking, ~ flickering. A space is a gap, / a new row."""
    begins: list[str]
    ends: list[str]
    at_most_us: int
    """The time after which nobody knows whether the state still lasts."""
    confirmed_by: list[str]
    """The steps by which a person confirms that day that the lamp or sound is right."""
    words: Words
    see_or_feel: Words
    """For a sound: what shows the same to people who can't hear it."""


class ExerciserWords(msgspec.Struct, frozen=True, kw_only=True):
    """What the page says about an exerciser that may be running while nobody can see it."""

    part: str
    """The part that it keeps busy."""
    stop_by_hand: Words
    caution: Words = {}
    """What to take care of before stopping it by hand."""
    begun: str = ""
    """The line with which the machine says that it has begun."""
    called: str = ""
    """What the machine calls the program; empty if unknown."""


class Ahead(msgspec.Struct, frozen=True, kw_only=True):
    """Something worth waiting for: it happens with step `step`, `usually_us` after step `begins`."""

    part: str
    begins: str
    step: str
    usually_us: int
    words: Words
    display: str = ""
    """The status display whose next frame it is, if it is one: once that is put away, none comes."""


class PlotAxis(msgspec.Struct, frozen=True, kw_only=True):
    """One direction of a plot: what it covers, how far apart its marks are, and what it counts."""

    from_: float = msgspec.field(name="from")
    to: float
    every: float
    words: Words


class PlotLines(msgspec.Struct, frozen=True, kw_only=True):
    """How a plot is read from what the machine prints. A field of a line is written LINE.FIELD."""

    begins: str
    """The line with which its job begins."""
    job: str = ""
    """The field of that line with the job's number; empty if there is none."""
    ended: list[str] = []
    """The lines and interruptions that say that the job is done."""
    stopped: list[str] = []
    """Those that say that it is over before it was done."""
    worked: str = ""
    """The field with a number that says how far across the work has come; empty for none."""
    across: str = TIME
    """The field with the numbers that say how far across each point is."""
    up: str
    """The field, or the reading (DISPLAY.READING), that says how high each point is."""
    across_is: AcrossIs = "number"
    mark_across: str = ""
    """The field of each line of `marks` that says how far across it is ..."""
    mark_up: str = ""
    """... and how high."""


class Plot(msgspec.Struct, frozen=True, kw_only=True):
    """A chart of what a job of the machine prints."""

    title: Words
    across: PlotAxis
    up: PlotAxis
    drawn_as: DrawnAs
    part: str
    called: str
    """What the machine calls its job."""
    marks: dict[str, Words]
    """The lines that name a single place on the chart, and what people call it."""
    job_words: Words
    """What its job does."""
    read: PlotLines


class Load(msgspec.Struct, frozen=True, kw_only=True):
    """A line that the machine prints piece by piece while it loads something."""

    part: str
    """Where the pieces arrive."""
    from_part: str
    """Where they come from."""
    words: Words
    begins: str
    """The text that the line begins with."""
    mark: str
    """What is printed for each piece."""
    ends: str
    """What stands behind the last piece; empty if the line just ends."""


class Chapter(msgspec.Struct, frozen=True, kw_only=True):
    """Some steps of a script that are one thing to visitors. It ends where the next one begins."""

    name: str
    words: Words
    told: Words
    """The same in the past tense."""
    picture: str = ""
    """What shows it best: "console", "plot:NAME", "part:NAME"; empty for nothing."""
    from_step: str
    """The step with which it begins."""


class OpenHours(msgspec.Struct, frozen=True, kw_only=True):
    """When the doors open and close, such as 10:00, by the computer's clock."""

    opens: str
    closes: str


class DayHours(msgspec.Struct, frozen=True, kw_only=True):
    """The hours of one day, by the computer's clock; empty if the doors stay closed."""

    date: str
    opens: str
    closes: str


class Hours(msgspec.Struct, frozen=True, kw_only=True):
    """The museum's hours."""

    days: list[DayHours] = []
    """Each day from that on which the recording begins."""
    every_day: OpenHours | None = None
    """In older recordings: the same on all days."""
