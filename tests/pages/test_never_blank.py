"""When nothing happens at the machine the page says so, turns to a good recording, and comes back at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from exhibit.web.meanwhile import judge
from tests.pages import made_facts, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import EARLIER, good_day

pytestmark = pytest.mark.waits

BADGE = "document.querySelector('#badge').dataset.badge"
MODE = "document.documentElement.dataset.mode"


@contextmanager
def today(folder: Path, last: kinds.AnyFact) -> Iterator[Callable[[kinds.AnyFact], object]]:
    """Today's recording, after the good one of five days before; still written. Gives what writes a fact."""
    made_facts.write(folder, good_day(), made_facts.opened(wall=EARLIER))
    with made_facts.beating(folder) as tell:
        tell(kinds.LineOpened(line="x"))
        tell(last)
        yield tell


QUIET: dict[str, kinds.AnyFact] = {
    "resting": kinds.SessionResting(until_us=0),
    "failed": kinds.SessionFailed(why="it did not answer", last_lines=[]),
    "link lost": kinds.LineLost(why="unplugged"),
}


@pytest.mark.parametrize("name", QUIET)
def test_a_machine_that_rests_or_failed_or_is_cut_off_is_said_so_and_a_dated_recording_is_shown(
    name: str, page: Page, tmp_path: Path
) -> None:
    with today(tmp_path, QUIET[name]), web_processes.live(tmp_path, turn_after_s=2) as web:
        page.goto(web.address)
        wait_until(page, f"{BADGE} === '{name}' || {MODE} === 'meanwhile'")
        wait_until(page, f"{MODE} === 'meanwhile'")
        wait_until(page, "document.querySelector('#caption').innerText.startsWith('Three jobs')")
        assert page.text_content("#badge") == "Recorded on 20 November 2026"
        told = page.inner_text("#notice")
        assert "All of it happened on 20 November 2026." in told
        assert "25 November 2026, 09:12" in told
        wait_until(
            page, "document.querySelector('#then').innerText === 'On 20 November 2026, visitors read:'"
        )
        assert page.text_content("#doing-head") == "What was happening"
        assert page.inner_text("#machine-date") == "The machine’s program believed it was 25.11.1998"


def test_nobody_is_told_to_look_or_listen_at_any_moment_of_the_recording(page: Page, tmp_path: Path) -> None:
    with today(tmp_path, QUIET["resting"]), web_processes.live(tmp_path, turn_after_s=0.5) as web:
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile'")
        page.evaluate(
            """() => {
                window.kindsSeen = new Set();
                const story = document.querySelector("#story");
                new MutationObserver(() => window.kindsSeen.add(story.dataset.kind))
                    .observe(story, {attributes: true});
            }"""
        )
        stream = page.evaluate("document.documentElement.dataset.stream")
        wait_until(page, f"document.documentElement.dataset.stream !== {stream!r}")  # it begins anew
        wait_until(page, "document.querySelector('#caption').innerText.startsWith('Three jobs')")
        seen = set(page.evaluate("[...window.kindsSeen]"))
        assert "seen" in seen
        assert "look or listen for" not in seen


def test_what_happens_at_the_machine_wins_at_once_and_is_said(page: Page, tmp_path: Path) -> None:
    with today(tmp_path, QUIET["resting"]) as tell, web_processes.live(tmp_path, turn_after_s=2) as web:
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile'")
        page.wait_for_timeout(2500)  # signs of life come, and nothing else
        assert page.evaluate(MODE) == "meanwhile"
        tell(kinds.ScriptStarted(script="round", title={"en": "A round"}, by="session", round=2))
        wait_until(page, f"{MODE} === 'live' && {BADGE} === 'live'", 2.0)
        assert "We are back at the machine itself" in page.inner_text("#notice")
        assert page.text_content("#doing-head") == "What is happening"
        assert "A round" in str(page.text_content("#doing-rows"))


def test_a_machine_that_is_not_back_is_not_said_to_be(page: Page, tmp_path: Path) -> None:
    with today(tmp_path, QUIET["resting"]) as tell, web_processes.live(tmp_path, turn_after_s=2) as web:
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile'")
        tell(kinds.SessionFailed(why="it did not answer", last_lines=[]))
        wait_until(page, f"{MODE} === 'live' && {BADGE} === 'failed'")
        assert "We are back" not in page.inner_text("#notice")


def test_a_day_that_has_not_begun_is_filled_with_a_recording(page: Page, tmp_path: Path) -> None:
    made_facts.write(tmp_path, good_day(), made_facts.opened(wall=EARLIER))
    with web_processes.live(tmp_path, turn_after_s=1) as web:
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile'")
        assert page.inner_text("#badge").startswith("Recorded")
        assert "has done nothing at the machine since 20 November 2026" in page.inner_text("#notice")


def test_only_a_recording_whose_rounds_went_well_is_good(tmp_path: Path) -> None:
    day = good_day()
    end = day[-1][0]
    failed = kinds.SessionFailed(why="it did not answer", last_lines=[])
    assert judge(made_facts.write(tmp_path / "1", day)) == "good"
    assert judge(made_facts.write(tmp_path / "2", day, close=False)) == "broken off"
    assert judge(made_facts.write(tmp_path / "3", [*day, (end, failed)])) == "bad"
    assert judge(made_facts.write(tmp_path / "4", day[:-1])) == "bad"
    watched = made_facts.opened(typing="nothing")
    only_watched = [told for told in day if not isinstance(told[1], kinds.ScriptStarted)]
    assert judge(made_facts.write(tmp_path / "5", only_watched, watched)) == "good"
    hushed = [told for told in only_watched if not isinstance(told[1], kinds.CaptionShown)]
    assert judge(made_facts.write(tmp_path / "6", hushed, watched)) == "bad"
    damaged = made_facts.write(tmp_path / "7", day)
    damaged.write_bytes(damaged.read_bytes().replace(b"WHIMBREL LA", b"WHIMBREL LU", 1))
    assert judge(damaged) == "bad"


def test_before_the_machine_has_said_anything_the_page_says_what_is_being_done(
    page: Page, tmp_path: Path
) -> None:
    with made_facts.beating(tmp_path) as tell, web_processes.live(tmp_path) as web:
        tell(kinds.LineOpened(line="x"))
        page.goto(web.address)
        wait_until(page, f"{BADGE} === 'live'")
        assert page.inner_text("#kind") == "Nothing to explain yet"
        tell(kinds.ScriptStarted(script="opening", title={"en": "Waking the machine"}, by="1"))
        wait_until(page, "document.querySelector('#kind').innerText === 'Waking the machine'")
        assert page.inner_text("#caption").startswith("It has only just started.")
        words = {"en": "Turn the key."}
        tell(kinds.HandsOnAsked(script="opening", step="turn-the-key", words=words, caution={}))
        wait_until(page, "document.querySelector('#caption').innerText.includes('by hand')")
        assert "Turn the key." not in page.inner_text("#caption")  # it isn't the visitors who are asked
        tell(kinds.HandsOnConfirmed(step="turn-the-key", by="1"))
        tell(kinds.ScriptEnded(script="opening", outcome="done", tidy=True, why=""))
        wait_until(page, "document.querySelector('#kind').innerText === 'Nothing to explain yet'")
