"""The states in which a docent can find the page, each made of facts about the Whimbrel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal, cast

import msgspec

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.machine.first_fact import first_fact
from exhibit.decisions.machine.script import HandsOn
from exhibit.decisions.page.badge import Sight
from exhibit.decisions.session.day_programme import LIMITS, PARTS
from exhibit.decisions.session.script_run import SCRIPT_DONE
from exhibit.facts import kinds
from exhibit.facts.visitor_words import DayHours, Hours
from tests.pages import made_facts
from tests.pages.fake_desk import ENGINEER, FakeDesk, S

FOLDER = made_facts.WHIMBREL
FIRST = msgspec.structs.replace(
    first_fact(FOLDER, wall="2026-11-25T09:12:00.000+00:00", machine_is="real"),
    hours=Hours(days=[DayHours(date="2026-11-25", opens="10:00", closes="17:00")]),
)
PRACTICE = msgspec.structs.replace(FIRST, practice=True, machine_is="simulated")
TITLES = {name: script.title for name, script in FOLDER.scripts.items()}
DATE_WORDS = {
    "en": "The starter can’t hold this year. Shall it be told 25 November 1998, which is a Wednesday too?",
    "de": "Der Starter kennt dieses Jahr nicht. Soll er den 25. November 1998 bekommen, auch ein Mittwoch?",
}
WAIT = {"en": "Wait until the lamp READY is lit.", "de": "Warten Sie, bis die Lampe READY leuchtet."}
LIMITED = kinds.DayTurned(
    phase="closing",
    by=LIMITS,
    why="the discs made 61 errors today, and the limit is 60",
)
ABOUT_DATE = kinds.HandsOnAsked(
    script="opening", step="say-the-day", words=DATE_WORDS, caution={}, late="ask"
)


def begun() -> FakeDesk:
    """The bridge has begun; nothing else has."""
    return FakeDesk().tell(FIRST, kinds.LineOpened(line="/dev/serial/by-id/console"))


def hand_step(
    step: str, script: str = "opening", late: kinds.WhatThen | Literal[""] = "ask"
) -> kinds.HandsOnAsked:
    """The question about this step, in the folder's words."""
    found = next(one for one in FOLDER.scripts[script].steps if one.name == step)
    asked = cast(HandsOn, found)
    panel = list(asked.panel) if isinstance(asked, HandsOn) else []
    words: dict[str, Any] = {"words": asked.words, "caution": asked.caution, "panel": panel}
    return kinds.HandsOnAsked(script=script, step=step, **words, late=late)


def asks(desk: FakeDesk, asked: kinds.HandsOnAsked) -> FakeDesk:
    """Somebody is asked, with ten minutes' time."""
    due = kinds.DeadlineArmed(name="step", due_us=desk.at_us + 600 * S)
    return desk.tell(kinds.StepStarted(script=asked.script, step=asked.step), due, asked)


def turned(desk: FakeDesk, phase: kinds.DayPhase, for_s: int = 0) -> FakeDesk:
    """The day has come to this phase."""
    until_us = desk.at_us + for_s * S if for_s else 0
    return desk.tell(kinds.DayTurned(phase=phase, by="docent 1", until_us=until_us))


def started(script: str, round_: int = 0) -> kinds.ScriptStarted:
    return kinds.ScriptStarted(script=script, title=TITLES[script], by="session", round=round_)


def ended(script: str = "round", outcome: kinds.Outcome = "done", why: str = "") -> kinds.ScriptEnded:
    return kinds.ScriptEnded(script=script, outcome=outcome, tidy=True, why=why)


def opening() -> FakeDesk:
    return turned(begun(), "opening").tell(started("opening"))


def prints(desk: FakeDesk, text: str) -> FakeDesk:
    return desk.tell(kinds.BytesReceived(bytes=text, first_us=desk.at_us))


