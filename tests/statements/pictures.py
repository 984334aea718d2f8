"""What the pictures say in words: the drawn machine, the charts, the day, its sums, and the album."""

from __future__ import annotations

from typing import Any

import msgspec

from exhibit.facts import kinds
from exhibit.facts.parts_and_cards import NowReadings, Opening
from exhibit.facts.visitor_words import Chapter, DayHours, Hours, Load, Plot, PlotAxis, PlotLines
from tests.decisions.heron import S
from tests.decisions.page import runs
from tests.decisions.page.runs import BEGUN, BEGUN_LINE, CLOSED, CORE, LOST, OVER, frame, started, stopped
from tests.statements.page import REPLAY, OnPage, Shown
from tests.statements.page import page as any_page
from tests.statements.told_cases import ENDED, OPEN, STARTED, failed


def _words(text: str) -> dict[str, str]:
    return {"en": text}


TIDE = Plot(
    title=_words("Tomorrow’s tide"),
    across=PlotAxis(from_=0, to=24, every=6, words=_words("hours")),
    up=PlotAxis(from_=0, to=6, every=1, words=_words("metres")),
    drawn_as="water",
    part="processor",
    called="TIDES",
    marks={"high-water": _words("High water")},
    job_words={},
    read=PlotLines(
        begins="tides-begun",
        job="job",
        ended=["tides-ended"],
        stopped=["tides-stopped"],
        worked="hours-worked.hours",
        across="hour-row.hours",
        up="metre-row.metres",
        across_is="hours.minutes",
        mark_across="time",
        mark_up="metres",
    ),
)
LOAD = Load(
    part="processor",
    from_part="left",
    words=_words("The big program"),
    begins="LOADING ",
    mark=".",
    ends="LOADED",
)
CHAPTERS = [
    Chapter(
        name=name,
        words=_words(f"it does {name}"),
        told=_words(f"It did {name}."),
        picture="console",
        from_step=name,
    )
    for name in ("turning", "reading")
]
WITH_SCREEN = msgspec.structs.replace(
    runs.DRAWN["desk"], openings=[Opening(kind="screen", real=True, count=0)]
)
WEIGHED = msgspec.structs.replace(
    runs.DRAWN["processor"], openings=[Opening(kind="gauge", real=False, count=0)]
)
TURNS = {
    name: msgspec.structs.replace(runs.DRAWN[name], openings=[Opening(kind="disc", real=False, count=0)])
    for name in ("left", "right")
}
OPEN_DAYS = [
    DayHours(date=f"2026-11-{day}", opens=opens, closes="16:30" if opens else "")
    for day, opens in ((25, "08:30"), (26, "08:30"), (27, ""), (28, ""), (29, "08:30"))
]
FIRST: dict[str, Any] = {
    **runs.FIRST,
    "drawn": {**runs.DRAWN, **TURNS, "processor": WEIGHED, "desk": WITH_SCREEN},
    "plots": {"tide": TIDE},
    "loads": {"program": LOAD},
    "chapters": {"round": CHAPTERS},
    "hours": Hours(days=OPEN_DAYS),
    "now": NowReadings(transfers=["board.left-transfers"], errors=["board.errors"]),
}


def page(*facts: kinds.AnyFact, **more: Any) -> Shown:
    """A scenario with a drawn machine, a plot, a load, chapters and the museum's hours."""
    return any_page(OPEN, *facts, **{**FIRST, **more})


def line(name: str, **fields: str) -> kinds.PatternSeen:
    """A known line was printed."""
    return kinds.PatternSeen(pattern=name, line=name, fields=fields)


def received(text: str) -> kinds.BytesReceived:
    """The machine sent this."""
    return kinds.BytesReceived(bytes=text, first_us=0)


def about(part: str) -> kinds.CaptionShown:
    """A caption about a part."""
    return kinds.CaptionShown(
        caption="c", kind="background", words=_words("It works."), part=part, because=[], source={}
    )


def error_count(number: int) -> kinds.DiscErrorsCounted:
    """Disc errors were counted."""
    return kinds.DiscErrorsCounted(by="board.errors", count=number)


