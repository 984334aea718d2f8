"""What must be read first on the docent's page has room above the answers, on each screen."""

from __future__ import annotations

from collections.abc import Callable

import msgspec
import pytest
from playwright.sync_api import Browser, Page

from exhibit.decisions.console.flow import MACHINE
from exhibit.decisions.panel.sequence import shown
from exhibit.facts import kinds
from exhibit.facts.parts_and_cards import PanelAct
from tests.pages import desk_states
from tests.pages.browser import wait_until
from tests.pages.desk_states import PRACTICE, STATES, WAIT
from tests.pages.fake_desk import FakeDesk
from tests.pages.test_desk_in_sight import ALL_IN_SIGHT, COVERED, PLACED
from tests.pages.test_desk_page import answerable, opened, said

PHONE, TABLET, LAPTOP = (390, 844), (1024, 768), (1280, 800)
CALL = "^(Call|Rufen Sie an): "
LOOK = "^(Nothing more is typed[.]|Es wird nichts mehr getippt|Look[, ]|Prüfen Sie, ob|Sehen Sie nach)"
FIRST_READ = """words => {
    const lines = [...document.querySelectorAll('#detail p')];
    const one = lines.find((line) => new RegExp(words).test(line.textContent));
    one.id = `read-${document.querySelectorAll('[id^=read-]').length}`;
    return `#${one.id}`;
}"""


def on(browser: Browser, size: tuple[int, int], language: str = "en") -> Page:
    return browser.new_context(viewport={"width": size[0], "height": size[1]}, locale=language).new_page()


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", [PHONE, TABLET])
@pytest.mark.parametrize(
    "state",
    [
        "failure", "failure-in-closing", "failed-silent", "failed-in-tidy-up", "failed-hands-off",
        "failed-after-trouble", "silent", "silent-away", "silent-in-opening", "silent-in-closing",
        "silent-slow", "silent-slow-again", "held", "held-again", "held-silent",
    ],
)  # fmt: skip
def test_what_to_do_first_and_whom_to_call_are_read_without_scrolling(
    browser: Browser, state: str, size: tuple[int, int], language: str
) -> None:
    page = on(browser, size, language)
    with STATES[state]().serving() as desk:
        opened(page, desk)
        wait_until(page, PLACED)
        for words in (CALL, LOOK):
            place = page.evaluate(FIRST_READ, words)
            assert not page.evaluate(COVERED, place), page.inner_text(place)
    page.context.close()


