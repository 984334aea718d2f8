"""Beside the caption: the line it rests on, tell-tales, what comes next, glosses, two languages, type."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from exhibit.decisions.machine.script import SIMULATED_DOCENT
from exhibit.facts import kinds
from exhibit.facts.clock import write_wall
from exhibit.streams.recording import read_all
from exhibit.web.places import recordings_folder
from tests.pages import made_facts, made_items, pictures, web_processes
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.made_facts import WHIMBREL
from tests.pages.picture_text import go_to
from tests.pages.pictures import HAS_PICTURE

THREE = {"en": "English", "de": "Deutsch", "he": "עברית"}
TELLS: dict[str, Any] = {
    "tell_tales": WHIMBREL.machine.tell_tales,
    "ahead": WHIMBREL.ahead,
    "glosses": WHIMBREL.glosses,
    "languages": THREE,
}
CONFIRMED = [
    kinds.ScriptStarted(script="opening", title={"en": "Opening"}, by="docent 1"),
    kinds.HandsOnConfirmed(step="press-start", by="docent 1"),
    kinds.HandsOnConfirmed(step="start-lower", by="docent 1"),
    kinds.ScriptStarted(script="round", title={"en": "A round"}, by="session", round=2),
]
BUSY = kinds.PatternSeen(pattern="shuttle-begun", line="JOB 1 BEGUN: SHUTTLE LOWER 2 MINUTES")
HUM = kinds.PatternSeen(pattern="lower-ready", line="LOWER READY: SALLOW 2, MAY BE WRITTEN")
AHEAD = kinds.StepStarted(script="round", step="begin-tides")
LATE = kinds.StepOverdue(script="round", step="begin-tides", waited_for=[], within_us=1, last_lines=[])


@contextmanager
def shown(
    page: Page, folder: Path, more: list[kinds.AnyFact], query: str = "", **until: Any
) -> Iterator[None]:
    """The page, live, after the day's facts and these."""
    with pictures.held(folder, more, **{**TELLS, **until}) as where, web_processes.live(where) as web:
        page.goto(web.address + query)
        wait_until(page, HAS_PICTURE)
        yield


def until_shuttle(fact: kinds.AnyFact) -> bool:
    return isinstance(fact, kinds.CaptionShown) and fact.caption == "shuttle-begun"


def until_listening(fact: kinds.AnyFact) -> bool:
    return isinstance(fact, kinds.CaptionShown) and fact.caption == "listen-to-lower"


# -- tell-tales


def test_a_confirmed_tell_tale_is_drawn_with_its_lamps_and_who_made_sure_of_it(
    page: Page, tmp_path: Path
) -> None:
    with shown(page, tmp_path, [*CONFIRMED, BUSY, HUM]):
        assert page.inner_text("#tell-tales-head") == "What you should notice now beside the machine:"
        busy = page.inner_text("[data-tell-tale=lamps-flicker]")
        assert busy.startswith("The lamps on the processor should flicker.")
        assert "as a person confirmed a step by hand today at 09:12" in busy
        assert page.locator("[data-tell-tale=lamps-flicker] .tell-tale-lamp.flickers").count() == 24
        hum = page.inner_text("[data-tell-tale=big-drives-hum]")
        assert "You should hear" in hum
        assert "Or feel it" in hum
        page.click("#languages button[lang=de]")  # whose words are on their way
        wait_until(
            page, "document.querySelector('[data-tell-tale=big-drives-hum]').innerText.includes('Geländer')"
        )


def test_at_midnight_a_tell_tale_is_no_longer_confirmed_though_nothing_else_happens(
    page: Page, tmp_path: Path
) -> None:
    last_s = made_facts.a_day()[-1][0]
    wall = datetime(2026, 11, 26, tzinfo=UTC) - timedelta(seconds=last_s + 0.4)
    with shown(page, tmp_path, [*CONFIRMED, BUSY], wall=write_wall(wall)):
        # The made bridge says the same time every second, so for the page midnight comes every second.
        wait_until(page, "!document.querySelector('#tell-tales').hidden")
        wait_until(page, "document.querySelector('#tell-tales').hidden")


def test_of_a_simulated_machine_nobody_is_told_to_listen_now(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, [*CONFIRMED, BUSY, HUM], **pictures.SIMULATED):
        assert page.inner_text("#tell-tales-head") == "What you would notice now beside a real machine:"


