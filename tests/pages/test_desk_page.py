"""The docent's page in a real browser: what it asks for, when, and that it can be used by anybody."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, FilePayload, Page

from exhibit.decisions.session.day_requests import AGREED
from exhibit.facts import kinds
from tests.pages import desk_states
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.desk_pictures import READY
from tests.pages.desk_states import STATES
from tests.pages.fake_desk import DOCENT, TOKEN, FakeDesk, S

WIDTHS = ((320, 640), (390, 844), (820, 1180), (1366, 768), (1920, 1080))
CAN_PRESS = "!!document.querySelector('#answers button') && !document.querySelector('#answers :disabled')"


@pytest.fixture
def tablet(browser: Browser) -> Iterator[Page]:
    """A page on a tablet, in English."""
    context = browser.new_context(viewport={"width": 820, "height": 1180}, locale="en")
    yield context.new_page()
    context.close()


def opened(page: Page, desk: FakeDesk) -> None:
    page.goto(desk.address)
    wait_until(page, READY)


def answerable(page: Page, desk: FakeDesk) -> None:
    opened(page, desk)
    wait_until(page, CAN_PRESS)


def said(page: Page, place: str) -> str:
    return page.inner_text(place)


def press(page: Page, label: str) -> None:
    page.click(f"button:has-text('{label}')")


def last(desk: FakeDesk, page: Page, request: str) -> dict[str, Any]:
    """The request, once it has come."""
    for _ in range(200):
        made = [one for one in desk.asked if one.get("request") == request]
        if made:
            return made[-1]
        page.wait_for_timeout(20)
    raise AssertionError(f"nobody asked for {request}: {desk.asked}")


def box(page: Page, place: str) -> dict[str, float]:
    found = page.locator(place).bounding_box()
    assert found is not None
    return {name: round(found[name], 1) for name in ("x", "y", "width", "height")}


# -- a step by hand


def test_a_step_says_its_number_and_its_time_and_its_caution_comes_before_the_sentence(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(tablet, desk)
        assert said(tablet, "#kind") == "Step 6 of 8, by hand"
        assert said(tablet, "#left") == "Time left: 10 minutes"
        assert said(tablet, "#caution").startswith("Take care Spinning discs.")
        assert box(tablet, "#caution")["y"] < box(tablet, "#says")["y"] < box(tablet, "#answers")["y"]


def test_nothing_can_be_answered_within_the_first_second(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(tablet, desk)
        at_ms = tablet.evaluate("performance.now()")
        early = tablet.evaluate(
            "[...document.querySelectorAll('#answers button')].map((one) => one.disabled)"
        )
        assert set(early) == {True}
        before = box(tablet, "#answers")
        wait_until(tablet, CAN_PRESS)
        assert tablet.evaluate("performance.now()") - at_ms > 500
        assert box(tablet, "#answers") == before
        press(tablet, "Done")
        asked = last(desk, tablet, "confirm")
        assert (asked["step"], asked["token"]) == ("start-lower", TOKEN)
        # The next step comes under the finger that still rests there.
        desk_states.asks(desk.tell(confirmed()), desk_states.hand_step("press-start"))
        wait_until(tablet, "document.querySelector('#kind').textContent.startsWith('Step 7')")
        assert tablet.evaluate("document.querySelector('#answers button').disabled")


def confirmed() -> kinds.HandsOnConfirmed:
    return kinds.HandsOnConfirmed(step="start-lower", by="docent 1")


@pytest.mark.parametrize(
    ("label", "request_"),
    [("Not yet", "not yet"), ("It didn’t work", "didn't"), ("I did it too early", "too early")],
)
def test_each_answer_is_one_press(tablet: Page, label: str, request_: str) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, label)
        assert last(desk, tablet, request_)["step"] == "start-lower"


def test_what_cannot_be_done_is_said_with_why(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "It can’t be done")
        wait_until(tablet, "document.querySelector('#why')")
        tablet.fill("#why", "the lamp stays dark")
        wait_until(tablet, CAN_PRESS)
        press(tablet, "It can’t be done")
        asked = last(desk, tablet, "refuse")
        assert (asked["step"], asked["why"]) == ("start-lower", "the lamp stays dark")


def test_a_step_that_was_confirmed_before_it_was_done_can_be_done_after_all(tablet: Page) -> None:
    with STATES["hands-on-after"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "The step before isn’t done")
        wait_until(tablet, "document.querySelector('#kind').textContent === 'The step before'")
        assert said(tablet, "#says").startswith("Load the pack SALLOW 2 into the LOWER drive")
        assert "Load a pack only when the drive has stopped." in said(tablet, "#caution")
        assert "Spinning discs." in said(tablet, "#caution")
        assert "Do it now." in said(tablet, "#detail")
        assert "And before it: Start the UPPER drive." in said(tablet, "#detail")
        wait_until(tablet, CAN_PRESS)
        press(tablet, "It is done now: go on")
        asked = last(desk, tablet, "not yet")
        assert asked["step"] == "start-lower"
        assert asked["why"].endswith("before it was done, one of: pack-in-lower, start-upper")


def test_an_answer_that_is_not_accepted_says_why(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        desk.answers["confirm"] = "the machine hasn’t said that the drive runs"
        answerable(tablet, desk)
        press(tablet, "Done")
        wait_until(tablet, "document.querySelector('#answer-said').textContent")
        assert said(tablet, "#answer-said") == (
            "That isn’t possible now: the machine hasn’t said that the drive runs."
        )
        assert tablet.evaluate(CAN_PRESS)


def test_what_is_done_at_the_panel_is_drawn_switch_by_switch(tablet: Page) -> None:
    with STATES["panel"]().serving() as desk:
        opened(tablet, desk)
        assert tablet.locator(".panel-acts > li").count() == 3
        rows = tablet.locator(".panel-row")
        assert rows.count() == 2
        assert rows.first.locator("circle").count() == 24
        assert rows.first.locator("circle[fill=currentColor]").count() == 3
        assert rows.first.locator("text").all_text_contents() == list("14000200")
        assert "the third switch of group 1" in (rows.first.get_attribute("aria-label") or "")
        assert rows.last.locator("circle[fill=currentColor]").count() == 3
        assert "The lamps ADDRESS must now show" in rows.last.locator("text").first.text_content()
        assert (tablet.text_content(".panel-acts") or "").count("The lamps ADDRESS must now show") == 1


def test_the_time_runs_down_without_moving_anything(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(tablet, desk)
        before = box(tablet, "#block")
        desk.at_us += 545 * S
        desk.tell(kinds.StepMatched(script="x", step="x", name="x", line=""))
        wait_until(tablet, "/ s$/.test(document.querySelector('#left').textContent)")
        assert box(tablet, "#block") == before


# -- late, failed, in trouble


def test_a_late_step_says_what_to_choose_by(tablet: Page) -> None:
    with STATES["late-console"]().serving() as desk:
        answerable(tablet, desk)
        assert "tidebook date" in said(tablet, "#says")
        assert "has printed nothing more" in said(tablet, "#detail")
        assert "LOADING ........" in said(tablet, "#lines pre")
        assert "90 seconds again" in said(tablet, "#answers")
        press(tablet, "The console shows the prompt")
        assert last(desk, tablet, "it is the prompt")["step"] == "from-upper"


def test_trouble_takes_the_place_of_the_block_until_somebody_has_seen_it(tablet: Page) -> None:
    with STATES["trouble-in-step"]().serving() as desk:
        answerable(tablet, desk)
        assert tablet.get_attribute("#block", "data-tone") == "trouble"
        assert said(tablet, "#says") == "The lower drive has stopped."
        assert box(tablet, "#caution")["y"] < box(tablet, "#says")["y"]
        assert "== LOWER STOPPED ==" in said(tablet, "#lines pre")
        press(tablet, "I have seen it")
        number = last(desk, tablet, "seen")["about"]
        desk.tell(kinds.TroubleSeen(raised=number, by="docent 1"))
        wait_until(tablet, "document.querySelector('#kind').textContent.startsWith('Step 7')")
        assert "Seen, since 09:12" in said(tablet, "#troubles-list")


def test_a_trouble_is_set_aside_only_for_a_while_and_with_a_reason(tablet: Page) -> None:
    with STATES["trouble"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "Set it aside for a while")
        wait_until(tablet, "document.querySelector('#minutes')")
        tablet.fill("#why", "the engineer comes at three")
        tablet.select_option("#minutes", "30")
        wait_until(tablet, CAN_PRESS)
        press(tablet, "Set it aside for a while")
        asked = last(desk, tablet, "set aside")
        assert (asked["minutes"], asked["why"]) == (30, "the engineer comes at three")
        assert asked["about"] == desk.view.batch(0)["items"]["troubles"][0]["raised"]


def test_after_a_failure_somebody_looks_and_lets_it_go_on(tablet: Page) -> None:
    with STATES["failure"]().serving() as desk:
        answerable(tablet, desk)
        assert "the board was waited for and did not come" in said(tablet, "#detail")
        assert "large box" in tablet.inner_text("#no-troubles")
        press(tablet, "I have looked: go on")
        last(desk, tablet, "clear")


def test_after_a_power_failure_the_opening_begins_only_when_the_keyholder_has_agreed(tablet: Page) -> None:
    with STATES["failed-silent"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "The power was off: begin the opening")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'sure' && {CAN_PRESS}")
        assert desk.requests() == []
        assert "Call first" in said(tablet, "#detail")
        press(tablet, "No, go back")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'failure' && {CAN_PRESS}")
        press(tablet, "The power was off: begin the opening")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'sure' && {CAN_PRESS}")
        press(tablet, "The keyholder agrees: begin the opening")
        assert last(desk, tablet, "open")["why"] == AGREED


def test_a_silent_machine_needs_somebody_and_stands_among_the_troubles(tablet: Page) -> None:
    with STATES["silent"]().serving() as desk:
        opened(tablet, desk)
        assert said(tablet, "#says") == "The machine is silent."
        assert "The machine is silent." in said(tablet, "#troubles-list")
        assert not tablet.is_visible("#no-troubles")


def test_a_day_that_was_stopped_is_not_said_to_rest(tablet: Page) -> None:
    with STATES["stopped-in-opening"]().tell(kinds.SessionResting(until_us=0)).serving() as desk:
        opened(tablet, desk)
        assert said(tablet, "#badge-name") == "Stopped"


def test_what_is_to_be_done_about_a_trouble_can_still_be_read_after_it_was_seen(tablet: Page) -> None:
    with STATES["trouble"]().serving() as desk:
        answerable(tablet, desk)
        raised = desk.view.batch(0)["items"]["troubles"][0]["raised"]
        desk.tell(kinds.TroubleSeen(raised=raised, by="docent 1"))
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'idle'")
        assert "Do this: Don’t open it." in said(tablet, "#troubles-list")


# -- stop, emergencies, and nothing that answers


def test_stop_asks_nothing_and_then_shows_what_is_left(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        desk.on_request = lambda asked: stop(desk, asked)
        opened(tablet, desk)
        tablet.click("#stop")
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'stop'")
        assert desk.requests() == ["stop"]
        assert re.search(r"At most \d+ steps are left. That takes at most \d+", said(tablet, "#detail"))
        wait_until(tablet, CAN_PRESS)
        press(tablet, "Hands off: type nothing more")
        last(desk, tablet, "hands off")


def test_what_came_of_stop_is_said_until_something_else_is_to_be_done(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        desk.on_request = lambda asked: stop(desk, asked)
        opened(tablet, desk)
        tablet.click("#stop")
        wait_until(tablet, "document.querySelector('#stop-said').textContent === 'Sent.'")
        desk.tell(desk_states.ended(outcome="stopped"))
        desk_states.turned(desk, "stopped")
        wait_until(tablet, "document.querySelector('#says').textContent.startsWith('Somebody has said stop')")
        assert said(tablet, "#stop-said") == ""


def stop(desk: FakeDesk, asked: dict[str, Any]) -> None:
    if asked.get("request") == "stop":
        desk.tell(kinds.RequestMade(request="stop", by="docent 1"))


@pytest.mark.parametrize("size", WIDTHS)
def test_stop_has_the_same_place_in_every_state_with_the_mains_stop_beside_it(
    browser: Browser, size: tuple[int, int]
) -> None:
    places = set()
    for name in ("rounds", "hands-on", "trouble", "bridge-gone"):
        page = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en").new_page()
        with STATES[name]().serving() as desk:
            opened(page, desk)
            wait_until(page, "document.querySelector('#mains').innerText.startsWith('Mains stop: ')")
            place = box(page, "#stop")
            places.add(tuple(place.items()))
            assert place["y"] + place["height"] <= size[1]
            assert "doesn’t switch off the power" in said(page, "#stop-does")
        page.context.close()
    assert len(places) == 1


def test_a_desk_that_is_gone_is_said_and_emergencies_still_work(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        desk.go_away()
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'alone'")
        assert said(tablet, "#says") == "This page can’t reach the museum’s computer."
        assert "the printed card" in said(tablet, "#detail")
        tablet.click("#open-emergency")
        assert "press the mains stop:" in said(tablet, "#emergency")
        assert "Call:" in said(tablet, "#emergency")
        tablet.click("#close-emergency")
        tablet.click("#stop")
        wait_until(tablet, "document.querySelector('#stop-said').textContent")
        assert "didn’t reach" in said(tablet, "#stop-said")


def test_each_emergency_is_one_press_even_when_nothing_answers(tablet: Page) -> None:
    with STATES["emergencies"]().serving() as desk:
        opened(tablet, desk)
        desk.go_away()
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'alone'")
        press(tablet, "The power has failed, or is back after a failure")
        assert "Breakers off first" in said(tablet, "#emergency")
        assert "fire service" not in said(tablet, "#emergency")
        assert "Call:" in said(tablet, "#emergency")
        tablet.click("#close-emergency")
        tablet.click("#open-emergency")
        assert "fire service" in said(tablet, "#emergency")


def test_a_bridge_that_is_gone_is_said(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        desk.change(bridge=False)
        wait_until(tablet, "document.querySelector('#block').dataset.what === 'bridge'")
        assert said(tablet, "#says") == "The program that talks to the machine has stopped."
        assert "large box" in tablet.inner_text("#no-troubles")  # nobody would see one now


def test_whoever_is_not_signed_in_any_more_gets_the_page_for_signing_in(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        with tablet.expect_event("domcontentloaded"):
            desk.change(signed_in=None)
            wait_until(tablet, "document.querySelector('#block').dataset.what === 'nobody'")
            assert tablet.evaluate("getComputedStyle(document.querySelector('#side')).display") == "none"


# -- the day


def test_each_thing_that_can_be_asked_of_the_day_says_what_it_does(tablet: Page) -> None:
    with STATES["resting"]().serving() as desk:
        answerable(tablet, desk)
        asked = said(tablet, "#answers")
        assert "Round now (about 3 min)\nBegins a round at once." in asked
        press(tablet, "Quiet for 10 minutes, for a talk")
        assert last(desk, tablet, "quiet")["minutes"] == 10
        wait_until(tablet, CAN_PRESS)
        press(tablet, "We go to lunch; somebody stays")
        last(desk, tablet, "away")


def test_no_round_is_announced_while_none_begins_by_itself(tablet: Page) -> None:
    with STATES["away"]().serving() as desk:
        opened(tablet, desk)
        assert "next round" not in (tablet.text_content("#day-text") or "")
        desk_states.turned(desk, "rounds")
        wait_until(tablet, "document.querySelector('#day-text').textContent.includes('ext round 10:00')")


def test_closing_is_asked_about_once_more(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        answerable(tablet, desk)
        press(tablet, "Close for today")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'sure' && {CAN_PRESS}")
        assert desk.requests() == []
        press(tablet, "No, go back")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'idle' && {CAN_PRESS}")
        press(tablet, "Close for today")
        wait_until(tablet, f"document.querySelector('#block').dataset.what === 'sure' && {CAN_PRESS}")
        press(tablet, "Close for today")
        last(desk, tablet, "close")


@pytest.mark.parametrize(
    ("state", "label", "request_"),
    [
        ("before-opening", "Start the day", "open"),
        ("away", "We are back", "back"),
        ("quiet", "The rounds can go on", "back"),
        ("nobody-there", "I am here", "back"),
        ("stopped", "Go on with the rounds", "back"),
        ("stopped-in-opening", "Begin the opening again", "back"),
    ],
)
def test_the_one_thing_that_can_begin_is_large(tablet: Page, state: str, label: str, request_: str) -> None:
    with STATES[state]().serving() as desk:
        answerable(tablet, desk)
        assert label in said(tablet, "#answers .large")
        press(tablet, label)
        last(desk, tablet, request_)


def test_any_touch_is_a_sign_of_presence_at_most_once_a_minute(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        for _ in range(3):
            tablet.click("#says")
        tablet.keyboard.press("Shift")
        last(desk, tablet, "here")
        tablet.wait_for_timeout(200)
        assert [one["request"] for one in desk.asked] == ["here"]
        assert said(tablet, "#answer-said") == ""


# -- notes, the keyboard, sound


def test_a_note_a_photograph_and_the_last_minutes_are_kept(tablet: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        tablet.fill("#note-text", "It smelt of dust.")
        tablet.click("#note-send")
        wait_until(tablet, "document.querySelector('#note-said').textContent === 'Kept.'")
        assert tablet.input_value("#note-text") == ""
        picture = FilePayload(name="a.jpg", mimeType="image/jpeg", buffer=b"\xff\xd8picture")
        tablet.set_input_files("#photograph", picture)
        tablet.click("#keep")
        notes: list[dict[str, Any]] = []
        for _ in range(100):
            notes = [one for one in desk.asked if one["address"] == "/today/note"]
            if len(notes) == 3:
                break
            tablet.wait_for_timeout(20)
        assert [set(one) - {"address", "token"} for one in notes] == [{"text"}, {"photograph"}, {"minutes"}]
        assert (notes[0]["text"], notes[1]["photograph"], notes[2]["minutes"]) == ("It smelt of dust.", 9, 20)


def test_an_engineer_who_has_the_keyboard_sends_text_and_a_docent_is_told_who_has_it(tablet: Page) -> None:
    with STATES["at-the-keys"]().serving() as desk:
        opened(tablet, desk)
        tablet.fill("#keys-text", "BOARD")
        tablet.keyboard.press("Enter")
        assert last(desk, tablet, "key in")["text"] == "BOARD\r"
        wait_until(tablet, "document.querySelector('#keys-text').value === ''")
        desk.answers["key in"] = 'the folder bars such a command: say "I mean it" to type it'
        tablet.fill("#keys-text", "KILL")
        tablet.keyboard.press("Enter")
        tablet.wait_for_selector("#keys-sure")
        del desk.answers["key in"]
        tablet.click("#keys-sure")
        wait_until(tablet, "document.querySelector('#keys-sure').hidden")
        sure = last(desk, tablet, "key in")
        assert (sure["text"], sure["why"]) == ("KILL\r", "I mean it")
        desk.change(signed_in=DOCENT)
        wait_until(tablet, "document.querySelector('#keys').hidden")
        assert said(tablet, "#says") == "Engineer 2 has the keyboard."
        wait_until(tablet, CAN_PRESS)
        press(tablet, "The engineer has gone: give the keyboard back")
        last(desk, tablet, "give back")


COUNTS = """
    window.tones = 0;
    const start = OscillatorNode.prototype.start;
    OscillatorNode.prototype.start = function (at) { window.tones += 1; return start.call(this, at); };
    window.lights = [];
    addEventListener("DOMContentLoaded", () => {
        const band = document.querySelector("#band");
        new MutationObserver(() => band.className && window.lights.push(band.className))
            .observe(band, { attributeFilter: ["class"] });
    });
