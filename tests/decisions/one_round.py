"""One round of a few steps on the Heron: how to come to each state of it, and how it went."""

from __future__ import annotations

import pytest

from exhibit.decisions.decider import Decider
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import (
    CANCEL,
    MACHINE,
    SECRET,
    S,
    command,
    folder,
    hands_on,
    opened,
    pause,
    press,
    script,
    secret,
)

GO = command("go", "go", "begun")
END_IT = command("end-it", "X {go.job}", "ready")
QUIETLY = ("arm", "drop")
"""Deadlines that are set and dropped in passing are left out of a playbook that isn't about them."""


def one_round(*steps, tidy_up=(), described=MACHINE, secrets=None, **more) -> Decider:
    """Runs these steps as a single round."""
    scripts = folder(script("round", *steps, tidy_up=tidy_up, **more), machine=described)
    wanted = Wanted(before=(), rounds=1, after=())
    return decider_for(scripts, opened(described), wanted, {"word": SECRET} if secrets is None else secrets)


# -- the beginning of a playbook that goes on quietly

GO_BEGINS = """
opens
    tell script started: round round 1
    tell step started: go
prints "READY: "
passes settle
    tell landmark reached: ready
    type g
"""
GO_IS_TYPED = f"""{GO_BEGINS}
prints "G"
    type o
prints "O"
passes echo
    type RETURN
"""


# -- on the way


def ended_steps(driver):
    return [fact.step for fact in driver.facts(kinds.StepEnded)]


def tidied(driver):
    (ended,) = driver.facts(kinds.ScriptEnded)
    return ended.outcome, ended.tidy


def answer(driver, echo, output):
    """Echoes the command, takes its RETURN, and prints; then nothing comes for a while."""
    for byte in echo:
        driver.prints(bytes((byte,)))
    driver.passes("echo")
    driver.prints(b"\r\n" + output)
    if "settle" in driver.deadlines:
        driver.passes("settle")


def types(driver, echo, output):
    """From the opening of the line at READY: to the output of the first command."""
    typing(driver)
    answer(driver, echo, output)


class Dripping:
    """Prints a character a second, so many of them."""

    def __init__(self, left: int) -> None:
        self.left = left
        self.last_us = 0

    def typed(self, byte: int, at_us: int) -> None:
        pass

    def next_us(self) -> int | None:
        return self.last_us + S if self.left else None

    def take(self) -> bytes:
        self.left -= 1
        self.last_us += S
        return b"."


# -- to every state


def typing(driver):
    driver.open_line()
    driver.stands(b"READY: ")


def typed_secret(driver):
    driver.open_line()
    driver.stands(b"SIGN WORD? ")
    driver.passes("echo")


def awaiting_new_line(driver):
    typing(driver)
    driver.prints(b"G")
    driver.prints(b"O")
    driver.passes("echo")


def cancelled(driver):
    typing(driver)
    driver.prints(b"X")


def waiting(driver):
    awaiting_new_line(driver)
    driver.prints(b"\r\n")


STATES = {
    "at prompt": (Driver.open_line, GO, b""),
    "typing": (typing, GO, CANCEL),
    "typing a secret": (typed_secret, secret("sign"), CANCEL),
    "awaiting the new line": (awaiting_new_line, GO, CANCEL),
    "cancelled": (cancelled, GO, b""),
    "waiting": (waiting, GO, b""),
    "asking": (Driver.open_line, hands_on("key"), b""),
    "pausing": (Driver.open_line, pause("look", 30 * S), b""),
}
"""How to come there, the step, and what is typed when the step is given up."""
TIDY_UP = (press("away", "space", "ready", at="ready"),)
in_every_state = pytest.mark.parametrize("state", STATES)


def come_to(state) -> tuple[Driver, bytes]:
    arrive, step, cancels = STATES[state]
    driver = Driver(one_round(step, tidy_up=TIDY_UP))
    arrive(driver)
    return driver, cancels