@pytest.mark.parametrize(
    ("by", "confirmed"),
    [
        (SIMULATED_DOCENT, "(in the simulation, today at 09:12)"),
        ("the terminal", "as a person confirmed a step by hand today at 09:12"),
    ],
)
def test_beside_a_simulated_machine_it_says_who_confirmed_a_tell_tale(
    by: str, confirmed: str, page: Page, tmp_path: Path
) -> None:
    again = [
        kinds.ScriptStarted(script="opening", title={}, by="session"),
        kinds.HandsOnConfirmed(step="start-lower", by=by),
    ]
    with shown(page, tmp_path, [*CONFIRMED, *again, BUSY, HUM], **pictures.SIMULATED):
        assert confirmed in page.inner_text("[data-tell-tale=big-drives-hum]")


@pytest.mark.parametrize(
    ("more", "kind"),
    [({}, "Look or listen for this"), (pictures.SIMULATED, "To look or listen for, at a real machine")],
    ids=["real", "simulated"],
)
def test_what_to_listen_for_is_asked_of_nobody_beside_a_simulated_machine(
    more: dict[str, Any], kind: str, page: Page, tmp_path: Path
) -> None:
    with shown(page, tmp_path, [], until=until_listening, **more):
        assert page.inner_text("#kind") == kind


def test_without_a_person_s_word_of_the_day_no_tell_tale_is_shown(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, [BUSY, HUM]):
        assert not page.is_visible("#tell-tales")
        assert page.locator("#tell-tales li").count() == 0


def test_lamps_never_flash_three_times_a_second_and_stand_still_for_who_asked_for_it(
    browser: Browser, tmp_path: Path
) -> None:
    """WCAG 2.2, 2.3.1: no more than three flashes in any one second."""
    for wish in ("no-preference", "reduce"):
        context = browser.new_context(reduced_motion=wish)  # type: ignore[arg-type]
        page = context.new_page()
        with shown(page, tmp_path / wish, [*CONFIRMED, BUSY]):
            looks = page.evaluate(
                """[...document.querySelectorAll(".tell-tale-lamp .glow")].map((one) => {
                    const style = getComputedStyle(one);
                    return [style.animationName, parseFloat(style.animationDuration)];
                })"""
            )
            assert len(looks) == 24
            if wish == "reduce":
                assert {name for name, _ in looks} == {"none"}
            else:
                assert all(name != "none" and 1 / seconds < 3 for name, seconds in looks)
        context.close()