"""
"""Counts the tones and the lights of a page."""


def test_what_needs_somebody_is_told_once_by_light_and_sound(tablet: Page) -> None:
    tablet.add_init_script(COUNTS)
    with STATES["rounds"]().serving() as desk:
        opened(tablet, desk)
        tablet.click("#says")  # a browser makes no sound before
        desk_states.raised(desk)
        wait_until(tablet, "window.tones === 1")
        desk_states.raised(desk)  # the same again
        desk_states.prints(desk, "DESK TIDES: ")
        wait_until(tablet, "document.querySelector('#kind').textContent.includes('2 times')")
        assert tablet.evaluate("[window.tones, ...window.lights]") == [1, "lit urgent"]
        tablet.click("#sound")
        assert said(tablet, "#sound") == "Sound is off"
        desk_states.raised(desk.tell(seen(desk)), "another", "OTHER TROUBLE")
        wait_until(tablet, "window.lights.length === 2")
        assert tablet.evaluate("window.tones") == 1


def seen(desk: FakeDesk) -> kinds.TroubleSeen:
    return kinds.TroubleSeen(raised=desk.view.batch(0)["items"]["troubles"][0]["raised"], by="docent 1")


def test_whoever_wants_no_motion_gets_a_band_that_stands_still(browser: Browser) -> None:
    page = browser.new_context(locale="en", reduced_motion="reduce").new_page()
    page.add_init_script(COUNTS)
    with STATES["trouble"]().serving() as desk:
        opened(page, desk)
        wait_until(page, "window.lights.length === 1")
        page.evaluate("document.querySelector('#band').className = 'lit urgent'")
        style = "getComputedStyle(document.querySelector('#band'))"
        assert page.evaluate(f"[{style}.animationName, {style}.opacity]") == ["none", "1"]
    page.context.close()


# -- for everybody


@pytest.mark.parametrize("name", STATES)
def test_axe_finds_nothing_and_nothing_is_cut_in_any_state(name: str, tablet: Page, axe: str) -> None:
    with STATES[name]().serving() as desk:
        opened(tablet, desk)
        tablet.wait_for_timeout(1100)
        for width, height in WIDTHS if name == "hands-on" else WIDTHS[::3]:
            tablet.set_viewport_size({"width": width, "height": height})
            found = violations(tablet, axe)
            if found:  # a button that the foot half covers comes out whole when the page is scrolled
                tablet.evaluate("scrollBy(0, 100)")
                found = [one for one in found if one in violations(tablet, axe)]
            assert found == [], f"{width} px"
            assert tablet.evaluate("document.documentElement.scrollWidth") <= width


def test_the_page_keeps_to_its_rules_and_fetches_nothing_from_elsewhere(tablet: Page) -> None:
    log = Log(tablet)
    with STATES["panel"]().serving() as desk:
        answerable(tablet, desk)
        tablet.click("#open-emergency")
        assert log.complaints == []
        assert log.hosts() == {desk.address.split("/")[2]}


def test_everything_works_with_the_keyboard_alone(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(tablet, desk)
        reached = []
        for _ in range(25):
            tablet.keyboard.press("Tab")
            reached.append(tablet.evaluate("document.activeElement.textContent || document.activeElement.id"))
            outline = tablet.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            hidden_away = ("BODY", "photograph")
            if (
                tablet.evaluate("document.activeElement.id || document.activeElement.tagName")
                not in hidden_away
            ):
                assert outline == "solid", reached[-1]
        for label in ("Done", "It can’t be done", "Keep the note", "Stop typing", "Emergency"):
            assert any(one.startswith(label) for one in reached)
        tablet.focus("#answers button")
        tablet.keyboard.press("Enter")
        last(desk, tablet, "confirm")


def test_the_language_changes_with_one_press(tablet: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(tablet, desk)
        press(tablet, "Deutsch")
        wait_until(tablet, "document.documentElement.lang === 'de'")
        assert said(tablet, "#kind") == "Schritt 6 von 8, von Hand"
        assert said(tablet, "#stop") == "Tippen anhalten"
        assert said(tablet, "#says").startswith("Starten Sie")