def rounds(number: int = 4) -> FakeDesk:
    """The opening and some rounds were done, and one is running."""
    desk = opening().tell(ended("opening"), after_s=1200)
    turned(desk, "rounds")
    for done in range(1, number):
        desk.tell(started("round", done), after_s=175).tell(ended(), after_s=300)
    desk.tell(started("round", number))
    begun = "BEGIN SHUTTLE LOWER 2 MINUTES\r\nJOB 1 BEGUN: SHUTTLE LOWER 2 MINUTES\r\n"
    return prints(desk, f"NO DESK: TAKE TIDES\r\nDESK TIDES: {begun}DESK TIDES: ")


def resting() -> FakeDesk:
    desk = rounds().tell(ended(), after_s=1)
    return desk.tell(kinds.SessionResting(until_us=desk.at_us + 300 * S))


def raised(desk: FakeDesk, name: str = "drive-stopped", line: str = "== LOWER STOPPED ==") -> FakeDesk:
    prints(desk, f"\r\n{line}\r\n")
    words = {"en": "The lower drive has stopped.", "de": "Das untere Laufwerk ist stehen geblieben."}
    do = {
        "en": "Don’t open it. Look at its front: is the lamp FAULT lit? Then call the engineer.",
        "de": "Öffnen Sie es nicht. Leuchtet vorn die Lampe FAULT? Rufen Sie dann die Technik an.",
    }
    caution = hand_step("start-lower").caution
    return desk.tell(kinds.TroubleRaised(trouble=name, line=line, words=words, do=do, caution=caution))


def at_switches(desk: FakeDesk) -> FakeDesk:
    """The machine says that its switches are set wrong, while they are to be set."""
    found = next(one for one in FOLDER.machine.troubles if one.name == "nothing-starts")
    line = "NOTHING STARTS AT 14000201"
    prints(desk, f"{line}\r\n")
    return desk.tell(
        kinds.TroubleRaised(trouble=found.name, line=line, words=found.words, do=found.do, caution={})
    )


BOARD_LACKS = "the board was waited for and did not come"
NOT_TIDIED = (
    "docent 1 said stop; the machine is silent: nothing has come since the cancel key was typed, so these "
    "were not tried: stop-shuttle, stop-sweep, stop-tracks, stop-tables, stop-printing, look-at-jobs, "
    "jobs-are-none, let-go-of-board, board-is-free, back-to-no-desk"
)
SILENT = "the machine is silent: is it off, or is a cable unplugged?"


def failed(desk: FakeDesk, why: str = BOARD_LACKS) -> FakeDesk:
    lines = ["DESK TIDES: BOARD", "NOT UNDERSTOOD: BOARD"]
    tidying = kinds.TidyUpStarted(script="round", why=why)
    return desk.tell(
        tidying, ended(outcome="failed", why=why), kinds.SessionFailed(why=why, last_lines=lines)
    )


def late(desk: FakeDesk, **more: Any) -> FakeDesk:
    given: dict[str, Any] = {"waited_for": ["a person to confirm"], "within_us": 600 * S, "last_lines": []}
    return desk.tell(
        kinds.StepOverdue(**{"script": "opening", "step": "start-lower", "then": "ask"} | given | more)
    )


def late_at_console() -> FakeDesk:
    desk = opening().tell(kinds.StepStarted(script="opening", step="from-upper"))
    prints(desk, "LOAD TIDEBOOK\r\nFROM WHICH DRIVE? UPPER\r\nLOADING ........")
    lines = ["LOAD TIDEBOOK", "FROM WHICH DRIVE? UPPER", "LOADING ........"]
    desk.at_us += 90 * S
    waited = {"step": "from-upper", "waited_for": ["tidebook-date"], "within_us": 90 * S}
    return late(desk, **waited, last_lines=lines, at_prompt=True)


