"""The page for everybody: axe-core, contrast, sizes, order, motion; and nothing comes from elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from tests.pages import made_facts, pictures, web_processes
from tests.pages.axe_core import violations
from tests.pages.browser import wait_until
from tests.pages.conftest import Log
from tests.pages.pictures import HAS_PICTURE, STATES
from tests.pages.web_processes import ROOT, WebProcess

WIDTHS = ((320, 640), (768, 1024), (1280, 720), (1920, 1080))


@contextmanager
def state(name: str, folder: Path) -> Iterator[WebProcess]:
    """A web process that shows the page in this state."""
    if name == "not started":
        with web_processes.live(folder) as web:
            yield web
    elif name == "meanwhile":
        with pictures.meanwhile(folder) as web:
            yield web
    elif name == "replay":
        path = made_facts.write(folder / "recordings", made_facts.a_day())
        with web_processes.replay(path, folder / "cache", rate=float("inf")) as web:
            yield web
    else:
        with STATES[name](folder / name) as where, web_processes.live(where) as web:
            yield web


ALL_STATES = (*STATES, "replay", "meanwhile", "not started")


def opened(page: Page, web: WebProcess, name: str) -> None:
    page.goto(web.address)
    if name == "not started":
        wait_until(page, "document.querySelector('#badge').dataset.badge === 'not started today'")
    elif name == "replay":
        wait_until(page, "document.querySelector('#where')?.textContent.includes('end')")
    else:
        wait_until(page, pictures.IN_MEANWHILE if name == "meanwhile" else HAS_PICTURE)
    page.evaluate("document.fonts.ready")
    if page.is_visible("#grounds"):
        page.click("#grounds")
    page.wait_for_timeout(250)  # the caption's fade: contrast is that of what has arrived


@pytest.mark.parametrize("name", ALL_STATES)
def test_axe_finds_nothing_in_any_state_at_any_width(name: str, page: Page, tmp_path: Path, axe: str) -> None:
    with state(name, tmp_path) as web:
        opened(page, web, name)
        for width, height in WIDTHS if name in ("live", "replay") else WIDTHS[::3]:
            page.set_viewport_size({"width": width, "height": height})
            assert violations(page, axe) == [], f"{width} px"


def test_axe_finds_what_is_wrong_with_a_page_that_is_wrong(page: Page, axe: str) -> None:
    """#777 on white has 4.48:1, #767676 has 4.54:1; WCAG 2.2 asks for 4.5 and 7, and 24 px for a button."""
    page.set_content(
        """<html><body><img src="x"><p style="color:#777;background:#fff">Pale</p>
        <p style="color:#767676;background:#fff">Less pale</p>
        <button style="width:16px;height:16px;padding:0"></button><button
        style="width:16px;height:16px;padding:0"></button><input></body></html>"""
    )
    found = {one.split(":")[0] for one in violations(page, axe)}
    assert found >= {
        "image-alt",
        "color-contrast",
        "color-contrast-enhanced",
        "target-size",
        "button-name",
        "label",
        "html-has-lang",
    }


# -- colours ---------------------------------------------------------------------------------------


