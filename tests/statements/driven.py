"""Scenarios in which the decisions run scripts on the Heron, and the reasons that they then gave."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from exhibit.decisions.decider import Decider
from exhibit.decisions.machine.description import Machine
from exhibit.decisions.machine.script import Folder
from exhibit.facts import kinds
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import MACHINE
from tests.decisions.one_round import answer, one_round
from tests.decisions.session.test_homing import described, started
from tests.statements.told_cases import Said

Acts = Callable[[Driver], object]


ON_THE_PAGE: set[str] = set()
"""The reasons in facts of which a docent's page says why, of all scenarios that have been driven so far."""


def reasons(driver: Driver) -> str:
    """Every reason that is in a fact so far, and what a late step had waited for."""
    found = []
    for fact in driver.facts():
        match fact:
            case (
                kinds.ScriptEnded(why=why)
                | kinds.SessionFailed(why=why)
                | kinds.PersonAsked(why=why)
                | kinds.DayTurned(why=why)
                | kinds.RequestRefused(why=why)
                | kinds.TroubleOver(how=why)
            ):
                ON_THE_PAGE.add(why)
        found += [getattr(fact, "why", ""), getattr(fact, "what", ""), getattr(fact, "do", "")]
        found += getattr(fact, "waited_for", [])
    return "\n".join(text for text in found if isinstance(text, str) and text)


def driven(
    decider: Callable[[], Decider], *acts: Acts, opened_as: kinds.RecordingOpened | None = None
) -> Said:
    """What is given as a reason after these acts."""

    def said() -> str:
        driver = Driver(decider(), opened_as=opened_as)
        for act in acts:
            act(driver)
        return reasons(driver)

    return said


def in_a_round(*steps: object, acts: tuple[Acts, ...] = (), **more: object) -> Said:
    """A round of these steps, with these acts."""
    return driven(lambda: one_round(*steps, **more), *acts)  # type: ignore[arg-type]


def homing(
    *acts: Acts,
    far_end: Callable[[], FarHeron] | None = None,
    where: Callable[[], Folder] = described,
    **more: object,
) -> Said:
    """The line has just been opened at a machine, and the program finds out what state it is in."""

    def said() -> str:
        driver = started(far_end() if far_end else None, where=where(), **more)  # type: ignore[arg-type]
        for act in acts:
            act(driver)
        return reasons(driver)

    return said


def machine_of(folder: Folder, **changes: object) -> Folder:
    """The folder with something else about its machine."""
    return msgspec.structs.replace(folder, machine=msgspec.structs.replace(folder.machine, **changes))


# -- acts


def runs(driver: Driver) -> None:
    """Time goes on until nothing is due any more, or the run is over."""
    driver.run()


def opens(driver: Driver) -> None:
    """The line is opened."""
    driver.open_line()


def prints(data: bytes) -> Acts:
    """The machine prints this."""
    return lambda driver: driver.prints(data)


def stands(data: bytes) -> Acts:
    """The machine prints this, and it settles."""
    return lambda driver: driver.stands(data)


def passes(*names: str) -> Acts:
    """These deadlines pass."""
    return lambda driver: [driver.passes(name) for name in names]


def asks(request: str, step: str = "", why: str = "") -> Acts:
    """A docent asks for something."""
    return lambda driver: driver.asks(request, step, why=why)


def notes(fact: kinds.AnyFact) -> Acts:
    """This happens."""
    return lambda driver: driver.note(fact)


def loses(driver: Driver) -> None:
    """The line is lost."""
    driver.lose_line()


def answers(echo: bytes, output: bytes) -> Acts:
    """The machine echoes the command, takes its RETURN and prints."""
    return lambda driver: answer(driver, echo, output)


def keeps_printing(line: bytes) -> Acts:
    """The machine prints this line again and again, and is never quiet."""

    def act(driver: Driver) -> None:
        while driver.over is None:
            driver.now_us += 900_000
            driver.prints(line)
            if "settle" in driver.deadlines:
                driver.passes("settle")
            if driver.deadlines.get("home", driver.now_us + 1) <= driver.now_us:
                driver.passes("home")
            assert driver.now_us < 200_000_000

    return act


def typing_fails(driver: Driver) -> None:
    """From now on the line takes nothing."""
    driver.typing_fails = "the adapter is gone"


NO_CANCEL: Machine = msgspec.structs.replace(
    MACHINE, typing=msgspec.structs.replace(MACHINE.typing, cancel=b"")
)
