"""XOFF is honoured and recorded; one that is too old is a trouble, and a person may let typing go on."""

from __future__ import annotations

import pytest

from exhibit.decisions.machine.description import Trouble
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import (
    CANCEL,
    MACHINE,
    XOFF_LIMITED,
    S,
    command,
    folder,
    in_english,
    machine,
    opened,
    script,
)

XOFF, XON = b"\x13", b"\x11"


def held_for(seconds: int, *, ends_script: bool = False, name: str = "held-up") -> Trouble:
    return Trouble(
        name=name,
        pattern=Pattern("nothing"),
        ends_script=ends_script,
        blocked_for_us=seconds * S,
        words=in_english("The machine holds us up."),
        do=in_english("Look at it."),
    )


def at_the_prompt(*troubles: Trouble, typing: bool = True) -> Driver:
    """READY: stands, and the first character of GO has gone out, whose echo never comes."""
    described = folder(
        script("round", command("go", "go", "ready", within_us=600 * S)),
        machine=machine(troubles=(*MACHINE.troubles, *troubles)),
    )
    wanted = Wanted(before=("round",), rounds=0, after=())
    driver = Driver(decider_for(described, opened(), wanted if typing else None))
    driver.open_line()
    driver.stands(b"READY: ")
    return driver


def test_each_hold_is_recorded_with_who_ended_it_and_how_long_it_lasted():
    driver = at_the_prompt()
    driver.prints(XOFF + XOFF)
    driver.wait(5 * S)
    driver.prints(XON + XON)
    assert driver.facts(kinds.TypingHeld, kinds.TypingLetGo) == [
        kinds.TypingHeld(),
        kinds.TypingLetGo(by="the machine", held_us=5 * S),
    ]


@pytest.mark.parametrize("typing", [True, False])
def test_a_hold_that_is_older_than_its_limit_is_a_trouble_once(typing):
    driver = at_the_prompt(held_for(60), typing=typing)
    driver.prints(XOFF)
    assert driver.facts(kinds.TroubleRaised) == []
    driver.passes("held")
    (raised,) = driver.facts(kinds.TroubleRaised)
    assert (raised.trouble, raised.line) == ("held-up", "XOFF for 60 s")
    assert driver.now_us >= 60 * S
    assert "held" not in driver.deadlines


def test_a_hold_that_ends_in_time_is_none():
    driver = at_the_prompt(held_for(60))
    driver.prints(XOFF)
    driver.wait(59 * S)
    driver.prints(XON)
    assert "held" not in driver.deadlines
    assert driver.facts(kinds.TroubleRaised) == []


def test_the_next_hold_has_its_whole_time():
    driver = at_the_prompt(held_for(60))
    driver.prints(XOFF)
    driver.wait(59 * S)
    driver.prints(XON + XOFF)
    assert driver.deadlines["held"] == driver.now_us + 60 * S


def test_a_longer_limit_is_a_trouble_of_its_own():
    driver = at_the_prompt(held_for(90, name="later"), held_for(60))
    driver.prints(XOFF)
    driver.passes("held")
    driver.passes("held")
    assert [raised.trouble for raised in driver.facts(kinds.TroubleRaised)] == ["held-up", "later"]


def test_such_a_trouble_ends_the_script_where_the_folder_says_so():
    driver = at_the_prompt(held_for(60, ends_script=True))
    driver.prints(XOFF)
    driver.passes("held")
    assert [fact.outcome for fact in driver.facts(kinds.ScriptEnded)] == ["failed"]


def test_without_such_a_trouble_nothing_is_raised():
    driver = at_the_prompt()
    driver.prints(XOFF)
    assert "held" not in driver.deadlines


def test_what_a_person_lets_go_is_typed_on():
    driver = at_the_prompt(held_for(60))
    driver.prints(XOFF + b"G")
    assert driver.typed == b"g"
    driver.passes("held")
    driver.asks("let go")
    assert driver.typed == b"go"
    assert driver.facts(kinds.TypingLetGo)[0].by == "a docent"
    assert driver.facts(kinds.RequestRefused) == []


