"""How to come to every state that a decider can be in: of session, way home, programme and keying."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import msgspec

from exhibit.decisions.machine.script import AnyStep, Folder, WhenLate
from exhibit.decisions.session.left_open import NOTHING
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    AT_REST,
    MACHINE,
    RETURN,
    SECRET,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    script,
    secret,
    wait,
)
from tests.decisions.session.day import IN_PHASE

GO = command("go", "go", "begun")
DATE = command("date", "{date: tall}", "ready")
TIDY_UP = (press("away", "space", "ready", at="ready"), wait("after", "ended"))
XOFF = b"\x13"
LOOKS = machine(typing={"show_again": b"\x0e"})
WAY_HOME = msgspec.structs.replace(
    AT_REST, ways={"word-wanted": (press("give-up-word", "enter", "ready", at="word"),)}
)
HAS_WAY_HOME = machine(
    typing={"nudge": RETURN},
    landmarks={"signed-out": ("ready",), "word-wanted": ("word",), "question": ("sure",)},
)
JOB_LEFT = msgspec.structs.replace(
    NOTHING, recording="the last", script="round", step="go", numbers={"go": {"job": "4"}}
)


def late(step: AnyStep) -> AnyStep:
    return msgspec.structs.replace(step, late=WhenLate("ask", 0))


def _driver(described: Folder, wanted: Wanted | None) -> Driver:
    return Driver(decider_for(described, opened(described.machine), wanted, {"word": SECRET}))


def at(*steps: AnyStep, described: Any = MACHINE, tidy_up: Any = TIDY_UP) -> Driver:
    """Two rounds of these steps are wanted, where no way home is known. The line isn't open."""
    scripts = folder(script("round", *steps, tidy_up=tidy_up), machine=described)
    return _driver(scripts, Wanted(before=(), rounds=2, after=()))


def on_line(*steps: AnyStep, **more: Any) -> Driver:
    driver = at(*steps, **more)
    driver.open_line()
    return driver


def at_ready(*steps: AnyStep, **more: Any) -> Driver:
    driver = on_line(*steps, **more)
    driver.stands(b"READY: ")
    return driver


def home(*steps: AnyStep, left_open: kinds.LastRecordingRead = NOTHING, tidy_up: Any = TIDY_UP) -> Driver:
    """A round of these steps, at a machine whose folder knows ways home; it listens."""
    scripts = folder(script("round", *steps, tidy_up=tidy_up), machine=HAS_WAY_HOME)
    scripts = msgspec.structs.replace(scripts, way_home=WAY_HOME)
    driver = _driver(scripts, Wanted(before=(), rounds=2, after=()))
    driver.note(left_open)
    driver.open_line()
    return driver


def then(driver: Driver, *happen: Callable[[Driver], object]) -> Driver:
    for one in happen:
        one(driver)
    return driver


def prints(data: bytes) -> Callable[[Driver], object]:
    return lambda driver: driver.prints(data)


def stands(data: bytes) -> Callable[[Driver], object]:
    return lambda driver: driver.stands(data)


def passes(*names: str) -> Callable[[Driver], object]:
    return lambda driver: [driver.passes(name) for name in names]


def asks(request: str) -> Callable[[Driver], object]:
    return lambda driver: driver.asks(request)


def lose(driver: Driver) -> None:
    driver.lose_line()


def overdue(driver: Driver) -> None:
    """Time goes on until the step's time is up."""
    driver.run(lambda: bool(driver.facts(kinds.StepOverdue)))


def full(driver: Driver) -> None:
    driver.note(kinds.RecordNearlyFull(left_bytes=1))


def beat(driver: Driver) -> None:
    driver.note(kinds.Heartbeat(wall="2027-12-31T09:30:00+01:00"))


def agenda(driver: Driver) -> None:
    """The whole round is done, and the machine rests."""
    driver.run(lambda: bool(driver.facts(kinds.SessionResting)))


def to_return(driver: Driver) -> None:
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")


def to_waiting(driver: Driver) -> None:
    to_return(driver)
    driver.prints(b"\r\n")


def tall_date() -> Driver:
    driver = on_line(late(DATE))
    return then(driver, beat, stands(b"READY: "))


def at_home(*steps: AnyStep, **more: Any) -> Driver:
    driver = then(home(*steps, **more), stands(b"READY: "))
    driver.run(lambda: bool(driver.facts(kinds.ScriptStarted)))
    return driver


