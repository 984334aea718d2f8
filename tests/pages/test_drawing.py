"""The drawn machine lives by facts alone: what moves carries its fact; what isn't known says so."""

from __future__ import annotations

import random
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.pages.browser import wait_until
from tests.pages.drawing_page import (
    DRAWN,
    DrawingPage,
    items,
    marked,
    part,
    received,
    recording,
    typed,
    unknown,
)

pytestmark = pytest.mark.moving

COLOURS = "[getComputedStyle(one).stroke, getComputedStyle(one).fill, getComputedStyle(one).color]"
BOX = "[one.getBoundingClientRect()].map((box) => [box.left, box.top, box.width, box.height])[0]"
WIDTH = "parseFloat(getComputedStyle(one).strokeWidth)"
GREEN = "rgb(10, 85, 71)"
RED = "rgb(138, 15, 73)"


def facts_of(shown: dict[str, Any]) -> set[str]:
    """The numbers of all facts on which something in these items rests."""
    found = set()
    for name in ("parts", "tested", "share", "transfers"):
        found |= {str(one["seq"]) for one in shown[name].values()}
    found |= {str(one["seq"]) for one in shown["jobs"]}
    return found | ({str(shown["loading"]["seq"])} if shown["loading"] else set())


def boxes(drawing: DrawingPage) -> dict[str, list[float]]:
    found = {}
    for name in DRAWN:
        (found[name],) = drawing.all(BOX, f".part-front[data-part={name}] .outline")[:1]
    return found


