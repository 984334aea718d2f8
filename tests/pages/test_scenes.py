"""Each moment has a composition of its own, with few words; only the stage changes from one to the next."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.pages import made_items
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.made_items import SCENES, Laid
from tests.pages.pictures import HAS_PICTURE

KIOSKS = {"landscape": (1920, 1080), "portrait": (1080, 1920)}
MOST_WORDS = 120

VISIBLE_WORDS = r"""(() => {
    const isClipped = (rect, element) => {
        for (let one = element; one; one = one.parentElement) {
            const style = getComputedStyle(one);
            if (style.clipPath !== "none") return true;
            if (style.overflow === "visible" || one === document.documentElement) continue;
            const box = one.getBoundingClientRect();
            const [x, y] = [(rect.left + rect.right) / 2, (rect.top + rect.bottom) / 2];
            if (x < box.left || x > box.right || y < box.top || y > box.bottom) return true;
        }
        return rect.bottom < 0 || rect.top > innerHeight || rect.right < 0 || rect.left > innerWidth;
    };
    const found = [];
    const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (texts.nextNode()) {
        const node = texts.currentNode;
        if (!node.parentElement.checkVisibility({visibilityProperty: true, opacityProperty: true})) continue;
        for (const match of node.data.matchAll(/\S+/g)) {
            if (!/\p{L}/u.test(match[0])) continue;
            range.setStart(node, match.index);
            range.setEnd(node, match.index + match[0].length);
            const rect = range.getBoundingClientRect();
            if (rect.width && !isClipped(rect, node.parentElement)) found.push(match[0]);
        }
    }
    return found;
})()"""
"""The words on the screen that have a letter in them, those of the console and the drawing included."""

BOXES = """Object.fromEntries(["strip", "story", "caption-box", "day-line"].map((id) => {
    const box = document.getElementById(id).getBoundingClientRect();
    return [id, [box.left, box.top, box.width, box.height].map(Math.round)];
}))"""


@contextmanager
def shown(page: Page, folder: Path, scene: str, screen: str, **more: object) -> Iterator[Laid]:
    width, height = KIOSKS[screen]
    page.set_viewport_size({"width": width, "height": height})
    with made_items.scenes(folder, scene, **more) as laid:  # type: ignore[arg-type]
        page.goto(f"{laid.address}?screen={screen}")
        wait_until(page, HAS_PICTURE)
        page.evaluate("document.fonts.ready")
        wait_until(page, "document.querySelector('#caption').textContent.length > 10")
        yield laid


def settle(page: Page, scene: str) -> None:
    wait_until(page, f"document.documentElement.dataset.scene === {scene!r}")
    page.wait_for_timeout(700)  # the change from one scene to the next takes 200 ms


@pytest.mark.parametrize("screen", KIOSKS)
def test_no_scene_has_more_than_120_words_nor_more_than_fits(
    screen: str, page: Page, log: Log, tmp_path: Path
) -> None:
    with shown(page, tmp_path, "working", screen) as laid:
        for scene in SCENES:
            laid.lay(scene)
            settle(page, scene)
            for language in ("de", "en"):
                page.click(f"#languages button[lang={language}]")
                page.wait_for_timeout(100)
                words = page.evaluate(VISIBLE_WORDS)
                assert 12 <= len(words) <= MOST_WORDS, f"{scene}, {language}: {len(words)}: {' '.join(words)}"
                over = page.evaluate(
                    """["html", "body", "#page", "#caption-box", "#story", "#strip"]
                        .map((what) => document.querySelector(what))
                        .filter((e) => e.scrollHeight > e.clientHeight + 1
                            || e.scrollWidth > e.clientWidth + 1)
                        .map((e) => `${e.id || e.tagName} ${e.scrollHeight} of ${e.clientHeight}, """
                    """${e.scrollWidth} of ${e.clientWidth}`)"""
                )
                assert over == [], f"{scene}, {language}"
    assert log.complaints == []


@pytest.mark.parametrize("screen", KIOSKS)
def test_strip_caption_and_day_line_stay_in_place_in_every_scene(
    screen: str, page: Page, tmp_path: Path
) -> None:
    with shown(page, tmp_path, "working", screen) as laid:
        settle(page, "working")
        first = page.evaluate(BOXES)
        for scene in SCENES:
            laid.lay(scene)
            settle(page, scene)
            assert page.evaluate(BOXES) == first, scene


WHAT_STANDS = """["drawing", "chart", "album", "sums", "console", "few", "help", "card"]
    .map((id) => document.getElementById(id))
    .filter((e) => e.getClientRects().length && e.getBoundingClientRect().height > 20)
    .map((e) => e.id).sort()"""


@pytest.mark.moving
def test_each_scene_has_a_composition_of_its_own(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, "working", "landscape") as laid:
        found = {}
        for scene in SCENES:
            laid.lay(scene)
            settle(page, scene)
            found[scene] = page.evaluate(WHAT_STANDS)
        assert found == {
            "not started": ["drawing"],
            "waking": ["console", "drawing"],
            "working": ["console", "drawing", "few"],
            "result": ["chart", "console", "drawing"],
            "looking inside": ["console", "drawing", "few"],
            "resting": ["album", "card"],
            "asleep": ["drawing", "sums"],
            "trouble": ["console", "drawing", "help"],
        }


@pytest.mark.parametrize("screen", KIOSKS)
def test_nothing_on_the_stage_lies_on_anything_else(screen: str, page: Page, tmp_path: Path) -> None:
    """But the console's last lines, which stand over a free corner of the drawing while the machine wakes."""
    with shown(page, tmp_path, "working", screen) as laid:
        for scene in SCENES:
            laid.lay(scene)
            settle(page, scene)
            meet = page.evaluate(
                """(() => {
                    const ids = ["drawing", "chart", "album", "sums", "console", "few", "help",
                        "card", "trouble", "story", "strip", "day-line", "bar"];
                    const there = ids.map((id) => [id, document.getElementById(id)])
                        .filter(([, e]) => e.getClientRects().length)
                        .map(([id, e]) => [id, e.getBoundingClientRect()]);
                    return there.flatMap(([a, one], n) => there.slice(n + 1).filter(([b, other]) =>
                        !(a === "strip" && b === "bar") &&
                        Math.min(one.right, other.right) - Math.max(one.left, other.left) > 1 &&
                        Math.min(one.bottom, other.bottom) - Math.max(one.top, other.top) > 1
                    ).map(([b]) => `${a} and ${b}`));
                })()"""
            )
            allowed = ["drawing and console"] if scene == "waking" else []
            assert [one for one in meet if one not in allowed] == [], scene
            if meet:
                parts = "[...document.querySelectorAll('#drawing .outline')]"
                assert page.evaluate(
                    f"""((c) => {parts}.every((e) => {{
                        const b = e.getBoundingClientRect();
                        return b.right < c.left || b.left > c.right || b.top >= c.bottom;
                    }}))(document.querySelector("#console").getBoundingClientRect())"""
                )