def test_there_is_nothing_to_let_go_where_nothing_is_held():
    driver = at_the_prompt()
    driver.asks("let go")
    (refused,) = driver.facts(kinds.RequestRefused)
    assert (refused.request, refused.why) == ("let go", "the machine isn't blocking typing")
    assert driver.typed == b"g"


def test_a_machine_that_is_only_watched_is_not_let_go():
    driver = at_the_prompt(typing=False)
    driver.prints(XOFF)
    driver.asks("let go")
    assert len(driver.facts(kinds.RequestRefused)) == 1
    assert driver.facts(kinds.TypingLetGo) == []


def test_a_hold_doesnt_outlast_the_line():
    driver = at_the_prompt(held_for(60))
    driver.prints(XOFF)
    driver.lose_line()
    assert "held" not in driver.deadlines
    driver.open_line()
    driver.asks("let go")
    assert len(driver.facts(kinds.RequestRefused)) == 1


def test_the_trouble_of_a_hold_is_no_printed_line():
    driver = at_the_prompt(held_for(60))
    driver.prints(b"G\r\nnothing\r\n")
    assert driver.facts(kinds.TroubleRaised) == []


def test_a_whole_day_goes_on_behind_a_hold_that_was_let_go():
    described = folder(
        script("round", command("begin", "BEGIN MILL", "begun", within_us=600 * S)),
        machine=machine(troubles=(*MACHINE.troubles, held_for(60))),
    )
    far = FarHeron()
    driver = Driver(decider_for(described, opened(), Wanted(before=("round",), rounds=0, after=())), far)
    driver.open_line()
    driver.run(lambda: driver.typed.endswith(b"BEGIN"))
    driver.prints(XOFF)
    driver.run(lambda: bool(driver.facts(kinds.TroubleRaised)))
    driver.asks("let go")
    driver.run(lambda: driver.over is not None)
    assert driver.over == "done"
    assert far.executed == ["BEGIN MILL"]


def test_a_prompt_that_came_before_a_held_cancel_key_went_out_is_not_typed_at():
    """A broadcast may bring it again; what is typed there would stand behind what is half typed."""
    driver = at_the_prompt()
    driver.prints(XOFF + b"X")
    driver.stands(b"\r\nREADY: ")
    assert driver.typed == b"g"
    driver.prints(XON)
    assert driver.typed == b"g" + CANCEL
    driver.prints(b" CANCELLED\r\n")
    driver.stands(b"READY: ")
    assert driver.typed == b"g" + CANCEL + b"g"


@pytest.mark.parametrize("settled", [True, False])
def test_a_prompt_on_its_way_when_a_held_cancel_key_goes_out_is_not_typed_at(settled):
    driver = at_the_prompt()
    driver.prints(XOFF + b"X")
    if settled:
        driver.stands(b"\r\nREADY: ")
    else:
        driver.prints(b"\r\nREADY: ")
    driver.prints(XON)
    while driver.deadlines.keys() & {"settle", "echo"}:
        driver.passes(min(driver.deadlines, key=driver.deadlines.__getitem__))
    assert driver.typed == b"g" + CANCEL


def test_nor_does_the_tidy_up_type_at_it():
    described = folder(
        script(
            "round",
            command("go", "go", "begun", within_us=20 * S),
            tidy_up=(command("leave", "leave", "ready", within_us=200 * S),),
        ),
        machine=XOFF_LIMITED,
    )
    driver = Driver(decider_for(described, opened(), Wanted(before=("round",), rounds=0, after=())))
    driver.open_line()
    driver.stands(b"READY: ")
    driver.prints(XOFF)
    driver.passes("step")
    driver.stands(b"\r\nREADY: ")
    assert driver.typed == b"g"
    driver.prints(XON)
    assert driver.typed == b"g" + CANCEL
    driver.prints(b" CANCELLED\r\n")
    driver.stands(b"READY: ")
    assert driver.typed == b"g" + CANCEL + b"l"
