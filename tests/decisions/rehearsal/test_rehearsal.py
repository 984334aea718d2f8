"""Rehearsals of the Heron: an unchanged folder decides as it did, whatever came; a changed one is found."""

from __future__ import annotations

import random

import msgspec
import pytest

from exhibit.decisions.machine.script import Folder, WhenLate
from exhibit.decisions.rehearsal.recorded_run import runs_of
from exhibit.decisions.rehearsal.rehearsal import Rehearsal, RunRehearsed
from exhibit.decisions.rehearsal.step_results import RunSummary
from exhibit.decisions.session.programme import Wanted
from exhibit.facts import kinds
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.far_end import FarHeron, LocalEcho
from tests.decisions.heron import (
    ECHO_US,
    SECRET,
    TYPING,
    S,
    command,
    folder,
    hands_on,
    machine,
    opened,
    pause,
    press,
    script,
)
from tests.decisions.test_decider import CAPTIONS, FOLDER, OPENING, ROUND, WANTED, decider, disturbed, run
from tests.sampling import sample


def rehearsed(described: Folder, entries: list[kinds.Entry]) -> list[RunRehearsed]:
    """Each run of a recording's scripts, and what came before the first."""
    opened = entries[0].fact
    assert isinstance(opened, kinds.RecordingOpened)
    rehearsal = Rehearsal(described, opened)
    return [rehearsal.take(recorded) for recorded in runs_of(iter(entries))]


def differences(runs: list[RunRehearsed]) -> list[object]:
    """Whatever isn't as it was."""
    found: list[object] = []
    for each in runs:
        then, now = ([(s.name, s.tidying, s.outcome) for s in told.steps] for told in (each.then, each.now))
        found += [(one, other) for one, other in zip(then, now, strict=False) if one != other]
        found += [len(then), len(now)] if len(then) != len(now) else []
        found += [each.then.outcome, each.now.outcome] if each.then.outcome != each.now.outcome else []
        found += each.seen + list(each.notes.items())
    return found


def changed(*steps, tidy_up=ROUND.tidy_up) -> Folder:
    """The folder with other steps in its round."""
    return folder(script("round", *steps, tidy_up=tidy_up), OPENING, captions=CAPTIONS)


def the_round(runs: list[RunRehearsed]) -> RunRehearsed:
    return next(each for each in runs if each.started is not None and each.started.script == "round")


@pytest.fixture(scope="module")
def entries():
    """Two rounds in good order."""
    return run(FarHeron()).entries


def test_an_unchanged_folder_decides_as_it_did(entries):
    runs = rehearsed(FOLDER, entries)
    assert differences(runs) == []
    assert [each.started.script for each in runs if each.started] == ["opening", "round", "round"]
    assert len(the_round(runs).now.steps) == len(ROUND.steps) + len(ROUND.tidy_up)


@pytest.mark.parametrize("seed", range(150))
def test_an_unchanged_folder_decides_as_it_did_however_the_day_was_disturbed(seed):
    assert differences(rehearsed(FOLDER, disturbed(seed).entries)) == []


def test_the_disturbed_days_of_these_tests_are_disturbed():
    days = [disturbed(seed).entries for seed in range(60)]
    kinds_of_facts = {type(entry.fact) for day in days for entry in day}
    assert kinds_of_facts >= {
        *(kinds.TypingGarbled, kinds.TypingFailed, kinds.StepOverdue, kinds.SessionFailed, kinds.LineLost),
        *(kinds.SecretWithheld, kinds.RecordNearlyFull, kinds.ClockStepped, kinds.InterruptionSeen),
    }
    outcomes = {each.then.outcome for day in days for each in rehearsed(FOLDER, day)}
    assert {"done", "failed", ""} <= outcomes


class LateDriver(Driver):
    """A computer that is busy elsewhere: each deadline passes late."""

    late = random.Random(7)

    def passes(self, name: str) -> None:
        self.now_us = max(self.now_us, self.deadlines.pop(name)) + self.late.randrange(300_000)
        self.note(kinds.DeadlinePassed(name=name))