ROUND = kinds.ScriptStarted(script="round", title=_words("A round"), by="x", round=1)
ROUND_DONE = kinds.ScriptEnded(script="round", outcome="done", tidy=True, why="")
ROUND_FAILED = kinds.ScriptEnded(script="round", outcome="failed", tidy=True, why="x")
OPENING = kinds.ScriptStarted(script="opening", title=_words("Opening"), by="x", round=0)
OPENED = kinds.ScriptEnded(script="opening", outcome="done", tidy=True, why="")
CLOSING = kinds.ScriptStarted(script="closing", title=_words("Closing"), by="x", round=0)
READING_STEP = kinds.StepStarted(script="round", step="reading")
TURNING_STEP = kinds.StepStarted(script="round", step="turning")
RESTS = kinds.SessionResting(until_us=3600 * S)
LAST = kinds.ScriptRefused(script="round", limit="last round", why="it is late")
SILENT = kinds.MachineSilent(heard_us=S, due_us=2 * S, due="typing")
TIDES = line("tides-begun", job="3")
WORKED = line("hours-worked", hours="15")
PRINTED = (line("hour-row", hours="0.00 1.00 2.00"), line("metre-row", metres="1.2 2.4 1.8"))
GARBLED = (line("hour-row", hours="3.00 4.00"), line("metre-row", metres="1.?4 2.0"))
HIGH = line("high-water", time="1.00", metres="2.4")
TIDES_ENDED, TIDES_STOPPED = line("tides-ended", job="3"), line("tides-stopped", job="3")
LEFT, PROCESSOR = started("left"), started("processor")
WORKS = (LEFT, BEGUN_LINE, BEGUN)
RAN = (LEFT, *frame(1), *frame(2, transfers=200))
A_SECOND_LATER = kinds.Heartbeat(wall="2026-11-25T09:00:05.000+00:00")
"""A chapter is announced a moment after it began, unless a caption tells of it sooner."""
TOLD_NEXT = (STARTED, ENDED, RESTS)


def _said_of_parts() -> list[OnPage]:
    def state(key: str, says: str, true_when: Shown, not_when: Shown) -> OnPage:
        return OnPage(f"drawing.{key}", says, true_when, not_when)

    return [
        state("states.turning", "left: turning", page(LEFT), page(LEFT, stopped("left"))),
        state("states.turning", "left: turning", page(LEFT), page(LEFT, LOST)),
        state("states.turning", "left: turning", page(LEFT), page(LEFT, CLOSED)),
        state("states.turning", "left: was turning", page(LEFT, sight=REPLAY), page(LEFT)),
        state("states.starting", "left: starting up", page(started("left", by="opening.turn")), page(LEFT)),
        state("states.still", "left: standing still", page(LEFT, stopped("left")), page(LEFT)),
        state(
            "states.on",
            "processor: on",
            page(PROCESSOR, drawn=runs.DRAWN),
            page(PROCESSOR, stopped("processor"), drawn=runs.DRAWN),
        ),
        state("states.off", "processor: off", page(PROCESSOR, stopped("processor")), page(PROCESSOR)),
        state("states.unknown", "left: not known", page(LEFT, LOST), page(LEFT)),
        state("states.atWork", "left: at work", page(*WORKS), page(*WORKS, OVER)),
        state(
            "states.tested",
            "processor: memory in order",
            page(OPENING, PROCESSOR, CORE),
            page(OPENING, PROCESSOR),
        ),
        state(
            "testedIn",
            "processor: its memory was tested and found in order.",
            page(PROCESSOR, CORE),
            page(PROCESSOR, CORE, stopped("processor")),
        ),
        state(
            "states.used",
            "left: busy",
            page(*RAN),
            page(LEFT, *frame(1)),
        ),
        state(
            "uses",
            "left: read or written 2,000 times a minute.",
            page(*RAN),
            page(*RAN, runs.KEY),
        ),
        state(
            "usesThen",
            "left: was read or written 2,000 times a minute.",
            page(*RAN, sight=REPLAY),
            page(*RAN),
        ),
        state("busy", "processor: busy 40%", page(PROCESSOR, *frame(1)), page(PROCESSOR, *frame(1), SILENT)),
        state(
            "busyUnknown",
            "processor: busy? not known",
            page(PROCESSOR),
            page(PROCESSOR, *frame(1)),
        ),
        state(
            "busyUnknown",
            "processor: busy? not known",
            page(PROCESSOR),
            page(PROCESSOR, LOST),
        ),
        state(
            "busyThen",
            "processor: was busy 40%",
            page(PROCESSOR, *frame(1), sight=REPLAY),
            page(PROCESSOR, *frame(1)),
        ),
        state("states.quiet", "desk: quiet", page(LEFT), page(LEFT, LOST)),
        state("states.lost", "desk: not connected", page(LEFT, LOST), page(LEFT)),
        state(
            "states.loading",
            "processor: loading",
            page(PROCESSOR, received("LOADING ..")),
            page(PROCESSOR, received("LOADING .. LOADED")),
        ),
        state(
            "pieces",
            "The big program: 2 pieces have arrived.",
            page(PROCESSOR, received("LOADING ..")),
            page(PROCESSOR, received("LOADING .."), LOST),
        ),
        state(
            "trouble", "left: trouble noticed", page(LEFT, about("left"), failed()), page(LEFT, about("left"))
        ),
        state(
            "troubleThen",
            "left: had trouble",
            page(LEFT, about("left"), failed(), sight=REPLAY),
            page(LEFT, about("left"), failed()),
        ),
        state(
            "jobs",
            "A job is being worked on:",
            page(LEFT, BEGUN_LINE, runs.BEGUN),
            page(LEFT, BEGUN_LINE, runs.BEGUN, OVER),
        ),
        state(
            "jobs",
            "A job is being worked on:",
            page(LEFT, BEGUN_LINE, runs.BEGUN),
            page(LEFT, BEGUN_LINE, runs.BEGUN, LOST),
        ),
        state(
            "jobsThen",
            "A job was being worked on:",
            page(LEFT, BEGUN_LINE, runs.BEGUN, sight=REPLAY),
            page(LEFT, BEGUN_LINE, runs.BEGUN),
        ),
    ]


