"""Each recording that comes with the program: at no moment of it is anybody told to look or listen."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from exhibit.streams.recording import SUFFIX, read_all
from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.picture_text import go_to
from tests.pages.web_processes import ROOT

RECORDINGS = sorted(
    [*(ROOT / "recordings").glob(f"*{SUFFIX}"), *(ROOT / "tests/recordings").glob(f"*{SUFFIX}")]
)
SEEN_KINDS = """() => {
    const story = document.querySelector("#story");
    window.kindsSeen = new Set([story.dataset.kind]);
    new MutationObserver(() => window.kindsSeen.add(story.dataset.kind)).observe(story, {attributes: true});
}"""


def test_there_are_recordings_and_they_tell_people_to_look_and_listen() -> None:
    """The control: what must not be shown is in them."""
    assert len(RECORDINGS) >= 2
    told = [
        entry.fact.caption
        for path in RECORDINGS
        for entry in read_all(path).entries
        if isinstance(entry.fact, kinds.CaptionShown) and entry.fact.kind == "look or listen for"
    ]
    assert told


@pytest.mark.parametrize("path", RECORDINGS, ids=lambda path: path.stem)
def test_no_recorded_page_says_look_or_listen(path: Path, page: Page, tmp_path: Path) -> None:
    facts = read_all(path).entries
    present = {
        entry.seq: entry.fact.words
        for entry in facts
        if isinstance(entry.fact, kinds.CaptionShown) and entry.fact.kind == "look or listen for"
    }
    with web_processes.replay(path, tmp_path, rate=600) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.evaluate(SEEN_KINDS)
        wait_until(page, f"+document.documentElement.dataset.seq >= {facts[-1].seq}")
        assert "look or listen for" not in set(page.evaluate("[...window.kindsSeen]"))
    with web_processes.replay(path, tmp_path) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        assert page.evaluate("document.documentElement.dataset.tense") == "past"
        for seq, words in present.items():
            go_to(page, seq)
            text = page.text_content("body") or ""
            for said in words.values():
                assert said not in text
        # A practice says so first.
        assert "Recorded" in (page.text_content("#badge") or "")


def test_the_controls_of_a_paused_recording_are_said_in_the_language_that_is_chosen(
    page: Page, tmp_path: Path
) -> None:
    path = made_facts.write(
        tmp_path / "recordings", made_facts.a_day(), made_facts.opened(languages=pictures.LANGUAGES)
    )
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        assert page.inner_text("#go-to-fact label").strip() == "Eintrag"
