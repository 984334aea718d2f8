"""A whole day that a docent runs with nothing but the page's words and the machine's front.

The simulator's own log, the recording and the summary are held against each other at its end.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from exhibit.simulator import truth
from tests.pages.conftest import Log
from tests.pages.docents_day import DocentsDay
from tests.sampling import WHOLE

pytestmark = [pytest.mark.waits, pytest.mark.trial(name="docents-day"), pytest.mark.timeout(900)]
MIN_US = 60_000_000
EXERCISER_US = 4 * MIN_US
"""As round.toml has it: BEGIN SHUTTLE LOWER 4 MINUTES."""
ASKS = {
    "Start the day": "open", "Done": "confirm", "Not yet": "not yet", "It didn’t work": "didn't",
    "I have seen it": "seen", "It is over": "over", "We go to lunch; somebody stays": "away",
    "We are back": "back", "The rounds can go on": "back", "Round now": "round now", "More time": "wait on",
    "Quiet for 10 minutes, for a talk": "quiet", "Go on with the rounds": "back", "Stop typing": "stop",
    "It can’t be done": "refuse", "I have looked: go on": "clear", "Close for today": "close",
    "Keep the note": "note", "Leave it out": "leave out", "Close by hand": "close",
    "Start the day again": "open", "The machine was looked at": "clear",
    "Take the keyboard": "take keyboard", "Give the keyboard back": "give back",
}  # fmt: skip
"""What each button asks the bridge for."""


@pytest.fixture
def day(tmp_path: Path, page: Page, log: Log) -> Iterator[DocentsDay]:
    running = DocentsDay(tmp_path, page)
    yield running
    running.ends()


def test_a_day_from_opening_to_closing_by_the_page_alone(day: DocentsDay, log: Log) -> None:
    day.signs_in()
    opens(day)
    if WHOLE:
        rounds_and_rests(day)
    stops(day)
    notes(day)
    if WHOLE:
        an_engineer_types(day)
        the_bridge_is_killed(day)
        the_power_fails(day)
    closes(day)
    held_against_the_log(day)
    assert day.page.evaluate("globalThis.oddities") == []
    # The browser itself complains of the answer to what was being asked when somebody signed out.
    assert [one for one in log.complaints if "401 (UNAUTHORIZED)" not in one] == []


@pytest.mark.skipif(not WHOLE, reason="it waits for a whole opening, twice")
def test_after_a_power_failure_the_page_leads_back_through_the_opening(day: DocentsDay, log: Log) -> None:
    day.signs_in()
    day.presses("Start the day")
    day.does_until(lambda: day.says("The rounds run by themselves."))
    begun = len(day.facts(kinds.ExerciserBegun))
    day.until(lambda: len(day.facts(kinds.ExerciserBegun)) > begun)
    day.at_front("fault power")
    day.until(lambda: day.says("The machine is silent.") or day.says("Somebody has to look"))
    day.until(lambda: day.says("Somebody has to look at the machine."))
    day.at_front("fault power back")
    day.at_front("key off")
    day.presses("The power was off: begin the opening")
    typed = len(day.facts(kinds.BytesTyped))
    day.presses("The keyholder agrees: begin the opening")
    day.until(lambda: day.says("Turn the key on the processor to ON."))
    # Homing only: the cancel key, because part of a command may have been typed when the power went.
    assert {one.bytes for one in day.facts(kinds.BytesTyped)[typed:]} <= {"\x18", "\r"}
    day.does_until(lambda: day.says("The rounds run by themselves."))
    assert log.complaints == []


def opens(day: DocentsDay) -> None:
    """The opening, with a step that isn't done yet, one that didn't work, and one that came too early."""
    day.until(lambda: day.says("The machine hasn’t been started today."))
    day.presses("Start the day")
    day.asked("Turn the key on the processor to ON.")
    day.presses("Not yet")
    day.until(lambda: day.says("You have the time again."))
    day.presses("It didn’t work")
    day.until(lambda: day.says("Look whether the key points at ON."))
    day.does_until(lambda: day.says("Set the 24 switches"))
    day.until(lambda: "small ready" in day.at_front("lamps"))
    day.at_front("stop small")
    day.does()
    day.until(lambda: day.says("START was pressed before the small disc was up to speed."))
    day.presses("I have seen it")
    day.until(lambda: day.says("The machine showed that it has to be done again."))
    day.at_front("start small")
    day.until(lambda: "small ready" in day.at_front("lamps"))
    day.at_front("press start")
    day.until(lambda: any(one.by == "the machine" for one in day.facts(kinds.TroubleOver)))
    day.is_done()
    if WHOLE:
        day.does_until(lambda: day.says("Lock the panel"))
        day.page.locator("#block button", has_text="It can’t be done").click()
        day.page.fill("#why", "The key is stiff")
        day.presses("It can’t be done")
        day.until(lambda: day.says("a person said that it can't be done: The key is stiff."))
        day.presses("I have looked: go on")
    day.does_until(lambda: day.says("The rounds run by themselves."))


def rounds_and_rests(day: DocentsDay) -> None:
    """A round; quiet while it runs, and lunch; and back."""
    day.until(lambda: day.says("round 1."))
    assert "Round now" not in day.block()["answers"]
    day.presses("Quiet for 10 minutes, for a talk")
    day.until(lambda: day.says("Quiet after this round, until "))
    day.presses("We go to lunch; somebody stays")
    day.until(lambda: rounds_done(day) == 1)
    day.until(lambda: day.says("No round begins until you are back.") and not day.says("Now: "))
    assert day.page.inner_text("#done-list").split("\n")[:2] == ["Rounds finished", "1"]
    day.presses("We are back")
    day.until(lambda: day.says("round 2."))


def stops(day: DocentsDay) -> None:
    """Stop, while exercisers run: what is left to be tidied up is shown."""
    day.until(lambda: len(day.facts(kinds.ExerciserBegun)) == 2 * (rounds_done(day) + 1))
    day.page.click("#stop")
    day.pressed.append(("Stop typing", day.by))
    day.until(
        lambda: re.search(r"At most \d+ steps are left\. That takes at most \d+ ", day.block()["detail"])
    )
    day.until(lambda: day.says("Somebody has said stop. Nothing is typed now."))
    assert day.page.inner_text("#stop-said") == ""


def notes(day: DocentsDay) -> None:
    """A note for the engineer."""
    day.page.fill("#note-text", "The lower drive sings.")
    day.presses("Keep the note", within="#note")
    day.until(lambda: day.page.inner_text("#note-said") == "Kept.")


def an_engineer_types(day: DocentsDay) -> None:
    """An engineer has the keyboard for a while, and the page says so."""
    day.engineer_signs_in()
    day.presses("Take the keyboard", within="#keyboard")
    day.until(lambda: day.says("Engineer 1 has the keyboard."))
    day.presses("Give the keyboard back")
    day.until(lambda: day.says("Somebody has said stop."))
    day.docent_signs_in()


def the_bridge_is_killed(day: DocentsDay) -> None:
    """A bridge that is killed in mid-round is said to be gone, and the day goes on by itself."""
    day.presses("Go on with the rounds")
    begun = len(day.facts(kinds.ExerciserBegun))
    day.until(lambda: len(day.facts(kinds.ExerciserBegun)) > begun)
    day.kill_bridge()
    day.until(lambda: day.says("The program that talks to the machine has stopped."))
    seen: set[str] = set()

    def goes_on() -> bool:
        seen.add(day.block()["says"])
        return day.says("round 4.")

    day.until(goes_on)
    assert "The machine hasn’t been started today." not in seen


def the_power_fails(day: DocentsDay) -> None:
    """The machine loses its power and has it back: it is opened once more, from cold."""
    begun = len(day.facts(kinds.ExerciserBegun))
    day.until(lambda: len(day.facts(kinds.ExerciserBegun)) > begun)
    day.at_front("fault power")
    day.until(lambda: day.says("Somebody has to look at the machine."))
    assert day.page.inner_text("#next-list") == "Nothing, until somebody has looked at the machine"
    day.at_front("fault power back")
    day.is_sure("Close for today")
    day.until(lambda: day.says("Close by hand"))
    day.is_sure("Close by hand")
    day.until(lambda: day.says("not all of the closing was done"))
    assert "Still to do by hand" in day.page.inner_text("#detail")
    assert not day.says("Somebody has to look at the machine.")
    day.at_front("key off")
    day.presses("The machine was looked at")
    day.is_sure("Start the day again")
    day.does_until(lambda: day.says("The rounds run by themselves."))


def closes(day: DocentsDay) -> None:
    """The closing, asked about once more, and done by hand."""
    day.is_sure("Close for today")
    if WHOLE:
        day.until(lambda: day.says("Nobody has said that it is done, and its time is up."))
        day.presses("More time")
    day.does_until(lambda: day.says("The day is over."))


def rounds_done(day: DocentsDay) -> int:
    """What only tidies up after a bridge that was killed in a round is no round: it has no number."""
    done = number = 0
    for one in day.facts(kinds.Fact):
        if isinstance(one, kinds.ScriptStarted):
            number = one.round
        elif isinstance(one, kinds.ScriptEnded):
            done += number > 0 and one.outcome == "done"
    return done


def held_against_the_log(day: DocentsDay) -> None:
    log = day.log()
    drives = {one.drive: one.state for one in log if isinstance(one, truth.DriveChanged)}
    assert set(drives.values()) == {"standing"}
    assert len(drives) == 3
    power = [one.on for one in log if isinstance(one, truth.PowerChanged)]
    assert power[-1] is False

    begun = {one.number: one for one in log if isinstance(one, truth.JobBegun)}
    over = {one.number: one.at_us for one in log if isinstance(one, truth.JobOver)}
    assert set(begun) == set(over)
    exercisers = [one for one in begun.values() if one.name in ("SHUTTLE", "SUMS")]
    assert all(over[one.number] - one.at_us <= EXERCISER_US for one in exercisers)

    asked = [one for one in day.facts(kinds.RequestMade) if one.request != "here"]
    assert [(one.request, one.by) for one in asked] == [(ASKS[label], by) for label, by in day.pressed]

    told = day.summary()
    rounds = sum(one.round > 0 for one in day.facts(kinds.ScriptStarted))
    assert rounds >= sum(
        one.name == "SHUTTLE" for one in exercisers
    )  # one can end before its first exerciser
    assert f"Rounds done {rounds_done(day)} of {rounds} begun" in told
    assert f"Steps by hand {sum(label == 'Done' for label, _ in day.pressed)} " in told
    assert "Troubles 1 " in told
    assert "Notes 1 " in told