def _said_of_charts() -> list[OnPage]:
    def chart(key: str, says: str, true_when: Shown, not_when: Shown) -> OnPage:
        return OnPage(f"charts.{key}", says, true_when, not_when)

    working, printed = (STARTED, TIDES, WORKED), (STARTED, TIDES, WORKED, *PRINTED)
    return [
        chart(
            "plotEmpty", "Tomorrow’s tide: nothing has been printed yet.", page(TIDES), page(TIDES, WORKED)
        ),
        chart(
            "beingWorked",
            "Being worked out. Across: hours. A height is drawn when the machine prints it.",
            page(*working),
            page(*working, sight=REPLAY),
        ),
        *(
            chart("beingWorked", "Being worked out.", page(*working), page(*working, over))
            for over in (TIDES_STOPPED, LOST, SILENT, CLOSED)
        ),
        *(
            chart("wasWorked", "It was being worked out.", page(*working, over), page(*working))
            for over in (TIDES_STOPPED, LOST, SILENT, CLOSED)
        ),
        chart(
            "plotWorked",
            "15 of 24 are worked out. No height has been printed yet.",
            page(*working),
            page(*printed),
        ),
        chart("printedAt", "Printed at 09:00.", page(*printed), page(*working)),
        chart("plotText", "printed so far up to 02:00", page(*printed), page(*printed, TIDES_ENDED)),
        chart("plotText", "printed so far up to 02:00", page(*printed), page(*printed, LOST)),
        chart("plotText", "it was printed up to 02:00", page(*printed, sight=REPLAY), page(*printed)),
        chart(
            "plotText",
            "The highest value is 2.4 metres, at 01:00; the lowest is 1.2 metres, at 00:00.",
            page(*printed),
            page(*working),
        ),
        chart(
            "plotText",
            "High water at 01:00: 2.4 metres",
            page(*printed, HIGH, sight=REPLAY),
            page(*printed, sight=REPLAY),
        ),
        chart(
            "plotText",
            "Where a value came garbled, the line has a gap.",
            page(*printed, *GARBLED, sight=REPLAY),
            page(*printed, sight=REPLAY),
        ),
        chart(
            "stepOf",
            "2 of 2: it does reading",
            page(ROUND, TURNING_STEP, READING_STEP, A_SECOND_LATER),
            page(ROUND, TURNING_STEP),
        ),
        chart(
            "stepOf",
            "2 of 2: it does reading",
            page(ROUND, TURNING_STEP, READING_STEP, A_SECOND_LATER),
            page(ROUND, TURNING_STEP, READING_STEP, A_SECOND_LATER, ROUND_DONE),
        ),
        chart(
            "lastRound",
            "The last round that ran to its end",
            page(ROUND, TURNING_STEP, READING_STEP, ROUND_DONE),
            page(ROUND, TURNING_STEP, READING_STEP, ROUND_FAILED),
        ),
    ]


