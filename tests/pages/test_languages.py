"""The page loads the words of its language only, and another language is one more file."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from exhibit.web import places, website
from exhibit.web.picture import Picture
from tests.pages import made_items
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.pictures import HAS_PICTURE
from tests.pages.web_processes import ROOT


def loaded(log: Log) -> list[str]:
    return sorted(set(re.findall(r"/words/(\w\w)\.js", " ".join(log.requests))))


def test_only_the_words_of_the_language_that_is_shown_are_loaded(
    page: Page, log: Log, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        page.goto(laid.address)
        wait_until(page, HAS_PICTURE)
        page.wait_for_timeout(300)
        assert loaded(log) == ["en"]
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        assert loaded(log) == ["de", "en"]
    assert log.complaints == []


def test_a_german_page_never_loads_the_english_words(page: Page, log: Log, tmp_path: Path) -> None:
    with made_items.scenes(tmp_path, "working") as laid:
        page.goto(f"{laid.address}?lang=de")
        wait_until(page, HAS_PICTURE)
        page.wait_for_timeout(300)
        assert page.inner_text("#kind") == "Auf der Konsole gesehen"
        assert loaded(log) == ["de"]


def test_where_the_page_has_no_words_of_its_own_the_museums_stand_beside_english_ones(
    page: Page, log: Log, tmp_path: Path
) -> None:
    words = made_items.caption("One.", "Eins.")
    words["words"] = {"en": "It is at work now.", "fr": "Elle travaille."}
    languages = {"en": "English", "fr": "Français"}
    with made_items.scenes(tmp_path, "working", languages=languages, caption=words) as laid:
        page.goto(f"{laid.address}?lang=fr")
        wait_until(page, HAS_PICTURE)
        wait_until(page, "document.querySelector('#caption').textContent === 'Elle travaille.'")
        assert page.inner_text("#kind") == "Seen on the console"
        assert page.evaluate("document.documentElement.lang") == "fr"
        assert loaded(log) == ["en"]
    assert log.complaints == []


def test_a_fourth_language_is_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    web = tmp_path / "web"
    shutil.copytree(ROOT / "web", web, ignore=shutil.ignore_patterns("node_modules"))
    french = (web / "words/en.js").read_text("utf-8").replace('locale: "en-GB"', 'locale: "fr-FR"')
    (web / "words/fr.js").write_text(french, "utf-8")
    monkeypatch.setattr(places, "web_folder", lambda: web)
    client: Any = website.make_app(Picture("live"), None).test_client()
    assert client.get("/words/languages.js").get_data(as_text=True) == (
        'export const LANGUAGES = ["de", "en", "fr", "he"];\n'
    )
    assert client.get("/words/languages.js").content_type.startswith("text/javascript")
    assert client.get("/words/fr.js").get_data(as_text=True) == french