@pytest.mark.parametrize("width", [320, 390, 820])
def test_where_the_page_flows_the_chart_is_as_high_as_what_is_in_it(
    width: int, page: Page, tmp_path: Path
) -> None:
    with made_items.scenes(tmp_path, "result") as laid:
        page.set_viewport_size({"width": width, "height": 844})
        page.goto(laid.address)
        wait_until(page, HAS_PICTURE)
        settle(page, "result")
        wait_until(page, "document.querySelectorAll('#chart .point').length === 24")
        chart, inside = page.evaluate(
            """[document.querySelector("#chart"), ...document.querySelectorAll("#chart > *")]
                .map((e) => e.getBoundingClientRect().bottom)
                .reduce(([chart, most], bottom) =>
                    chart === null ? [bottom, most] : [chart, Math.max(most, bottom)], [null, 0])"""
        )
        assert inside <= chart + 1


def test_the_standing_sentence_is_of_the_scene_and_says_when_it_goes_on(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, "resting", "landscape") as laid:
        assert (
            page.inner_text("#caption") == "It is resting now. At 10:36 it goes on: it works out the tides."
        )
        assert page.inner_text("#kind") == "The machine rests until 10:36"
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        said = "Sie ruht gerade. Um 10:36 geht es weiter: sie rechnet die Gezeiten aus."
        assert page.inner_text("#caption") == said
        page.click("#languages button[lang=en]")
        wait_until(page, "document.documentElement.lang === 'en'")
        laid.lay("asleep")
        settle(page, "asleep")
        assert page.inner_text("#kind") == "The machine is asleep"
        assert page.inner_text("#caption").startswith("It is asleep: every drive was stopped")


