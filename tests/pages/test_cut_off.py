"""The network is cut, or the web process killed, in each mode: the page says so, and comes back by itself."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.cable import cable
from tests.pages.pictures import EARLIER, STATES
from tests.pages.web_processes import WebProcess, free_port

pytestmark = pytest.mark.waits

BADGE = "document.querySelector('#badge').dataset.badge"
SHOWN = {
    "listen": "live",
    "watching": "watching",
    "resting": "resting",
    "failed": "failed",
    "link-lost": "link lost",
    "not started": "not started today",
    "replay": "recorded",
    "meanwhile": "recorded",
}


@contextmanager
def recordings(name: str, folder: Path) -> Iterator[Path]:
    """What the web process is to show in this mode."""
    if name == "not started":
        yield folder
    elif name == "replay":
        yield made_facts.write(folder / "recordings", made_facts.a_day())
    elif name == "meanwhile":
        made_facts.write(folder, pictures.good_day(), made_facts.opened(wall=EARLIER))
        with STATES["resting"](folder) as where:
            yield where
    else:
        with STATES[name](folder / name) as where:
            yield where


@contextmanager
def process(name: str, where: Path, cache: Path, port: int) -> Iterator[WebProcess]:
    """The web process in this mode."""
    if name == "replay":
        with web_processes.replay(where, cache, rate=float("inf"), port=port) as web:
            yield web
    else:
        with web_processes.live(where, port, turn_after_s=0.5 if name == "meanwhile" else 3600) as web:
            yield web


@pytest.mark.parametrize("name", SHOWN)
def test_the_page_says_that_it_is_cut_off_and_comes_back_by_itself(
    name: str, page: Page, tmp_path: Path
) -> None:
    shown = f"{BADGE} === '{SHOWN[name]}'"
    with (
        recordings(name, tmp_path) as where,
        process(name, where, tmp_path / "cache", 0) as web,
        cable(web.port) as line,
    ):
        page.goto(line.address)
        wait_until(page, shown)
        said = page.inner_text("#caption")
        line.pull()
        wait_until(page, f"{BADGE} === 'reconnecting'")
        assert "carries on by itself" in page.inner_text("#notice")
        assert page.inner_text("#caption").strip()  # never blank
        assert page.get_attribute("#story", "data-kind") != "look or listen for"
        line.plug_in()
        wait_until(page, shown)
        if name != "meanwhile":  # which has played on
            wait_until(page, f"document.querySelector('#caption').innerText === {said!r}")


@pytest.mark.parametrize("name", ["listen", "replay", "meanwhile", "not started"])
def test_a_web_process_that_is_killed_and_started_again_shows_the_same_mode_again(
    name: str, page: Page, tmp_path: Path
) -> None:
    shown = f"{BADGE} === '{SHOWN[name]}'"
    with recordings(name, tmp_path) as where:
        port = free_port()
        with process(name, where, tmp_path / "cache", port) as web:
            page.goto(web.address)
            wait_until(page, shown)
            said = page.inner_text("#caption")
        wait_until(page, f"{BADGE} === 'reconnecting'")
        assert page.inner_text("#caption").strip()
        assert page.get_attribute("#story", "data-kind") != "look or listen for"
        with process(name, where, tmp_path / "cache", port):
            wait_until(page, shown)
            if name != "meanwhile":
                wait_until(page, f"document.querySelector('#caption').innerText === {said!r}")


def test_the_listening_caption_is_told_while_the_page_is_not_cut_off(page: Page, tmp_path: Path) -> None:
    """The control: without it the tests above would find nothing amiss on a page that never tells it."""
    with recordings("listen", tmp_path) as where, process("listen", where, tmp_path, 0) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#story').dataset.kind === 'look or listen for'")
