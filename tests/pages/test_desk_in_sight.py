"""What a docent must be able to see and press on the page at any moment, on each screen."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec
import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from tests.pages import desk_states
from tests.pages.browser import wait_until
from tests.pages.desk_states import STATES
from tests.pages.fake_desk import FakeDesk
from tests.pages.test_desk_page import CAN_PRESS, answerable, box, last, opened, press, said, stop

SCREENS = ((390, 844), (820, 1180), (1280, 800), (1920, 1080))
WAITS = (
    "hands-on", "put-off", "panel", "date", "late-hand", "late-console", "trouble", "trouble-in-step",
    "failure", "failure-in-closing", "stopping",
)  # fmt: skip
COVERED = """place => {
    const one = document.querySelector(place), its = one.getBoundingClientRect();
    const points = [[its.left + 4, its.top + 4], [its.right - 4, its.bottom - 4]];
    return points.some(([x, y]) => {
        const there = document.elementFromPoint(x, y);
        return !there || !one.contains(there);
    });
}"""
"""Whether something lies over a corner of this element, or the screen ends before it."""
PLACED = "document.querySelector('#block').dataset.placed"
"""Whether what has come was brought into sight."""
ALL_IN_SIGHT = f"""[...document.querySelectorAll('#answers button')].every((one, n) => {{
    one.dataset.n = n;
    return !({COVERED})(`[data-n="${{n}}"]`);
}})"""


@pytest.fixture
def laptop(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, locale="en")
    yield context.new_page()
    context.close()


@pytest.fixture
def phone(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 390, "height": 844}, locale="en")
    yield context.new_page()
    context.close()


# -- in an emergency


@pytest.mark.parametrize("size", SCREENS)
def test_stop_can_be_pressed_while_the_sheet_for_emergencies_is_open(
    browser: Browser, size: tuple[int, int]
) -> None:
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en").new_page()
    with STATES["rounds"]().serving() as desk:
        desk.on_request = lambda asked: stop(desk, asked)
        opened(page, desk)
        before = box(page, "#stop")
        press(page, "An odd noise")
        assert "Press “Stop typing” on the docent’s page" in said(page, "#emergency")
        assert box(page, "#stop") == before
        for place in ("#stop", "#mains", "#open-emergency"):
            assert not page.evaluate(COVERED, place), place
        page.click("#stop")
        last(desk, page, "stop")
        assert page.is_visible("#emergency")
    page.context.close()


def test_the_sheet_keeps_the_rest_of_the_page_away_until_it_is_closed(laptop: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(laptop, desk)
        laptop.click("#open-emergency")
        assert laptop.evaluate("document.activeElement.id") == "close-emergency"
        reached = []
        for _ in range(6):
            laptop.keyboard.press("Tab")
            reached.append(laptop.evaluate("document.activeElement.id"))
        assert "stop" in reached
        assert not laptop.evaluate("document.querySelector('#page').contains(document.activeElement)")
        laptop.keyboard.press("Escape")
        assert not laptop.is_visible("#emergency")
        assert laptop.evaluate("document.querySelector('#page').inert") is False
        assert laptop.evaluate("document.activeElement.id") == "open-emergency"


@pytest.mark.parametrize("size", SCREENS)
def test_the_mains_stop_and_whom_to_call_come_first_then_fire_then_whoever_is_hurt(
    browser: Browser, size: tuple[int, int]
) -> None:
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en").new_page()
    with STATES["emergencies"]().serving() as desk:
        opened(page, desk)
        page.click("#open-emergency")
        text = said(page, "#emergency")
        order = [
            text.index(words)
            for words in (
                "If you can do it without danger, press the mains stop:",
                "Call:",
                "Smoke or",
                "Somebody is hurt",
                "The power has failed",
            )
        ]
        assert order == sorted(order)
        assert not page.evaluate(COVERED, "#emergency-list")
        titles = page.locator("#emergency-buttons button").all_text_contents()
        assert titles[:2] == ["Smoke or a smell of burning", "Somebody is hurt"]
    page.context.close()


# -- the answers


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", SCREENS)
def test_every_answer_is_in_sight_without_scrolling(
    browser: Browser, size: tuple[int, int], language: str
) -> None:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale=language)
    for name in WAITS:
        page = context.new_page()
        with STATES[name]().serving() as desk:
            opened(page, desk)
            wait_until(page, PLACED)
            wait_until(page, ALL_IN_SIGHT, limit_s=8)
        page.close()
    context.close()


COVERED_BY_ANSWERS = """['told', 'lines', 'fields'].map(name => document.getElementById(name)).some(
    one => one.offsetHeight > 0 && one.getBoundingClientRect().bottom
        > document.querySelector('#reply').getBoundingClientRect().top + 1)"""


@pytest.mark.parametrize("size", [*SCREENS, (1024, 768)])
def test_a_step_that_goes_on_behind_its_answers_says_so(browser: Browser, size: tuple[int, int]) -> None:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en")
    goes_on = set()
    for name in WAITS:
        page = context.new_page()
        with STATES[name]().serving() as desk:
            answerable(page, desk)
            wait_until(page, PLACED)
            if page.evaluate(COVERED_BY_ANSWERS):
                goes_on.add(name)
                assert said(page, "#sign") == "More below ↓"
                assert not page.evaluate(COVERED, "#sign")
                page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
                wait_until(page, "document.querySelector('#sign').hidden", limit_s=8)
            assert not page.evaluate(COVERED_BY_ANSWERS), name
            assert not page.is_visible("#sign"), name
        page.close()
    context.close()
    assert goes_on or size != (1024, 768)


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", [*SCREENS[1:], (1024, 768)])  # a phone scrolls
@pytest.mark.parametrize("state", ["failed-in-tidy-up", "failed-hands-off", "stopping-silent"])
def test_whom_to_call_is_in_sight_after_a_power_failure(
    browser: Browser, state: str, size: tuple[int, int], language: str
) -> None:
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale=language)
    page = context.new_page()
    with STATES[state]().serving() as desk:
        answerable(page, desk)
        wait_until(page, PLACED)
        page.evaluate(
            "[...document.querySelectorAll('#detail p')]"
            ".find(one => /^(Call|Rufen Sie an): /.test(one.textContent)).id = 'call'"
        )
        assert not page.evaluate(COVERED, "#call")
    context.close()


def test_after_a_failure_no_answer_outweighs_the_others(laptop: Page) -> None:
    with STATES["failed-silent"]().serving() as desk:
        answerable(laptop, desk)
        looks = laptop.evaluate(
            "[...document.querySelectorAll('#answers .large')].map(one => getComputedStyle(one))"
            ".map(({ backgroundColor, color }) => backgroundColor + color)"
        )
        assert len(looks) == 3
        assert len(set(looks)) == 1


def test_why_no_answer_can_be_given_in_the_first_moment_is_said_and_moves_nothing(laptop: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(laptop, desk)
        wait_until(laptop, "document.querySelector('#answers button')?.disabled")
        assert said(laptop, "#sign") == "Read it first. In a moment you can answer."
        before = box(laptop, "#reply")
        wait_until(laptop, CAN_PRESS)
        assert not laptop.is_visible("#sign")
        assert box(laptop, "#reply") == before


def test_the_drawing_stands_beside_the_words_where_there_is_width(laptop: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(laptop, desk)
        words, drawing = box(laptop, "#says"), box(laptop, "#picture")
        assert drawing["x"] > words["x"] + 200
        assert abs(drawing["y"] - words["y"]) < 20


@pytest.mark.parametrize("size", SCREENS)
def test_the_answers_stay_in_their_places_from_step_to_step(browser: Browser, size: tuple[int, int]) -> None:
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en").new_page()
    asked = [
        step.name
        for step in desk_states.FOLDER.scripts["opening"].steps
        if getattr(step, "words", None) and hasattr(step, "caution")
    ]
    assert len(asked) > 4
    places = set()
    with desk_states.asks(desk_states.opening(), desk_states.hand_step(asked[0])).serving() as desk:
        answerable(page, desk)
        for before, step in zip(asked, asked[1:], strict=False):
            places.add(
                tuple(tuple(box(page, f"#answers button:nth-child({n})").values()) for n in range(1, 6))
            )
            desk.tell(kinds.HandsOnConfirmed(step=before, by="docent 1"))
            desk_states.asks(desk, desk_states.hand_step(step))
            words = desk_states.hand_step(step).words["en"].split("\n")[0][:20]
            wait_until(page, f"document.querySelector('#says').textContent.startsWith({words!r})")
            page.wait_for_timeout(100)
    page.context.close()
    assert len(places) == 1


def test_whoever_presses_on_blindly_has_answered_one_step_only(laptop: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        desk.on_request = lambda asked: next_step(desk, asked)
        answerable(laptop, desk)
        place = box(laptop, "#answers button:first-child")
        for _ in range(5):
            laptop.mouse.click(place["x"] + 20, place["y"] + 20)
            laptop.wait_for_timeout(700)
        assert desk.requests() == ["confirm"]
        wait_until(laptop, CAN_PRESS)
        laptop.mouse.click(place["x"] + 20, place["y"] + 20)
        laptop.wait_for_timeout(200)
        assert desk.requests() == ["confirm", "confirm"]


def next_step(desk: FakeDesk, asked: dict[str, object]) -> None:
    if asked.get("request") == "confirm" and asked["step"] == "start-lower":
        desk.tell(kinds.HandsOnConfirmed(step="start-lower", by="docent 1"))
        desk_states.asks(desk, desk_states.hand_step("press-start"))


@pytest.mark.parametrize("happens", ["step", "trouble", "it can’t be done", "put off"])
def test_what_has_come_is_brought_into_sight_from_its_head_on(phone: Page, happens: str) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(phone, desk)
        phone.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
        assert phone.evaluate("document.querySelector('#kind').getBoundingClientRect().top") < 0
        was = said(phone, "#block")
        if happens == "step":
            next_step(desk, {"request": "confirm", "step": "start-lower"})
        elif happens == "trouble":
            desk_states.raised(desk)
        elif happens == "put off":
            wait = kinds.HandsOnPutOff(
                step="start-lower", by="docent 1", because="didn't", words=desk_states.WAIT
            )
            desk.tell(wait)
        else:
            phone.evaluate("[...document.querySelectorAll('#answers button')].at(-1).click()")
        phone.wait_for_function("was => document.querySelector('#block').innerText !== was", arg=was)
        phone.wait_for_timeout(100)
        places = ["#kind"] + (["#caution"] if phone.is_visible("#caution") else [])
        for place in places:
            assert not phone.evaluate(COVERED, place), place


def test_a_note_is_written_in_peace_unless_there_is_trouble(phone: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        answerable(phone, desk)
        phone.focus("#note-text")
        at = box(phone, "#note-text")
        next_step(desk, {"request": "confirm", "step": "start-lower"})
        wait_until(phone, "document.querySelector('#kind').textContent.startsWith('Step 7')")
        assert abs(box(phone, "#note-text")["y"] - at["y"]) < 1
        desk_states.raised(desk)
        wait_until(phone, "document.querySelector('#block').dataset.tone === 'trouble'")
        phone.wait_for_timeout(100)
        assert not phone.evaluate(COVERED, "#caution")


def test_what_came_of_stop_moves_no_button(phone: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(phone, desk)
        before = box(phone, "#stop")
        desk.go_away()
        phone.click("#stop")
        wait_until(phone, "document.querySelector('#stop-said').textContent")
        assert box(phone, "#stop") == before
        assert not phone.evaluate(COVERED, "#stop-said")


# -- the console, the day's line, and an old tab


@pytest.mark.parametrize("size", SCREENS)
def test_the_newest_line_of_the_console_is_in_sight_and_nothing_scrolls_sideways(
    browser: Browser, size: tuple[int, int]
) -> None:
    page = browser.new_context(viewport={"width": size[0], "height": size[1]}, locale="en").new_page()
    with STATES["rounds"]().serving() as desk:
        for n in range(30):
            desk_states.prints(desk, f"LINE {n}\r\n")
        opened(page, desk)
        desk_states.prints(desk, "== LOWER STOPPED ==\r\n")
        newest = (
            "[...document.querySelectorAll('.row')].find(one => one.textContent.includes('LOWER STOPPED'))"
        )
        wait_until(page, f"!!{newest}")
        page.wait_for_timeout(200)
        assert page.evaluate(
            f"{newest}.getBoundingClientRect().bottom <= "
            "document.querySelector('#sheet').getBoundingClientRect().bottom"
        )
        # Whoever has scrolled back reads in peace.
        page.evaluate("document.querySelector('#sheet').scrollTop = 0")
        page.wait_for_timeout(100)
        desk_states.prints(desk, "AND MORE\r\n")
        wait_until(page, "document.querySelector('#rows').textContent.includes('AND MORE')")
        assert page.evaluate("document.querySelector('#sheet').scrollTop") == 0
        assert page.evaluate(
            "document.querySelector('#sheet').scrollWidth <= document.querySelector('#sheet').clientWidth"
        ) or (size[0] < 400)
    page.context.close()


def test_on_a_phone_the_closing_time_stands_right_above_the_line(phone: Page) -> None:
    with STATES["hands-on"]().serving() as desk:
        opened(phone, desk)
        wait_until(phone, "document.querySelectorAll('#day-line text.edge').length > 0")
        heights = phone.evaluate(
            "[...document.querySelectorAll('#day-line :is(.edge, .now)')].map(one => one.getAttribute('y'))"
        )
        assert len(set(heights)) == 1


def test_a_new_address_with_a_code_is_opened_in_the_tab_that_stands_there(laptop: Page) -> None:
    with STATES["rounds"]().serving() as desk:
        opened(laptop, desk)
        with laptop.expect_event("domcontentloaded"):
            laptop.goto(f"{desk.address}#code=12345678")


def test_a_practice_that_is_ended_is_said_to_have_ended(laptop: Page) -> None:
    begun = msgspec.structs.replace(desk_states.FIRST, practice=True)
    with FakeDesk().tell(begun).serving() as practising:
        opened(laptop, practising)
        practising.go_away()
        wait_until(laptop, "document.querySelector('#block').dataset.what === 'ended'")
        assert said(laptop, "#says") == "Practice has ended."
        assert "printed card" not in said(laptop, "#block")


def test_an_act_whose_words_are_in_its_drawing_has_its_number_beside_it(laptop: Page) -> None:
    with STATES["panel"]().serving() as desk:
        opened(laptop, desk)
        act, drawing = (
            box(laptop, ".panel-acts li:nth-child(2)"),
            box(laptop, ".panel-acts li:nth-child(2) svg"),
        )
        assert drawing["y"] - act["y"] < 8
        assert drawing["x"] - act["x"] > 20