def _said_of_the_day() -> list[OnPage]:
    def day(key: str, says: str, true_when: Shown, not_when: Shown) -> OnPage:
        return OnPage(f"charts.{key}", says, true_when, not_when)

    morning = {"wall": "2026-11-25T08:00:00+00:00"}
    evening = {"wall": "2026-11-25T17:00:00+00:00"}
    return [
        day("dayText", "The machine was woken at 09:00.", page(LEFT), page()),
        day(
            "dayText",
            "The doors open at 08:30 and close at 16:30.",
            page(),
            page(hours=Hours()),
        ),
        day("dayText", "It is 09:00 now.", page(), page(sight=REPLAY)),
        day("dayText", "It was 09:00 in the recording.", page(sight=REPLAY), page()),
        day("dayText", "It was 09:00 in the recording.", page(CLOSED), page()),
        day("dayText", "Since 09:00: a round.", page(ROUND), page(ROUND, ROUND_DONE)),
        day("dayText", "Since 09:00: a round.", page(ROUND), page(ROUND, CLOSED)),
        day("spanKinds.round", ": a round.", page(ROUND, ROUND_DONE), page(OPENING, OPENED)),
        day("spanKinds.opening", ": starting up.", page(OPENING, OPENED), page(ROUND, ROUND_DONE)),
        day("spanKinds.closing", ": shutting down.", page(CLOSING), page(OPENING, OPENED)),
        day("spanKinds.watched", ": watched only.", page(typing="nothing"), page()),
        day(
            "spanKinds.other",
            ": other work.",
            page(kinds.ScriptStarted(script="packs", title={}, by="x", round=0)),
            page(ROUND),
        ),
        day("next.round", "Next round 10:00.", page(*TOLD_NEXT), page(*TOLD_NEXT, LOST)),
        day("next.round", "Next round 10:00.", page(*TOLD_NEXT), page(*TOLD_NEXT, ROUND)),
        day(
            "plannedThen",
            "Planned then: next round 10:00.",
            page(*TOLD_NEXT, sight=REPLAY),
            page(*TOLD_NEXT),
        ),
        day(
            "then.closing",
            "Next it is shut down.",
            page(STARTED, ENDED, LAST),
            page(STARTED, ENDED, LAST, CLOSING),
        ),
        day("next.opens", "Doors open 08:30.", page(**morning), page()),
        day("next.opens", "Doors open 08:30.", page(**morning), page(**morning, sight=REPLAY)),
        day("next.tomorrow", "Wakes tomorrow, open from 08:30.", page(**evening), page(CLOSING, **evening)),
        day(
            "next.later",
            "Wakes on Sunday, open from 08:30.",
            page(wall="2026-11-26T17:00:00+00:00"),
            page(**evening),
        ),
        day("today", "\nToday ", page(), page(sight=REPLAY)),
        day("thatDay", "\nOn that day ", page(sight=REPLAY), page()),
        day("sumRounds", "1 round of work", page(ROUND, ROUND_DONE), page(ROUND, ROUND_FAILED)),
        day(
            "sumPrinted",
            "1 time printed: Tomorrow’s tide",
            page(TIDES, *PRINTED, TIDES_ENDED),
            page(TIDES, *PRINTED, TIDES_STOPPED),
        ),
        day("sumOf.transfers", "100 times a disc was used", page(LEFT, *frame(1)), page(LEFT)),
        day("sumOf.errors", "2 disc errors", page(error_count(2)), page()),
        day("unknown", "not known times a disc was used", page(LEFT), page(LEFT, *frame(1))),
    ]


PICTURES = [*_said_of_parts(), *_said_of_charts(), *_said_of_the_day()]
LABEL = "labels something in a picture"
PICTURES_STATE_NOTHING = {
    "drawing.states.printing": "is tested where pieces travel: tests/pages/test_drawing.py",
    "drawing.aJob": LABEL,
    "drawing.jobAt": LABEL,
    "drawing.marksScale": LABEL,
    "drawing.tickScale": LABEL,
    "drawing.letters": LABEL,
    "charts.axes": LABEL,
    "charts.ofTotal": "labels the count that plotWorked states",
    "charts.now": "labels the moment that dayText states",
    "charts.itWas": "labels the moment that dayText states",
    "charts.next.": "no recording leads to the others yet: tests/pages/test_charts.py has them",
    "charts.then.": "no recording leads to the others yet: tests/pages/test_charts.py has them",
}