@pytest.mark.parametrize("echo_us", range(0, S, S // 10))
def test_an_unchanged_folder_decides_as_it_did_on_a_busy_computer(echo_us):
    heron = FarHeron()
    heron.echo_us = echo_us
    driver = LateDriver(decider(), heron)
    driver.open_line()
    driver.asks("confirm", "key")
    driver.run()
    assert driver.over == "done"
    assert differences(rehearsed(FOLDER, driver.entries)) == []


class StalledDriver(Driver):
    """A computer that stalls once when a deadline is due: what arrives within `stall_us` comes before it."""

    def __init__(self, heron: FarHeron, rate: float) -> None:
        begun = opened(rate=rate)
        super().__init__(decider_for(FOLDER, begun, WANTED, {"word": SECRET}), heron, opened_as=begun)
        self._heron = heron
        self._stall_us = round(1.5 * rate * S)

    def passes(self, name: str) -> None:
        prints_us = self._heron.next_us()
        if prints_us is None or prints_us > self.deadlines[name] + self._stall_us:
            super().passes(name)
            return
        self._stall_us = self._heron.echo_us = 0
        self.now_us = max(self.now_us, prints_us)
        self.prints(self._heron.take())


@pytest.mark.parametrize("rate", [1.0, 20.0])
def test_what_arrived_while_the_computer_stalled_decides_as_it_did_at_any_rate(rate):
    heron = FarHeron()
    heron.echo_us = ECHO_US + round(rate * S)
    driver = StalledDriver(heron, rate)
    driver.open_line()
    driver.asks("confirm", "key")
    driver.run()
    assert driver.over == "done"
    assert driver.facts(kinds.TypingGarbled) == []
    assert differences(rehearsed(FOLDER, driver.entries)) == []


@pytest.mark.parametrize("after_steps", [2, 3, 6, 8])
def test_a_round_that_a_person_stopped_is_rehearsed_as_it_was(after_steps):
    driver = Driver(decider(), FarHeron())
    driver.open_line()
    driver.asks("confirm", "key")
    driver.run(until=lambda: len(driver.facts(kinds.StepEnded)) >= after_steps)
    driver.asks("stop")
    driver.run()
    runs = rehearsed(FOLDER, driver.entries)
    assert the_round(runs).then.outcome == "stopped"
    assert differences(runs) == []


@pytest.mark.parametrize("removed", range(len(ROUND.steps)))
def test_each_step_that_is_taken_out_is_found(entries, removed):
    steps = ROUND.steps[:removed] + ROUND.steps[removed + 1 :]
    told = the_round(rehearsed(changed(*steps), entries))
    then, now = ({step.name for step in told.steps} for told in (told.then, told.now))
    assert ROUND.steps[removed].name in then - now


def test_what_never_was_typed_is_noted_and_the_rest_is_rehearsed(entries):
    other = command("begin", "begin shuttles", "begun")
    told = the_round(rehearsed(changed(other, *ROUND.steps[1:]), entries))
    assert any("not typed there then" in note for note in told.notes["begin", False])
    assert list(told.notes) == [("begin", False)]
    assert [step.came for step in told.now.steps] == [step.came for step in told.then.steps]


def test_a_number_that_the_machine_gave_is_known_where_the_answer_was_found_again(entries):
    other = command("begin", "begin shuttles", "begun")
    told = the_round(rehearsed(changed(other, *ROUND.steps[1:]), entries))
    typed = [step.typed for step in told.now.steps if step.name == "end-shuttle"]
    assert typed == ["end 1\r"]


def test_a_step_put_in_at_the_same_prompt_leaves_the_recording_where_it_was(entries):
    told = the_round(rehearsed(changed(command("peek", "look", "ready"), *ROUND.steps), entries))
    assert told.notes["peek", False][-1] == "assumed to be back at ready"
    assert list(told.notes) == [("peek", False)]
    assert told.stopped == ""


def test_a_step_put_in_that_types_the_same_as_the_next_is_told_apart_from_it(entries):
    told = the_round(rehearsed(changed(command("first", "begin shuttle", "begun"), *ROUND.steps), entries))
    assert any("not typed there then" in note for note in told.notes["first", False])
    assert told.now.steps[0].name == "first"


def test_a_key_that_never_was_pressed_is_noted(entries):
    told = the_round(rehearsed(changed(press("nudge", "space", "ready", at="ready"), *ROUND.steps), entries))
    assert any("not typed there then" in note for note in told.notes["nudge", False])


def test_where_what_is_waited_for_never_comes_the_rehearsal_of_the_run_ends(entries):
    other = command("begin", "begin shuttles", "let-go")
    runs = rehearsed(changed(other, *ROUND.steps[1:], tidy_up=()), entries)
    told = the_round(runs)
    assert "doesn't come to let-go" in told.stopped
    assert [step.name for step in told.now.steps] == ["begin"]
    assert len([each for each in runs if each.started is not None]) == 3


def test_a_hands_on_step_put_in_is_taken_as_done(entries):
    told = the_round(rehearsed(changed(hands_on("look-at-it"), *ROUND.steps), entries))
    assert told.notes == {("look-at-it", False): ["nobody was asked for it then: assumed to be done"]}
    assert told.now.outcome == "done"


@pytest.mark.parametrize(("within_s", "outcome"), [(61, "done"), (59, "failed")])
def test_a_person_s_time_to_answer_is_held_against_the_limit_as_it_is_now(within_s, outcome):
    driver = Driver(decider(), FarHeron())
    driver.open_line()
    driver.wait(60 * S)
    driver.asks("confirm", "key")
    driver.run()
    key = msgspec.structs.replace(OPENING.steps[0], within_us=within_s * S)
    runs = rehearsed(folder(ROUND, script("opening", key), captions=CAPTIONS), driver.entries)
    assert [each.now.outcome for each in runs if each.started] == [outcome, "done", "done"]
    assert [each.notes for each in runs] == [{}] * 4


LATE_KEY = msgspec.structs.replace(OPENING.steps[0], within_us=59 * S, late=WhenLate("ask"))


def late_day(said: str, within_s: int = 59) -> tuple[Folder, list[kinds.Entry]]:
    """A day on which a person was asked what to do about the late opening, and what they said."""
    key = msgspec.structs.replace(LATE_KEY, within_us=within_s * S)
    described = folder(ROUND, script("opening", key, pause("then")), captions=CAPTIONS)
    driver = Driver(decider(described), FarHeron())
    driver.open_line()
    driver.run(lambda: bool(driver.facts(kinds.StepOverdue)), within_us=60 * S)
    driver.wait(5 * S)
    driver.asks(said, "key")
    if said == "wait on":
        driver.wait(5 * S)
        driver.asks("confirm", "key")
    driver.run()
    return described, driver.entries


@pytest.mark.parametrize("said", ["wait on", "leave out"])
def test_what_a_person_said_of_a_late_step_is_said_again(said):
    described, entries = late_day(said)
    runs = rehearsed(described, entries)
    opening = next(each for each in runs if each.started is not None)
    assert opening.now.steps[0].late == ["ask"]
    assert opening.now.steps[0].came == ("done" if said == "wait on" else "left out")
    assert differences(runs) == []


def test_what_a_person_said_of_a_late_step_counts_for_nothing_where_it_isnt_late_any_more():
    _, entries = late_day("wait on")
    key = msgspec.structs.replace(LATE_KEY, within_us=600 * S)
    described = folder(ROUND, script("opening", key, pause("then")), captions=CAPTIONS)
    opening = next(each for each in rehearsed(described, entries) if each.started is not None)
    assert (opening.now.steps[0].came, opening.now.steps[0].late) == ("done", [])
    assert opening.then.steps[0].late == ["ask"]


def test_where_a_person_would_be_asked_now_what_becomes_of_a_step_it_cant_be_known(entries):
    asks = command("never", "LIST", "begun", within_us=5 * S, late=WhenLate("ask"))
    told = the_round(rehearsed(changed(ROUND.steps[0], asks, *ROUND.steps[1:]), entries))
    assert told.stopped
    late = [msgspec.structs.replace(step, within_us=1, late=WhenLate("ask")) for step in ROUND.steps[:1]]
    told = the_round(rehearsed(changed(*late, *ROUND.steps[1:]), entries))
    assert told.stopped == "a person is now asked what to do about the late step, and nobody was then"


@pytest.mark.parametrize("pause_us", [1, 1_000_000, 30_000_000])
def test_another_pause_is_no_difference(entries, pause_us):
    steps = [pause("look", pause_us) if step.name == "look" else step for step in ROUND.steps]
    told = the_round(rehearsed(changed(*steps), entries))
    assert told.notes == {}
    assert [step.outcome for step in told.now.steps] == [step.outcome for step in told.then.steps]


@pytest.mark.trial(name="cut-recordings")
def test_a_recording_cut_anywhere_is_rehearsed_as_far_as_it_goes(entries):
    for end in sample(range(2, len(entries)), 40):
        runs = rehearsed(FOLDER, entries[:end])
        assert differences([each for each in runs if each.started is not None]) == [], end


def test_what_is_changed_at_random_is_never_taken_for_unchanged(entries):
    dice = random.Random(3)
    for _ in range(40):
        steps = list(ROUND.steps)
        one, other = dice.sample(range(len(steps)), 2)
        steps[one], steps[other] = steps[other], steps[one]
        assert differences(rehearsed(changed(*steps), entries)) != []


def test_a_key_typed_behind_a_failed_script_is_no_part_of_its_last_step() -> None:
    told = RunSummary()
    told.take(kinds.StepStarted(script="opening", step="turn-key", tidying=False), 1)
    told.take(kinds.StepFailed(script="opening", step="turn-key", why="no key"), 2)
    told.take(kinds.ScriptEnded(script="opening", outcome="failed", tidy=True, why="no key"), 3)
    told.take(kinds.BytesTyped(bytes="\r", count=1, by="the way home", secret=False), 4)
    assert told.steps[0].typed == ""


def test_a_round_that_a_local_echo_ended_is_rehearsed_as_it_was():
    adapter = LocalEcho(FarHeron())
    adapter.echoes = False
    driver = Driver(decider(), adapter)
    driver.open_line(keeps_time=True)
    driver.asks("confirm", "key")
    driver.run(until=lambda: len(driver.facts(kinds.StepEnded)) >= 4)
    adapter.echoes, adapter.machine.echoes = True, False
    driver.run()
    assert driver.facts(kinds.LocalEchoFound)
    runs = rehearsed(FOLDER, driver.entries)
    assert the_round(runs).then.outcome == "failed"
    assert differences(runs) == []


def test_what_was_typed_at_a_landmark_without_an_echo_is_rehearsed_without_one():
    loader = msgspec.structs.replace(TYPING, echo="none", pause_after_us=1000, cancel=b"\x7f")
    there = machine(landmarks={"loader": ("ready",), "system": ("desk",)}, typing_at={"loader": loader})
    described = folder(script("round", command("begin", "begin mill", "begun")), machine=there)
    far = FarHeron()
    far.echoes = False
    driver = Driver(decider_for(described, opened(), Wanted(before=(), rounds=1, after=())), far)
    driver.open_line()
    driver.run()
    assert far.executed == ["BEGIN MILL"]
    assert differences(rehearsed(described, driver.entries)) == []
    other = folder(script("round", command("begin", "begin wheel", "begun")), machine=there)
    assert differences(rehearsed(other, driver.entries)) != []
