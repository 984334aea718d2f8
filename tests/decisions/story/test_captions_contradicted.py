"""Captions of the Whimbrel are withdrawn, or never shown, when its console says otherwise."""

from __future__ import annotations

import datetime

import pytest

from exhibit.decisions.machine.first_fact import first_fact
from exhibit.decisions.machine.script import Caption, GiveCaption
from exhibit.decisions.page.views import View
from exhibit.decisions.rehearsal.virtual_run import VirtualRun
from exhibit.decisions.watching import Watching
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder
from tests.folder.folder_writing import ROOT

FOLDER = read_folder(ROOT / "scripts" / "whimbrel")
CAPTIONS = {caption.name: caption for caption in FOLDER.captions}
WALL = datetime.datetime(2026, 11, 25, 9, 30, tzinfo=datetime.UTC)
SECOND = 1_000_000
LINES = {
    "core-sound": "WHIMBREL LASTING STORE. CORE 65536 WORDS SOUND",
    "small-ready": "SMALL READY: STARTER 5, MAY BE WRITTEN",
    "upper-ready": "UPPER READY: SALLOW 1, PROTECTED",
    "lower-ready": "LOWER READY: SALLOW 2, MAY BE WRITTEN",
    "starter-heading": "STARTER, FIFTH ISSUE. HARBOUR OFFICE OF SALLOWMOUTH",
    "day-set": "DAY 329 OF 1970, WEDNESDAY",
    "upper-protected": "UPPER  READY     SALLOW 1   PROTECTED",
    "tidebook-heading": "TIDEBOOK, FOURTH ISSUE, FROM SALLOW 1",
    "office-open": "OFFICE OPEN AT 09.12. DESKS: KEEPER SURVEY TIDES",
    "desk-tides-taken": "DESK TIDES TAKEN AT 09.12. NO JOBS HERE",
    "desk-tides-taken-again": "DESK TIDES TAKEN AT 09.12. 2 JOBS HERE",
    "shuttle-begun": "JOB 1 BEGUN: SHUTTLE LOWER 4 MINUTES",
    "sums-begun": "JOB 2 BEGUN: SUMS 4 MINUTES",
    "tides-begun": "JOB 3 BEGUN: TIDES",
    "desk-tides-left": "DESK TIDES LEFT AT 09.12. 2 JOBS GO ON",
    "desk-tides-left-empty": "DESK TIDES LEFT AT 09.12. NO JOBS GO ON",
    "high-water": "HIGH WATER  06.27  5.40",
    "board-away": "BOARD PUT AWAY",
    "log-entry-mended": "25.11.1998 09.40 LOWER TRACK 17 SECTOR 3 READ FAILED 2 TIMES, MENDED",
    "log-entry-lost": "25.11.1998 09.40 LOWER TRACK 17 SECTOR 3 READ FAILED 4 TIMES, LOST",
    "log-empty": "LOG IS EMPTY",
    "shuttle-stopped": "JOB 1 STOPPED: SHUTTLE, 6 PASSES, ERRORS 0",
    "sums-stopped": "JOB 2 STOPPED: SUMS, 16 PASSES, ERRORS 0",
    "desk-keeper-taken": "DESK KEEPER TAKEN AT 09.13. NO JOBS HERE",
    "office-closed": "OFFICE CLOSED AT 09.13. ONE OPERATOR FROM NOW",
    "book-written": "WRITING THE BOOK BACK .......... WRITTEN",
}  # fmt: skip
"""A line by which each caption's line is recognised."""
PROMPTS = {
    "date-right": "WEDNESDAY 25.11.1998, DAY 329. RIGHT (YES)? ",
    "book-left-open": "THE BOOK WAS LEFT OPEN. CHECK IT (YES)? ",
}
QUIET = {"load": 50, "jobs": 2, "lower": 100, "errors": 0}
CHANGES = {
    "load-changes": {"load": 60},
    "disc-errors-rise": {"errors": 1},
    "lower-transfers-rise": {"lower": 200},
    "lower-thousand": {"lower": 1005},
    "three-at-once": {"jobs": 3},
}
"""The second frame that brings the caption of a reading, where it isn't enough that all stays as it is."""