def test_large_figures_stand_only_while_their_display_stands(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, "working", "landscape") as laid:
        settle(page, "working")
        assert page.inner_text("#few").split("\n") == [
            *("of 100 moments busy", "100"),
            *("disc uses a minute", "1,217"),
        ]
        assert page.evaluate("[...document.querySelectorAll('#few dd')].every((e) => e.dataset.fact)")
        laid.lay("working", standing=None, share={}, transfers={})
        wait_until(page, "document.querySelector('#few').hidden")
        transfers = {"lower-drive": {**made_items.BOARD["transfers"]["lower-drive"], "per_min": None}}
        laid.lay("working", share={}, transfers=transfers)
        wait_until(page, "!document.querySelector('#few').hidden")
        assert page.inner_text("#few").split("\n")[:2] == ["disc uses so far", "1,652"]


CONSOLE_FRAME = """(() => {
    const box = document.querySelector("#sheet").getBoundingClientRect();
    return [box.top, box.bottom].map(Math.round);
})()"""
FRAME_IN_ROWS = """((e) => e.clientHeight / parseFloat(getComputedStyle(e).lineHeight))
    (document.querySelector("#sheet"))"""


@pytest.mark.parametrize("screen", KIOSKS)
def test_the_consoles_frame_is_a_few_rows_high_and_keeps_its_place_while_lines_are_printed(
    screen: str, page: Page, tmp_path: Path
) -> None:
    empty: dict[str, object] = {"standing": None, "share": {}, "transfers": {}}
    one_line = """document.querySelectorAll("#rows .row").forEach((e) =>
        e.classList.toggle("later", e.textContent.trim() === ""))"""
    with shown(page, tmp_path, "working", screen, **empty) as laid:
        for scene in ("working", "waking", "result", "trouble"):
            laid.lay(scene, **empty)
            settle(page, scene)
            assert page.evaluate(FRAME_IN_ROWS) < 8, f"{scene}: mostly empty paper"
            before = page.evaluate(CONSOLE_FRAME)
            page.evaluate(one_line)
            assert page.evaluate(CONSOLE_FRAME) == before, scene
        laid.lay("working", **empty)
        settle(page, "working")
        bottom = page.evaluate(CONSOLE_FRAME)[1]
        laid.lay("working")
        wait_until(page, "!document.querySelector('#few').hidden")
        if screen == "landscape":
            assert page.evaluate(CONSOLE_FRAME)[1] == pytest.approx(bottom, abs=2), "with figures below it"
            floor = page.evaluate("document.querySelector('#drawing').getBoundingClientRect().bottom")
            assert floor - bottom < 200, "it stands where the drawn machine stands"


ASKED = {
    "step": "set",
    "script": "opening",
    "words": {"en": "Set the switches to 1, 4 and 2, from the top, and press START."},
    "caution": {"en": "Keep your sleeves away from the fan."},
    "since": made_items.wall("10:28"),
    "seq": 70,
}


@pytest.mark.parametrize("screen", KIOSKS)
def test_that_it_is_a_persons_turn_at_the_machine_is_seen_from_afar(
    screen: str, page: Page, tmp_path: Path
) -> None:
    size = "(what) => parseFloat(getComputedStyle(document.querySelector(what)).fontSize)"
    inside = "(what) => ((e) => e.scrollWidth <= e.clientWidth + 1)(document.querySelector(what))"
    with shown(page, tmp_path, "waking", screen, hands_on=ASKED):
        settle(page, "waking")
        for language, says in (
            ("en", "a person’s turn at the machine"),
            ("de", "ein Mensch ist an der Maschine dran"),
        ):
            page.click(f"#languages button[lang={language}]")
            wait_until(page, f"document.documentElement.lang === {language!r}")
            page.wait_for_timeout(200)
            assert says in page.inner_text("#badge")
            assert page.evaluate(inside, "#badge")
            assert page.evaluate(size, "#badge-sign") >= 22
            assert page.evaluate(size, "#hands-on strong") >= 0.59 * page.evaluate(size, "#caption")
            assert len(page.evaluate(VISIBLE_WORDS)) <= MOST_WORDS