def stopping() -> FakeDesk:
    desk = rounds().tell(kinds.RequestMade(request="stop", by="docent 1"))
    tidy = FOLDER.scripts["round"].tidy_up[0].name
    why = "a docent said stop"
    return desk.tell(
        kinds.TidyUpStarted(script="round", why=why),
        kinds.StepStarted(script="round", step=tidy, tidying=True),
    )


def many_troubles() -> FakeDesk:
    desk = raised(raised(rounds(), "small-stopped", "== SMALL STOPPED =="), "tracks-failed", "TRACKS FAILED")
    numbers = [one["raised"] for one in desk.view.batch(0)["items"]["troubles"]]
    aside: dict[str, Any] = {
        "by": "docent 1",
        "why": "the engineer comes at three",
        "until_us": desk.at_us + 1800 * S,
    }
    desk.tell(kinds.TroubleSetAside(raised=numbers[0], **aside))
    desk.tell(kinds.TroubleSeen(raised=numbers[1], by="docent 1"))
    return desk.tell(kinds.NoteMade(kind="note", by="docent 1", digest="0" * 64))


def tidying() -> FakeDesk:
    """A round went wrong, and what it started is being stopped."""
    tidying = kinds.TidyUpStarted(script="round", why=BOARD_LACKS)
    return rounds().tell(tidying, kinds.StepStarted(script="round", step="stop-shuttle", tidying=True))


def silent(desk: FakeDesk) -> FakeDesk:
    """Something was due, and nothing has come for a while."""
    return desk.tell(kinds.MachineSilent(heard_us=desk.at_us, due_us=desk.at_us, due="answer"))


def hands_off(desk: FakeDesk) -> FakeDesk:
    """Somebody said hands off while the machine was silent, and the round has failed by that."""
    why = "the prompt after the cancel key did not come in time; the tidy-up was not finished"
    desk.tell(kinds.HandsOff(by="docent 1", standing=""), ended(outcome="failed", why=why))
    return desk.tell(kinds.SessionFailed(why=why, last_lines=["DESK TIDES: "]))


def never_heard(desk: FakeDesk) -> FakeDesk:
    """Something was due from a machine of which nothing has ever come."""
    return desk.tell(kinds.MachineSilent(heard_us=0, due_us=desk.at_us, due="step"))


def late_with_nothing() -> FakeDesk:
    """The drives are to get ready, at a machine that nobody has switched on."""
    desk = opening().tell(kinds.StepStarted(script="opening", step="lower-spins"), after_s=90)
    return late(desk, step="lower-spins", waited_for=["lower-ready"], within_us=90 * S)


STANDS = "the lower-drive has stopped, and nothing has shown since that it was started again"


def held(desk: FakeDesk, before: str = "") -> FakeDesk:
    """A drive has stopped, so no round begins."""
    return desk.tell(kinds.DayTurned(phase="stopped", by=PARTS, why=f"{STANDS}{before}"))


def stopped_in(phase: kinds.DayPhase) -> FakeDesk:
    """The opening or the closing was stopped after its first step by hand."""
    desk = opening() if phase == "opening" else closing()
    script = "opening" if phase == "opening" else "closing"
    turned(desk, "stopped")
    return desk.tell(ended(script, "stopped", "docent 1 said stop"))


def closing() -> FakeDesk:
    return turned(resting(), "closing").tell(started("closing"))


def by_hand(desk: FakeDesk, *steps: str) -> FakeDesk:
    """These steps of the closing are done by hand."""
    for step in steps:
        asks(desk, hand_step(step, "closing")).tell(
            kinds.HandsOnConfirmed(step=step, by="docent 1"), kinds.StepEnded(script="closing", step=step)
        )
    return desk


ALL_BY_HAND = ("stop-lower", "stop-upper", "stop-small", "turn-the-key-off")


def at_upper() -> FakeDesk:
    """The closing has stopped the lower drive, and waits for the upper one."""
    return asks(by_hand(closing(), "stop-lower"), hand_step("stop-upper", "closing"))