class Console(VirtualRun):
    """What the console prints, and what the story and the page make of it."""

    def __init__(self) -> None:
        opened = first_fact(FOLDER, wall=WALL.isoformat(), machine_is="simulated")
        self.view = View()
        self.shown: dict[str, kinds.CaptionShown] = {}
        super().__init__(Watching(FOLDER, opened), self, self._take)
        self.note(opened)
        self.note(kinds.LineOpened(line="the simulated machine"))

    def _take(self, entry: kinds.Entry) -> None:
        self.view.apply(entry)
        if isinstance(entry.fact, kinds.CaptionShown):
            self.shown[entry.fact.caption] = entry.fact

    def decided(self, fact: kinds.AnyFact) -> None:
        """Nothing follows from it here."""

    def is_taken(self, command: object) -> bool:
        """Every command is carried out."""
        return True

    def pass_time(self, seconds: float) -> Console:
        until_us = self.now_us + round(seconds * SECOND)
        while due := sorted((at, name) for name, at in self.deadlines.items() if at <= until_us):
            self.now_us = max(self.now_us, due[0][0])
            self.pass_deadline(due[0][1])
        self.now_us = until_us
        return self

    def prints(self, text: str) -> Console:
        self.receive(text.encode("ascii"))
        return self.pass_time(1)

    def paints(self, **changed: int) -> Console:
        frame = QUIET | changed
        rows = {
            1: "TIDEBOOK BOARD    25.11.1998  DAY 329   TIME 09.12.13   UP  0.00.13",
            3: f"PROCESSOR LOAD {frame['load']:3d} PER CENT   JOBS GOING {frame['jobs']:2d}",
            4: f"DISC TRANSFERS   SMALL       1   UPPER      12   LOWER  {frame['lower']:6d}",
            5: f"DISC ERRORS  {frame['errors']:8d}",
        }
        painted = "".join(f"\x1b[{row};1H{text}" for row, text in rows.items())
        return self.prints(f"\x1b[2J{painted}\x1b[24;1H").pass_time(6)

    def step(self, name: str, *, done: bool = True, matched: str = "") -> Console:
        script, _, step = name.partition(".")
        self.note(kinds.StepStarted(script=script, step=step))
        if matched:
            self.note(kinds.StepMatched(script=script, step=step, name=matched, line="", fields={}))
        if done:
            self.note(kinds.StepEnded(script=script, step=step))
        return self.pass_time(0.1)

    def confirms(self, name: str) -> Console:
        script, _, step = name.partition(".")
        self.note(kinds.ScriptStarted(script=script, title={}, by="a docent"))
        self.note(kinds.StepStarted(script=script, step=step))
        self.note(kinds.HandsOnConfirmed(step=step, by="a docent"))
        self.note(kinds.StepEnded(script=script, step=step))
        return self.pass_time(0.1)

    def brings(self, caption: Caption) -> Console:
        """Play what makes this caption appear, and give it the time to have its turn."""
        trigger = caption.trigger
        if caption.confirmed_by:
            self.confirms(caption.confirmed_by).prints(LINES["lower-ready"] + "\r\n").pass_time(9)
        if trigger.when in PROMPTS:
            self.prints("\r\n" + PROMPTS[trigger.when])
        elif trigger.when:
            self.prints(LINES[trigger.when] + "\r\n")
        elif trigger.step_started:
            self.step(trigger.step_started, done=False)
        elif trigger.step_done == "round.show-the-board":
            self.paints().step(trigger.step_done, matched="board")
        elif trigger.step_done:
            self.confirms(trigger.step_done)
        elif trigger.reading:
            high = {"load": 95} if trigger.change == "stays above" else {}
            self.paints(**high).paints(**(high | CHANGES.get(caption.name, {})))
        else:
            self.step(GIVEN[caption.name], done=False)
        return self.pass_time(10)

    @property
    def caption(self) -> dict | None:
        """The caption on the page."""
        return self.view.batch(0)["items"].get("caption")


GIVEN = {
    step.caption: f"{script.name}.{step.name}"
    for script in FOLDER.scripts.values()
    for step in script.steps
    if isinstance(step, GiveCaption)
}


def assert_showing(console: Console, name: str) -> None:
    shown = console.caption
    assert shown is not None, f"{name} isn't shown"
    assert shown["id"] == name
    assert console.shown[name].words == shown["words"]
    for tag in FOLDER.machine.languages:
        assert "{" not in shown["words"][tag], shown["words"][tag]
        assert len(shown["words"][tag]) <= 76, shown["words"][tag]


def assert_withdrawn(console: Console, name: str) -> None:
    shown = console.caption
    for tag in FOLDER.machine.languages:
        assert shown is None or shown["words"][tag] != console.shown[name].words[tag], shown["words"][tag]


@pytest.mark.parametrize("name", CAPTIONS)
def test_each_caption_is_shown_by_its_trigger_and_withdrawn_when_the_line_is_lost(name):
    console = Console().brings(CAPTIONS[name])
    assert_showing(console, name)
    console.note(kinds.LineLost(why="unplugged"))
    assert_withdrawn(console, name)


@pytest.mark.parametrize("name", [name for name in CAPTIONS if name != "key-off"])
def test_each_caption_is_withdrawn_when_the_key_is_turned_off(name):
    console = Console()
    if name != "core-sound":
        console.prints(LINES["core-sound"] + "\r\n").pass_time(9)
    console.brings(CAPTIONS[name])
    assert_showing(console, name)
    console.confirms("closing.turn-the-key-off")
    assert_withdrawn(console, name)


