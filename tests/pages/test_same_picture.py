"""A page shows the same at the same fact: live, after a reload, come late, replayed and sought."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until
from tests.pages.made_facts import Told
from tests.pages.picture_text import assert_same, differences, go_to, shown, shown_at

Shown = dict[int, dict[str, Any]]


def day() -> list[Told]:
    """The made day, without the facts that show nothing, each of which costs the test its time."""
    return [told for told in made_facts.a_day() if not isinstance(told[1], kinds.BytesTyped)]


@pytest.fixture(scope="module")
def live(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Shown]:
    """The recording, and what a live page showed at each of its facts."""
    folder = tmp_path_factory.mktemp("recordings")
    writer = made_facts.begin(folder)
    with web_processes.live(folder) as web:
        page = browser.new_page(reduced_motion="reduce")
        page.goto(web.address)
        at: Shown = {1: shown_at(page, 1)}
        for number, (at_s, fact) in enumerate(day()):
            entry = writer.append(fact, int(at_s * 1e6))
            at[entry.seq] = shown_at(page, entry.seq)
            if number % 40 == 20:
                page.reload()
                assert shown_at(page, entry.seq)["all"] == at[entry.seq]["all"]
                late = browser.new_page(reduced_motion="reduce")
                late.goto(web.address)
                assert shown_at(late, entry.seq)["all"] == at[entry.seq]["all"]
                late.close()
        page.close()
    writer.close("the day is over", int(at_s * 1e6))
    return writer.path, at


def test_a_seek_to_any_fact_shows_what_was_shown_live(
    live: tuple[Path, Shown], page: Page, tmp_path: Path
) -> None:
    path, at = live
    # The made day is shorter than a keyframe's distance is in earnest.
    with web_processes.replay(path, tmp_path, keyframe_every_us=2_000_000) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        forwards = sorted(at)[::2]
        backwards = sorted(at, reverse=True)[::5]
        for seq in (*forwards, *backwards):
            assert_same(at[seq], go_to(page, seq), seq)


def test_a_replay_from_the_start_shows_what_was_shown_live(
    live: tuple[Path, Shown], page: Page, tmp_path: Path
) -> None:
    path, at = live
    seen: Shown = {}
    with web_processes.replay(path, tmp_path, rate=2.0) as web:
        page.emulate_media(reduced_motion="reduce")
        page.goto(web.address)
        while max(seen, default=0) < max(at):
            now = shown(page) if wait_until(page, "document.documentElement.dataset.seq") else {}
            seen[now["seq"]] = now
    compared = [seq for seq in seen if seq in at]
    assert len(compared) > 5
    for seq in compared:
        assert_same(at[seq], seen[seq], seq)


def test_one_changed_byte_is_found(live: tuple[Path, Shown], page: Page, tmp_path: Path) -> None:
    _, at = live
    place, told = next(
        (place, told)
        for place, told in enumerate(day())
        if isinstance(told[1], kinds.BytesReceived) and "D" in told[1].bytes
    )
    fact = told[1]
    assert isinstance(fact, kinds.BytesReceived)
    bent = kinds.BytesReceived(bytes=fact.bytes.replace("D", "B", 1), first_us=fact.first_us)
    changed = [*day()[:place], (told[0], bent), *day()[place + 1 :]]
    path = made_facts.write(tmp_path / "bent", changed)
    seq = place + 2
    with web_processes.replay(path, tmp_path / "cache") as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#play')")
        page.click("#play")
        assert_same(at[seq - 1], go_to(page, seq - 1), seq - 1)
        found = go_to(page, seq)
        assert differences(at[seq], found)
        assert found["text"] != at[seq]["text"]


def test_live_shows_look_or_listen_captions_and_replay_never(live: tuple[Path, Shown]) -> None:
    _, at = live
    assert any(one["kind"] == "look or listen for" for one in at.values())
    assert any(one["kind"] == "background" for one in at.values())
    assert any(one["kind"] == "seen" for one in at.values())
