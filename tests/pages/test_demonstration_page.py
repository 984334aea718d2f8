"""The demonstration as a visitor sees it, and the replay of it: the same, to the letter."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from exhibit.streams.recording import RecordingFolder, read_all
from tests.pages import web_processes
from tests.pages.browser import wait_until
from tests.pages.picture_text import assert_same, go_to, shown
from tests.pages.web_processes import ROOT

COMPARED = 50
Watched = tuple[Path, dict[int, dict[str, Any]]]

pytestmark = [pytest.mark.waits, pytest.mark.timeout(600)]


@pytest.fixture(scope="module")
def watched(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Watched:
    """The recording of one round at twenty times the speed, and what a page showed at which fact."""
    folder = tmp_path_factory.mktemp("demo")
    demo = ["exhibit", "demo", "--rounds", "1", "--speed", "20", "--no-browser", "--port", "0"]
    process = subprocess.Popen(
        [sys.executable, "-m", *demo, "--recordings", str(folder)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    at: dict[int, dict[str, Any]] = {}
    try:
        address = next(line for line in process.stdout if "http://" in line).split()[-1]
        page = browser.new_page(reduced_motion="reduce")
        page.goto(address)
        wait_until(page, "+document.documentElement.dataset.seq > 0")
        while process.poll() is None:
            now = shown(page)
            at[now["seq"]] = now
        page.close()
        assert process.wait() == 0
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
    newest = RecordingFolder(folder).newest()
    assert newest is not None
    return newest.path, at


def test_the_replay_shows_what_was_shown_live(watched: Watched, page: Page, tmp_path: Path) -> None:
    path, at = watched
    assert len(at) > COMPARED
    seqs = sorted(at)
    chosen = seqs[:: len(seqs) // COMPARED]
    with web_processes.replay(path, tmp_path) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        for seq in (*chosen, *reversed(chosen[::7])):
            assert_same(at[seq], go_to(page, seq), seq)


def test_every_reading_on_the_page_is_the_one_on_the_record(
    watched: Watched, page: Page, tmp_path: Path
) -> None:
    path, _ = watched
    board: dict[str, str] = {}
    last = 0
    for entry in read_all(path).entries:
        if isinstance(entry.fact, kinds.ReadingTaken) and entry.fact.table is None:
            board[entry.fact.name.replace("-", " ")] = str(entry.fact.value)
            last = entry.seq
    assert len(board) >= 6
    with web_processes.replay(path, tmp_path) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        go_to(page, last)
        pairs = page.evaluate(
            """Object.fromEntries([...document.querySelectorAll(".values div")].map(
                (pair) => [pair.children[0].textContent, pair.children[1].textContent]))"""
        )
        assert pairs == board


def test_every_caption_says_what_it_rests_on(watched: Watched) -> None:
    path, _ = watched
    entries = {entry.seq: entry.fact for entry in read_all(path).entries}
    captions = [fact for fact in entries.values() if isinstance(fact, kinds.CaptionShown)]
    assert {caption.kind for caption in captions} == {"seen", "look or listen for", "background"}
    for caption in captions:
        assert caption.because
        if caption.kind == "look or listen for":
            grounds = [entries[seq] for seq in caption.because]
            assert any(isinstance(fact, kinds.HandsOnConfirmed) for fact in grounds)


def test_the_first_caption_rests_on_received_bytes(watched: Watched, page: Page, tmp_path: Path) -> None:
    path, _ = watched
    entries = {entry.seq: entry for entry in read_all(path).entries}
    first, caption = next(
        (entry, entry.fact)
        for entry in entries.values()
        if isinstance(entry.fact, kinds.CaptionShown) and entry.fact.kind == "seen"
    )
    rests_on = [entries[seq].fact for seq in caption.because]
    assert any(isinstance(fact, kinds.BytesReceived) for fact in rests_on)
    (line,) = [fact.line for fact in rests_on if isinstance(fact, kinds.PatternSeen)]
    with web_processes.replay(path, tmp_path) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        go_to(page, first.seq)
        page.click("#grounds")
        ground = page.inner_text("#grounds-list li")
        assert ground.startswith(f"The machine printed “{line}”")
        assert "facts " in ground