def line(text: str):
    return lambda console: console.prints(f"{text}\r\n")


def prompt(text: str):
    return lambda console: console.prints(f"\r\n{text} ")


BOARD_AWAY = line("\x1b[2J\x1b[1;1HBOARD PUT AWAY\r\nDESK TIDES: ")
OTHERWISE = [
    ("small-ready", line("== SMALL STOPPED ==")),
    ("upper-ready", line("== UPPER STOPPED ==")),
    ("lower-ready", line("== LOWER STOPPED ==")),
    ("hear-the-drives", line("== LOWER STOPPED ==")),
    ("lower-ready", lambda console: console.confirms("closing.stop-lower")),
    ("starter-heading", line(LINES["tidebook-heading"])),
    ("loading", prompt("STARTER:")),
    ("date-believed", prompt("DATE, DAY.MONTH.YEAR?")),
    ("book-left-open", prompt("KEEP THE ERROR LOG (YES)?")),
    ("one-operator", line(LINES["office-open"])),
    ("office-open", line(LINES["office-closed"])),
    ("taking-the-desk", line(LINES["desk-tides-taken"])),
    ("secret-word", prompt("THAT IS NOT THE WORD\r\nNO DESK:")),
    ("desk-taken", prompt("DESK TIDES LEFT AT 09.12. NO JOBS GO ON\r\nNO DESK:")),
    ("shuttle-begun", line(LINES["shuttle-stopped"])),
    ("shuttle-begun", line("JOB 1 HAD ENDED: SHUTTLE, 6 PASSES, ERRORS 0")),
    ("sums-begun", line(LINES["sums-stopped"])),
    ("desk-left-busy", line(LINES["desk-tides-taken"])),
    ("back-again", line("== JOB 1 SHUTTLE ENDED: 3 PASSES, ERRORS 0 ==")),
    ("tides-begun", line("JOB 3 ENDED")),
    ("tides-begun", line("JOB 3 STOPPED: TIDES, ERRORS 0")),
    ("hours-worked", line("JOB 3 ENDED")),
    ("hours-worked", line("JOB 3 LET GO")),
    *((name, BOARD_AWAY) for name, one in CAPTIONS.items() if one.trigger.reading or name == "board-shown"),
    ("board-away", lambda console: console.paints()),
    ("desk-left-empty", line(LINES["shuttle-begun"])),
    ("keeper-signs-on", prompt("NO DESK:")),
    ("office-closed", line(LINES["office-open"])),
    ("tidebook-stopped", line(LINES["tidebook-heading"])),
    ("key-off", line(LINES["core-sound"])),
]  # fmt: skip


@pytest.mark.parametrize(("name", "says_otherwise"), OTHERWISE, ids=[name for name, _ in OTHERWISE])
def test_a_caption_is_withdrawn_when_the_console_says_otherwise(name, says_otherwise):
    console = Console().brings(CAPTIONS[name])
    assert_showing(console, name)
    says_otherwise(console)
    assert_withdrawn(console, name)


INSTEAD = [
    ("upper-ready", "UPPER READY: SALLOW 1, MAY BE WRITTEN"),
    ("upper-is-protected", "UPPER  READY     SALLOW 1   MAY BE WRITTEN"),
    ("lower-ready", "LOWER READY: SALLOW 2, PROTECTED"),
    ("log-entry-mended", LINES["log-entry-lost"]),
    ("log-entry-lost", LINES["log-entry-mended"]),
    ("log-empty", LINES["log-entry-mended"]),
    ("desk-taken", "THAT IS NOT THE WORD"),
    ("desk-left-busy", LINES["desk-tides-left-empty"]),
    ("desk-left-empty", LINES["desk-tides-left"]),
    ("back-again", LINES["desk-tides-taken"]),
    ("office-open", "OFFICE STAYS OPEN"),
    ("office-closed", "OFFICE STAYS OPEN"),
    ("shuttle-begun", "CANNOT: LOWER NOT READY"),
    ("shuttle-stopped", "CANNOT: NO JOB 1"),
    ("book-written", "WRITING THE BOOK BACK"),
]


@pytest.mark.parametrize(("name", "text"), INSTEAD)
def test_a_caption_is_never_shown_when_the_console_says_something_else_in_its_place(name, text):
    console = Console().prints(f"{text}\r\n").pass_time(20)
    assert name not in console.shown


@pytest.mark.parametrize("name", ["load-changes", "disc-errors-rise", "lower-transfers-rise"])
def test_the_figure_in_a_caption_is_the_one_on_the_console(name):
    console = Console().brings(CAPTIONS[name])
    more = {key: value * 3 // 2 for key, value in CHANGES[name].items()}
    console.paints(**(more if name != "disc-errors-rise" else {"errors": 7}))
    (figure,) = more.values() if name != "disc-errors-rise" else (7,)
    assert all(f"{figure}" in console.caption["words"][tag] for tag in FOLDER.machine.languages)
