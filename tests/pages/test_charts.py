"""The charts in a real browser: what they show is what was printed, and nothing collides at any size."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.pages.browser import wait_until
from tests.pages.charts_alone import LANGUAGES, SUMS, TIDE, day, open_charts, paint, put, span, tide, wall

LARGE, PORTRAIT, PHONE = (1250, 580), (968, 660), (330, 420)
pytestmark = pytest.mark.moving

SIZES = [LARGE, PORTRAIT, PHONE, (560, 300)]
POINTS = "document.querySelectorAll('.plot .point').length"
TEXTS = """[...document.querySelectorAll('SELECTOR')].map((one) => {
    const { left, right, top, bottom } = one.getBoundingClientRect();
    return { words: one.textContent, left, right, top, bottom }; })"""


def boxes(page: Page, selector: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(TEXTS.replace("SELECTOR", selector))
    return found


def collide(one: dict[str, Any], other: dict[str, Any]) -> bool:
    # A letter's box is taller than the letter: half a pixel and some air of it may overlap.
    across = one["left"] < other["right"] - 0.5 and other["left"] < one["right"] - 0.5
    return across and one["top"] < other["bottom"] - 4 and other["top"] < one["bottom"] - 4


# ---- the chart


def test_hours_that_are_worked_are_squares_on_the_axis_without_any_height(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *PORTRAIT, [TIDE, tide(0, 0, 15)], {})
    assert page.locator(".worked-square").count() == 24
    assert page.locator(".worked-square.done").count() == 15
    lying = boxes(page, ".worked-square")
    assert len({(round(one["top"]), round(one["bottom"])) for one in lying}) == 1, "all equally high"
    frame = boxes(page, ".plot-picture")[0]
    assert lying[0]["bottom"] - lying[0]["top"] < (frame["bottom"] - frame["top"]) / 10, "and low"
    assert page.locator(".worked-count").text_content() == "15"
    assert page.locator(".plot :is(.point, .mark, .surface)").count() == 0
    assert "15 of 24" in page.evaluate("shown.text()")
    assert page.locator(".worked").get_attribute("data-fact") == "99"


def test_points_follow_what_was_printed_and_never_lead_it(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide(0, 0, 24)], {})
    paint(page, [TIDE, tide(8, 0)])
    counts = {page.evaluate(POINTS)}
    wait_until(page, f"{POINTS} === 8")
    for _ in range(10):
        counts.add(page.evaluate(POINTS))
    assert max(counts) == 8
    paint(page, [TIDE, tide(24, 4)])
    assert page.locator(".plot .mark").count() == 0, "turning points wait for the points printed before them"
    wait_until(page, "document.querySelectorAll('.plot .mark').length === 4")
    assert page.evaluate(POINTS) == 24
    assert page.locator(".worked").count() == 0


def test_the_last_point_is_drawn_however_slowly_the_page_draws(page: Page) -> None:
    for later_ms in (90, 130, 170, 251):
        open_charts(page)
        # Each look at the clock finds it later: as if drawing were interrupted wherever it can be.
        page.evaluate(
            """(later_ms) => { const now = performance.now.bind(performance);
            let more_ms = 0; performance.now = () => now() + (more_ms += later_ms); }""",
            later_ms,
        )
        put(page, "Plot", *LARGE, [TIDE, tide(0, 0, 24)], {})
        for printed in (8, 16, 24):
            paint(page, [TIDE, tide(printed, 0)])
            wait_until(page, f"{POINTS} === {printed}", limit_s=10)


def test_without_movement_a_printed_line_appears_at_once(browser: Browser) -> None:
    context = browser.new_context(reduced_motion="reduce")
    page = context.new_page()
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide(0, 0)], {})
    paint(page, [TIDE, tide(8, 0)])
    assert page.evaluate(POINTS) == 8
    context.close()


@pytest.mark.parametrize("look", [{}, {"past": True}, {"now": wall("10:40")}])
def test_whoever_comes_late_sees_all_that_was_printed(page: Page, look: dict[str, Any]) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide()], look)
    assert page.evaluate(POINTS) == 24
    assert page.locator(".plot .mark").count() == 4


def test_a_garbled_value_is_a_gap(page: Page) -> None:
    open_charts(page)
    item = tide(12, 0)
    item["points"][5][1] = None
    put(page, "Plot", *LARGE, [TIDE, item], {})
    assert page.locator(".surface").count() == 2
    assert page.evaluate(POINTS) == 11
    assert "Where a value came garbled" in page.evaluate("shown.text()")


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("every", [1, 3])
def test_labels_stay_apart_and_inside_at_every_size(
    page: Page, tag: str, size: tuple[int, int], every: int
) -> None:
    open_charts(page, tag)
    put(page, "Plot", *size, [{**TIDE, "across": {**TIDE["across"], "every": every}}, tide()], {"past": True})
    (frame,) = boxes(page, ".plot-picture")
    found = boxes(page, ".plot text")
    for one in found:
        assert one["left"] >= frame["left"] - 1, one
        assert one["right"] <= frame["right"] + 1, one
        assert one["top"] >= frame["top"] - 4, one
        assert one["bottom"] <= frame["bottom"] + 4, one
    assert [pair for pair in itertools.combinations(found, 2) if collide(*pair)] == []
    said = page.locator("main").inner_text()
    for figure in ("06:27", "18:55", "12:24", "00:08", "5,40" if tag == "de" else "5.40"):
        assert figure in said


def test_every_thing_that_grows_carries_the_number_of_its_fact_and_goes_with_it(page: Page) -> None:
    open_charts(page)
    grown = ".plot-grown :is(circle, path, polygon, line, text, rect)"
    bare = f"""[...document.querySelectorAll('{grown}')].filter((one) =>
        !one.closest('[data-fact]') && !one.closest('clipPath')).length"""
    for item in (tide(0, 0, 15), tide(24, 0), tide()):
        put(page, "Plot", *LARGE, [TIDE, item], {})
        assert page.locator(grown).count() > 10
        assert page.evaluate(bare) == 0
    facts = page.evaluate("[...document.querySelectorAll('.plot .mark')].map((one) => one.dataset.fact)")
    assert facts == ["110", "111", "112", "113"] or sorted(facts) == ["110", "111", "112", "113"]
    paint(page, [TIDE, tide(16, 0)])
    assert page.evaluate(POINTS) == 16
    assert page.locator(".plot .mark").count() == 0
    paint(page, [TIDE, None])
    assert page.locator(".plot [data-fact]").count() == 0
    assert page.locator(".plot .round").count() > 0, "its frame stays"


def test_green_is_only_for_what_the_machine_prints_now(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide(24, 0)], {})
    facts = page.evaluate("[...document.querySelectorAll('.plot .fresh')].map((one) => one.dataset.fact)")
    assert set(facts) == {"102"}
    assert page.locator(".boat").get_attribute("data-fact") == "102"
    for item, look in ((tide(24, 0), {"past": True}), (tide(), {}), (tide(24, 0, until=wall("10:29")), {})):
        put(page, "Plot", *LARGE, [TIDE, item], look)
        assert page.locator(".plot .fresh").count() == 0
        assert page.locator(".boat").count() == 0


def test_a_plain_curve_serves_other_machines(page: Page) -> None:
    open_charts(page)
    load = {
        "title": {"en": "Its load"},
        "across": {"from": 0, "to": 60, "every": 10, "words": {"en": "minutes"}},
        "up": {"from": 0, "to": 100, "every": 25, "words": {"en": "per cent"}},
        "drawn_as": "line",
        "marks": {},
    }
    item = {**tide(0, 0, None), "points": [[n, (n * 37) % 90, n] for n in range(40)]}
    put(page, "Plot", *LARGE, [load, item], {})
    assert page.locator(".surface").count() == 1
    assert page.locator(".plot :is(.sea, .boat, .staff)").count() == 0
    assert "per cent" in page.locator(".plot-note").inner_text()
    paint(page, [{**load, "title": {"en": "Now beyond its scale"}}, {**item, "points": [[1, 140, 1]]}])
    (point,) = boxes(page, ".plot .point")
    (frame,) = boxes(page, ".plot-picture")
    assert point["top"] >= frame["top"], "the scale grows with what was printed"


@pytest.mark.parametrize(("tag", "ours"), [("en", "is ours"), ("de", "ist von uns"), ("he", "שלנו")])
def test_the_page_says_that_the_line_between_the_points_is_ours(page: Page, tag: str, ours: str) -> None:
    open_charts(page, tag)
    put(page, "Plot", *LARGE, [TIDE, tide()], {})
    assert ours in page.locator(".plot-note").inner_text()
    assert ours in page.locator(".plot-picture").get_attribute("aria-label")


def test_its_text_says_how_far_it_is_and_what_is_highest_and_lowest(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide(16, 0)], {})
    said = page.evaluate("shown.text()")
    assert "printed so far up to 15:00" in said
    assert "highest value is 5.33 metres, at 06:00; the lowest is 0.46 metres, at 12:00" in said
    paint(page, [TIDE, tide()])
    wait_until(page, "document.querySelectorAll('.plot .mark').length === 4")
    said = page.evaluate("shown.text()")
    assert "High water at 06:27: 5.40 metres" in said
    assert "so far" not in said
    put(page, "Plot", *LARGE, [TIDE, None], {})
    assert page.evaluate("shown.text()") == "Tomorrow’s tide: nothing has been printed yet."


# ---- the day's line

HOURS = {"every_day": {"opens": "10:00", "closes": "16:30"}}
MORNING = [
    span("opening", wall("09:38"), wall("09:59")),
    span("round", wall("10:00"), wall("10:05")),
    span("round", wall("10:24")),
]
SIXTY = [
    span("round", wall(f"{10 + n // 10:02}:{n % 10 * 6:02}"), wall(f"{10 + n // 10:02}:{n % 10 * 6 + 4:02}"))
    for n in range(60)
]
NIGHT = [span("round", wall("23:40"), wall("00:35", "2026-11-26"))]
SET_BACK = [span("round", wall("10:20"), wall("10:05")), span("round", wall("10:02"))]
DAYS: dict[str, tuple[dict[str, Any], Any, str]] = {
    "working": (day(MORNING, {"what": "rest", "at": wall("10:30")}, wall("09:38")), HOURS, wall("10:28")),
    "near its end": (day(SIXTY, {"what": "closing", "at": wall("16:35")}), HOURS, wall("16:28")),
    "asleep": (day(SIXTY, None, wall("09:38")), HOURS, wall("17:05")),
    "early": (day([]), HOURS, wall("07:50")),
    "night": (day(NIGHT), None, wall("00:40", "2026-11-26")),
    "set back": (day(SET_BACK, {"what": "round", "at": wall("10:12")}), HOURS, wall("10:03")),
    "no hours": (day(MORNING), None, wall("10:28")),
}


@pytest.mark.parametrize("tag", LANGUAGES)
def test_nothing_on_the_days_line_collides_at_any_width(page: Page, tag: str) -> None:
    page.set_viewport_size({"width": 1920, "height": 600})
    open_charts(page, tag)
    for width in (1792, 1250, 968, 600, 420, 320):
        for name, (a_day, hours, now) in DAYS.items():
            for hollow in (False, True):
                put(page, "DayLine", width, None, [a_day, hours], {"now": now, "hollow": hollow})
                found = boxes(page, ".day-line text")
                (frame,) = boxes(page, ".day-line")
                where = f"{tag}, {width} px, {name}"
                assert len(found) >= 3, where
                assert all(
                    frame["left"] - 1 <= one["left"] and one["right"] <= frame["right"] + 1 for one in found
                ), where
                assert [pair for pair in itertools.combinations(found, 2) if collide(*pair)] == [], where


@pytest.mark.parametrize("width", [1792, 968, 360])
def test_the_hours_at_which_doors_open_and_close_are_written_at_any_width(page: Page, width: int) -> None:
    open_charts(page)
    hours = {"every_day": {"opens": "10:00", "closes": "17:00"}}
    put(page, "DayLine", width, None, [day(MORNING), hours], {"now": wall("10:30")})
    written = [one["words"].removesuffix(":00") for one in boxes(page, ".day-line .hour")]
    assert "10" in written
    assert "17" in written


def test_now_stands_where_the_clock_is_and_time_runs_left_to_right_in_every_language(page: Page) -> None:
    places = []
    for tag in LANGUAGES:
        open_charts(page, tag)
        put(page, "DayLine", 900, None, [day(MORNING), HOURS], {"now": wall("13:30")})
        (frame,), (pointer,) = boxes(page, ".day-line"), boxes(page, ".pointer")
        places.append(((pointer["left"] + pointer["right"]) / 2 - frame["left"]) / 900)
        hours = boxes(page, ".day-line .hour")
        assert [one["words"] for one in sorted(hours, key=lambda one: one["left"])][0].startswith("9")
    assert places == pytest.approx([0.5] * len(LANGUAGES), abs=0.01)


@pytest.mark.parametrize(
    ("a_day", "now", "said"),
    [
        (day(MORNING, {"what": "rest", "at": wall("10:30")}), "10:28", "rests at 10:30"),
        (day(MORNING[:2], {"what": "round", "at": wall("10:36")}), "10:31", "next round 10:36"),
        (day([]), "08:20", "doors open 10:00"),
        (day(MORNING[:2]), "10:31", "closes 16:30"),
        (day(MORNING[:2], {"what": "closing", "at": wall("16:40")}), "16:35", "shuts down at 16:40"),
        (day(MORNING[:2], {"what": "closing", "at": ""}), "16:35", "next it is shut down"),
    ],
)
def test_what_comes_next_and_when_is_said_in_words(
    page: Page, a_day: dict[str, Any], now: str, said: str
) -> None:
    open_charts(page)
    put(page, "DayLine", 1000, None, [a_day, HOURS], {"now": wall(now)})
    texts = [one["words"] for one in boxes(page, ".day-line text")]
    assert f"Now {now}" in texts
    assert said in texts


def test_a_recordings_clock_is_hollow_and_in_the_past_tense(page: Page) -> None:
    open_charts(page)
    put(page, "DayLine", 1000, None, [day(MORNING), HOURS], {"now": wall("10:28"), "hollow": True})
    texts = " ".join(one["words"] for one in boxes(page, ".day-line text"))
    assert "It was 10:28" in texts
    assert "Now" not in texts
    assert "closes" not in texts
    assert page.locator(".hollow .pointer").count() == 1
    assert page.locator(".live").count() == 0
    assert "It is" not in page.evaluate("shown.text()")


def test_sixty_rounds_stay_sixty_marks(page: Page) -> None:
    open_charts(page)
    put(page, "DayLine", 320, None, [day(SIXTY), HOURS], {"now": wall("16:00")})
    marks = sorted(boxes(page, ".day-line .span"), key=lambda one: one["left"])
    assert len(marks) == 60
    assert all(one["right"] <= other["left"] + 0.01 for one, other in itertools.pairwise(marks))
    assert "60 rounds" in page.evaluate("shown.text()")


# ---- the steps, the album, the sums

CHAPTERS = {
    "round": [
        {"name": "tides", "words": {"en": "It works out the tides"}, "told": {"en": "The tides were done."}}
    ]
}


def test_the_present_step_is_marked_and_named(page: Page) -> None:
    open_charts(page)
    steps = {"script": "round", "round": 3, "at": 4, "of": 9, "name": "tides", "seq": 77}
    put(page, "StepsLine", 700, None, [steps, CHAPTERS], {})
    kinds = page.evaluate("[...document.querySelectorAll('.steps-squares i')].map((one) => one.className)")
    assert kinds == ["done"] * 3 + ["present live"] + ["coming"] * 5
    assert page.locator(".steps-words").inner_text() == "4 of 9: It works out the tides"
    assert page.locator(".present").get_attribute("data-fact") == "77"
    paint(page, [steps, CHAPTERS["round"]], {"past": True})
    assert page.locator(".present.live").count() == 0
    paint(page, [None, CHAPTERS])
    assert page.locator(".steps-line [data-fact]").count() == 0


def test_many_chapters_fit_a_phone(page: Page) -> None:
    open_charts(page)
    steps = {"script": "round", "at": 30, "of": 60, "name": "tides", "seq": 7}
    put(page, "StepsLine", 320, None, [steps, CHAPTERS], {})
    (frame,) = boxes(page, ".steps-line")
    assert all(one["right"] <= frame["right"] + 2 for one in boxes(page, ".steps-squares i"))


LONG = "The tides of the whole of tomorrow were worked out and printed, hour by hour, and then looked at."


def entry(picture: str, seq: int, **more: Any) -> dict[str, Any]:
    usual = {
        "chapter": "tides",
        "script": "round",
        "at": wall("10:24"),
        "lines": [],
        "part": "",
        "job": None,
        "plot": None,
    }
    return {**usual, "picture": picture, "seq": seq, **more}


ALBUM = [
    entry("console", 5, lines=["NO DESK: TAKE TIDES", "DESK TIDES TAKEN AT 09.12. NO JOBS HERE"]),
    entry("part:lower-drive", 6, part="lower-drive"),
    entry("plot:tide", 7, plot={**tide(24, 0), "at": wall("10:31")}),
    entry("", 8),
]
RECORDING = {
    "plots": {"tide": TIDE},
    "chapters": CHAPTERS,
    "now": {"transfers": ["board.lower"], "errors": []},
}


def test_the_album_shows_the_last_round_in_ink_and_in_the_past_tense(page: Page) -> None:
    open_charts(page)
    put(page, "Album", 1792, 500, [ALBUM, RECORDING], {})
    assert page.locator(".album-pictures > li").count() == 4
    assert page.locator(".album-lines").inner_text().startswith("NO DESK: TAKE TIDES")
    assert page.locator("#part-lower-drive").count() == 1
    assert page.locator(".album .plot .surface").count() == 1
    assert page.locator(".album-plain").inner_text() == "The tides were done."
    assert page.locator(".fresh, .live, .boat").count() == 0
    assert page.evaluate("shown.text()").count("10:24: The tides were done.") == 3
    times = page.locator(".album-words time").all_inner_texts()
    assert times == ["10:24", "10:24", "10:31", "10:24"], "a chart has the time that its own page gives it"
    assert [item.get_attribute("data-fact") for item in page.locator(".album-pictures > li").all()] == [
        "5",
        "6",
        "7",
        "8",
    ]


@pytest.mark.parametrize("width", [1792, 968, 330])
@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_an_album_of_any_number_fills_its_place_evenly(page: Page, width: int, count: int) -> None:
    page.set_viewport_size({"width": 1920, "height": 1400})
    open_charts(page)
    told = [
        {**CHAPTERS["round"][0], "told": {"en": words}, "name": name}
        for name, words in (("tides", LONG), ("b", "Done."))
    ]
    album = [{**one, "chapter": "b" if n % 2 else "tides"} for n, one in enumerate(ALBUM[:count])]
    put(
        page,
        "Album",
        width,
        1400 if width == 330 else 620,
        [album, {**RECORDING, "chapters": {"round": told}}],
        {},
    )
    found = boxes(page, ".album-picture")
    (frame,) = boxes(page, ".album")
    assert len(found) == count
    assert all(one["bottom"] <= frame["bottom"] + 1 and one["right"] <= frame["right"] + 1 for one in found)
    before = min(one["left"] for one in found) - frame["left"]
    behind = frame["right"] - max(one["right"] for one in found)
    assert before == pytest.approx(behind, abs=2)
    if count < 4:  # then no chart has pictures of all kinds beside it
        assert len({round(one["bottom"] - one["top"]) for one in found}) == 1, "they are equally high"
    assert not any(collide(*pair) for pair in itertools.combinations(found, 2))


BOARD_LINES = [
    "JOB  NAME     DESK     SHARE  SECONDS  TRANSFERS  ERRORS  STATE",
    "  1  SHUTTLE  TIDES        2      0.2        122       0  READY",
]


@pytest.mark.parametrize("size", [(1230, 500), (968, 640), (330, 1400)], ids=str)
def test_what_came_of_the_round_is_the_largest_picture_and_nothing_in_the_others_is_cut(
    page: Page, size: tuple[int, int]
) -> None:
    page.set_viewport_size({"width": 1920, "height": 1500})
    open_charts(page)
    album = [
        ALBUM[1],
        entry("console", 5, lines=BOARD_LINES),
        entry("console", 6, lines=["NO DESK:"]),
        ALBUM[2],
    ]
    put(page, "Album", *size, [album, RECORDING], {})
    areas = {
        kind: [
            (one["right"] - one["left"]) * (one["bottom"] - one["top"])
            for one in boxes(page, f".album li{kind} .album-picture")
        ]
        for kind in (".chart", ":not(.chart)")
    }
    assert len(areas[".chart"]) == 1
    if size[0] > 330:
        assert areas[".chart"][0] > 1.5 * max(areas[":not(.chart)"])
        assert page.locator(".album .plot .mark").count() == 0, "it has no turning points here"
        assert page.locator(".album .plot .staff").count() == 1, "it has its scale"
    over = (
        "[...document.querySelectorAll('.album-lines span')].filter((e) => e.scrollWidth > e.clientWidth + 1)"
    )
    assert page.evaluate(f"{over}.length") == 0
    (widest,) = boxes(page, ".album li.wide .album-lines")
    assert widest["words"].startswith("JOB")


def test_a_tall_part_has_a_tall_place_in_the_album(page: Page) -> None:
    open_charts(page)
    put(page, "Album", 1230, 500, [ALBUM[1:2], RECORDING], {})
    page.evaluate(
        """([album, recording]) => {
        document.querySelector("main").replaceChildren();
        const part = (_, name) => {
            const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
            svg.setAttribute("class", "part-picture");
            svg.setAttribute("viewBox", name === "processor" ? "0 0 75 200" : "0 0 95 90");
            return svg;
        };
        window.shown = new Album(holder(1230, 500), part);
        window.shown.paint(album, recording, look({})); }""",
        [
            [
                ALBUM[1],
                entry("console", 5, lines=BOARD_LINES),
                entry("part:processor", 6, part="processor"),
                ALBUM[2],
            ],
            RECORDING,
        ],
    )
    high = {
        kind: one["bottom"] - one["top"]
        for kind in ("tall", "wide", "chart")
        for one in boxes(page, f".album li.{kind} .album-picture")
    }
    assert high["tall"] > 1.8 * high["wide"]
    assert high["tall"] == pytest.approx(high["chart"], abs=2)


def test_a_brief_chart_says_when_and_how_high_and_of_what_has_no_room_the_highest_alone(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide()], {"past": True, "live": False, "brief": True})
    assert page.locator(".mark-value").count() == 4
    assert page.locator(".mark-name").count() == 0
    put(page, "Plot", 420, 300, [TIDE, tide()], {"past": True, "live": False, "brief": True})
    assert [one["words"] for one in boxes(page, ".mark-value")] == ["06:27\u20025.40 metres"]
    assert page.locator(".plot-list li").count() == 0


def test_the_days_sums_say_what_is_not_known_and_leave_out_what_is_never_counted(page: Page) -> None:
    open_charts(page)
    put(page, "Sums", 640, None, [SUMS, RECORDING], {})
    assert page.locator(".sums").inner_text().split("\n")[0] == "Today"
    said = page.evaluate("shown.text()")
    assert "14 rounds of work" in said
    assert "61,284 times a disc was used" in said
    assert "0 disc errors" in said
    paint(page, [{**SUMS, "transfers": None, "errors": None}, RECORDING])
    said = page.evaluate("shown.text()")
    assert "not known times a disc was used" in said
    assert "error" not in said
    open_charts(page, "de")
    put(page, "Sums", 640, None, [SUMS, RECORDING], {"past": True})
    assert "61.284 Plattenzugriffe" in page.evaluate("shown.text()")


# ---- all of them


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_charts_are_accessible(page: Page, axe: str, tag: str) -> None:
    open_charts(page, tag)
    page.evaluate(
        """([tide, item, day, sums, hours, album, recording, steps, chapters, now]) => {
        new Plot(holder(900, 400)).paint(tide, item, look({}));
        new DayLine(holder(900)).paint(day, hours, look({ now }));
        new StepsLine(holder(900)).paint(steps, chapters, look({}));
        new Album(holder(900, 500), () => null).paint(album, recording, look({}));
        new Sums(holder(600)).paint(sums, recording, look({})); }""",
        [
            TIDE,
            tide(),
            day(MORNING),
            SUMS,
            HOURS,
            ALBUM,
            RECORDING,
            {"script": "round", "at": 1, "of": 2, "name": "", "seq": 1},
            CHAPTERS,
            wall("10:28"),
        ],
    )
    page.evaluate(axe)
    found = page.evaluate("axe.run(document.querySelector('main'))")
    assert [(one["id"], one["nodes"][0]["html"]) for one in found["violations"]] == []


def test_nothing_is_painted_while_nothing_changes(page: Page) -> None:
    open_charts(page)
    put(page, "Plot", *LARGE, [TIDE, tide()], {})
    page.evaluate(
        """() => { window.changes = 0;
        new MutationObserver((all) => { window.changes += all.length; }).observe(
            document.querySelector("main"),
            { subtree: true, childList: true, attributes: true, characterData: true }); }"""
    )
    for _ in range(5):
        paint(page, [TIDE, tide()])
    page.wait_for_timeout(50)
    assert page.evaluate("window.changes") == 0
