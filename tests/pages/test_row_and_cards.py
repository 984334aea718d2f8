"""The row of cabinets along the foot, what a touched part says, and the cards of background."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES

PARTS = ["processor", "small-drive", "upper-drive", "lower-drive", "console"]


def highlighted(page: Page) -> list[str]:
    found = page.evaluate("[...document.querySelectorAll('.part.highlighted')].map((e) => e.dataset.part)")
    assert isinstance(found, list)
    return found


def test_the_parts_stand_in_their_order_and_to_scale(page: Page, tmp_path: Path) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        drawn = page.evaluate(
            """Object.fromEntries([...document.querySelectorAll(".part")].map((part) => {
                const shape = part.querySelector(".outline, .hatched").getBoundingClientRect();
                return [part.dataset.part, [shape.left, shape.top, shape.width, shape.height]];
            }))"""
        )
        assert list(drawn) == PARTS
        (left, top, width, height), small = drawn["processor"], drawn["small-drive"]
        assert height / width == pytest.approx(175 / 60, rel=0.02)  # scripts/whimbrel/machine.toml
        assert small[3] / height == pytest.approx(95 / 175, rel=0.02)
        upper, lower = drawn["upper-drive"], drawn["lower-drive"]
        assert upper[0] == pytest.approx(lower[0], abs=0.5)
        assert upper[1] + upper[3] == pytest.approx(lower[1], abs=0.5)
        assert left < small[0] < upper[0] < drawn["console"][0]
        assert top + height == pytest.approx(small[1] + small[3], abs=0.5)


def test_the_part_of_the_caption_is_hatched_and_a_line_leads_to_it(page: Page, tmp_path: Path) -> None:
    with STATES["live"](tmp_path / "a") as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('.part.highlighted')")
        assert highlighted(page) == ["processor"]
        fill = "getComputedStyle(document.querySelector('[data-part={}] .hatched')).fill"
        assert "#hatch" in page.evaluate(fill.format("processor"))
        assert page.evaluate(fill.format("console")) == "none"
        inside = page.evaluate(
            """(() => {
                const end = document.querySelector("#leader circle").getBoundingClientRect();
                const part = document.querySelector("[data-part=processor] .outline").getBoundingClientRect();
                return end.left >= part.left && end.right <= part.right && Math.abs(end.top - part.top) < 12;
            })()"""
        )
        assert inside
        assert page.inner_text("#part") == "About: Processor"
    with STATES["listen"](tmp_path / "b") as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('.part.highlighted')")
        assert highlighted(page) == ["lower-drive"]


def test_a_touched_part_says_what_it_is_what_is_inside_what_joins_it_and_its_state(
    page: Page, tmp_path: Path
) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("[data-part=lower-drive] .reach")
        told = page.inner_text("#beside")
        for sentence in (
            "Lower disc drive",
            "This part is working.",
            "The pack SALLOW 2 is in it and can be written on",
            "as confirmed at 09:12",
            "The pack in it is for work",
            "a pack of discs that can be lifted out",
            "Cables lead to: Processor.",
            "80 cm wide and 65 cm high",
        ):
            assert sentence in told
        assert page.get_attribute("[data-part=lower-drive]", "aria-pressed") == "true"
        assert page.locator(".cables polyline").count() == 1
        page.focus("[data-part=console]")
        page.keyboard.press("Enter")
        assert "Everything that people and machine say" in page.inner_text("#beside")
        page.click(".card-head button")
        assert page.inner_text("#beside").startswith("Background")
        assert page.locator(".cables polyline").count() == 0


def test_a_part_that_is_being_restored_is_said_so_and_drawn_otherwise(page: Page, tmp_path: Path) -> None:
    import msgspec

    drawn = dict(made_facts.WHIMBREL.machine.drawn)
    drawn["small-drive"] = msgspec.structs.replace(drawn["small-drive"], state="being restored")
    with pictures.held(tmp_path, [], drawn=drawn) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        name = page.get_attribute("[data-part=small-drive]", "aria-label")
        assert name == "Small disc drive, being restored"
        dashes = page.evaluate(
            """["small-drive", "processor"].map((part) =>
                getComputedStyle(document.querySelector(`[data-part=${part}] .outline`)).strokeDasharray)"""
        )
        assert dashes[0] != "none"
        assert dashes[1] == "none"


def test_each_card_says_that_it_is_background_and_what_it_rests_on(page: Page, tmp_path: Path) -> None:
    with STATES["resting"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        titles = []
        for _ in range(6):
            told = page.inner_text("#beside")
            assert told.startswith("Background")
            assert "Source:" in told
            titles.append(str(page.text_content("#beside h3")))
            page.click(".card-head button")
        assert len(set(titles)) == 6
        assert page.text_content("#beside h3") == titles[0]
        assert {title.split(" ", 1)[1].strip() for title in titles} >= {"Who used it", "Come and help"}


def test_a_card_gives_way_to_the_next_when_nothing_new_is_said(page: Page, tmp_path: Path) -> None:
    page.clock.install()
    with STATES["resting"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        page.clock.run_for(2000)
        wait_until(page, HAS_PICTURE)
        first = page.inner_text("#beside h3")
        page.clock.run_for(20_000)
        assert page.inner_text("#beside h3") == first
        page.clock.run_for(60_000)
        assert page.inner_text("#beside h3") != first


def test_a_machine_that_is_not_drawn_has_no_row(page: Page, tmp_path: Path) -> None:
    with pictures.held(tmp_path, [], drawn={}, cards=[]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert not page.is_visible("#row")
        assert not page.is_visible("#leader")


def test_no_name_of_a_part_lies_over_another_or_leaves_the_row_in_any_language(
    page: Page, tmp_path: Path
) -> None:
    long = {"en": "Processor", "de": "Rechnerschrank"}
    parts = {**made_facts.WHIMBREL.machine.parts, "processor": long}
    made = made_facts.opened(parts=parts, languages={"en": "English", "de": "Deutsch"})
    path = made_facts.write(tmp_path, made_facts.a_day(), made)
    with web_processes.live(path) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        for tag, name in (("en", "Lower"), ("de", "Plattenlaufwerk")):
            page.click(f"#languages button[lang={tag}]")
            wait_until(page, f"document.querySelector('#cabinets').textContent.includes('{name}')")
            assert page.evaluate(OVERLAPS) == []


OVERLAPS = """(() => {
    const row = document.querySelector("#cabinets").getBoundingClientRect();
    const texts = [...document.querySelectorAll("#cabinets text")];
    const boxes = [...texts, ...document.querySelectorAll("#cabinets .part :is(rect:not(.reach), line)")];
    const place = (one) => one.getBoundingClientRect();
    const beside = (a, b) => a.left >= b.right || b.left >= a.right;
    const over = (a, b) => !beside(a, b) && a.top < b.bottom - 4 && b.top < a.bottom - 4;
    const found = texts.filter((one) => place(one).left < row.left - 1 || place(one).right > row.right + 1);
    for (const one of texts) {
        const others = boxes.filter((other) => other !== one && over(place(one), place(other)));
        found.push(...others.filter((other) => other.parentElement !== one.parentElement));
    }
    return found.map((one) => one.outerHTML);
})()"""
"""Names that lie over a name or a drawing of another part, or outside of the row."""


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080)])
def test_no_line_of_a_card_is_cut_in_half_above_its_foot(
    size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    with STATES["watching"](tmp_path) as where, web_processes.live(where) as web:
        page.set_viewport_size({"width": size[0], "height": size[1]})
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        longer = 0
        for part in PARTS:
            page.click(f"[data-part={part}] .reach")
            for scrolled in (0, 7, 15):
                page.evaluate("(to) => { document.querySelector('#beside').scrollTop = to; }", scrolled)
                page.wait_for_function(f"document.querySelector('#beside').scrollTop <= {scrolled}")
                page.evaluate(
                    "new Promise((then) => requestAnimationFrame(() => requestAnimationFrame(then)))"
                )
                cut = page.evaluate(CUT_LINES)
                assert cut["cut"] == [], (part, scrolled)
                longer += cut["foot"]
        assert longer  # else nothing was looked at


CUT_LINES = """(() => {
    const more = document.querySelector("#beside .more");
    if (more.hidden) return {foot: 0, cut: []};
    const cover = parseFloat(getComputedStyle(more, "::before").height) || 0;
    const edge = more.getBoundingClientRect().top - cover;
    const cut = [];
    for (const one of document.querySelectorAll("#beside :is(p, dt, dd):not(.more)")) {
        const range = document.createRange();
        range.selectNodeContents(one);
        for (const line of range.getClientRects()) {
            if (line.top < edge - 1 && line.bottom > edge + 1) cut.push(one.textContent);
        }
    }
    return {foot: 1, cut};
})()"""
"""Whether the card's foot shows, and the texts of which a line lies across its upper edge."""