def luminance(colour: str) -> float:
    """WCAG 2.2, relative luminance."""
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def ratio(one: str, other: str) -> float:
    """WCAG 2.2, contrast ratio."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


PAIRS = [
    *((text, paper) for text in ("ink", "soft-ink") for paper in ("paper", "sheet", "band")),
    ("live", "paper"),
    ("trouble", "paper"),
    ("trouble", "trouble-paper"),
    ("ink", "trouble-paper"),
]


def test_every_text_has_seven_to_one_against_its_paper() -> None:
    assert ratio("#767676", "#ffffff") == pytest.approx(4.5422, abs=1e-3)  # PyPI wcag-contrast-ratio 0.9
    assert ratio("#595959", "#ffffff") == pytest.approx(7.0047, abs=1e-3)  # the same
    css = (ROOT / "web/shared/paper.css").read_text("utf-8")
    colours = dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", css))
    for text, paper in PAIRS:
        assert ratio(colours[text], colours[paper]) >= 7, f"{text} on {paper}"


SHOWN_PAIRS = """(() => {
    const found = new Set();
    const part = (n) => (+n).toString(16).padStart(2, "0");
    const hex = (rgb) => "#" + rgb.match(/[\\d.]+/g).slice(0, 3).map(part).join("");
    const isClear = (one) => /, 0\\)$|transparent/.test(getComputedStyle(one).backgroundColor);
    // What is drawn does not nest: a text lies on the filled shape that was drawn last under its middle.
    const isFilled = (one) => !/none|, 0\\)|url/.test(getComputedStyle(one).fill)
        && getComputedStyle(one).visibility === "visible" && !one.closest("defs, clipPath");
    const drawnUnder = (text) => {
        const svg = text instanceof SVGElement ? text.ownerSVGElement : null;
        if (!svg) return null;
        const { left, right, top, bottom } = text.getBoundingClientRect();
        const [x, y] = [(left + right) / 2, (top + bottom) / 2];
        const under = [...document.querySelectorAll("svg :is(rect, circle, polygon, path)")].filter((one) => {
            const box = one.getBoundingClientRect();
            return isFilled(one) && box.left <= x && x <= box.right && box.top <= y && y <= box.bottom
                && one.compareDocumentPosition(text) & Node.DOCUMENT_POSITION_FOLLOWING;
        });
        return under.length ? getComputedStyle(under.at(-1)).fill : null;
    };
    const hasText = (one) => [...one.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    for (const one of document.querySelectorAll("body *")) {
        if (!one.getClientRects().length || !hasText(one)) continue;
        const style = getComputedStyle(one);
        let behind = one;
        while (behind && isClear(behind)) behind = behind.parentElement;
        const ink = one instanceof SVGElement ? style.fill : style.color;
        const drawn = drawnUnder(one);
        const paper = drawn ?? getComputedStyle(behind ?? document.documentElement).backgroundColor;
        found.add(`${hex(ink)} ${hex(paper)}`);
    }
    return [...found];
})()"""


@pytest.mark.parametrize("name", ["live", "failed", "link-lost", "replay"])
def test_every_pair_of_colours_that_is_shown_has_seven_to_one(name: str, page: Page, tmp_path: Path) -> None:
    """Found on the page itself, so that none can be forgotten in a list."""
    with state(name, tmp_path) as web:
        opened(page, web, name)
        pairs = [pair.split() for pair in page.evaluate(SHOWN_PAIRS)]
        assert len(pairs) >= 3
        for ink, paper in pairs:
            assert ratio(ink, paper) >= 7, f"{ink} on {paper}"


def test_no_colour_stands_in_any_style_sheet_but_the_named_ones_in_their_one_place() -> None:
    sheets = {path: path.read_text("utf-8") for path in sorted((ROOT / "web").glob("[!bn]*/*.css"))}
    named = sheets.pop(ROOT / "web/shared/paper.css")
    assert {path.parent.name for path in sheets} == {"charts", "desk", "drawing", "records", "visitor"}
    rules = "".join([named[named.index("}") :], *sheets.values()])
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b(?=[;,\s)])|rgba?\(|hsla?\(", rules) == []


# -- sizes and order -------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["live", "replay", "failed", "paper", "not started"])
def test_nothing_sticks_out_sideways_from_320_to_3840(name: str, page: Page, tmp_path: Path) -> None:
    """960 x 540 is 1920 x 1080 at 200 % zoom (WCAG 2.2, 1.4.4); 320 is 1280 at 400 % (1.4.10)."""
    with state(name, tmp_path) as web:
        opened(page, web, name)
        for width, height in (*WIDTHS, (390, 844), (960, 540), (1120, 700), (3840, 2160)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(60)
            assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", ["watching", "failed", "hands-on", "replay", "not started"])
def test_beside_the_machine_nothing_is_cut_off_and_nothing_scrolls(
    name: str, page: Page, tmp_path: Path
) -> None:
    with state(name, tmp_path) as web:
        opened(page, web, name)
        page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = false))")
        for width, height in ((1280, 720), (1366, 768), (1920, 1080), (3840, 2160)):
            page.set_viewport_size({"width": width, "height": height})
            page.wait_for_timeout(200)
            cut = page.evaluate(
                """["html", "#page", "#caption-box"].map((what) => document.querySelector(what))
                    .filter((e) => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1)
                    .map((e) => `${e.id || e.className}: ${e.scrollHeight} of ${e.clientHeight}`)"""
            )
            assert cut == [], f"{width} px"


def test_at_200_percent_nothing_is_lost(page: Page, tmp_path: Path) -> None:
    """WCAG 2.2, 1.4.4. 960 x 540 is 1920 x 1080 at 200 % zoom."""
    texts = """[...document.querySelectorAll("body *")]
        .filter((e) => e.getClientRects().length)
        .map((e) => [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data.trim()).join(""))
        .filter(Boolean)"""
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        whole = set(page.evaluate(texts))
        page.set_viewport_size({"width": 960, "height": 540})
        page.wait_for_timeout(200)
        lost = whole - set(page.evaluate(texts))
        # The heading names the machine, and "More" opens a sheet with what now stands on the page itself.
        heading = page.inner_text("h1")
        assert {text for text in lost if text.rstrip(".") not in heading} == {"More"}
        assert page.is_visible("#open-figures")
        assert page.is_visible("#choices")
    assert len(whole) > 40


def test_whatever_has_the_focus_shows_it(page: Page, tmp_path: Path) -> None:
    """WCAG 2.2, 2.4.7: an outline of at least two pixels, or the same around a part of the drawing."""
    with state("watching", tmp_path) as web:
        opened(page, web, "watching")
        for _ in range(25):
            page.keyboard.press("Tab")
            shown = page.evaluate(
                """(() => {
                    const one = document.activeElement;
                    if (one === document.body) return 3;
                    const reach = one.querySelector(".reach");
                    const style = getComputedStyle(reach ?? one);
                    if (reach) return style.stroke === "none" ? 0 : parseFloat(style.strokeWidth);
                    return style.outlineStyle === "none" ? 0 : parseFloat(style.outlineWidth);
                })()"""
            )
            assert shown >= 2, page.evaluate("document.activeElement.outerHTML.slice(0, 80)")


@pytest.mark.parametrize("size", [(1366, 768), (1920, 1080), (3840, 2160)])
def test_the_caption_is_the_largest_and_all_of_it_is_in_sight(
    size: tuple[int, int], page: Page, tmp_path: Path
) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        measured = page.evaluate(
            """(() => {
                const size = (e) => parseFloat(getComputedStyle(e).fontSize);
                const caption = document.querySelector("#caption");
                const others = [...document.querySelectorAll("body *")]
                    .filter((e) => e !== caption && e.getClientRects().length);
                const words = others.filter((e) => !e.closest("#few")); // the machine's own figures
                const box = document.querySelector("#caption-box");
                return {caption: size(caption), others: Math.max(...others.map(size)),
                        words: Math.max(...words.map(size)),
                        badge: size(document.querySelector("#badge-name")),
                        over: caption.offsetHeight - box.clientHeight};
            })()"""
        )
        assert measured["caption"] > measured["others"]
        assert measured["badge"] == measured["words"]
        assert measured["over"] <= 0


def test_a_caption_has_lines_of_readable_length(page: Page, tmp_path: Path) -> None:
    """30 to 45 characters (our own choice), a word either way."""
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        lines = page.evaluate(
            "document.querySelector('#caption').offsetHeight /"
            " parseFloat(getComputedStyle(document.querySelector('#caption')).lineHeight)"
        )
        characters = len(page.inner_text("#caption")) / round(lines)
        assert 24 <= characters <= 48


def test_a_screen_reader_meets_badge_caption_doings_console_and_figures_in_this_order(
    page: Page, tmp_path: Path
) -> None:
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        order = page.evaluate(
            """[...document.querySelectorAll("#badge, #title, #caption, #doing, #console, #figures")]
               .map((e) => e.id)"""
        )
        assert order == ["badge", "title", "caption", "console", "figures", "doing"]
        live = page.evaluate(
            """[...document.querySelectorAll("[aria-live], [role=status], [role=alert], [role=log]")]
               .filter((e) => !e.closest("dialog")).map((e) => e.id)"""
        )
        assert live == ["badge-name", "caption"]


@pytest.mark.moving
def test_the_console_is_real_text_with_its_looks(page: Page, tmp_path: Path) -> None:
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        rows = page.query_selector_all(".row")
        assert rows[0].text_content() == made_facts.BOARD_HEAD
        looks = page.evaluate(
            """[...document.querySelectorAll(".row span")].map((e) => {
                const s = getComputedStyle(e);
                return [e.className, s.fontWeight, s.textDecorationLine, s.animationName];
            })"""
        )
        assert ["reverse", "400", "none", "none"] in looks
        assert ["bold", "700", "none", "none"] in looks
        assert ["underline", "400", "underline", "none"] in looks
        widths = page.evaluate(
            """[...document.querySelectorAll(".row")].slice(0, 9).map((e) => {
                const range = document.createRange();
                range.selectNodeContents(e);
                return range.getBoundingClientRect().width / Math.max(1, e.textContent.length);
            }).filter((w) => w > 0)"""
        )
        assert max(widths) - min(widths) < 0.02  # a column is a column, bold or not


def test_the_whole_width_of_the_console_is_in_sight_beside_the_machine(page: Page, tmp_path: Path) -> None:
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        assert page.evaluate(
            "(() => { const s = document.querySelector('#sheet'); return s.scrollWidth <= s.clientWidth; })()"
        )


def test_the_kinds_of_captions_differ_in_words_and_in_form(page: Page, tmp_path: Path) -> None:
    forms = {}
    for name in ("live", "listen", "background"):
        with state(name, tmp_path / name) as web:
            opened(page, web, name)
            style = page.evaluate("getComputedStyle(document.querySelector('#kind')).borderLeftStyle")
            page.set_viewport_size({"width": 390, "height": 844})
            side = page.evaluate("getComputedStyle(document.querySelector('#story')).borderLeftStyle")
            page.set_viewport_size({"width": 1920, "height": 1080})
            forms[name] = (page.inner_text("#kind"), style, side)
    for form in zip(*forms.values(), strict=True):
        assert len(set(form)) == 3


# -- motion, privacy, complaints -------------------------------------------------------------------


@pytest.mark.parametrize(("wish", "moves"), [("no-preference", True), ("reduce", False)])
def test_the_caption_fades_in_but_not_for_who_asked_for_less_motion(
    wish: str, moves: bool, browser: Browser, tmp_path: Path
) -> None:
    context = browser.new_context(reduced_motion=wish)  # type: ignore[arg-type]
    page = context.new_page()
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        name = page.evaluate("getComputedStyle(document.querySelector('#caption')).animationName")
        assert (name == "arriving") is moves
    context.close()


@pytest.mark.parametrize("name", ["live", "replay"])
def test_no_cookie_is_set_nothing_is_kept_and_nothing_is_fetched_from_elsewhere(
    name: str, context: BrowserContext, page: Page, log: Log, tmp_path: Path
) -> None:
    with state(name, tmp_path) as web:
        opened(page, web, name)
        page.reload()
        wait_until(page, HAS_PICTURE)
        assert context.cookies() == []
        assert page.evaluate("[localStorage.length, sessionStorage.length, document.cookie]") == [0, 0, ""]
        assert log.hosts() == {f"127.0.0.1:{web.port}"}
        assert any(url.startswith("ws:") for url in log.requests)
        assert log.complaints == []


def test_the_rules_of_the_page_forbid_what_is_not_its_own(page: Page, log: Log, tmp_path: Path) -> None:
    """The control for the test above: a script in the page's text, and a picture from elsewhere."""
    with state("live", tmp_path) as web:
        opened(page, web, "live")
        page.evaluate(
            """document.body.insertAdjacentHTML("beforeend",
               "<img src='http://elsewhere.example/x.png'><img src='/x' onerror='window.spoiled = 1'>")"""
        )
        page.wait_for_timeout(300)
        assert page.evaluate("window.spoiled") is None
        assert any("Content Security Policy" in said for said in log.complaints)


