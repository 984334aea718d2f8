"""After a lost line or a late answer the rounds go on by themselves, if all was tidied up, so often a day."""

from __future__ import annotations

import msgspec
import pytest

from exhibit.decisions.machine.script import Folder
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from exhibit.facts.use_before import DayUse, UseBefore
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron
from tests.decisions.heron import (
    CANCEL,
    ECHO_US,
    RETURN,
    SECRET,
    S,
    command,
    opened,
    pause,
    press,
    script,
    secret,
)
from tests.decisions.session.test_homing import ROUND, described

TWO = Wanted(before=(), rounds=2, after=())


def goes_on(times: int = 3, round_=ROUND) -> Folder:
    where = described()
    return msgspec.structs.replace(
        where, scripts={**where.scripts, "round": round_}, goes_on_after_loss=times, rest_us=2 * S
    )


def begun(where: Folder, far_end: FarHeron | None = None, *, had: int = 0, wanted: Wanted = TWO) -> Driver:
    """The line is open; the rounds have already gone on `had` times today."""
    used = UseBefore(at="2026-11-25T08:59:00+00:00", days={"2026-11-25": DayUse(went_on=had)})
    first = opened(where.machine, use_before=used)
    driver = Driver(
        decider_for(where, first, wanted, {"word": SECRET}), far_end or FarHeron(), opened_as=first
    )
    driver.open_line()
    return driver


def at_step(driver: Driver, name: str) -> None:
    driver.run(lambda: any(fact.step == name for fact in driver.facts(kinds.StepStarted)))


def lose_and_find(driver: Driver) -> None:
    driver.lose_line()
    driver.open_line()


def went_on(driver: Driver) -> list[tuple[str, int, int]]:
    return [(fact.after, fact.times, fact.most) for fact in driver.facts(kinds.RoundsWentOn)]


def test_a_round_that_lost_its_line_is_tidied_up_and_the_next_one_begins():
    driver = begun(goes_on())
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1", "BEGIN SHUTTLE", "END 2"]
    assert went_on(driver) == [("line lost", 1, 3)]
    assert driver.facts(kinds.SessionFailed) == []
    assert driver.over == "done"


def test_home_is_found_again_after_the_tidy_up_and_the_rest_is_kept():
    driver = begun(goes_on())
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    ended, second = (
        next(e.at_us for e in driver.entries if isinstance(e.fact, kinds.ScriptEnded)),
        [e.at_us for e in driver.entries if isinstance(e.fact, kinds.ScriptStarted)][1],
    )
    assert second - ended >= S
    found = [e.fact for e in driver.entries if isinstance(e.fact, kinds.PlaceRecognised | kinds.RoundsWentOn)]
    assert isinstance(found[-1], kinds.PlaceRecognised)


def test_a_folder_that_says_nothing_of_it_waits_for_a_person_as_before():
    driver = begun(goes_on(0))
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    assert driver.over == "failed"
    assert driver.facts(kinds.SessionFailed)[0].why == "the line was lost"


def test_after_so_many_times_a_day_a_person_must_look_and_a_restart_resets_nothing():
    driver = begun(goes_on(3), had=3)
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    assert went_on(driver) == []
    assert driver.over == "failed"
    assert "gone on by themselves 3 times today" in driver.facts(kinds.SessionFailed)[0].why
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1"]


def test_the_count_goes_into_the_next_recording():
    driver = begun(goes_on(3), had=1)
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    assert went_on(driver) == [("line lost", 2, 3)]
    assert driver.decider.use_before(driver.now_us).days["2026-11-25"].went_on == 2


def test_where_a_job_may_still_run_a_person_must_look():
    driver = begun(goes_on())
    at_step(driver, "begin")
    driver.run(lambda: driver.typed.endswith(RETURN + b"begin shuttle" + RETURN))
    lose_and_find(driver)
    driver.run()
    assert "may have taken its command" in driver.facts(kinds.SessionFailed)[0].why
    assert went_on(driver) == []


def test_a_line_lost_while_the_round_is_tidied_up_after_a_loss_is_no_other_failure():
    driver = begun(goes_on())
    at_step(driver, "look")
    lose_and_find(driver)
    at_step(driver, "end-shuttle")
    lose_and_find(driver)
    driver.run()
    assert went_on(driver) == [("line lost", 1, 3)]
    assert driver.over == "done"


@pytest.mark.parametrize("when", ["before", "while tidying"])
def test_a_person_who_says_stop_ends_it_all_whatever_was_lost(when):
    driver = begun(goes_on())
    at_step(driver, "look")
    if when == "before":
        driver.asks("stop")
    lose_and_find(driver)
    if when != "before":
        at_step(driver, "end-shuttle")
        driver.asks("stop")
    driver.run()
    assert went_on(driver) == []
    assert driver.over in ("failed", "stopped")


def test_a_full_disc_ends_it_whatever_was_lost():
    driver = begun(goes_on())
    at_step(driver, "look")
    driver.lose_line()
    driver.note(kinds.RecordNearlyFull(left_bytes=0))
    driver.open_line()
    driver.run()
    assert went_on(driver) == []
    assert driver.over == "failed"


def test_the_last_round_has_none_to_go_on_with_so_a_person_looks():
    driver = begun(goes_on(), wanted=Wanted(before=(), rounds=1, after=()))
    at_step(driver, "look")
    lose_and_find(driver)
    driver.run()
    assert driver.over == "failed"


# -- an answer that comes late


class LateHeron(FarHeron):
    """Answers the RETURN after these words late, once, and after it whatever was typed meanwhile."""

    def __init__(self, words: str, late_us: int, *, never: bool = False) -> None:
        super().__init__()
        self._words, self._late_us, self._never = words, late_us, never

    def _execute(self) -> None:
        if self._line.startswith(self._words):
            self._words = "-"
            if self._never:
                self._line = ""
                return
            self.print("", 0)
            self._free_us = self.now_us + self._late_us
        super()._execute()


