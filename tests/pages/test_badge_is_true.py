"""The badge on the page, while the bridge and the web process are killed, stopped and brought back.

A quiet machine, a dead bridge and a stopped bridge are told apart, and shown within 5 s.
"""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Page

from exhibit.facts import kinds
from tests.pages import made_facts, pictures, web_processes
from tests.pages.browser import wait_until
from tests.pages.web_processes import ROOT

pytestmark = pytest.mark.waits

SHOWN_WITHIN_S = 5.0

_WRITER = """
import sys, time
from pathlib import Path
from exhibit.facts import kinds
from tests.pages import made_facts
writer = made_facts.begin(Path(sys.argv[1]))
last_us = 0
for at_s, fact in made_facts.a_day():
    last_us = int(at_s * 1e6)
    writer.append(fact, last_us)
print("written", flush=True)
begun_s = time.monotonic()
while True:
    time.sleep(1)
    writer.append(kinds.Heartbeat(wall=made_facts.WALL), last_us + int((time.monotonic() - begun_s) * 1e6))
"""


@pytest.fixture
def bridge(tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that writes the made day and then lives on as a bridge does at a quiet machine."""
    process = subprocess.Popen(
        [sys.executable, "-c", _WRITER, str(tmp_path)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "written\n"
    yield process
    process.kill()
    process.wait()
    process.stdout.close()


def badge_is(name: str) -> str:
    return f"document.querySelector('#badge').dataset.badge === '{name}'"


def shown_in_time(page: Page, name: str, since_s: float) -> None:
    """The badge is shown within the promised time, not counting what this computer stood still meanwhile."""
    stalled_s, looked_s = 0.0, time.monotonic()
    while not page.evaluate(badge_is(name)):
        page.wait_for_timeout(20)
        now_s = time.monotonic()
        stalled_s += max(0.0, now_s - looked_s - 0.1)
        looked_s = now_s
        assert now_s - since_s < SHOWN_WITHIN_S + 3 * stalled_s + 0.5, page.inner_text("#badge")


def test_a_bridge_that_was_killed_is_shown(bridge: subprocess.Popen[str], page: Page, tmp_path: Path) -> None:
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        wait_until(page, badge_is("live"))
        wait_until(page, "document.querySelector('#day-line').textContent.includes('Now')")
        bridge.kill()
        shown_in_time(page, "bridge gone", time.monotonic())
        wait_until(page, "document.querySelector('#day-line').textContent.includes('It was')")
        assert page.inner_text("#machine-date").startswith("The machine’s program believed it was")
        assert "What you see is from 09:12" in page.inner_text("#notice")


def test_a_bridge_that_was_stopped_is_shown_and_so_is_its_going_on(
    bridge: subprocess.Popen[str], page: Page, tmp_path: Path
) -> None:
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        wait_until(page, badge_is("live"))
        bridge.send_signal(signal.SIGSTOP)
        shown_in_time(page, "bridge not answering", time.monotonic())
        assert page.inner_text("#notice")
        bridge.send_signal(signal.SIGCONT)
        shown_in_time(page, "live", time.monotonic())
        assert not page.is_visible("#notice")


def test_a_quiet_machine_stays_live(bridge: subprocess.Popen[str], page: Page, tmp_path: Path) -> None:
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        wait_until(page, badge_is("live"))
        seq = int(page.evaluate("document.documentElement.dataset.seq"))
        wait_until(page, f"+document.documentElement.dataset.seq >= {seq + 6}")
        assert page.evaluate(badge_is("live"))


@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGSTOP])
def test_a_web_process_that_is_killed_or_stopped_is_told_by_the_page_itself(
    bridge: subprocess.Popen[str], page: Page, tmp_path: Path, number: signal.Signals
) -> None:
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        wait_until(page, badge_is("live"))
        web.send(number)
        shown_in_time(page, "reconnecting", time.monotonic())
        if number == signal.SIGSTOP:
            page.wait_for_timeout(6000)  # longer than a page waits for its answer (web/shared/asking.js)
            web.send(signal.SIGCONT)
            wait_until(page, badge_is("live"))
            return
        port = web.port
    seq = int(page.evaluate("document.documentElement.dataset.seq"))
    with web_processes.live(tmp_path, port=port):
        wait_until(page, badge_is("live"))
        wait_until(page, f"+document.documentElement.dataset.seq > {seq}")
        assert page.inner_text("#caption").startswith("Three jobs share one processor")
        assert len(page.query_selector_all(".row")) == 24


@pytest.mark.parametrize(
    ("said", "opened"),
    [
        ("live", {}),
        ("watching", {"typing": "nothing"}),
        ("simulated machine", {"machine_is": "simulated"}),
    ],
)
def test_the_page_says_how_it_goes_with_the_machine_whatever_happens_to_it(
    said: str, opened: dict[str, object], page: Page, tmp_path: Path
) -> None:
    begun = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="session", round=1)
    happens: list[tuple[kinds.AnyFact, str]] = [
        (kinds.LineOpened(line="x"), said),
        (kinds.LineLost(why="unplugged"), "link lost"),
        (kinds.LineOpened(line="x"), said),
        (kinds.SessionResting(until_us=0), "resting"),
        (begun, said),
        (kinds.SessionFailed(why="it did not answer", last_lines=[]), "failed"),
    ]
    with (
        made_facts.beating(tmp_path, made_facts.opened(**opened)) as tell,
        web_processes.live(tmp_path) as web,
    ):
        page.goto(web.address)
        wait_until(page, badge_is("not started"))
        for fact, name in happens:
            tell(fact)
            shown_in_time(page, name, time.monotonic())


def test_before_any_recording_the_page_says_so_and_is_not_blank(page: Page, tmp_path: Path) -> None:
    with web_processes.live(tmp_path / "recordings") as web:
        page.goto(web.address)
        wait_until(page, badge_is("not started today"))
        assert "Nothing has been heard from the machine yet" in page.inner_text("#caption")
        page.click("#more")
        page.click("#open-figures")
        assert page.inner_text("#figures-sheet").strip()
        assert str(page.text_content("#doing-rows")).strip()
        assert page.inner_text("#printed") == "nothing printed yet"


@pytest.mark.parametrize(
    "over",
    [
        kinds.SessionResting(until_us=0),
        kinds.SessionFailed(why="it did not answer", last_lines=[]),
        kinds.LineLost(why="unplugged"),
        kinds.RecordingClosed(why="the day is over"),
    ],
    ids=lambda fact: type(fact).__name__,
)
def test_nobody_is_told_to_listen_to_a_machine_that_is_not_there(
    over: kinds.AnyFact, page: Page, tmp_path: Path
) -> None:
    def listen(fact: kinds.AnyFact) -> bool:
        return isinstance(fact, kinds.CaptionShown) and fact.caption == "listen-to-lower"

    with pictures.held(tmp_path / "there", [], until=listen) as folder, web_processes.live(folder) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#caption').innerText.startsWith('Listen')")
    with pictures.held(tmp_path / "over", [over], until=listen) as folder, web_processes.live(folder) as web:
        page.goto(web.address)
        wait_until(page, "+document.documentElement.dataset.seq > 0")
        assert not page.inner_text("#badge").startswith("Live")
        assert page.inner_text("#caption").strip()
        assert "Listen" not in page.inner_text("main")


def test_a_full_disc_and_an_ended_script_are_told(page: Page, tmp_path: Path) -> None:
    more: list[kinds.AnyFact] = [
        kinds.ScriptEnded(script="round", outcome="failed", tidy=True, why="overdue"),
        kinds.RecordNearlyFull(left_bytes=4096),
    ]
    with pictures.held(tmp_path / "full", more) as folder, web_processes.live(folder) as web:
        page.goto(web.address)
        wait_until(page, "+document.documentElement.dataset.seq > 0")
        told = str(page.text_content("#doing-rows"))
        assert "Working out the tides: could not be finished" in told
        assert "somebody has to free some space" in told


def test_a_replay_says_recorded_with_its_date(page: Page, tmp_path: Path) -> None:
    path = made_facts.write(tmp_path / "recordings", made_facts.a_day())
    with web_processes.replay(path, tmp_path / "cache") as web:
        page.goto(web.address)
        wait_until(page, badge_is("recorded"))
        wait_until(page, "document.querySelector('#badge').textContent === 'Recorded on 25 November 2026'")


def test_a_replay_says_whether_the_machine_was_simulated_and_how_much_faster_it_ran(
    page: Page, tmp_path: Path
) -> None:
    path = made_facts.write(
        tmp_path / "recordings", made_facts.a_day(), made_facts.opened(**pictures.SIMULATED)
    )
    with web_processes.replay(path, tmp_path / "cache") as web:
        page.goto(web.address)
        wait_until(page, badge_is("recorded"))
        said = "on 25 November 2026 · simulated machine · 20 times real speed"
        wait_until(page, f"document.querySelector('#badge-since').textContent === '{said}'")


def test_a_recording_that_was_closed_after_a_failure_is_not_called_ended_in_good_order(
    page: Page, tmp_path: Path
) -> None:
    failed = kinds.SessionFailed(why="it did not answer", last_lines=[])
    day = made_facts.a_day()
    last_s = day[-1][0]
    facts = [*day, (last_s, failed)]
    made_facts.write(tmp_path, facts, made_facts.opened(languages=pictures.LANGUAGES))
    said = {
        "en": ("after a failure, before anybody had checked", "in good order", "is the last that came"),
        "de": ("bevor jemand an der Maschine nachgesehen hatte", "ordentlich", "kam zuletzt"),
        "he": ("לפני שמישהו בדק את המכונה", "כסדרו", "הדבר האחרון"),
    }
    with web_processes.live(tmp_path) as web:
        page.goto(web.address)
        wait_until(page, badge_is("failed"))
        for tag, (now, never, notice) in said.items():
            page.click(f"#languages button[lang={tag}]")
            wait_until(page, f"document.documentElement.lang === '{tag}'")
            assert now in str(page.text_content("#doing-rows"))
            assert "it did not answer" in str(page.text_content("#doing-rows"))
            assert never not in page.inner_text("body")
            assert notice in page.inner_text("#notice")
