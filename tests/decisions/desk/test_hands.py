"""Whose hands are on the keyboard, and what is left to type after a stop."""

import msgspec

from exhibit.decisions.desk.desk_view import DeskView
from exhibit.decisions.machine.first_fact import first_fact
from exhibit.facts import kinds
from exhibit.facts.docent_words import TidyStep
from tests.decisions.desk.made_day import FOR_DOCENT, Told, asks, ended, started
from tests.decisions.driver import Driver
from tests.decisions.heron import S, command, folder, opened, pause, press, script
from tests.decisions.one_round import answer, one_round

WALL = "2026-11-25T09:00:00+00:00"

TIDYING = kinds.TidyUpStarted(script="round", why="a docent said stop")


def left(told: Told) -> tuple[str, list[str], int]:
    stopping = told["stopping"]
    return stopping["state"], stopping["left"], stopping["within_s"]


def test_a_stop_shows_what_is_left_of_the_tidy_up_and_how_long_it_takes():
    told = Told(started(), asks("stop"))
    assert left(told) == ("asked", ["stop-work", "let-go"], 30)
    told.tell(TIDYING)
    assert left(told) == ("tidying up", ["stop-work", "let-go"], 30)
    told.tell(kinds.StepStarted(script="round", step="let-go", tidying=True))
    assert left(told) == ("tidying up", ["let-go"], 10)
    assert told.tell(ended(outcome="stopped"))["stopping"] is None


def test_what_stops_a_job_that_never_began_is_not_left_to_do():
    """It names the job by the number that its own step would have brought."""
    tidy = {
        "round": [
            TidyStep(name="stop-work", within_us=20 * S, needs=["work"]),
            TidyStep(name="leave", within_us=S),
        ]
    }
    words = msgspec.structs.replace(FOR_DOCENT, tidy_ups=tidy)

    def step(name: str) -> kinds.StepStarted:
        return kinds.StepStarted(script="round", step=name)

    def told(*facts: kinds.AnyFact) -> list[str]:
        return left(Told(opened(for_docent=words), started(), *facts, asks("stop"), TIDYING))[1]

    assert told(step("sign-on")) == ["leave"]
    assert told(step("sign-on"), step("work")) == ["stop-work", "leave"]
    assert told() == ["stop-work", "leave"]  # it only tidies up what an earlier run has left


def test_what_an_earlier_run_left_is_all_to_do_although_this_one_began_nothing():
    """Its jobs' numbers are known from before; a stop may come when the tidy-up has already begun."""
    tidy = {
        "round": [
            TidyStep(name="sign-off", within_us=S),
            TidyStep(name="stop-work", within_us=20 * S, needs=["work"]),
        ]
    }
    words = msgspec.structs.replace(FOR_DOCENT, tidy_ups=tidy)
    begun = kinds.StepStarted(script="round", step="sign-off", tidying=True)
    told = Told(opened(for_docent=words), started(), TIDYING, begun, asks("stop"))
    assert left(told)[1:] == (["sign-off", "stop-work"], 21)


def stopped_while_it_pauses() -> list[kinds.Entry]:
    """A round is stopped. Its tidy-up asks for a job's number, ends that job, and would leave a display."""
    tidy_up = (
        command("ask", "ask", "begun"),
        command("end", "end {ask.job}", "ready"),
        press("away", "space", "ready", at="board"),
    )
    first = first_fact(folder(script("round", pause("look"), tidy_up=tidy_up)), wall=WALL, machine_is="real")
    driver = Driver(one_round(pause("look"), tidy_up=tidy_up), opened_as=first)
    driver.open_line()
    driver.stands(b"READY: ")
    driver.asks("stop")
    answer(driver, b"ASK", b"JOB 7 BEGUN: WORK\r\nREADY: ")
    answer(driver, b"END 7", b"READY: ")
    driver.run()
    assert driver.over == "stopped"
    return driver.entries


def test_whatever_the_tidy_up_does_was_among_what_is_left_and_what_has_nothing_to_do_only_perhaps():
    view, lists, started_steps, left_out = DeskView(), list[list[str]](), [], []
    for entry in stopped_while_it_pauses():
        view.apply(entry)
        if isinstance(entry.fact, kinds.StepLeftOut):
            left_out.append(entry.fact.step)
        if stopping := view.batch(0)["items"]["stopping"]:
            lists.append(stopping["left"])
        if isinstance(entry.fact, kinds.StepStarted) and entry.fact.tidying:
            started_steps.append(entry.fact.step)
            assert all(entry.fact.step in one for one in lists)
    assert (started_steps, left_out) == (["ask", "end", "away"], ["away"])
    assert lists[0] == started_steps


def test_at_twenty_times_the_speed_it_takes_a_twentieth_of_the_time():
    assert left(Told(started(), asks("stop"), rate=20.0))[2] == 2


def test_a_tidy_up_that_nobody_asked_for_is_no_stop():
    assert Told(started(), TIDYING)["stopping"] is None


def test_where_nothing_runs_there_is_nothing_to_stop():
    assert Told(asks("stop"))["stopping"] is None


def test_a_stop_that_was_refused_is_none():
    refused = kinds.RequestRefused(request="stop", why="x")
    assert Told(started(), asks("stop"), refused)["stopping"] is None


def test_hands_off_stays_until_something_begins_again():
    told = Told(started(), asks("stop"), TIDYING, kinds.HandsOff(by="docent 1", standing="BEG"))
    told.tell(ended(outcome="stopped"))
    assert told["stopping"]["state"] == "hands off"
    assert told["stopping"]["standing"] == "BEG"
    assert told.tell(started(round_=2))["stopping"] is None


def test_the_keyboard_has_one_pair_of_hands():
    told = Told(kinds.KeyboardTaken(by="engineer 2"))
    assert told["keyboard"] == {"who": "engineer 2", "since": "2026-11-25T09:00:02.000+00:00"}
    assert told.tell(kinds.KeyboardGivenBack(by="engineer 2"))["keyboard"] is None
