"""What a touched part says, its looks when the caption is about it, and the cards of background."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES

DRAWN = "document.querySelectorAll('#drawing button[data-part]').length === 5"


def test_the_part_of_the_caption_is_marked_and_a_line_leads_from_it_to_the_captions_rule(
    page: Page, tmp_path: Path
) -> None:
    for name, part in (("live", "processor"), ("listen", "lower-drive")):
        with STATES[name](tmp_path / name) as where, web_processes.live(where) as web:
            page.goto(web.address)
            wait_until(page, "document.querySelector('#drawing .spoken')")
            spoken = (
                "[...document.querySelectorAll('#drawing .part-front.spoken')].map((e) => e.dataset.part)"
            )
            assert page.evaluate(spoken) == [part]
            wait_until(page, "!document.querySelector('#leader').hidden")
            page.wait_for_timeout(300)
            off = page.evaluate(
                """(part) => {
                    const line = document.querySelector("#leader").getBoundingClientRect();
                    const front = document.querySelector(`#drawing .part-front[data-part=${part}] .outline`);
                    const box = front.getBoundingClientRect();
                    const rule = document.querySelector("#story").getBoundingClientRect().top;
                    return [line.left - box.left, line.width - box.width, line.top - box.bottom,
                        line.bottom - rule];
                }""",
                part,
            )
            assert off == pytest.approx([0, 0, 0, 4], abs=1.5)


def test_a_touched_part_says_what_it_is_what_is_inside_what_joins_it_and_its_state(
    page: Page, tmp_path: Path
) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, DRAWN)
        page.click("button[data-part=lower-drive]")
        assert page.inner_text("#beside-head") == "Lower disc drive"
        told = page.inner_text("#beside")
        for sentence in (
            "This part is working.",
            "The pack SALLOW 2 is in it and can be written on",
            "as confirmed at 09:12",
            "a pack of discs that can be lifted out",
            "Cables lead to: Processor.",
            "Each square on its cable stands for uses of the disc",
            "80 cm wide and 65 cm high",
        ):
            assert sentence in told
        assert page.get_attribute("button[data-part=lower-drive]", "aria-pressed") == "true"
        page.keyboard.press("Escape")
        assert page.get_attribute("button[data-part=lower-drive]", "aria-pressed") == "false"
        page.focus("button[data-part=console]")
        page.keyboard.press("Enter")
        assert "Everything that people and machine say" in page.inner_text("#beside")


def test_each_card_says_that_it_is_background_and_what_it_rests_on(page: Page, tmp_path: Path) -> None:
    with STATES["resting"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#open-cards")
        titles = page.evaluate("[...document.querySelectorAll('#cards-sheet h3')].map((e) => e.innerText)")
        assert len(titles) >= 6
        assert all(title.startswith("Background") for title in titles)
        sources = page.evaluate("document.querySelectorAll('#cards-sheet .card-source').length")
        assert sources == len(titles)
        assert {title.split("\n")[-1].strip() for title in titles} >= {"Who used it", "Come and help"}


def test_a_machine_that_is_not_drawn_has_no_drawing(page: Page, tmp_path: Path) -> None:
    with pictures.held(tmp_path, [], drawn={}, cards=[]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert not page.is_visible("#drawing")
        assert not page.is_visible("#leader")
        assert not page.is_visible("#open-cards")


def test_a_part_that_is_being_restored_is_said_so(page: Page, tmp_path: Path) -> None:
    import msgspec

    drawn = dict(made_facts.WHIMBREL.machine.drawn)
    drawn["small-drive"] = msgspec.structs.replace(drawn["small-drive"], state="being restored")
    with pictures.held(tmp_path, [], drawn=drawn) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, DRAWN)
        page.click("button[data-part=small-drive]")
        assert page.inner_text("#beside").startswith("This part is being restored.")
