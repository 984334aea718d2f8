"""The records page in a real browser: it shows what was, by mouse and by keyboard, and asks nobody else."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.decisions.page.views import View
from exhibit.facts import kinds
from exhibit.streams.recording import read_all
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.web_processes import ROOT, WebProcess

SAMPLE = ROOT / "recordings" / "whimbrel-one-round.exhibit"
NAME = SAMPLE.stem
_SERVE = """
from pathlib import Path
from exhibit.records.study.serving import RecordsOrder, serve_records
given = [Path(one) for one in {given!r}]
serve_records(RecordsOrder(given=given, web=Path("web"), cache_folder=Path({cache!r})),
              ready=lambda address: print(address, flush=True))
"""


def serve(cache: Path, *given: Path) -> WebProcess:
    return WebProcess(_SERVE.format(given=[f"{one}" for one in given], cache=f"{cache}"))


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[WebProcess]:
    """Two recordings: the sample, and the same with a damaged place and broken off."""
    folder = tmp_path_factory.mktemp("recordings")
    whole = SAMPLE.read_bytes()
    (folder / SAMPLE.name).write_bytes(whole)
    damaged = bytearray(whole[: whole.index(b'{"seq":5000,') + 30])
    damaged[whole.index(b'{"seq":3500,') + 40] ^= 1
    (folder / "damaged.exhibit").write_bytes(damaged)
    process = serve(tmp_path_factory.mktemp("cache"), folder)
    yield process
    process.end()


@pytest.fixture
def laptop(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, locale="en-GB")
    page = context.new_page()
    page.set_default_timeout(60_000)
    yield page
    context.close()


def open_at(page: Page, served: WebProcess, place: str = f"#{NAME}/3000") -> None:
    page.goto("about:blank")
    page.goto(f"{served.address}{place}")
    if place:
        wait_until(
            page,
            "document.documentElement.dataset.view === 'study' && document.querySelector('#to-fact').value",
        )
    else:
        wait_until(page, "document.querySelectorAll('#shelf-list li').length > 0")


def fact(page: Page) -> int:
    return int(page.input_value("#to-fact"))


def screen(page: Page) -> list[str]:
    rows = page.eval_on_selector_all("#rows .row", "rows => rows.map((row) => row.textContent.trimEnd())")
    while rows and not rows[-1]:
        rows.pop()
    assert isinstance(rows, list)
    return rows


def as_it_was(seq: int) -> list[str]:
    view = View()
    for entry in read_all(SAMPLE).entries[:seq]:
        view.apply(entry)
    rows = [row.rstrip() for row in view.text_rows()]
    while rows and not rows[-1]:
        rows.pop()
    return rows


def test_a_link_opens_at_its_moment_with_the_screen_as_it_was(served: WebProcess, laptop: Page) -> None:
    for seq in (3000, 6000, 1200):
        open_at(laptop, served, f"#{NAME}/{seq}")
        wait_until(laptop, f"document.querySelector('#to-fact').value === '{seq}'")
        assert screen(laptop) == as_it_was(seq)


def test_the_address_follows_the_moment_and_leads_back_to_it(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served)
    laptop.keyboard.press("s")
    wait_until(laptop, "document.querySelector('#to-fact').value !== '3000'")
    there, address = fact(laptop), laptop.evaluate("location.hash")
    assert address == f"#{NAME}/{there}"
    open_at(laptop, served, address)
    wait_until(laptop, f"document.querySelector('#to-fact').value === '{there}'")


def test_everything_can_be_done_by_keyboard(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served)

    def after(key: str, expression: str) -> None:
        laptop.keyboard.press(key)
        wait_until(laptop, expression, 20)

    number = "Number(document.querySelector('#to-fact').value)"
    after("ArrowRight", f"{number} === 3001")
    after("ArrowLeft", f"{number} === 3000")
    after("a", f"{number} > 3000")
    after("A", f"{number} <= 3000")
    after("Home", f"{number} < 10")
    after("h", f"{number} > 10")
    after("End", f"{number} === 6990")
    after("t", "document.querySelector('#said').textContent === 'There is no trouble after this moment.'")
    after("g", "document.activeElement.id === 'to-time'")
    laptop.keyboard.type("10:02:00")
    after("Enter", "document.querySelector('#to-time').value === '10:02:00.000'")
    after("f", "document.activeElement.id === 'to-fact'")
    laptop.keyboard.type("1500")
    after("Enter", f"{number} === 1500")
    after("+", "document.querySelector('#rate').value === '2'")
    after("-", "document.querySelector('#rate').value === '1'")
    after("z", "document.querySelector('#window').value === '7200'")
    after("Z", "document.querySelector('#window').value === '0'")
    after("/", "document.activeElement.id === 'wanted'")
    after("Escape", "document.querySelector('#search').hidden")
    after("?", "document.querySelector('#keys').open")
    after("Escape", "!document.querySelector('#keys').open")
    after("b", "document.documentElement.style.fontSize === '115%'")
    after("r", "!document.querySelector('#shelf').hidden")


def test_it_plays_at_its_speed_and_pauses(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served, f"#{NAME}/1")
    laptop.select_option("#rate", "20")
    laptop.keyboard.press("Escape")
    laptop.click("#play")
    wait_until(laptop, "Number(document.querySelector('#to-fact').value) > 500", 30)
    laptop.click("#play")
    laptop.wait_for_timeout(500)
    there = fact(laptop)
    laptop.wait_for_timeout(300)
    assert fact(laptop) == there
    assert screen(laptop) == as_it_was(there)
    laptop.select_option("#rate", "1000")
    laptop.click("#play")
    wait_until(
        laptop, "document.querySelector('#said').textContent === 'This is the end of the recording.'", 60
    )
    wait_until(laptop, "document.querySelector('#to-fact').value === '6990'")
    assert screen(laptop) == as_it_was(6990)


def test_the_wire_has_bytes_names_and_who_typed(served: WebProcess, laptop: Page) -> None:
    taken = next(
        one.seq
        for one in read_all(SAMPLE).entries
        if one.seq > 2000 and isinstance(one.fact, kinds.TypingConfirmed)
    )
    open_at(laptop, served, f"#{NAME}/{taken}")
    wire = laptop.inner_text("#wire")
    assert "The moment" in wire
    assert "CR carriage return" in wire
    assert "by script round" in laptop.inner_text("#wire .typed >> nth=0")


def test_why_says_the_step_the_caption_and_the_facts_it_rests_on(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served)
    why = laptop.inner_text("#why-sheet")
    for said in ("read-a-frame", "This is the board.", "It rests on:", "round 1", "board: load"):
        assert said in why
    laptop.click("#now .grounds button >> nth=0")
    wait_until(laptop, "Number(document.querySelector('#to-fact').value) < 3000")


def test_pointing_at_the_day_s_line_goes_there(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served)
    box = laptop.locator("#near").bounding_box()
    assert box is not None
    laptop.mouse.click(box["x"] + box["width"] - 40, box["y"] + 20)
    wait_until(laptop, "Number(document.querySelector('#to-fact').value) > 6000")


def test_damage_is_said_with_its_byte_and_what_is_whole_is_shown(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served, "#damaged/3000")
    wait_until(laptop, "document.querySelector('#day-says').textContent.includes('2 places are damaged')")
    said = laptop.inner_text("#day-says")
    content = SAMPLE.read_bytes()
    byte = content.rindex(b"\n", 0, content.index(b'{"seq":3500,')) + 1
    assert f"{byte:,}" in said
    assert screen(laptop) == as_it_was(3000)


@pytest.mark.parametrize("place", ["", f"#{NAME}/3000", "#charts", "#nothing/5"])
@pytest.mark.parametrize("width", [390, 1280, 1920])
def test_axe_core_finds_nothing(
    served: WebProcess, browser: Browser, axe: str, place: str, width: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 900}, locale="en-GB")
    try:
        page.goto(f"{served.address}{place}")
        page.wait_for_timeout(1500)
        assert violations(page, axe) == []
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        if place == f"#{NAME}/3000":
            page.keyboard.press("/")
            assert violations(page, axe) == []
            page.keyboard.press("Escape")
            page.keyboard.press("?")
            assert violations(page, axe) == []
    finally:
        page.close()


def test_it_asks_nobody_else_and_complains_of_nothing(served: WebProcess, laptop: Page) -> None:
    log = Log(laptop)
    for place in ("", f"#{NAME}/3000", "#charts"):
        open_at(laptop, served, place) if place != "#charts" else laptop.goto(f"{served.address}#charts")
        laptop.wait_for_timeout(500)
    assert log.hosts() == {f"127.0.0.1:{served.address.split(':')[2].split('/')[0]}", ""} - {""} | (
        {""} if "" in log.hosts() else set()
    )
    assert log.complaints == []
    assert laptop.context.cookies() == []


@pytest.mark.parametrize(
    ("within", "wanted", "found"),
    [
        ("printed", "tidebook board", "TIDEBOOK BOARD"),
        ("pattern", "DISC +TRANSFERS", "DISC TRANSFERS"),
        ("kind", "hands on asked", "A person was asked to do"),
        ("step", "round.read-a", "round.read-a-frame: done"),
    ],
)
def test_what_is_searched_is_found_and_opens(
    served: WebProcess, laptop: Page, within: str, wanted: str, found: str
) -> None:
    open_at(laptop, served, f"#{NAME}/10")
    laptop.keyboard.press("/")
    laptop.select_option("#search-in", within)
    laptop.fill("#wanted", wanted)
    laptop.keyboard.press("Enter")
    wait_until(laptop, "document.querySelectorAll('#found li').length > 0")
    assert found in laptop.inner_text("#found")
    laptop.keyboard.press("Enter")  # the first one found has the focus
    wait_until(laptop, "Number(document.querySelector('#to-fact').value) > 10")


def test_a_search_that_makes_no_sense_is_answered_with_sentences(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served)
    laptop.keyboard.press("/")
    for within, wanted, said in [
        ("printed", "  ", "Write what to look for."),
        ("pattern", "(", "This pattern can't be used"),
        ("kind", "moon", "There is no kind of fact called moon."),
        ("printed", "no machine ever said this", "Nothing was found."),
    ]:
        laptop.select_option("#search-in", within)
        laptop.fill("#wanted", wanted)
        laptop.press("#wanted", "Enter")
        wait_until(laptop, f"document.querySelector('#found-says').textContent.includes({said!r})")


def test_a_chart_has_its_numbers_in_a_table_and_each_leads_to_its_moment(
    served: WebProcess, laptop: Page
) -> None:
    laptop.goto(f"{served.address}#charts")
    wait_until(laptop, "document.querySelectorAll('#chart-numbers tbody tr').length > 0")
    assert laptop.locator("#chart canvas").count() == 1
    assert "too little data" in laptop.inner_text("#charts-says")
    laptop.click("#chart-numbers a >> nth=0")
    wait_until(laptop, "document.documentElement.dataset.view === 'study'")


def test_the_list_says_each_recording_and_opens_it(served: WebProcess, laptop: Page) -> None:
    open_at(laptop, served, "")
    said = laptop.inner_text("#shelf-list")
    assert "25 November 2026, 10:00 to 10:05" in said
    assert "simulated" in said
    assert "not closed properly" in said
    laptop.click(f"#shelf-list a[href='#{NAME}']")
    wait_until(laptop, "document.documentElement.dataset.view === 'study'")


def test_an_address_that_leads_nowhere_is_said_in_sentences(served: WebProcess, laptop: Page) -> None:
    laptop.goto(f"{served.address}#yesterday/7")
    wait_until(laptop, "!document.querySelector('#fault').hidden")
    assert "There is no recording yesterday here." in laptop.inner_text("#fault")
    assert laptop.inner_text("#shelf-head") == "Recordings"
    open_at(laptop, served)
    laptop.evaluate("location.hash = '#yesterday/7'")
    wait_until(laptop, "!document.querySelector('#shelf').hidden")
    assert "There is no recording yesterday here." in laptop.inner_text("#fault")
    assert laptop.is_hidden("#study")


def test_when_its_process_is_gone_the_page_says_so_and_keeps_what_it_shows(
    laptop: Page, tmp_path: Path, needs: Any
) -> None:
    (tmp_path / SAMPLE.name).write_bytes(SAMPLE.read_bytes())
    process = serve(tmp_path / "cache", tmp_path / SAMPLE.name)
    try:
        open_at(laptop, process)
        before = screen(laptop)
    finally:
        process.end()
    laptop.keyboard.press("s")
    wait_until(laptop, "!document.querySelector('#fault').hidden")
    assert "Start `exhibit records` again" in laptop.inner_text("#fault")
    assert screen(laptop) == before
