"""When nobody watches over the machine, the page says what may still be running there."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.pictures import EARLIER, EXERCISERS, HAS_PICTURE, LANGUAGES, STATES, good_day

SHOWN = "!document.querySelector('#may-run').hidden"
LINES = "[...document.querySelectorAll('#may-run li')].map((one) => one.innerText)"
ENDS = "It has a time limit and stops by 09:17 at the latest."
MODE = "document.documentElement.dataset.mode"


def test_when_the_line_is_lost_the_page_says_what_may_run_until_when_and_how_it_is_stopped(
    page: Page, tmp_path: Path
) -> None:
    with STATES["link-lost"](tmp_path) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, SHOWN)
        assert "it may still be running" in page.inner_text("#may-run strong")
        assert page.evaluate(LINES) == [
            f"Lower disc drive: kept busy by job 1. {ENDS}",
            f"Processor: kept busy by job 2. {ENDS}",
            "Take care: Touch only this computer’s signal plug: no mains cable, and nothing behind a cover. "
            "If you aren’t sure which it is, call the keyholder. "
            "Who may: only a volunteer who has been shown this.",
            "For the docent, to stop them by hand: Connect a terminal to the line in place of this computer. "
            "Sign on as TIDES, then type STOP and the number.",
        ]
        page.click("#languages button[lang=de]")
        wait_until(page, "document.querySelector('#may-run').innerText.includes('spätestens um 09:17')")
        assert "Melden Sie sich als TIDES an und tippen Sie STOP" in page.inner_text("#may-run")
        page.click("#languages button[lang=he]")
        wait_until(page, "document.documentElement.dir === 'rtl'")
        assert page.inner_text("#may-run").count("09:17") == 2


def test_on_a_phone_the_visitors_sentence_comes_before_what_the_docent_should_do(
    page: Page, tmp_path: Path
) -> None:
    top = "(what) => document.querySelector(what).getBoundingClientRect().top"
    with STATES["link-lost"](tmp_path) as where, web_processes.live(where) as web:
        page.set_viewport_size({"width": 320, "height": 640})
        page.goto(web.address)
        wait_until(page, SHOWN)
        assert (
            page.evaluate(top, "#caption") < page.evaluate(top, "#may-run") < page.evaluate(top, "#drawing")
        )
        page.set_viewport_size({"width": 1920, "height": 1080})
        wait_until(page, "document.querySelector('#strip #may-run') !== null")


@pytest.mark.parametrize("ends_us", [276_000_000, 0])
def test_after_a_failure_a_job_that_goes_on_is_told_and_one_that_never_ends_is_told_so(
    ends_us: int, page: Page, tmp_path: Path
) -> None:
    begun = kinds.ExerciserBegun(exerciser="shuttle", job="1", part="lower-drive", ends_us=ends_us)
    failed = kinds.SessionFailed(why="it did not answer", last_lines=[])
    with pictures.held(tmp_path, [begun, failed]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, SHOWN)
        line = page.evaluate(LINES)[0]
        assert ("at the latest" in line) == bool(ends_us)
        assert ("somebody has to stop it" in line) == (not ends_us)


def test_while_the_machine_is_watched_over_nothing_is_said_of_it(page: Page, tmp_path: Path) -> None:
    with pictures.held(tmp_path, EXERCISERS) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, HAS_PICTURE)
        assert page.is_hidden("#may-run")


def test_it_stays_said_while_a_recording_is_shown_and_goes_when_the_line_is_back(
    page: Page, tmp_path: Path
) -> None:
    made_facts.write(tmp_path, good_day(), made_facts.opened(wall=EARLIER))
    with made_facts.beating(tmp_path) as tell, web_processes.live(tmp_path, turn_after_s=1) as web:
        for fact in (kinds.LineOpened(line="x"), *EXERCISERS, kinds.LineLost(why="unplugged")):
            tell(fact)
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile' && {SHOWN}")
        assert "Lower disc drive: kept busy by job 1." in page.inner_text("#may-run")
        tell(kinds.LineOpened(line="x"))
        wait_until(page, f"{MODE} === 'live' && !({SHOWN})")


def test_what_a_docent_is_to_do_stays_while_a_recording_is_shown(page: Page, tmp_path: Path) -> None:
    trouble = kinds.TroubleRaised(
        trouble="disc-errors",
        line="x",
        words={"en": "Errors."},
        do={"en": "Call the engineer."},
        caution={"en": "It still spins."},
    )
    made_facts.write(tmp_path, good_day(), made_facts.opened(wall=EARLIER))
    with made_facts.beating(tmp_path) as tell, web_processes.live(tmp_path, turn_after_s=1) as web:
        for fact in (
            kinds.LineOpened(line="x"),
            trouble,
            kinds.SessionFailed(why="no answer", last_lines=[]),
        ):
            tell(fact)
        page.goto(web.address)
        wait_until(page, f"{MODE} === 'meanwhile'")
        wait_until(page, "document.querySelector('#trouble').innerText.includes('Call the engineer.')")
        said = page.inner_text("#trouble")
        assert said.startswith("At the machine itself: trouble noticed at")
        assert said.index("Take care: It still spins.") < said.index("Call the engineer.")
        tell(kinds.SessionCleared(by="a docent"))
        wait_until(
            page, f"{MODE} === 'live' && document.querySelector('#trouble').innerText.startsWith('Trouble')"
        )


DOUBT = kinds.JobInDoubt(
    asked=1,
    exercisers=["shuttle"],
    command="BEGIN SHUTTLE LOWER 4 MINUTES",
    by="script round",
    why="the line was lost",
    ends_us=276_000_000,
)


@pytest.mark.parametrize(
    ("doubt", "line"),
    [
        (
            DOUBT,
            "Lower disc drive: perhaps kept busy by a job whose number we don’t know. "
            "It was meant to stop by itself by 09:17 at the latest. Somebody has to look.",
        ),
        (
            msgspec.structs.replace(DOUBT, job="7", ends_us=0),
            "Lower disc drive: perhaps kept busy by job 7. Somebody has to look.",
        ),
    ],
)
def test_a_job_in_doubt_is_told_while_the_machine_is_watched_over_and_nothing_is_said_to_run(
    doubt: kinds.JobInDoubt, line: str, page: Page, tmp_path: Path
) -> None:
    with pictures.held(tmp_path, [doubt], languages=LANGUAGES) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, SHOWN)
        assert page.inner_text("#may-run strong").startswith("This may be running.")
        assert page.evaluate(LINES)[0] == line
        page.click("#languages button[lang=de]")
        wait_until(
            page, "document.querySelector('#may-run').innerText.includes('vielleicht beschäftigt durch')"
        )
        page.click("#languages button[lang=he]")
        wait_until(page, "document.documentElement.dir === 'rtl'")
        assert page.inner_text("#may-run").count("09:17") == (1 if doubt.ends_us else 0)


def test_a_job_that_was_started_and_one_in_doubt_are_told_apart(page: Page, tmp_path: Path) -> None:
    begun = kinds.ExerciserBegun(exerciser="sums", job="1", part="processor", ends_us=276_000_000)
    failed = kinds.SessionFailed(why="it did not answer", last_lines=[])
    with pictures.held(tmp_path, [begun, DOUBT, failed]) as where, web_processes.live(where) as web:
        page.goto(web.address)
        wait_until(page, SHOWN)
        headings = page.evaluate(
            "[...document.querySelectorAll('#may-run strong')].map((one) => one.innerText)"
        )
        assert ["it may still be running" in one for one in headings] == [True, False]
        first, *_, doubted, _, _ = page.evaluate(LINES)
        assert first == f"Processor: kept busy by job 1. {ENDS}"
        assert "perhaps" in doubted