def test_parts_stand_in_their_order_and_to_scale(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    (left, top, width, height), small = boxes(drawing)["processor"], boxes(drawing)["small-drive"]
    upper, lower = boxes(drawing)["upper-drive"], boxes(drawing)["lower-drive"]
    assert height / width == pytest.approx(175 / 60, rel=0.02)
    assert small[3] / height == pytest.approx(95 / 175, rel=0.02)
    assert upper[0] == pytest.approx(lower[0], abs=0.5)
    assert upper[1] + upper[3] == pytest.approx(lower[1], abs=0.5)
    assert left < small[0] < upper[0] < boxes(drawing)["console"][0]
    assert top + height == pytest.approx(small[1] + small[3], abs=0.5)
    assert drawing.complaints == []


def test_the_drawing_fits_its_holder_and_keeps_left_to_right_on_a_page_from_right_to_left(page: Page) -> None:
    drawing = DrawingPage(page, direction="rtl")
    drawing.show(items(), tag="he")
    (holder,) = page.evaluate(f"[document.getElementById('drawing')].map((one) => {BOX})")
    (root,) = drawing.all(BOX, ".machine")
    assert root[2] <= holder[2] + 0.5
    assert root[3] <= holder[3] + 0.5
    assert boxes(drawing)["processor"][0] < boxes(drawing)["console"][0]
    assert "מעבד" in page.inner_text(".names")
    for left, top, width, height in drawing.all(BOX, ".name span"):
        assert holder[0] <= left
        assert left + width <= holder[0] + holder[2] + 1
        assert top + height <= holder[1] + holder[3] + 1


def test_a_part_that_runs_has_a_heavy_outline_and_no_other_has(page: Page) -> None:
    drawing = DrawingPage(page)
    parts = {
        "processor": marked("runs", 10), "small-drive": marked("starting", 20),
        "upper-drive": marked("stands", 30), "lower-drive": marked("not known", 40),
    }  # fmt: skip
    drawing.show(items(parts=parts))
    weight = {name: drawing.all(WIDTH, f".part-front[data-part={name}] .outline")[0] for name in DRAWN}
    assert weight["processor"] > 2 * weight["small-drive"]
    assert len({weight[name] for name in DRAWN if name != "processor"}) == 1


def test_what_is_not_known_stands_still_and_says_so(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(unknown())
    assert drawing.moved() == []
    assert drawing.all("one.getAttribute('class')", ".marks.shown, .squares.shown, .gauge.known, .tag") == []
    labels = drawing.all("one.getAttribute('aria-label')", "button")
    assert labels[:4] == [
        "Processor, not known", "Small disc drive, not known", "Upper disc drive, not known",
        "Lower disc drive, not known",
    ]  # fmt: skip
    assert "Processor: not known" in drawing.text()


def test_what_the_caption_speaks_of_is_hatched_and_in_trouble_in_the_signal_colour(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items(), spoken="lower-drive")
    hatched = "[one.closest('.part-front').dataset.part, getComputedStyle(one).fill]"
    found = dict(drawing.all(hatched, ".hatching"))
    assert [name for name, fill in found.items() if "hatching" in fill] == ["lower-drive"]
    drawing.show(items(), spoken="lower-drive", trouble=True)
    (line,) = drawing.all("getComputedStyle(one).stroke", ".hatch-line")
    assert line == RED
    assert "Lower disc drive: trouble noticed" in drawing.text()
    red = drawing.all("one.closest('.part-front')?.dataset.part", ".part-front.spoken .outline")
    assert red == ["lower-drive"]
    drawing.show(items(), spoken="lower-drive")
    assert RED not in sum(drawing.all(COLOURS, "*"), [])


def test_everything_that_moves_carries_a_fact_that_stands_whatever_is_so(page: Page) -> None:
    drawing = DrawingPage(page)
    chance = random.Random(41)
    seen = set()
    for _ in range(12):
        whole = items(loading={"load": "book", "count": chance.randrange(20), "seq": 60, "done": False})
        states = ("runs", "starting", "stands", "not known")
        shown = {
            **whole,
            "parts": {
                name: marked(chance.choice(states), one["seq"]) for name, one in whole["parts"].items()
            },
            "share": whole["share"] if chance.random() < 0.5 else {},
            "tested": whole["tested"] if chance.random() < 0.5 else {},
            "transfers": dict(chance.sample(sorted(whole["transfers"].items()), chance.randrange(3))),
            "jobs": chance.sample(whole["jobs"], chance.randrange(3)),
            "loading": whole["loading"] if chance.random() < 0.5 else None,
        }
        drawing.show(shown)
        cable = {"200", "201"}
        drawing.take(received(200, 5), typed(201, "T"))
        for one in drawing.moved(500):
            assert one["fact"], one
            seen.add(one["name"].split()[0])
            assert one["fact"] in facts_of(shown) | cable, one
        still = {name: one for name, one in shown["parts"].items() if one["state"] in ("stands", "not known")}
        moving = drawing.all("one.dataset.fact", ".marks.moves")
        assert not {str(one["seq"]) for one in still.values()} & set(moving)
    assert seen >= {"marks", "arm-layer", "ticks", "typed-letters"}


def book(count: int, seq: int, done: bool = False) -> dict[str, Any]:
    return items(transfers={}, loading={"load": "book", "count": count, "seq": seq, "done": done})


def test_each_piece_of_a_load_travels_from_the_drive_that_is_read_to_the_processor(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(book(3, 60))
    assert drawing.all("one.className", ".load-piece") == [], "what arrived before isn't sent again"
    drawing.show(book(5, 61))
    places: dict[int, list[float]] = {}
    wait_until(page, "document.querySelector('#drawing .load-piece')")
    piece = drawing.all("one.dataset.fact", ".load-piece")
    assert piece == ["61"]
    (first,) = drawing.all(BOX, ".load-piece")
    places = boxes(drawing)
    page.wait_for_timeout(500)
    then = drawing.all(BOX, ".load-piece")[0]
    assert then[0] < first[0] - 20, "towards the processor, which stands on the left"
    assert first[0] < places["upper-drive"][0] + places["upper-drive"][2]
    wait_until(page, "!document.querySelector('#drawing .load-piece')")
    assert page.evaluate("[...document.querySelectorAll('#drawing .use')].length") == 0


def test_a_piece_of_a_load_goes_when_nothing_is_loaded_any_more(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(book(3, 60))
    drawing.show(book(9, 61))
    wait_until(page, "document.querySelector('#drawing .load-piece')")
    drawing.show(items(transfers={}))
    assert drawing.all("one.className", ".load-piece") == []


def test_without_movement_a_piece_of_a_load_stands_on_its_cable_while_it_is_loaded(browser: Browser) -> None:
    page = browser.new_page(reduced_motion="reduce")
    drawing = DrawingPage(page)
    drawing.show(book(3, 60))
    assert drawing.all("one.dataset.fact", ".load-piece") == ["60"]
    drawing.show(book(20, 61, done=True))
    assert drawing.all("one.dataset.fact", ".load-piece") == []
    page.close()


def test_what_a_mark_on_a_cable_stands_for_is_written_beside_it(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    assert drawing.all("one.textContent", ".scale-words") == ["■ = 20 uses", ""]
    drawing.take(received(7, 5))
    wait_until(page, "document.querySelector('#drawing .ticks')")
    assert drawing.all("one.textContent", ".scale-words") == ["■ = 20 uses", "│ = 1 letter"]
    drawing.show(items(), live=False)
    assert drawing.all("one.textContent", ".scale-words") == ["", ""]


def test_what_moves_stops_and_goes_when_its_fact_is_withdrawn(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items(loading={"load": "book", "count": 9, "seq": 60, "done": False}))
    wait_until(page, "document.querySelector('#drawing .use')")
    moving = {one["fact"] for one in drawing.moved()}
    assert moving >= {"20", "30", "40", "51", "52"}
    drawing.show(unknown())
    assert drawing.moved() == []
    assert drawing.all("one.dataset.fact", "[data-fact]") == []
    assert drawing.all("one.className", ".use, .tag, .thread, .typed-letters, .ticks") == []
    assert page.evaluate("machine.ticker.timer") == 0


def test_a_page_that_hears_nothing_any_more_knows_nothing(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.show(items(), live=False, alone=True)
    assert drawing.all("one.className", ".tag") == []
    assert drawing.text() == (
        "Processor: not known; Small disc drive: not known; Upper disc drive: not known; "
        "Lower disc drive: not known; Console: not known."
    )


@pytest.mark.parametrize("past", [True, False])
def test_nothing_is_green_and_nothing_moves_when_it_is_not_live(page: Page, past: bool) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(received(1, 40), typed(2, "T"))
    page.wait_for_timeout(300)
    assert GREEN in sum(drawing.all(COLOURS, "*"), [])
    drawing.show(items(), live=False, past=past)
    drawing.take(received(3, 40), typed(4, "T"))
    assert drawing.moved() == []
    assert GREEN not in sum(drawing.all(COLOURS, "*"), [])
    assert ("was turning" in drawing.text()) is past
    assert drawing.all("one.dataset.fact", ".moves") == []


def test_reduced_motion_gets_the_same_as_steps_and_words(browser: Browser) -> None:
    context = browser.new_context(reduced_motion="reduce", viewport={"width": 1920, "height": 1080})
    page = context.new_page()
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(received(7, 5), *(typed(8 + i, letter) for i, letter in enumerate("TAKE")))
    wait_until(page, "document.querySelector('#drawing .ticks')")
    middle, track = drawing.all(BOX, ".ticks")[0], drawing.all(BOX, ".track")[0]
    assert middle[0] + middle[2] / 2 == pytest.approx(track[0] + track[2] / 2, abs=2)
    assert drawing.all("[one.textContent, one.dataset.fact]", ".typed-word") == [["TAKE", "11"]]
    assert drawing.all("one.className", ".moves") == []
    assert len(drawing.all("one", ".marks.shown")) == 3
    assert "Small disc drive: turning" in drawing.text()
    wait_until(page, "!document.querySelector('#drawing .ticks')")  # a row stands for a second
    assert drawing.moved() == []
    context.close()


def test_a_page_that_may_not_move_says_so_to_the_drawing(page: Page) -> None:
    drawing = DrawingPage(page)
    page.evaluate("document.documentElement.setAttribute('data-still', '')")
    drawing.show(items())
    assert drawing.moved() == []


def test_a_piece_has_a_tick_for_each_character_and_a_long_one_its_number(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(received(7, 5))
    wait_until(page, "document.querySelector('#drawing .ticks')")
    ticks = (
        "Math.round(one.getBoundingClientRect().width / parseFloat(one.style.getPropertyValue('--pitch')))"
    )
    assert drawing.all(f"[{ticks}, one.textContent, one.dataset.fact]", ".ticks") == [[5, "", "7"]]
    drawing.take(received(8, 30), received(9, 31))
    wait_until(page, "document.querySelectorAll('#drawing .ticks').length === 2")
    assert drawing.all(f"[{ticks}, one.textContent, one.dataset.fact]", ".ticks")[1] == [4, "61 letters", "9"]


def test_never_more_than_three_rows_are_on_the_cable_while_much_is_received(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    most = 0
    for seq in range(12):
        drawing.take(received(seq, 40))
        page.wait_for_timeout(150)
        most = max(most, len(drawing.all("one", ".ticks")))
    assert most == 3


def test_a_long_row_says_of_what_it_has_so_many(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    for seq in range(12):
        drawing.take(received(seq, 57))
        page.wait_for_timeout(100)
    rows = drawing.all(BOX, ".ticks")
    counts = drawing.all(BOX, ".tick-count")
    assert {text.split(" ", 1)[1] for text in drawing.all("one.textContent", ".tick-count")} == {"letters"}
    ahead = [one for one in rows for words in counts if words[0] + 1 < one[0] < words[0] + words[2] - 1]
    assert ahead == [], "no row is under the words of another"


def test_received_pieces_go_to_the_console_and_letters_to_the_processor(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    for piece, name, way in ((received(7, 5), "ticks", 1), (typed(8, "T"), "typed-letters", -1)):
        drawing.take(piece)
        wait_until(page, f"document.querySelector('#drawing .{name}')")
        (first,) = drawing.all(BOX, f".{name}")
        page.wait_for_timeout(350)
        (then,) = drawing.all(BOX, f".{name}")
        assert (then[0] - first[0]) * way > 50


def test_of_a_secret_there_is_one_blank_box(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(typed(7, "", count=6))
    wait_until(page, "document.querySelector('#drawing .typed-letters')")
    assert drawing.all(
        "[one.textContent, one.children.length, one.firstElementChild.className]", ".typed-letters"
    ) == [["", 1, "secret"]]


def test_a_line_that_is_lost_is_drawn_cut_and_nothing_travels_on_it(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(received(7, 50), received(8, 5))
    wait_until(page, "document.querySelector('#drawing .ticks')")
    shown = "getComputedStyle(one).display !== 'none'"
    assert drawing.all(shown, ".cable.console .cut") == [False]
    drawing.show(unknown(line={"state": "lost"}))
    drawing.take(received(9, 50))
    assert drawing.all(shown, ".cable.console .cut") == [True]
    assert drawing.all(shown, ".cable.console .whole") == [False]
    assert drawing.moved() == []
    assert "Console: not connected" in drawing.text()


def test_each_job_is_a_tag_with_its_number_and_name_and_a_thread_to_its_part(page: Page) -> None:
    drawing = DrawingPage(page)
    jobs = [
        {"job": "1", "name": "SHUTTLE", "part": "lower-drive", "seq": 45},
        {"job": "", "name": "", "part": "processor", "seq": 46},
        {"job": "3", "name": "TIDES", "part": "", "seq": 47},
        {"job": "", "name": "", "part": "", "seq": 48, "doubt": True},
    ]
    drawing.show(items(jobs=jobs))
    assert drawing.all("[one.textContent, one.dataset.fact]", ".tag") == [
        ["1 SHUTTLE", "45"], ["a job", "46"], ["3 TIDES", "47"],
    ]  # fmt: skip
    assert drawing.all("one.dataset.fact", ".thread") == ["45", "46"]
    tags = drawing.all(BOX, ".tag")
    fronts = list(boxes(drawing).values())
    for i, (left, top, width, height) in enumerate(tags):
        for x, y, w, h in [*fronts, *tags[i + 1 :]]:
            assert left + width <= x or x + w <= left or top + height <= y or y + h <= top
    assert "1 SHUTTLE (Lower disc drive), a job (Processor), 3 TIDES" in drawing.text()
    drawing.show(items(jobs=jobs[:1]))
    assert drawing.all("one.textContent", ".tag") == ["1 SHUTTLE"]


def test_the_level_and_its_number_are_the_share_and_stand_only_while_it_does(page: Page) -> None:
    drawing = DrawingPage(page)
    for value in (25, 100):
        drawing.show(items(share={"processor": {"value": value, "at": "", "seq": 50}}))
        page.wait_for_timeout(500)
        (water,) = drawing.all(BOX, ".water")
        (tube,) = drawing.all(BOX, ".opening-gauge rect:last-of-type")
        assert water[3] / tube[3] == pytest.approx(value / 100, abs=0.04)
        assert water[1] + water[3] == pytest.approx(tube[1] + tube[3], abs=2)
        assert drawing.all("one.textContent", ".number") == [str(value)]
    drawing.show(items(share={}))
    page.wait_for_timeout(500)
    assert drawing.all(BOX, ".water")[0][3] < 1
    assert drawing.all("one.textContent", ".number") == ["?"], (
        "an empty tube would say that it has nothing to do"
    )
    assert "Processor: busy? not known" in drawing.text(), "what the question mark means"
    assert "busy? not known" in drawing.all("one.textContent", ".part-state")
    drawing.show(items(share={}), size="row")
    assert "busy? not known" not in drawing.text()
    assert drawing.all("one.textContent", ".number") == [""], "no question mark without its words"
    drawing.show(unknown())
    assert drawing.all("one.textContent", ".number") == [""]


def test_a_drive_said_to_be_started_has_hollow_marks_and_one_that_the_machine_calls_ready_solid_ones(
    page: Page,
) -> None:
    drawing = DrawingPage(page)
    parts = {**items()["parts"], "upper-drive": marked("starting", 31), "lower-drive": marked("stands", 41)}
    drawing.show(items(parts=parts))
    looks = drawing.all("[one.classList.contains('shown'), one.classList.contains('hollow')]", ".marks")
    assert looks == [[True, False], [True, True], [False, False]]
    inside = drawing.all("getComputedStyle(one).stroke", ".mark-inside")
    assert inside[0] == "none"
    assert inside[len(inside) // 2] != "none"


def test_lamps_are_never_lit_and_switches_never_filled(page: Page) -> None:
    drawing = DrawingPage(page)
    fills = []
    for shown, look in ((items(), {}), (unknown(), {}), (items(), {"trouble": True, "spoken": "processor"})):
        drawing.show(shown, **look)
        fills += drawing.all("getComputedStyle(one).fill", ".part-front > g > circle")
    assert len(fills) > 100
    assert set(fills) == {"none"}


def test_each_part_is_a_button_with_its_name_and_its_state(page: Page, axe: str) -> None:
    drawing = DrawingPage(page)
    drawing.show(items(), chosen="console")
    named = "[one.getAttribute('aria-label'), one.getAttribute('aria-pressed')]"
    assert drawing.all(named, "button") == [
        ["Processor, busy 97%", "false"],
        ["Small disc drive, turning", "false"],
        ["Upper disc drive, busy", "false"],
        ["Lower disc drive, busy", "false"],
        ["Console, quiet", "true"],
    ]
    page.focus("#drawing button[data-part=lower-drive]")
    page.keyboard.press("Enter")
    page.click("#drawing button[data-part=processor]")
    page.click(".name [data-part=upper-drive]")
    assert page.evaluate("chosen") == ["lower-drive", "processor", "upper-drive"]
    for left, top, width, height in drawing.all(BOX, "button"):
        assert min(width, height) >= 44, (left, top)
    page.evaluate(axe)
    assert page.evaluate("axe.run().then((found) => found.violations.map((one) => one.id))") == []


def test_the_screen_has_lines_as_long_as_those_of_the_console(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    rows = {"0": [["JOB  NAME", ""]], "2": [["   ", ""], ["SECRET", "concealed"]], "3": [["x" * 80, ""]]}
    page.evaluate("(rows) => machine.takeConsole({ rows })", rows)
    (drawn,) = drawing.all("one.getAttribute('d')", ".lines")
    lengths = [float(piece.split("H")[1]) - float(piece.split()[0]) for piece in drawn.split("M ")[1:]]
    assert lengths[0] / lengths[1] == pytest.approx(9 / 80, rel=0.02)
    assert len(lengths) == 2
    page.evaluate("machine.takeConsole(null)")
    wait_until(page, "document.querySelector('#drawing .lines').getAttribute('d') === ''")


@pytest.mark.parametrize(("size", "look"), [("480x0", {}), ("560x400", {"size": "small"})])
def test_a_small_drawing_has_no_words_and_its_buttons_still_say_all(
    page: Page, size: str, look: dict[str, str]
) -> None:
    drawing = DrawingPage(page, size.removesuffix("x0"))
    drawing.show(items(), spoken="processor", **look)
    drawing.take(typed(5, "T"))
    wait_until(page, "document.querySelector('#drawing .ticks')")
    assert drawing.all("one.textContent", "text, .name, .typed-letters, .scale-words:not(:empty)") in (
        [],
        [""],
    )
    assert drawing.all("one.getAttribute('aria-label')", "button")[0] == "Processor, busy 97%"
    assert len(drawing.all("one", ".part-front > g > circle")) > 30


def test_on_a_phone_there_are_no_lamps(page: Page) -> None:
    drawing = DrawingPage(page, "358")
    drawing.show(items())
    assert drawing.all("one", ".part-front[data-part=processor] > g > circle") == []
    (holder,) = page.evaluate(f"[document.getElementById('drawing')].map((one) => {BOX})")
    assert holder[3] > 100


def test_in_a_wide_row_the_states_stand_large_in_the_gaps(page: Page) -> None:
    drawing = DrawingPage(page, "1792x592")
    drawing.show(items(share={}, jobs=[]), size="row")
    assert drawing.all("one.textContent", ".gap-words") == ["memory in order", "turning", "busy", "busy"]
    fronts = boxes(drawing)
    for left, _, width, _ in drawing.all(BOX, ".gap-words"):
        for x, _, w, _ in fronts.values():
            assert left + width <= x or x + w <= left


SVG = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 175">
<rect id="case" width="60" height="175" fill="none" stroke="#10294a"/>
<g id="opening-gauge"><rect x="10" y="20" width="30" height="40" fill="none"/></g>
<use href="#case"/></svg>"""


def test_a_museums_own_drawing_takes_the_fronts_place_and_its_openings_are_filled(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.pictures["a.svg"] = ("image/svg+xml", SVG)
    drawn = {**DRAWN, "processor": {**DRAWN["processor"], "picture": "a.svg"}}
    drawing.show(items(), drawn)
    wait_until(page, "document.querySelector('#drawing .museums')")
    (front,), (gauge,) = drawing.all(BOX, ".museums"), drawing.all(BOX, ".living.gauge")
    assert gauge[0] - front[0] == pytest.approx(front[2] * 10 / 60, abs=2)
    assert gauge[3] == pytest.approx(front[3] * 40 / 175, abs=2)
    assert drawing.all("one.id", "#case") == []  # its names are its part's now
    assert drawing.all("one.getAttribute('href')", ".museums use") == ["#processor--case"]
    assert drawing.all("one", ".living.core") == []  # it named no such opening
    assert drawing.all("one.textContent", ".number") == ["97"]


def test_a_museums_drawing_that_cannot_be_had_leaves_ours(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items(), {**DRAWN, "processor": {**DRAWN["processor"], "picture": "none.svg"}})
    page.wait_for_timeout(300)
    assert drawing.all("one.textContent", "text.number") == ["97"]


def test_any_name_of_a_part_from_a_recording_may_have_a_drawing(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.pictures["a.svg"] = ("image/svg+xml", SVG)
    name = 'a"] b'
    drawn = {name: {**DRAWN["processor"], "cabinet": name, "picture": "a.svg"}}
    drawing.show(items(share={name: {"value": 97, "at": "", "seq": 50}}), drawn)
    wait_until(page, "document.querySelector('#drawing .museums')")
    assert drawing.all("one.textContent", ".number") == ["97"]


def test_a_fault_in_drawing_what_has_arrived_is_not_kept_quiet(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.pictures["a.svg"] = ("image/svg+xml", SVG)
    page.evaluate("() => { machine.drawAgain = () => { throw new Error('it cannot be drawn'); }; }")
    drawing.show(items(), {**DRAWN, "processor": {**DRAWN["processor"], "picture": "a.svg"}})
    wait_until(page, "machine.pictures.known.get('a.svg')")
    for _ in range(200):
        if any("it cannot be drawn" in one for one in drawing.complaints):
            return
        page.wait_for_timeout(20)
    raise AssertionError("the page says nothing of the fault")


def test_a_photograph_is_not_drawn_upon(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.pictures["a.jpg"] = ("image/jpeg", b"")
    drawing.show(
        items(), {**DRAWN, "lower-drive": part("drive", "lower", 80, 65, ["packs"], picture="a.jpg")}
    )
    assert drawing.all("one.getAttribute('href')", "image") == ["/drawn/a.jpg"]
    (photograph,) = drawing.all(BOX, "image")
    for left, *_ in drawing.all(BOX, ".living.rims")[2:]:
        assert left > photograph[0] + photograph[2]


def test_a_picture_of_the_album_is_in_ink_and_still(page: Page) -> None:
    drawing = DrawingPage(page)
    page.evaluate(
        "(told) => picture(told[0], 'lower-drive', told[1])", [recording(), {"job": "1", "name": "SHUTTLE"}]
    )
    found = page.evaluate(
        """[...document.querySelectorAll('#album *')].map((one) => getComputedStyle(one))
        .flatMap((style) => [style.stroke, style.fill])"""
    )
    assert found
    assert GREEN not in found
    assert page.evaluate("document.getAnimations().length") == 0
    label = page.get_attribute("#album svg", "aria-label")
    assert label == "Lower disc drive, 1 SHUTTLE"
    assert page.text_content("#album .tag-letters") == "1 SHUTTLE"
    assert drawing.complaints == []


def test_the_still_drawing_is_not_touched_by_what_moves(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    drawing.take(*(received(i, 9) for i in range(100, 110)))
    changes = page.evaluate(
        """async () => {
            let changes = 0;
            const watch = new MutationObserver((list) => (changes += list.length));
            const whole = { subtree: true, childList: true, attributes: true, characterData: true };
            watch.observe(document.querySelector("#drawing .still"), whole);
            await new Promise((done) => setTimeout(done, 1500));
            return changes;
        }"""
    )
    assert changes == 0
    largest = max(width * height for _, _, width, height in drawing.all(BOX, ".clip, .moves:not(.marks)"))
    (still,) = drawing.all(BOX, ".still")
    assert largest < still[2] * still[3] / 10
    promoted = "[one, one.parentElement].some((it) => getComputedStyle(it).willChange === 'transform')"
    assert all(drawing.all(promoted, ".moves"))


def test_a_drawing_that_is_hidden_costs_nothing(page: Page) -> None:
    drawing = DrawingPage(page)
    drawing.show(items())
    assert page.evaluate("machine.ticker.timer") != 0
    page.evaluate("(document.getElementById('drawing').hidden = true)")
    wait_until(page, "machine.ticker.timer === 0")
    page.evaluate("(document.getElementById('drawing').hidden = false)")
    wait_until(page, "machine.ticker.timer !== 0")
    assert drawing.moved(300)