def test_words_of_a_machine_s_folder_are_never_taken_for_markup(page: Page, tmp_path: Path) -> None:
    from exhibit.facts import kinds

    nasty = "<img src=x onerror='window.spoiled=1'><b>bold</b>"
    day = made_facts.Teller()
    day.tell(kinds.LineOpened(line=nasty))
    day.tell(kinds.ScriptStarted(script="round", title={"en": nasty}, by="docent 1", round=1))
    day.step("round", nasty)
    seen = day.prints(nasty)
    day.tell(kinds.ReadingTaken(display=nasty, frame=1, name=nasty, value=nasty))
    day.tell(kinds.ReadingTaken(display="board", frame=1, name=nasty, table=[{nasty: nasty}]))
    day.tell(kinds.HandsOnAsked(script="round", step="x", words={"en": nasty}, caution={"en": nasty}))
    day.tell(kinds.TroubleRaised(trouble="x", line=nasty, words={"en": nasty}, do={"en": nasty}))
    day.caption("x", "background", nasty, "processor", [seen], source=nasty)
    opened_fact = made_facts.opened(title={"en": nasty}, parts={"processor": {"en": nasty}})
    path = made_facts.write(tmp_path / "recordings", day.told, opened_fact, close=False)
    with web_processes.replay(path, tmp_path / "cache", rate=float("inf")) as web:
        opened(page, web, "replay")
        assert page.inner_text("#caption") == nasty
        made = "document.querySelectorAll(':is(main, header) :is(img:not(#phone-code), b)').length"
        assert page.evaluate(made) == 0
        assert page.evaluate("window.spoiled") is None


def test_each_language_is_offered_by_its_own_name_and_changes_the_caption(page: Page, tmp_path: Path) -> None:
    with state("paper", tmp_path) as web:
        opened(page, web, "paper")
        assert page.inner_text("#languages").split() == ["English", "Deutsch"]
        page.click("#languages button[lang=de]")
        wait_until(page, "document.documentElement.lang === 'de'")
        assert page.inner_text("#caption").startswith("[deutsch]")
        assert page.get_attribute("#languages button[lang=de]", "aria-pressed") == "true"
