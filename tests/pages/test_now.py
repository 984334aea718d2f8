"""How busy the machine is, in people's words; the trace; the figures; scrolling back through the console."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE, STATES


def reading(name: str, value: int) -> kinds.ReadingTaken:
    return kinds.ReadingTaken(display="board", frame=2, name=name, value=value)


def rows(page: Page) -> dict[str, str]:
    found = page.evaluate(
        """Object.fromEntries([...document.querySelectorAll("#doing-rows tr")].map(
            (row) => [row.children[0].innerText, row.children[1].innerText]))"""
    )
    assert isinstance(found, dict)
    return found


def test_jobs_share_discs_errors_and_the_date_are_said_as_people_would(page: Page, tmp_path: Path) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        told = rows(page)
        assert told["Jobs"] == (
            "3 jobs: writing marks on a disc and reading them back; sums, over and over; "
            "the tides of the machine’s tomorrow as listed at 09:12"
        )
        assert told["Processor"] == "busy 87% of the time at 09:12"
        assert told["Discs"] == "read or written 3,272 times so far at 09:12"  # 12 + 1043 + 2217
        assert told["Disc errors"] == "none since it was started (read at 09:12)"
        assert told["First heard"] == "09:12"
        assert told["Its date"].startswith("25.11.1998 Its calendar ends with 1999, and")
        assert not {"Step", "Last known place", "Packs"} & set(told)


def test_two_frames_tell_how_often_the_discs_are_used_and_draw_a_trace(page: Page, tmp_path: Path) -> None:
    day = made_facts.a_day()
    end_s = day[-1][0]
    later = [("load", 40), ("small-transfers", 12), ("upper-transfers", 1043), ("lower-transfers", 2317)]
    more = [(end_s + 10, reading(name, value)) for name, value in later]
    path = made_facts.write(tmp_path / "recordings", [*day, *more])
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        assert rows(page)["Discs"].startswith("read or written 600 times a minute")  # 100 in 10 s
        assert str(page.get_attribute("#trace svg", "aria-label")).startswith(
            "The processor was busy between 40 and 87 per cent of the time, most recently 40. "
        )
        (line,) = page.evaluate(
            "[...document.querySelectorAll('#trace polyline')].map((e) => e.getAttribute('points'))"
        )
        (x1, y1), (x2, y2) = (map(float, point.split(",")) for point in line.split())
        assert round(x2 - x1, 1) == 5.0  # ten seconds of ten minutes, on 300
        assert y2 - y1 == pytest.approx((87 - 40) / 100 * (80 - 22 - 6), abs=0.1)


def test_without_any_reading_nothing_is_claimed(page: Page, tmp_path: Path) -> None:
    with STATES["listen"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert not {"Jobs", "Processor", "Discs", "Disc errors", "Its date"} & set(rows(page))
        assert page.evaluate("document.querySelectorAll('#trace polyline').length") == 0


def test_until_readings_come_no_room_is_kept_for_their_line(page: Page, tmp_path: Path) -> None:
    day = [told for told in made_facts.a_day() if not isinstance(told[1], kinds.ReadingTaken)]
    later = [(day[-1][0] + at_s, kinds.BytesReceived(bytes="NO DESK: ", first_us=0)) for at_s in (10, 20, 30)]
    path = made_facts.write(tmp_path / "recordings", [*day, *later])
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        assert page.evaluate(BLANK_ABOVE_BARS) < 8  # px


BLANK_ABOVE_BARS = """(() => {
    const bars = [...document.querySelectorAll("#trace rect")].map((one) => one.getBoundingClientRect().top);
    return Math.min(...bars) - document.querySelector("#trace svg").getBoundingClientRect().top;
})()"""


def test_the_retired_programmer_gets_the_figures_and_the_line_as_it_is_set(
    page: Page, tmp_path: Path
) -> None:
    with STATES["live"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#open-itself")
        told = page.inner_text("#itself-sheet")
        for figure in ("24 bits", "65,536 words", "4.1667 ms each", "2400 baud, 8 bits", "24 lines of 80"):
            assert figure in told


def test_what_was_printed_before_can_be_scrolled_back_to_and_is_the_same_after_a_reload(
    page: Page, tmp_path: Path
) -> None:
    lines = "".join(f"LINE {number:03}\r\n" for number in range(1, 301))
    printed = kinds.BytesReceived(bytes=lines, first_us=0)
    with pictures.held(tmp_path, [printed]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("#more")
        page.click("#open-figures")
        shown = page.evaluate("[...document.querySelectorAll('#earlier-lines li')].map((e) => e.textContent)")
        assert len(shown) == 200
        assert (shown[0], shown[-1]) == ("LINE 101", "LINE 300")
        assert "LINE 101" not in page.inner_text("#rows")
        page.reload()
        wait_until(page, "document.querySelectorAll('#earlier-lines li').length === 200")
