"""The one HTML file of an excerpt: it opens in Chromium with the network off, and shows what was recorded."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from exhibit.records.excerpt.making import Wanted, excerpt_text
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.excerpt.span import take_span
from tests.pages.axe_core import violations
from tests.pages.conftest import Log
from tests.records.excerpt.test_excerpt import SAMPLE, recorded

S_US = 1_000_000
SPAN = Wanted(at="10:02:20", before="20 s", after="40 s")


@pytest.fixture(scope="module")
def file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("excerpt") / "excerpt.html"
    path.write_text(excerpt_text(SAMPLE, SPAN, "html", None, Privacy()), "utf-8")
    return path


@pytest.fixture
def opened(browser: Browser, file: Path) -> Iterator[tuple[Page, Log]]:
    """The file in a fresh browser without a network."""
    context = browser.new_context(viewport={"width": 1440, "height": 900}, offline=True)
    page = context.new_page()
    log = Log(page)
    page.goto(file.as_uri())
    yield page, log
    context.close()


def row(page: Page, number: int) -> str:
    return str(page.evaluate(f"document.querySelectorAll('#screen div')[{number}].textContent")).rstrip()


def go(page: Page, ms: int) -> None:
    page.evaluate(f"place.value = {ms}; place.dispatchEvent(new Event('input'))")


def test_it_opens_without_a_network_asks_for_nothing_and_complains_of_nothing(opened, file):
    page, log = opened
    assert page.locator("#player").is_visible()
    assert log.requests == [file.as_uri()]
    assert log.complaints == []


def test_its_own_policy_forbids_whatever_is_not_in_it(opened):
    """Whatever got into it: nothing from elsewhere is loaded, and no other script or style counts."""
    page = opened[0]
    page.evaluate(
        """() => {
            window.refused = [];
            const told = (event) => refused.push(event.effectiveDirective);
            document.addEventListener("securitypolicyviolation", told);
            const made = (name, what) => Object.assign(document.createElement(name), what);
            const add = (...of) => document.body.append(made(...of));
            add("img", {src: "https://example.invalid/a.png"});
            add("script", {text: "document.title = 'taken'"});
            add("style", {textContent: "body {}"});
            add("iframe", {src: "https://example.invalid/"});
            fetch("https://example.invalid/").catch(() => 0);
        }"""
    )
    for _ in range(100):
        refused = set(page.evaluate("refused"))
        if len(refused) >= 5:
            break
        page.wait_for_timeout(20)
    assert refused == {"img-src", "script-src-elem", "style-src-elem", "frame-src", "connect-src"}
    assert page.title() != "taken"


def test_axe_core_finds_nothing(opened, axe):
    assert violations(opened[0], axe) == []


@pytest.mark.parametrize("width", [320, 768, 1920])
def test_on_any_screen_nothing_is_wider_than_it(opened, axe, width):
    page = opened[0]
    page.set_viewport_size({"width": width, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert violations(page, axe) == []


@pytest.mark.parametrize("ms", [0, 4_927, 4_928, 18_700, 22_700, 59_000])
def test_at_each_moment_the_screen_is_what_it_was(opened, ms):
    page = opened[0]
    go(page, 60_000)
    go(page, ms)  # also backwards
    until = take_span(SAMPLE, 120 * S_US + ms * 1000 + 499, 200 * S_US, None, Privacy())
    was = {number: "".join(text for text, *_ in runs) for number, runs in until.screens[0][1]["rows"].items()}
    for number, text in was.items():
        assert row(page, number) == text.rstrip(), number


def test_the_line_shows_the_characters_up_to_the_moment_and_names_the_control_codes(opened):
    page = opened[0]
    go(page, 18_700)
    said = page.evaluate(
        "[...document.querySelectorAll('#wire .text')].map((one) => one.textContent).join('')"
    )
    received = "".join(
        one.fact.bytes
        for one in take_span(SAMPLE, 120 * S_US, 138_700_000, None, Privacy()).entries
        if isinstance(one.fact, kinds.BytesReceived)
    )
    assert said.endswith(received[-5:].replace("\x1b", "ESC"))
    assert page.locator("#wire b", has_text="ESC").count() > 0


def test_what_happened_leads_to_its_moment(opened):
    page = opened[0]
    line = page.locator("tr[data-ms]", has_text="The step read-a-third-frame of round was done.")
    line.locator("button").click()
    assert line.get_attribute("aria-current") == "step"
    assert "10:02:18.6" in page.locator("#time").inner_text()


def test_it_plays_at_the_chosen_speed_and_stops_at_its_end(opened):
    page = opened[0]
    page.select_option("#speed", "100")
    page.click("#play")
    for _ in range(200):
        if page.locator("#play").inner_text() == "Play" and page.evaluate("place.value === place.max"):
            return
        page.wait_for_timeout(25)
    raise AssertionError("it doesn't come to its end")


def test_everything_can_be_done_with_the_keyboard(opened):
    page = opened[0]
    before = page.evaluate("Number(place.value)")
    page.keyboard.press("ArrowRight")
    after = page.evaluate("Number(place.value)")
    assert after > before
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("Number(place.value)") <= before
    page.keyboard.press("End")
    assert page.evaluate("place.value === place.max")
    page.keyboard.press("Home")
    assert page.evaluate("Number(place.value)") == 0
    page.keyboard.press(" ")
    assert page.locator("#play").inner_text() == "Pause"
    page.keyboard.press(" ")
    assert page.locator("#play").inner_text() == "Play"


def test_without_scripts_the_tables_say_what_happened(browser, file):
    context = browser.new_context(java_script_enabled=False, offline=True)
    page = context.new_page()
    page.goto(file.as_uri())
    assert page.locator("tr[data-ms]", has_text="board showed lower-transfers: 394").count() == 1
    assert not page.locator("#player").is_visible()
    assert page.locator("noscript").count() == 1
    context.close()


def test_a_stranger_s_recording_runs_nothing_in_it(browser, tmp_path):
    bad = "</script><script>document.title = 'taken'</script><img src=x onerror=\"document.title = 'taken'\">"
    path = recorded(
        tmp_path,
        (kinds.LineLost(why=bad), 1),
        (kinds.BytesReceived(bytes=bad, first_us=S_US), 1),
        (kinds.CaptionShown(caption="c", kind="seen", words={"en": bad}, part="", because=[], source={}), 2),
    )
    file = tmp_path / "excerpt.html"
    file.write_text(excerpt_text(path, Wanted(from_="09:30:00"), "html", None, Privacy()), "utf-8")
    context = browser.new_context(offline=True)
    page = context.new_page()
    log = Log(page)
    page.goto(file.as_uri())
    go(page, 2000)
    assert page.title() != "taken"
    assert log.complaints == []
    assert bad in page.locator("#now-caption").inner_text()
    context.close()
