"""While the machine owes something and sends nothing, the page says only since when."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import LANGUAGES

SCRIPT = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="script round", round=1)
CAPTION = kinds.CaptionShown(
    caption="works", kind="seen", words={"en": "It works."}, part="", because=[], source={}
)
SILENT = kinds.MachineSilent(heard_us=1, due_us=2, due="typing")
KIND = "document.querySelector('#kind').innerText"
BADGE = "document.querySelector('#badge').dataset.badge"


@pytest.mark.parametrize(
    ("tag", "heard"), [("en", "Nothing heard since"), ("de", "Seit"), ("he", "לא נשמע דבר מאז")]
)
def test_since_when_nothing_was_heard_takes_the_place_of_the_caption_until_it_is_heard_again(
    tag: str, heard: str, page: Page, tmp_path: Path
) -> None:
    with (
        made_facts.beating(tmp_path, made_facts.opened(languages=LANGUAGES)) as tell,
        web_processes.live(tmp_path) as web,
    ):
        for fact in (kinds.LineOpened(line="x"), SCRIPT, CAPTION):
            tell(fact)
        page.goto(web.address)
        wait_until(page, "document.querySelector('#caption').innerText === 'It works.'")
        if tag != "en":
            page.click(f"#languages button[lang={tag}]")
        tell(SILENT)
        wait_until(page, f"{BADGE} === 'silent' && {KIND}.startsWith('{heard}')")
        assert "It works." not in page.inner_text("body")
        assert heard in str(page.text_content("#doing-rows tr"))
        tell(kinds.BytesReceived(bytes="X", first_us=3))
        wait_until(page, f"{BADGE} !== 'silent' && !{KIND}.startsWith('{heard}')")