def failed_at_upper() -> FakeDesk:
    """Somebody said that the upper drive can't be stopped."""
    why = "a person said that it can't be done: it sticks"
    refused = kinds.StepFailed(script="closing", step="stop-upper", why=why)
    over = kinds.SessionFailed(why=why, last_lines=[])
    return at_upper().tell(refused, ended("closing", "failed", why), over)


def left_out_upper() -> FakeDesk:
    """The closing ran to its end, but one of its steps by hand was left out."""
    desk = at_upper().tell(
        kinds.LateAnswered(step="stop-upper", answer="leave out", by="docent 1"),
        kinds.StepLeftOut(script="closing", step="stop-upper", why="it was late"),
    )
    return turned(by_hand(desk, *ALL_BY_HAND[2:]).tell(ended("closing")), "over")


def begun_again() -> FakeDesk:
    """The key was turned, the opening was stopped and begun again."""
    desk = asks(opening(), hand_step("turn-the-key")).tell(
        kinds.HandsOnConfirmed(step="turn-the-key", by="docent 1"),
        kinds.TidyUpStarted(script="opening", why="docent 1 said stop"),
        ended("opening", "stopped", "docent 1 said stop"),
        started("opening"),
    )
    return asks(desk, hand_step("turn-the-key"))


def slow() -> FakeDesk:
    """A step of a round has taken more than half of its time."""
    desk = rounds().tell(kinds.StepStarted(script="round", step="tides-table"), after_s=0)
    due_us = desk.at_us + 180 * S
    return desk.tell(kinds.DeadlineArmed(name="step", due_us=due_us), after_s=100).tell(
        kinds.Heartbeat(wall="2026-11-25T10:00:00.000+00:00")
    )


def confirmed_by_hand(desk: FakeDesk, *steps: str) -> FakeDesk:
    """Somebody has confirmed these steps by hand, one after the other."""
    for step in steps:
        asks(desk, hand_step(step)).tell(kinds.HandsOnConfirmed(step=step, by="docent 1"))
        desk.tell(kinds.StepEnded(script="opening", step=step))
    return desk


def late_after_hands() -> FakeDesk:
    """The lower drive is to get ready, which somebody has said to have started."""
    desk = prints(opening(), "SET THE SWITCHES AND PRESS START\r\n")
    confirmed_by_hand(desk, "pack-in-lower", "start-lower")
    desk.tell(kinds.StepStarted(script="opening", step="lower-up-to-speed"), after_s=90)
    waited: dict[str, Any] = {"step": "lower-up-to-speed", "waited_for": ["lower-ready"]}
    return late(desk, **waited, within_us=90 * S, last_lines=["SET THE SWITCHES AND PRESS START"])


def given_again(desk: FakeDesk) -> FakeDesk:
    """The step that runs was not done in time, and gets it once more."""
    given: dict[str, Any] = {"script": "round", "step": "tides-table", "waited_for": ["desk-tides"]}
    overdue = kinds.StepOverdue(**given, within_us=180 * S, last_lines=[], then="wait on")
    desk.tell(overdue, after_s=0)
    return desk.tell(kinds.DeadlineArmed(name="step", due_us=desk.at_us + 180 * S), after_s=100).tell(
        kinds.Heartbeat(wall="2026-11-25T10:02:00.000+00:00")
    )


def engineers(desk: FakeDesk) -> FakeDesk:
    desk.signed_in = ENGINEER
    return desk


def unwatched() -> FakeDesk:
    desk = rounds()
    desk.bridge, desk.sight = False, Sight(mode="live", writer="gone")
    return desk