@pytest.mark.parametrize("language", ["en", "de"])
def test_where_a_caution_leaves_no_room_the_answers_stand_below_and_that_is_said(
    browser: Browser, language: str
) -> None:
    page = on(browser, PHONE, language)
    with STATES["failed-after-trouble"]().serving() as desk:
        answerable(page, desk)
        assert not page.evaluate(ALL_IN_SIGHT)
        assert said(page, "#sign") == {"en": "More below ↓", "de": "Unten geht es weiter ↓"}[language]
        assert not page.evaluate(COVERED, "#sign")
        before = page.evaluate("scrollY")
        page.click("#sign")
        wait_until(page, f"scrollY > {before}")
        page.evaluate("document.querySelector('#reply').scrollIntoView({ block: 'end' })")
        wait_until(page, "document.querySelector('#sign').hidden")
        assert page.evaluate(ALL_IN_SIGHT)
    page.context.close()


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(("size", "rows"), [(PHONE, 2), (TABLET, 1)])
def test_four_small_answers_fill_their_rows(
    browser: Browser, size: tuple[int, int], rows: int, language: str
) -> None:
    page = on(browser, size, language)
    with STATES["hands-on-after"]().serving() as desk:
        answerable(page, desk)
        tops = page.eval_on_selector_all(
            "#answers .small", "all => all.map((one) => Math.round(one.getBoundingClientRect().top))"
        )
        assert sorted(tops.count(top) for top in {*tops}) == [4 // rows] * rows
        assert page.evaluate(ALL_IN_SIGHT)
    page.context.close()


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", [PHONE, TABLET])
def test_what_a_late_step_asks_first_is_not_behind_its_answers(
    browser: Browser, size: tuple[int, int], language: str
) -> None:
    page = on(browser, size, language)
    with STATES["late-after-hands"]().serving() as desk:
        opened(page, desk)
        wait_until(page, PLACED)
        assert not page.evaluate(COVERED, "#caution")
        place = page.evaluate(FIRST_READ, "^(Was this really done|Wurde das wirklich getan)[?]")
        assert not page.evaluate(COVERED, place), page.inner_text(place)
    page.context.close()


# -- the switches that are to be set


def in_practice() -> FakeDesk:
    desk = desk_states.turned(FakeDesk().tell(PRACTICE, kinds.LineOpened(line="/dev/pts/7")), "opening")
    return desk_states.asks(desk.tell(desk_states.started("opening")), desk_states.hand_step("press-start"))


def put_off() -> FakeDesk:
    return STATES["panel"]().tell(
        kinds.HandsOnPutOff(step="press-start", by=MACHINE, because="too early", words=WAIT)
    )


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("size", [TABLET, LAPTOP, (1366, 768), (820, 1180)])
@pytest.mark.parametrize("made", [STATES["panel"], put_off, in_practice])
def test_the_switches_to_set_are_in_sight_with_the_caution_the_sentence_and_the_answers(
    browser: Browser, made: Callable[[], FakeDesk], size: tuple[int, int], language: str
) -> None:
    page = on(browser, size, language)
    with made().serving() as desk:
        answerable(page, desk)
        wait_until(page, PLACED)
        for place in ("#caution", "#says", ".panel-row"):
            assert not page.evaluate(COVERED, place), place
        assert page.evaluate(ALL_IN_SIGHT)
    page.context.close()


@pytest.mark.parametrize("count", [12, 16, 18, 24, 32, 36])
@pytest.mark.parametrize("size", [TABLET, LAPTOP])
def test_each_of_a_rows_switches_is_wide_enough_to_be_told_from_its_neighbour(
    browser: Browser, size: tuple[int, int], count: int
) -> None:
    positions = " ".join(("101010101010" * 3)[at : min(at + 3, count)] for at in range(0, count, 3))
    acts = [PanelAct(act="set", value="1", positions=positions)]
    asked = msgspec.structs.replace(desk_states.hand_step("press-start"), panel=acts)
    assert shown(acts, ["en"])[0]["svg"]
    page = on(browser, size)
    with desk_states.asks(desk_states.opening(), asked).serving() as desk:
        answerable(page, desk)
        wait_until(page, PLACED)
        assert not page.evaluate(COVERED, ".panel-row")
        widths = page.evaluate(
            "[...document.querySelectorAll('.panel-row rect')].map(one => one.getBoundingClientRect().width)"
        )
        assert len(widths) == count
        assert min(widths) >= 8
    page.context.close()


@pytest.mark.parametrize("size", [PHONE, TABLET])
@pytest.mark.parametrize(
    ("language", "words"), [("en", "Practice: nothing is"), ("de", "Übung: An der Masch")]
)
def test_that_it_is_practice_is_in_sight_wherever_somebody_has_scrolled_to(
    browser: Browser, size: tuple[int, int], language: str, words: str
) -> None:
    page = on(browser, size, language)
    with STATES["practice"]().serving() as desk:
        answerable(page, desk)
        page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
        assert page.evaluate("scrollY") > 0
        page.wait_for_timeout(100)
        assert said(page, "#practises").startswith(words)
        assert not page.evaluate(COVERED, "#practises")
    page.context.close()


def test_what_isnt_practice_says_nothing_of_it(browser: Browser) -> None:
    page = on(browser, TABLET)
    with STATES["rounds"]().serving() as desk:
        opened(page, desk)
        assert not page.is_visible("#practises")
    page.context.close()
