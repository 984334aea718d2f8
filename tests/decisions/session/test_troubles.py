"""A trouble can be seen, set aside or over, by a person or by itself; its repeats ask nobody anew."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.session.troubles import REPEATED_WITHIN_US, Troubles
from exhibit.facts import kinds
from exhibit.facts.units import MIN_US
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import MACHINE, S, folder, opened, pause, script, wait
from tests.decisions.one_round import one_round
from tests.pages import made_facts

WARM, FAILED = b"DRIVE LEFT WARM\r\n", b"DRIVE LEFT FAILED\r\n"


def running(*steps: object, described=MACHINE) -> Driver:
    driver = Driver(one_round(*steps or (pause("look", 600 * S),), described=described))
    driver.open_line()
    return driver


def raised(driver: Driver) -> list[int]:
    return [entry.seq for entry in driver.entries if isinstance(entry.fact, kinds.TroubleRaised)]


def asks(driver: Driver, request: str, about: int, **more: object) -> None:
    made = kinds.RequestMade(request=request, by="a docent", about=about)  # type: ignore[arg-type]
    driver.note(msgspec.structs.replace(made, **more))


def refused(driver: Driver) -> list[str]:
    return [fact.why for fact in driver.facts(kinds.RequestRefused)]


def test_a_person_has_seen_it_sets_it_aside_and_says_that_it_is_over():
    driver = running()
    driver.prints(WARM)
    (about,) = raised(driver)
    asks(driver, "seen", about)
    asks(driver, "set aside", about, why="known", minutes=20)
    asks(driver, "over", about, why="it has cooled")
    assert driver.facts(kinds.TroubleSeen) == [kinds.TroubleSeen(raised=about, by="a docent")]
    (aside,) = driver.facts(kinds.TroubleSetAside)
    assert (aside.why, aside.until_us) == ("known", driver.now_us + 20 * MIN_US)
    assert driver.facts(kinds.TroubleOver) == [
        kinds.TroubleOver(raised=about, by="a docent", how="it has cooled")
    ]
    asks(driver, "seen", about)
    assert refused(driver) == ["no trouble of this number is open"]


@pytest.mark.parametrize(("why", "minutes"), [("", 20), ("  ", 20), ("known", 0), ("known", 121)])
def test_it_is_set_aside_only_with_a_reason_and_an_end(why, minutes):
    driver = running()
    driver.prints(WARM)
    asks(driver, "set aside", raised(driver)[0], why=why, minutes=minutes)
    assert driver.facts(kinds.TroubleSetAside) == []
    assert len(refused(driver)) == 1


def test_repeats_within_a_minute_are_counted_and_name_the_first():
    driver = running()
    for _ in range(3):
        driver.prints(WARM)
        driver.wait(30 * S)
    first = raised(driver)[0]
    assert [(fact.repeats, fact.times) for fact in driver.facts(kinds.TroubleRaised)] == [
        (0, 1),
        (first, 2),
        (first, 3),
    ]


def test_after_a_minute_or_once_it_is_over_it_is_a_new_one():
    driver = running()
    driver.prints(WARM)
    asks(driver, "over", raised(driver)[0])
    driver.prints(WARM)
    driver.wait(REPEATED_WITHIN_US + S)
    driver.prints(WARM)
    assert [fact.repeats for fact in driver.facts(kinds.TroubleRaised)] == [0, 0, 0]


def test_it_is_over_when_the_script_goes_on():
    driver = running(wait("end", "ended"))
    driver.prints(WARM)
    assert driver.facts(kinds.TroubleOver) == []
    driver.prints(b"JOB 3 ENDED\r\n")
    (over,) = driver.facts(kinds.TroubleOver)
    assert (over.by, over.how) == ("the machine", "a script has gone on since")


def test_one_that_ended_the_script_is_not_over_by_its_tidy_up_but_by_a_later_script():
    steps = (wait("end", "ended"),)
    both = folder(script("a", *steps, tidy_up=(wait("let-go", "let-go"),)), script("round", *steps))
    driver = Driver(decider_for(both, opened(), Wanted(before=("a",), rounds=1, after=()), {}))
    driver.open_line()
    driver.prints(FAILED)
    driver.prints(b"LET GO OF JOB 3\r\n")
    assert driver.facts(kinds.TroubleOver) == []
    driver.asks("clear")
    driver.prints(b"JOB 3 ENDED\r\n")
    assert len(driver.facts(kinds.TroubleOver)) == 1


def test_a_line_that_the_folder_names_ends_it_and_then_nothing_else_does():
    troubles = tuple(msgspec.structs.replace(one, over_when=("stopped",)) for one in MACHINE.troubles)
    driver = running(wait("end", "ended"), described=msgspec.structs.replace(MACHINE, troubles=troubles))
    driver.prints(WARM)
    driver.prints(b"JOB 3 ENDED\r\n")
    assert driver.facts(kinds.TroubleOver) == []
    driver.prints(b"JOB 3 STOPPED\r\n")
    (over,) = driver.facts(kinds.TroubleOver)
    assert over.how == "the machine shows JOB 3 STOPPED"


@pytest.mark.parametrize("name", ["nothing-starts", "small-not-ready"])
def test_a_start_that_the_whimbrel_refused_is_over_once_its_starter_asks(name):
    troubles = Troubles(made_facts.WHIMBREL.machine)
    raised = kinds.TroubleRaised(trouble=name, line="", words={}, do={})
    troubles.note(kinds.Entry(1, 0, raised))
    ready = kinds.PatternSeen(pattern="small-ready", line="SMALL READY")
    assert troubles.note(kinds.Entry(2, 0, ready)) == []
    asks_day = kinds.LandmarkReached(landmark="day-and-year", line="DAY OF YEAR AND YEAR?")
    (told,) = troubles.note(kinds.Entry(3, 0, asks_day))
    assert told.fact == kinds.TroubleOver(
        raised=1, by="the machine", how="the machine shows DAY OF YEAR AND YEAR?"
    )


def test_a_machine_that_is_only_watched_has_troubles_too():
    driver = Driver(decider_for(folder(script("round", pause("look"))), opened(), None))
    driver.open_line()
    driver.prints(WARM)
    asks(driver, "seen", raised(driver)[0])
    assert len(driver.facts(kinds.TroubleSeen)) == 1


# -- over midnight, and over a restart


def next_day(driver: Driver) -> Driver:
    """The recording that follows, in which the line is opened again."""
    began = msgspec.structs.replace(opened(), use_before=driver.decider.use_before(driver.now_us))
    following = Driver(decider_for(folder(), began, Wanted(rounds=0)))
    following.note(began)
    return following


def test_what_was_not_over_is_raised_anew_in_the_next_recording_with_its_first_time():
    driver = running()
    driver.prints(WARM)
    following = next_day(next_day(driver))
    (again,) = following.facts(kinds.TroubleRaised)
    assert (again.trouble, again.line, again.repeats) == ("warm", "DRIVE LEFT WARM", 0)
    assert again.since == driver.decider.use_before(driver.now_us).troubles[0].since != ""
    assert again.do == driver.facts(kinds.TroubleRaised)[0].do
    asks(following, "over", raised(following)[0], why="it has cooled")
    assert next_day(following).facts(kinds.TroubleRaised) == []


def test_what_somebody_has_seen_was_seen_in_the_next_recording_too():
    driver = running()
    driver.prints(WARM)
    asks(driver, "seen", raised(driver)[0])
    following = next_day(driver)
    assert following.facts(kinds.TroubleSeen) == [
        kinds.TroubleSeen(raised=raised(following)[0], by="a docent")
    ]


def test_what_came_again_after_it_was_seen_has_not_been_seen():
    driver = running()
    driver.prints(WARM)
    asks(driver, "seen", raised(driver)[0])
    driver.wait(90 * S)
    driver.prints(WARM)
    assert next_day(driver).facts(kinds.TroubleSeen) == []


def test_however_often_it_came_it_is_kept_once():
    driver = running()
    for _ in range(6):
        driver.prints(WARM)
        driver.wait(61 * S)
    assert len(driver.decider.use_before(driver.now_us).troubles) == 1


def test_it_does_not_stop_the_scripts_of_the_next_day():
    driver = running()
    driver.prints(FAILED)
    following = next_day(driver)
    assert len(following.facts(kinds.TroubleRaised)) == 1
    assert following.facts(kinds.StepFailed) == []