LATE_US = ECHO_US + S


def test_an_answer_that_came_late_is_an_answer_and_the_rounds_go_on():
    driver = begun(goes_on(), LateHeron("BEGIN", LATE_US))
    driver.run()
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1", "BEGIN SHUTTLE", "END 2"]
    (late,) = driver.facts(kinds.AnsweredLate)
    assert (late.step, late.name, late.line) == ("begin", "begun", "JOB 1 BEGUN: SHUTTLE")
    assert went_on(driver) == [("late answer", 1, 3)]
    assert driver.over == "done"


def test_what_was_typed_and_what_becomes_of_it_is_said_exactly():
    driver = begun(goes_on(), LateHeron("BEGIN", LATE_US))
    driver.run()
    assert driver.facts(kinds.StepFailed)[0].why == (
        "the machine did not answer RETURN with a new line within 2 s: "
        '"begin shuttle" and RETURN were typed, then the cancel key, and it is not typed again'
    )


def test_a_secret_whose_answer_is_late_is_not_told():
    signs_on = script("round", command("sign", "sign", "word"), secret("word"))
    driver = begun(goes_on(round_=signs_on), LateHeron(SECRET, LATE_US))
    driver.run()
    assert [fact.step for fact in driver.facts(kinds.StepFailed)] == ["word"]
    assert "a secret and RETURN were typed" in driver.facts(kinds.StepFailed)[0].why
    assert not any(SECRET in f"{fact}" for fact in driver.facts())


def test_a_command_that_was_never_answered_is_not_typed_again_and_a_person_looks():
    driver = begun(goes_on(), LateHeron("BEGIN", 0, never=True))
    driver.run()
    assert driver.facts(kinds.AnsweredLate) == []
    assert went_on(driver) == []
    assert driver.typed.count(b"begin shuttle") == 1
    assert driver.over == "failed"


def test_a_prompt_that_the_cancel_key_brings_back_too_is_no_answer():
    driver = begun(goes_on(round_=script("round", command("ask", "hum", "ready"))), LateHeron("HUM", LATE_US))
    driver.run()
    assert driver.facts(kinds.AnsweredLate) == []
    assert driver.over == "failed"


def test_another_prompt_than_the_one_that_was_typed_at_is_an_answer():
    signs_on = script(
        "round", command("sign", "sign", "word"), tidy_up=(press("no", "enter", "ready", at="word"),)
    )
    driver = begun(goes_on(round_=signs_on), LateHeron("SIGN", LATE_US))
    driver.run()
    assert [fact.name for fact in driver.facts(kinds.AnsweredLate)] == ["word"]
    assert went_on(driver) == [("late answer", 1, 3)]


def test_a_late_answer_to_a_step_of_the_tidy_up_is_an_answer_too():
    ends = script(
        "round",
        command("begin", "begin shuttle", "begun"),
        tidy_up=(command("end", "end {begin.job}", "stopped"),),
    )
    driver = begun(goes_on(round_=ends), LateHeron("END", LATE_US))
    driver.run()
    assert [fact.step for fact in driver.facts(kinds.AnsweredLate)] == ["end"]
    assert driver.far_end.executed == ["BEGIN SHUTTLE", "END 1", "BEGIN SHUTTLE", "END 2"]
    assert [fact.outcome for fact in driver.facts(kinds.ScriptEnded)] == ["done", "done"]


def test_a_step_whose_time_was_up_and_whose_answer_came_after_that_goes_on_too():
    slow = script(
        "round",
        command("begin", "begin shuttle", "begun", within_us=3 * S),
        tidy_up=(command("end-shuttle", "end {begin.job}", "stopped"),),
    )
    driver = begun(goes_on(round_=slow), LateHeron("BEGIN", LATE_US))
    driver.run()
    assert went_on(driver)[0][0] == "late answer"
    assert driver.typed.count(b"begin shuttle") == 2


# -- a machine that has fallen silent


def two_jobs() -> Folder:
    """Nothing but the cancel key is needed to find out that nobody answers."""
    steps = (command("one", "begin shuttle", "begun"), command("two", "begin sums", "begun"), pause("look"))
    tidy = (
        command("end-one", "end {one.job}", "stopped"),
        pause("read"),
        command("end-two", "end {two.job}", "stopped"),
        *(command(f"leave-{n}", "leave", "ready") for n in range(8)),
    )
    return goes_on(round_=script("round", *steps, tidy_up=tidy))


def test_a_silent_machine_ends_the_tidy_up_at_the_first_key_without_an_answer():
    driver = begun(two_jobs())
    at_step(driver, "look")
    driver.far_end.way_in = lambda byte: b""
    driver.asks("stop")
    stopped_us = driver.now_us
    driver.run()
    assert driver.now_us - stopped_us < 40 * S
    assert driver.typed.endswith(CANCEL)
    assert driver.facts(kinds.SessionFailed)[0].why.endswith(
        "the machine is silent: nothing has come since the cancel key was typed, so these were not tried: "
        "end-two (for number 2, which may still run), " + ", ".join(f"leave-{n}" for n in range(8))
    )


def test_a_machine_that_answers_the_key_with_anything_is_not_silent():
    driver = begun(two_jobs())
    at_step(driver, "look")
    driver.far_end.way_in = lambda byte: b"\x07" if byte == CANCEL[0] else b""
    driver.asks("stop")
    stopped_us = driver.now_us
    driver.run()
    assert driver.now_us - stopped_us > 200 * S
    assert "silent" not in driver.facts(kinds.SessionFailed)[0].why