def test_in_trouble_the_page_says_what_was_done_what_is_so_and_what_comes_next(
    page: Page, tmp_path: Path
) -> None:
    ended = {"name": "round", "title": {"en": "x"}, "round": 3, "since": "", "tidying": False}
    with shown(page, tmp_path, "trouble", "landscape") as laid:
        laid.lay(
            "trouble", script={**ended, "outcome": "failed", "ended": made_items.wall("14:12"), "tidy": True}
        )
        wait_until(page, "document.querySelector('#help').innerText.includes('Done')")
        assert page.inner_text("#help").split("\n") == [
            *("Done", "Nothing that was started here goes on."),
            *("Now", "Nothing more is typed."),
            *("Next", "Look at the upper drive, then call."),
        ]


def test_a_card_is_on_the_shared_screen_in_resting_only_and_turns_at_each_rest(
    page: Page, tmp_path: Path
) -> None:
    with shown(page, tmp_path, "resting", "landscape") as laid:
        settle(page, "resting")
        first = page.inner_text("#card h3")
        laid.lay("working")
        settle(page, "working")
        assert not page.is_visible("#card")
        again = {**made_items.RESTING, "since": made_items.wall("10:50"), "until": made_items.wall("10:56")}
        laid.lay("resting", session=again)
        settle(page, "resting")
        assert page.inner_text("#card h3") != first
        fits = "((e) => e.scrollHeight <= e.clientHeight + 1)(document.querySelector('#card'))"
        assert page.evaluate(fits)


def test_the_change_of_scene_is_a_cut_for_those_who_asked_for_less_motion(
    browser: Browser, tmp_path: Path
) -> None:
    moved = {}
    for wish in ("no-preference", "reduce"):
        context = browser.new_context(reduced_motion=wish)
        page = context.new_page()
        page.add_init_script(
            """window.faded = 0;
            const start = document.startViewTransition?.bind(document);
            if (start) document.startViewTransition = (change) => {
                window.faded += 1;
                return start(change);
            };"""
        )
        with shown(page, tmp_path / wish, "working", "landscape") as laid:
            laid.lay("resting")
            settle(page, "resting")
            moved[wish] = (
                page.evaluate("window.faded"),
                page.evaluate("'still' in document.documentElement.dataset"),
            )
        context.close()
    faded, still = moved["no-preference"]
    assert faded in (1, 2), "a second one only where the page got the change in two pieces"
    assert (still, moved["reduce"]) == (False, (0, True))


@pytest.mark.moving
def test_of_two_scenes_the_old_has_gone_before_the_new_comes(page: Page, tmp_path: Path) -> None:
    page.add_init_script(
        """window.seen = [];
        const start = document.startViewTransition.bind(document);
        document.startViewTransition = (change) => {
            const fading = start(change);
            fading.ready.then(() => {
                const of = (which) => Number(getComputedStyle(document.documentElement,
                    `::view-transition-${which}(stage)`).opacity);
                const all = document.getAnimations().filter((one) =>
                    one.effect.pseudoElement?.startsWith("::view-transition"));
                for (const one of all) one.pause();
                for (let ms = 0; ms <= 200; ms += 10) {
                    for (const one of all) one.currentTime = ms;
                    window.seen.push([ms, of("old"), of("new")]);
                }
                for (const one of all) one.finish();
            });
            return fading;
        };"""
    )
    with shown(page, tmp_path, "working", "landscape") as laid:
        laid.lay("resting")
        settle(page, "resting")
        seen = page.evaluate("window.seen")
        assert seen[0][1:] == [1, 0]
        assert [ms for ms, old, new in seen if old > 0.01 and new > 0.01] == []
        assert next(one for one in seen if one[0] == 200)[1:] == [0, 1], "after 200 ms it is over"


@pytest.mark.parametrize("screen", KIOSKS)
def test_axe_finds_nothing_in_any_scene(screen: str, page: Page, tmp_path: Path, axe: str) -> None:
    with shown(page, tmp_path, "working", screen) as laid:
        for scene in SCENES:
            laid.lay(scene)
            settle(page, scene)
            assert violations(page, axe) == [], scene


def test_what_the_drawing_and_the_chart_show_is_said_for_screen_readers(page: Page, tmp_path: Path) -> None:
    with shown(page, tmp_path, "result", "landscape") as laid:
        settle(page, "result")
        assert "high water" in page.text_content("#chart-text").lower()  # type: ignore[union-attr]
        assert "Processor" in str(page.text_content("#drawing-text"))
        assert "09:38" in str(page.text_content("#day-text"))
        laid.lay("resting")
        settle(page, "resting")
        assert page.text_content("#chart-text") == ""
        assert page.text_content("#drawing-text") == ""
        assert "The tides were done." in str(page.text_content("#album-text"))
