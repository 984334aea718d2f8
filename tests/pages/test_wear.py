"""A touched part says how long it has run; a machine that rests because of a limit says so."""

from __future__ import annotations

from pathlib import Path

from playwright.sync_api import Page

from exhibit.facts import kinds
from exhibit.facts.units import H_US
from exhibit.facts.use_before import PartUse, UseBefore
from exhibit.facts.use_facts import Limit
from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import HAS_PICTURE

ROOT = Path(__file__).resolve().parents[2]


def test_a_touched_part_says_how_long_it_has_run(page: Page, tmp_path: Path) -> None:
    part = PartUse(run_us=1234 * H_US + 1, starts=300, running_since=["the machine"])
    before = UseBefore(at=made_facts.WALL, parts={"lower-drive": part, "small-drive": PartUse(run_us=5)})
    with pictures.held(tmp_path, [], use_before=before) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        page.click("button[data-part=lower-drive]")
        assert "has run for 1,234 hours, and it has been running since 09:12." in page.inner_text("#beside")
        page.click("button[data-part=small-drive]")
        assert "has run for less than an hour." in page.inner_text("#beside")
        page.click("button[data-part=console]")
        assert "has run for" not in page.inner_text("#beside")


def test_a_machine_that_rests_because_of_a_limit_says_so_and_until_when(page: Page, tmp_path: Path) -> None:
    until_us = 1_800_000_000
    refused = kinds.ScriptRefused(
        script="round", limit="exercise in an hour", why="it had 40 min", until_us=until_us
    )
    told = [refused, kinds.SessionResting(until_us=until_us)]
    with pictures.held(tmp_path, told) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#doing').textContent.includes('exercise for this hour')")
        assert "the next round starts at" in str(page.text_content("#doing"))


def test_every_limit_has_its_words_in_each_language() -> None:
    limits = set(Limit.__args__) - {"rest"}  # type: ignore[attr-defined]
    for name in ("en.js", "de.js", "he.js"):
        words = (ROOT / "web/words" / name).read_text("utf-8")
        held = words[words.index("  restingBecause: {") :].split("},")[0]
        assert {limit for limit in limits if f'"{limit}":' in held or f"\n    {limit}:" in held} == limits