SITUATIONS: dict[str, Callable[[], Driver]] = {
    # the session and the keying
    "before the line opens": lambda: at(GO),
    "at prompt": lambda: on_line(GO),
    "at prompt, blocked by XOFF": lambda: then(on_line(GO), prints(XOFF), stands(b"READY: ")),
    "at prompt, for a key": lambda: on_line(press("key", "space", "ready", at="ready")),
    "at prompt, for a key at no place": lambda: on_line(press("key", "space", "ready")),
    "typing": lambda: at_ready(GO),
    "typing, blocked by XOFF": lambda: then(at_ready(GO), prints(XOFF)),
    "typing a secret": lambda: then(on_line(secret("sign")), stands(b"SIGN WORD? ")),
    "checking": lambda: then(at_ready(GO), prints(b"G"), prints(b"O")),
    "looking": lambda: then(at_ready(GO, described=LOOKS), to_return),
    "awaiting the new line": lambda: then(at_ready(GO), to_return),
    "cancelled": lambda: then(at_ready(GO), prints(b"X")),
    "cancelled, blocked by XOFF": lambda: then(at_ready(GO), prints(XOFF), prints(b"X")),
    "waiting": lambda: then(at_ready(GO), to_waiting),
    "waiting after a key": lambda: at_ready(press("key", "space", "ready", at="ready")),
    "waiting from the beginning": lambda: on_line(wait("end", "ended")),
    "asking": lambda: on_line(hands_on("key")),
    "asking about a date": tall_date,
    "pausing": lambda: on_line(pause("look", 30 * S)),
    "late at its prompt": lambda: then(on_line(late(GO)), overdue),
    "late while typing": lambda: then(at_ready(late(GO)), prints(XOFF), overdue),
    "late while waiting": lambda: then(at_ready(late(GO)), to_waiting, overdue),
    "late while asking": lambda: then(on_line(late(hands_on("key"))), overdue),
    "late about a date": lambda: then(tall_date(), overdue),
    "tidying up, at prompt": lambda: then(on_line(pause("look")), asks("stop")),
    "tidying up, waiting": lambda: then(at_ready(GO), asks("stop"), lambda d: d.stands(b"\r\nREADY: ")),
    "line lost": lambda: then(at_ready(GO), lose),
    "line lost while tidying up": lambda: then(on_line(wait("end", "ended")), overdue, lose),
    "line lost and back": lambda: then(at_ready(GO), lose, Driver.open_line),
    # the programme
    "resting": lambda: then(on_line(pause("look"), tidy_up=()), agenda),
    "resting without a line": lambda: then(on_line(pause("look"), tidy_up=()), agenda, lose),
    "over, as wanted": lambda: then(on_line(pause("look"), tidy_up=()), lambda d: d.run()),
    "over, stopped": lambda: then(on_line(GO, tidy_up=()), asks("stop")),
    "failed": lambda: then(on_line(wait("end", "ended"), tidy_up=()), overdue),
    "failed without a line": lambda: then(on_line(wait("end", "ended"), tidy_up=()), overdue, lose),
    "failed, and then the disc full": lambda: then(
        on_line(wait("end", "ended"), tidy_up=()), overdue, full, beat
    ),
    "failed, the disc full": lambda: then(on_line(pause("look"), tidy_up=()), full, beat),
    "failed in the tidy-up": lambda: then(at_ready(GO), asks("stop"), lambda d: d.run()),
    # the way home
    "listening": lambda: home(GO),
    "listening after the nudge": lambda: then(home(GO), passes("home")),
    "listening after the cancel key": lambda: then(
        home(GO, left_open=msgspec.structs.replace(NOTHING, half_typed="ST")), passes("home")
    ),
    "on the way home": lambda: then(
        home(GO), stands(b"SIGN WORD? "), lambda d: d.run(lambda: bool(d.facts(kinds.ScriptStarted)))
    ),
    "putting away what was left": lambda: then(
        home(GO, left_open=JOB_LEFT, tidy_up=(command("end-it", "X {go.job}", "ready"),)),
        stands(b"READY: "),
        lambda d: d.run(lambda: bool(d.facts(kinds.TidyUpStarted))),
    ),
    "at home": lambda: at_home(wait("end", "ended")),
    "at home, typing": lambda: at_home(GO),
    "at home, resting": lambda: then(at_home(pause("look"), tidy_up=()), agenda),
    "at home, over": lambda: then(at_home(pause("look"), tidy_up=()), lambda d: d.run()),
    "the line is back, and it listens": lambda: then(at_home(GO), lose, Driver.open_line),
    "failed far from home": lambda: then(
        home(GO), stands(b"SURE (NO)? "), lambda d: d.run(lambda: bool(d.facts(kinds.SessionFailed)))
    ),
    "cleared, and it listens": lambda: then(
        home(GO),
        stands(b"SURE (NO)? "),
        lambda d: d.run(lambda: bool(d.facts(kinds.SessionFailed))),
        asks("clear"),
    ),
    # a day
    "a day before its opening": IN_PHASE["before opening"],
    "a day, in its rounds": IN_PHASE["rounds"],
    "a day, with nobody there": IN_PHASE["nobody there"],
    "a day that was stopped": IN_PHASE["stopped"],
    # no scripts at all
    "watched": lambda: then(_driver(folder(), None), Driver.open_line, stands(b"READY: ")),
}
"""By name: makes a driver that has come to that state."""

NOTHING_IS_TYPED = {
    "before the line opens",
    "line lost",
    "line lost while tidying up",
    "resting without a line",
    "over, as wanted",
    "over, stopped",
    "at home, over",
    "failed",
    "failed without a line",
    "failed, and then the disc full",
    "failed, the disc full",
    "failed in the tidy-up",
    "failed far from home",
    "watched",
}
"""The states in which nothing may be typed, whatever happens, unless it leads out of the state."""