STATES: dict[str, Callable[[], FakeDesk]] = {
    "not-started": lambda: FakeDesk(),
    "starting": lambda: FakeDesk().tell(FIRST),
    "before-opening": lambda: turned(begun(), "before opening"),
    "hands-on": lambda: asks(opening(), hand_step("start-lower")),
    "put-off": lambda: asks(opening(), hand_step("start-lower")).tell(
        kinds.HandsOnPutOff(step="start-lower", by="docent 1", because="too early", words=WAIT)
    ),
    "put-off-by-machine": lambda: asks(opening(), hand_step("press-start")).tell(
        kinds.HandsOnPutOff(step="press-start", by=MACHINE, because="too early", words=WAIT)
    ),
    "put-off-answered": lambda: asks(opening(), hand_step("press-start")).tell(
        kinds.HandsOnPutOff(step="press-start", by=MACHINE, because="too early", words=WAIT),
        kinds.LandmarkReached(landmark="day-and-year", line="DAY OF YEAR AND YEAR? "),
    ),
    "hands-on-after": lambda: asks(
        confirmed_by_hand(opening(), "start-upper", "pack-in-lower"), hand_step("start-lower")
    ),
    "panel": lambda: asks(opening(), hand_step("press-start")),
    "hands-on-then-stop": lambda: asks(opening(), hand_step("start-lower", late="stop")),
    "hands-on-then-once-more": lambda: asks(opening(), hand_step("start-lower", late="wait on")),
    "hands-on-before": lambda: asks(opening(), hand_step("start-lower", late="")),
    "date-then-left-out": lambda: asks(
        opening(), msgspec.structs.replace(ABOUT_DATE, late="leave out")
    ),
    "date": lambda: asks(opening(), ABOUT_DATE),
    "practice": lambda: asks(
        turned(FakeDesk().tell(PRACTICE, kinds.LineOpened(line="/dev/pts/7")), "opening").tell(
            started("opening")
        ),
        hand_step("start-lower"),
    ),
    "late-hand": lambda: late(asks(opening(), hand_step("start-lower"))),
    "late-console": late_at_console,
    "emergencies": rounds,
    "opening": lambda: prints(opening(), "SET THE SWITCHES AND PRESS START\r\n"),
    "rounds": rounds,
    "resting": resting,
    "quiet": lambda: turned(resting(), "quiet", 600),
    "away": lambda: turned(resting(), "away"),
    "nobody-there": lambda: turned(resting(), "nobody there"),
    "stopping": stopping,
    "hands-off": lambda: stopping().tell(kinds.HandsOff(by="docent 1", standing="STOP JOB 1")),
    "stopped": lambda: turned(rounds().tell(ended(outcome="stopped", why="a docent said stop")), "stopped"),
    "tidying": tidying,
    "seeking": lambda: rounds().tell(
        ended(outcome="failed", why="the line was lost"),
        kinds.PlaceSought(why="the line was opened", vouched=False)
    ),
    "tidying-when-done": lambda: rounds().tell(
        kinds.TidyUpStarted(script="round", why=SCRIPT_DONE)
    ),
    "quiet-after": lambda: turned(rounds(), "quiet", 600),
    "trouble": lambda: raised(rounds()),
    "trouble-at-switches": lambda: at_switches(asks(opening(), hand_step("press-start"))),
    "trouble-in-step": lambda: raised(asks(opening(), hand_step("press-start"))),
    "troubles": many_troubles,
    "failure": lambda: failed(rounds()),
    "failure-again": lambda: failed(
        failed(rounds()).tell(kinds.SessionCleared(by="docent 1"), started("round", 5))
    ),
    "failure-in-closing": lambda: turned(failed(rounds(), SILENT), "closing"),
    "failure-when-over": lambda: failed(
        turned(by_hand(closing(), *ALL_BY_HAND).tell(ended("closing")), "over")
    ),
    "failure-at-hands": failed_at_upper,
    "given-up": lambda: turned(failed_at_upper(), "over"),
    "given-up-early": lambda: turned(turned(hands_off(rounds()), "closing"), "over"),
    "over-left-out": left_out_upper,
    "over-before-restart": lambda: begun().tell(
        kinds.DayTurned(
            phase="over", by="the closing", why="so it was before the program was started again"
        )
    ),
    "stopped-at-hands": lambda: turned(at_upper(), "stopped").tell(
        ended("closing", "stopped", "docent 1 said stop")
    ),
    "keyboard": lambda: rounds().tell(kinds.KeyboardTaken(by="engineer 2")),
    "at-the-keys": lambda: engineers(rounds().tell(kinds.KeyboardTaken(by="engineer 2"))),
    "engineer": lambda: engineers(resting()),
    "closing": closing,
    "closing-comes": lambda: turned(rounds(), "closing"),
    "silent": lambda: silent(rounds()),
    "failed-held-up": lambda: failed(rounds(), "the machine's leave to type (XON) did not come in time"),
    "failed-silent": lambda: failed(silent(rounds()), SILENT),
    "failed-in-tidy-up": lambda: failed(silent(stopping()), NOT_TIDIED),
    "failed-hands-off": lambda: hands_off(silent(stopping())),
    "failed-after-trouble": lambda: failed(many_troubles()),
    "stopped-in-opening": lambda: stopped_in("opening"),
    "stopped-with-nothing-done": lambda: turned(
        turned(
            turned(by_hand(turned(resting(), "closing").tell(started("closing")), *ALL_BY_HAND), "over"),
            "opening",
        ).tell(started("opening")),
        "stopped",
    ).tell(ended("opening", "stopped", "docent 1 said stop")),
    "stopped-in-closing": lambda: stopped_in("closing"),
    "begun-again": begun_again,
    "slow": slow,
    "slow-again": lambda: given_again(slow()),
    "silent-slow": lambda: silent(slow()),
    "silent-slow-again": lambda: silent(given_again(slow())),
    "closed-by-limits": lambda: resting().tell(LIMITED, started("closing")),
    "held": lambda: held(resting()),
    "held-again": lambda: held(turned(held(resting()), "rounds")),
    "held-since-yesterday": lambda: held(begun(), "; so it was before midnight"),
    "held-since-before-restart": lambda: held(
        begun(), "; so it was before the program was started again"
    ),
    "held-silent": lambda: silent(held(resting())),
    "silent-away": lambda: silent(turned(resting(), "away")),
    "silent-in-opening": lambda: never_heard(stopped_in("opening")),
    "silent-in-closing": lambda: silent(stopped_in("closing")),
    "stopping-silent": lambda: silent(stopping()),
    "hands-off-silent": lambda: silent(stopping()).tell(kinds.HandsOff(by="docent 1", standing="")),
    "late-nothing": late_with_nothing,
    "late-after-hands": late_after_hands,
    "trouble-typing-held": lambda: raised(rounds(), "typing-blocked", "XOFF for 20 s"),
    "over-by-limits": lambda: turned(
        by_hand(resting().tell(LIMITED, started("closing")), *ALL_BY_HAND).tell(ended("closing")), "over"
    ),
    "over-after-held": lambda: turned(
        by_hand(turned(held(resting()), "closing").tell(started("closing")), *ALL_BY_HAND).tell(
            ended("closing")
        ),
        "over",
    ),
    "gone-on": lambda: rounds().tell(
        ended(outcome="failed", why="the line was lost"), started("round", 5)
    ),
    "over": lambda: turned(by_hand(closing(), *ALL_BY_HAND).tell(ended("closing")), "over"),
    "over-off": lambda: turned(
        by_hand(
            resting().tell(
                kinds.PartStarted(part="lower-drive", by="lower-ready"),
                started("closing"),
                kinds.PartStopped(part="lower-drive", by="closing.stop-lower"),
            ),
            *ALL_BY_HAND,
        ).tell(ended("closing"), kinds.SessionResting(until_us=0)),
        "over",
    ),
    "link-lost": lambda: rounds().tell(kinds.LineLost(why="the adapter was unplugged")),
    "bridge-gone": unwatched,
}  # fmt: skip