def test_a_recording_never_says_what_the_lamps_should_do_now_or_what_comes_next(
    page: Page, tmp_path: Path
) -> None:
    day = [*made_facts.a_day(), *((40.0, fact) for fact in [*CONFIRMED, BUSY, HUM, AHEAD])]
    made = made_facts.write(tmp_path / "made", day, made_facts.opened(**TELLS))
    for number, path in enumerate([made, *sorted(recordings_folder().glob("*.exhibit"))]):
        seqs = [entry.seq for entry in read_all(path).entries]
        with web_processes.replay(path, tmp_path / f"cache-{number}") as web:
            page.goto(web.address)
            wait_until(page, "document.querySelector('#play')")
            page.click("#play")
            for seq in (*seqs[10 :: max(1, len(seqs) // 12)], seqs[-2]):
                go_to(page, seq)
                told = page.evaluate(
                    """[...document.querySelectorAll("#tell-tales, #ahead")].filter((one) => !one.hidden)
                        .length + document.querySelectorAll("#tell-tales li").length"""
                )
                assert told == 0, (path.name, seq)
                assert page.get_attribute("#story", "data-kind") != "look or listen for"


# -- what comes next


def test_what_comes_next_is_told_roughly_and_counts_down(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, [*CONFIRMED, AHEAD]):
        table = "The machine prints its tide table. Watch the console then."
        assert page.inner_text("#ahead") == f"In about 60 s: {table}"
        assert page.evaluate("document.querySelector('#ahead').closest('[aria-live]')") is None
        said = page.evaluate(
            """import("/visitor/hints.js").then(({when}) => import("/words/en.js").then(({words}) =>
                [200, 100, 89, 22, 12, 3, -2].map((s) => when(s, words))))"""
        )
        assert said == [
            *("In about 3 minutes", "In about 2 minutes", "In about 90 s", "In about 20 s", "In about 10 s"),
            *("In a moment", "In a moment"),
        ]


def test_on_a_phone_what_comes_next_says_where_the_console_is(page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    with shown(page, tmp_path, [*CONFIRMED, AHEAD]):
        behind = "Watch the console then. Here it is behind “Show the console”."
        assert page.inner_text("#ahead").endswith(behind)
        page.click("#show-console")
        wait_until(page, "document.querySelector('#ahead').innerText.endsWith('Watch the console then.')")


def test_a_script_that_is_late_foretells_nothing(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, [*CONFIRMED, AHEAD, LATE]):
        assert not page.is_visible("#ahead")


# -- how do we know?


def pointed_at(page: Page) -> list[str]:
    lines = page.evaluate(
        """[...document.querySelectorAll(".pointed-at")].map((one) => one.textContent.trim())"""
    )
    assert isinstance(lines, list)
    return lines


def test_a_caption_opens_to_the_very_line_on_the_console(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, [], until=until_shuttle):
        assert pointed_at(page) == []
        page.click("#grounds")
        wait_until(page, "document.querySelector('.row.pointed-at')")
        assert pointed_at(page) == ["JOB 1 BEGUN: SHUTTLE LOWER 2 MINUTES"]
        page.click("#grounds-sheet .show-line")
        assert page.evaluate("document.activeElement.textContent.trim()") == pointed_at(page)[0]
        page.click("#grounds-sheet .bytes summary")
        assert "4a 4f 42 20 31 20 42 45  JOB 1 BE" in page.inner_text("#grounds-sheet .bytes pre").replace(
            "\xa0", " "
        )
        page.click("#grounds")
        wait_until(page, "!document.querySelector('.pointed-at')")


def test_of_two_lines_alike_the_one_that_is_meant_is_marked(page: Page, tmp_path: Path) -> None:
    day = made_facts.Teller()
    day.tell(kinds.LineOpened(line="/dev/x"))
    line = "JOB 7 ENDED"
    day.prints(f"{line}\r\n")
    first = day.tell(kinds.PatternSeen(pattern="followed-ended", line=line))
    day.prints(f"SOMETHING ELSE\r\n{line}\r\n")
    day.tell(kinds.PatternSeen(pattern="followed-ended", line=line))
    day.caption("x", "seen", "The first one.", "console", [first])
    path = made_facts.write(tmp_path / "made", day.told, made_facts.opened(**TELLS), close=False)
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        page.click("#grounds")
        wait_until(page, "document.querySelector('.row.pointed-at')")
        marked = page.evaluate("[...document.querySelectorAll('.row')].map((e) => e.matches('.pointed-at'))")
        assert marked[:3] == [True, False, False]


def test_a_line_that_has_scrolled_away_is_found_among_what_was_printed_before(
    page: Page, tmp_path: Path
) -> None:
    day = made_facts.Teller()
    day.tell(kinds.LineOpened(line="/dev/x"))
    day.prints("JOB 7 ENDED\r\n")
    seen = day.tell(kinds.PatternSeen(pattern="followed-ended", line="JOB 7 ENDED"))
    day.caption("x", "seen", "It ended.", "console", [seen])
    for number in range(40):
        day.prints(f"LINE {number}\r\n", 0.01)
    path = made_facts.write(tmp_path / "made", day.told, made_facts.opened(**TELLS), close=False)
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        page.click("#grounds")
        page.click("#grounds-sheet .show-line")
        wait_until(page, "document.activeElement.matches('#earlier-lines li.pointed-at')")
        assert pointed_at(page) == ["JOB 7 ENDED"]


def test_a_scene_without_a_console_offers_no_line_on_it_and_does_not_call_it_gone(
    page: Page, tmp_path: Path
) -> None:
    line = " ".join(made_facts.BOARD_HEAD.split())
    because = {
        "seq": 3,
        "how": "showing",
        "what": line,
        "line": line,
        "row": 1,
        "at": made_items.wall("10:28"),
    }
    told = {**made_items.caption("It is resting.", "Sie ruht."), "because": [because]}
    with made_items.scenes(tmp_path, "resting", caption=told) as laid:
        page.goto(f"{laid.address}?screen=landscape")
        wait_until(page, HAS_PICTURE)
        wait_until(page, "!document.querySelector('#grounds').hidden")
        page.click("#grounds")
        assert not page.is_visible("#console")
        assert line in page.inner_text("#grounds-list")
        assert page.locator("#grounds-sheet :is(.show-line, .gone):visible").count() == 0
        laid.lay("working", caption=told)
        wait_until(page, "document.documentElement.dataset.scene === 'working'")
        page.wait_for_selector("#grounds-sheet .show-line", state="visible")


def test_a_line_that_stands_nowhere_any_more_is_quoted_and_not_pointed_at(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, []):
        # The board's readings stand on it; a display that is painted over is no line that was printed.
        page.click("#grounds")
        wait_until(page, "document.querySelector('.row.pointed-at')")
    day = made_facts.Teller()
    day.tell(kinds.LineOpened(line="/dev/x"))
    day.prints("\x1b[2J\x1b[3;1HLOAD 87\x1b[24;1H")
    read = day.tell(kinds.ReadingTaken(display="board", frame=1, name="load", value=87, rows=[3]))
    day.caption("x", "seen", "Busy.", "console", [read])
    day.prints("\x1b[3;1HLOAD 12\x1b[24;1H")
    path = made_facts.write(tmp_path / "made", day.told, made_facts.opened(**TELLS), close=False)
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        page.goto(web.address)
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
        page.click("#grounds")
        page.wait_for_selector("#grounds-sheet .gone", state="visible")
        assert page.inner_text("#grounds-sheet .gone") == "It is no longer there. It read “LOAD 87”."
        assert not page.is_visible("#grounds-sheet .show-line")
        assert pointed_at(page) == []


# -- glosses


def test_a_gloss_stands_beside_its_line_and_is_no_part_of_it(page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": 820, "height": 1180})  # where there is room beside the lines
    with shown(page, tmp_path, [BUSY], until=until_shuttle):
        wait_until(
            page, "[...document.querySelectorAll('.gloss')].some((e) => e.innerText.includes('tests'))"
        )
        glosses = page.evaluate(
            """[...document.querySelectorAll(".gloss")].map((one) =>
                [one.previousElementSibling.textContent.trim(), one.textContent,
                 one.getBoundingClientRect().left > document.createRange().getBoundingClientRect().left])"""
        )
        said = {line: gloss for line, gloss, _ in glosses}
        assert said["JOB 1 BEGUN: SHUTTLE LOWER 2 MINUTES"] == "this job tests the lower disc"
        assert not any("this job" in text for text in page.locator(".row").all_text_contents())
        places = page.evaluate(
            """[...document.querySelectorAll(".gloss")].map((one) => {
                const row = one.previousElementSibling;
                const range = document.createRange();
                range.selectNodeContents(row);
                const [text, gloss] = [range.getBoundingClientRect(), one.getBoundingClientRect()];
                return [gloss.left >= text.right, Math.abs(gloss.top - row.getBoundingClientRect().top)];
            })"""
        )
        assert all(behind and off < 2 for behind, off in places)
        page.click("#languages button[lang=de]")
        wait_until(page, "document.querySelector('.gloss')?.lang === 'de'")
        assert "dieser Auftrag prüft die untere Platte" in page.locator(".gloss").all_text_contents()


# -- two languages, larger type


def open_more(page: Page) -> None:
    """On a composed page, more is behind a button; on one that flows it stands on the page itself."""
    if page.is_visible("#more"):
        page.click("#more")


def test_a_second_language_stands_under_the_first_and_both_change_with_the_caption(
    page: Page, tmp_path: Path
) -> None:
    with shown(page, tmp_path, []):
        assert not page.is_visible("#second")
        open_more(page)
        page.click("[data-choice=second-de]")
        assert page.inner_text("#second").startswith("[deutsch] Three jobs")
        assert page.get_attribute("#second", "lang") == "de"
        sizes = page.evaluate(
            """['#caption', '#second'].map((one) =>
                parseFloat(getComputedStyle(document.querySelector(one)).fontSize))"""
        )
        assert sizes[1] < sizes[0]
        assert page.evaluate("document.querySelector('#second').closest('[aria-live]')") is None
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        assert not page.is_visible("#second")  # the same words twice help nobody
        page.click("[data-choice=second-en]")
        assert page.inner_text("#second").startswith("Three jobs")
        page.click("[data-choice=second-none]")
        assert not page.is_visible("#second")


def test_type_grows_in_three_sizes_and_a_shared_screen_goes_home_in_size_and_languages(
    page: Page, tmp_path: Path
) -> None:
    page.clock.install()
    with pictures.held(tmp_path, [], **TELLS) as where, web_processes.live(where) as web:
        page.goto(f"{web.address}?screen=landscape")
        page.clock.run_for(2000)
        wait_until(page, HAS_PICTURE)
        size = "parseFloat(getComputedStyle(document.documentElement).fontSize)"
        sizes = [page.evaluate(size)]
        open_more(page)
        for choice in ("size-2", "size-3"):
            page.click(f"[data-choice={choice}]")
            sizes.append(page.evaluate(size))
            assert page.evaluate("document.documentElement.scrollWidth") <= 1920
        assert sizes == pytest.approx([16, 19.2, 23.04])
        page.click("[data-choice=second-he]")
        assert page.is_visible("#second")
        page.clock.run_for(245_000)
        assert page.evaluate(size) == 16
        assert not page.is_visible("#second")
        assert not page.is_visible("#choices")
        assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]


@pytest.mark.parametrize("width", [320, 390, 820, 1280, 1920])
@pytest.mark.parametrize("query", ["", "?lang=he", "?size=3"])
def test_all_of_the_choices_can_be_seen_and_touched(
    page: Page, tmp_path: Path, width: int, query: str
) -> None:
    page.set_viewport_size({"width": width, "height": 1000})
    with shown(page, tmp_path, [], query):
        open_more(page)
        for button in page.locator("#choices button").all():
            box = button.bounding_box()
            assert box is not None
            assert box["x"] >= 0
            assert box["x"] + box["width"] <= width
        sideways = page.evaluate("document.documentElement.scrollWidth > innerWidth")
        assert not sideways


@pytest.mark.parametrize("screen", [(1280, 720), (1920, 1080)])
def test_larger_type_makes_the_caption_larger(screen: tuple[int, int], page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": screen[0], "height": screen[1]})
    size = "(of) => parseFloat(getComputedStyle(document.querySelector(of)).fontSize)"
    with shown(page, tmp_path, []):
        captions = [page.evaluate(size, "#caption")]
        open_more(page)
        for choice in ("size-2", "size-3"):
            page.click(f"[data-choice={choice}]")
            captions.append(page.evaluate(size, "#caption"))
            assert captions[-1] > page.evaluate(size, "#badge-name")
        assert min(captions[1:]) > captions[0]


def test_the_museum_and_the_screen_s_own_address_say_what_is_home(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path / "a", [], second_language="de"):
        assert page.inner_text("#second").startswith("[deutsch]")
    with shown(page, tmp_path / "b", [], "?size=2&second=en&lang=de"):
        assert page.inner_text("#caption").startswith("[deutsch]")
        assert page.inner_text("#second").startswith("Three jobs")
        assert page.evaluate("document.documentElement.dataset.size") == "2"
    with shown(page, tmp_path / "c", [], "?size=9&second=xx&lang=%3Cb%3E"):
        assert page.inner_text("#caption").startswith("Three jobs")
        assert not page.is_visible("#second")


# -- for everybody


@pytest.mark.parametrize("size", ["1", "3"])
def test_axe_finds_nothing_with_all_of_it_open_at_any_width(
    size: str, page: Page, tmp_path: Path, axe: str
) -> None:
    more = [*CONFIRMED, BUSY, HUM, AHEAD]
    with shown(page, tmp_path, more, f"?size={size}&second=he", until=until_shuttle):
        page.click("#grounds")
        page.click("#grounds-sheet .bytes summary")
        for width, height in ((320, 640), (768, 1024), (1280, 720), (1920, 1080)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(150)
            assert violations(page, axe) == [], width
            assert page.evaluate("document.documentElement.scrollWidth") <= width
        open_more(page)
        assert violations(page, axe) == []


@pytest.mark.parametrize("size", [(1280, 720), (1366, 768), (1920, 1080), (3840, 2160)])
def test_nothing_of_the_story_lies_over_a_part_of_the_machine(
    size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    with shown(page, tmp_path, [*CONFIRMED, BUSY, HUM, AHEAD], "?second=de", until=until_shuttle):
        page.wait_for_timeout(300)
        over = page.evaluate(
            """["#caption", "#second", "#tell-tales", "#grounds", "#story"].filter((one) => {
                const text = document.querySelector(one).getBoundingClientRect();
                return [...document.querySelectorAll("#drawing g[data-part]")].some((part) => {
                    const box = part.getBoundingClientRect();
                    return text.left < box.right - 1 && box.left < text.right - 1
                        && text.top < box.bottom - 1 && box.top < text.bottom - 1;
                });
            })"""
        )
        assert over == []
        assert page.inner_text("#tell-tales-list li").startswith("You should hear")


def test_glosses_come_back_when_the_console_has_been_drawn_anew(page: Page, tmp_path: Path) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    with shown(page, tmp_path, [BUSY], until=until_shuttle):
        assert page.locator(".gloss").count() == 0
        page.set_viewport_size({"width": 820, "height": 1180})
        wait_until(page, "document.querySelectorAll('.gloss').length > 1")
