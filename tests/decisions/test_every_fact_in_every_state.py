"""Nothing that can happen is a fault of the program in any state, and nothing is typed in states of rest."""

from __future__ import annotations

import ast
import functools
import inspect
import itertools
import typing

import msgspec
import pytest

from exhibit.decisions import decider
from exhibit.decisions.console import console, flow, keying, sending, silence
from exhibit.decisions.session import at_console, homing, session
from exhibit.decisions.session.states import TRANSITIONS
from exhibit.decisions.story import caption_turns
from exhibit.facts import kinds
from exhibit.facts.kinds import ALL_KINDS
from tests.decisions.driver import Driver
from tests.decisions.heron import pause
from tests.decisions.situations import NOTHING_IS_TYPED, SITUATIONS, agenda, on_line
from tests.recordings.one_of_each import an_example_of

DEADLINES = (
    at_console.STEP,
    at_console.LISTEN,
    caption_turns.DEADLINE,
    console.SETTLE,
    console.QUIET,
    silence.NOTHING_HEARD,
    decider.REST,
    flow.BLOCKED,
    homing.DEADLINE,
    keying.DEADLINE,
    session.SCRIPT,
    "no such deadline",
)
CAN_BRING_TYPING = (
    kinds.DeadlinePassed,
    kinds.RequestMade,
    kinds.HandsOnConfirmed,
    kinds.HandsOnRefused,
    kinds.LateAnswered,
    kinds.TypingFailed,
    kinds.LineOpened,
    kinds.LineLost,
    kinds.LocalEchoFound,
    kinds.BytesWithheld,
    kinds.SecretWithheld,
    kinds.ScriptEnded,
    kinds.PackMounted,  # an original pack ends what runs
    kinds.RecordNearlyFull,  # ends what runs, and the tidy-up begins
)
"""What a session, a programme or the typing can go on from. All other facts only report."""
LEADS_OUT = (kinds.LineOpened, kinds.CarriedOver, kinds.ScriptEnded)
"""With one of these, or with a request to go on, a state in which nothing may be typed can be over."""


def carried_over() -> kinds.CarriedOver:
    """As a recording is really ended, between two rounds."""
    driver = on_line(pause("look"), tidy_up=())
    agenda(driver)
    fact = driver.decider.carry_over(driver.now_us)
    assert fact is not None
    return fact


@functools.cache
def of_every_kind(step: str) -> list[kinds.AnyFact | kinds.UnknownFact]:
    """Facts of each kind, with each value of each choice that they have; facts of a step are of this one."""
    facts: list[kinds.AnyFact | kinds.UnknownFact] = [kinds.DeadlinePassed(name=name) for name in DEADLINES]
    facts += [kinds.UnknownFact(name="new", raw="{}"), carried_over()]
    for kind in ALL_KINDS.values():
        if kind in (kinds.CarriedOver, kinds.DeadlinePassed):
            continue
        fact = an_example_of(kind)
        if "step" in kind.__struct_fields__:
            fact = msgspec.structs.replace(fact, step=step)
        choices = {
            name: typing.get_args(hint)
            for name, hint in typing.get_type_hints(kind).items()
            if typing.get_origin(hint) is typing.Literal
        }
        for values in itertools.product(*choices.values()):
            facts.append(msgspec.structs.replace(fact, **dict(zip(choices, values, strict=True))))
    return facts


def step_of(driver: Driver) -> str:
    started = driver.facts(kinds.StepStarted)
    return started[-1].step if started else "none"


def typed_after(situation: str, number: int) -> tuple[object, bytes, Driver]:
    """The fact of this number happens there: which it was, and what is typed at once."""
    driver = SITUATIONS[situation]()
    fact = of_every_kind(step_of(driver))[number]
    before = driver.typed
    driver.note(fact)
    return fact, driver.typed.removeprefix(before), driver


COUNT = len(of_every_kind("any"))


@pytest.mark.parametrize("situation", SITUATIONS)
def test_every_fact_and_every_deadline_can_come_and_reports_bring_no_typing(situation):
    for number in range(COUNT):
        fact, typed, driver = typed_after(situation, number)
        if not isinstance(fact, CAN_BRING_TYPING):
            assert typed == b"", fact
        driver.prints(b"\r\nREADY: ")
        if "settle" in driver.deadlines:
            driver.now_us = max(driver.now_us, driver.deadlines.pop("settle"))
            driver.note(kinds.DeadlinePassed(name="settle"))


@pytest.mark.parametrize("situation", sorted(NOTHING_IS_TYPED))
def test_where_nothing_may_be_typed_nothing_is_even_if_a_prompt_follows(situation):
    for number in range(COUNT):
        fact, typed, driver = typed_after(situation, number)
        if isinstance(fact, LEADS_OUT) or (isinstance(fact, kinds.RequestMade) and fact.request == "clear"):
            continue
        before = driver.typed.removesuffix(typed)
        driver.prints(b"\r\nREADY: ")
        driver.run(within_us=1000 * 1_000_000)
        assert driver.typed == before, fact


# -- the situations are all there are


def states_of(name: str) -> set[str]:
    """Which states of the session, the way home or the keying the situations come to."""
    states = set()
    for make in SITUATIONS.values():
        inner = vars(make().decider)
        if name == "session" and "_session" in inner:
            states.add(inner["_session"].state)
        elif name == "homing" and inner.get("_homing"):
            states.add(vars(inner["_homing"])["_state"])
        elif name == "keying" and "_console" in inner:
            states.add(vars(vars(inner["_console"])["_keying"])["_phase"])
    return states


def test_the_situations_come_to_every_state_of_a_session():
    passed_through = {"between steps"}  # never for longer than one call
    assert states_of("session") == {state for state, _ in TRANSITIONS} - passed_through


@pytest.mark.parametrize(
    ("name", "kept_in", "attribute"),
    [("homing", homing.Homing, "_state"), ("keying", sending.Sending, "_phase")],
)
def test_the_situations_come_to_every_state_of(name, kept_in, attribute):
    tree = ast.parse(inspect.getsource(kept_in))
    declared = next(
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.AnnAssign) and ast.unparse(node.target) == f"self.{attribute}"
    )
    words = {node.value for node in ast.walk(declared.annotation) if isinstance(node, ast.Constant)}
    assert len(words) > 3
    assert states_of(name) == words
