"""The tides that the machine prints, against a computation that shares nothing with it.

The constituents' speeds are worked out here from the mean motions of the moon and the sun, which are
published astronomical constants (quoted here from memory, in degrees an hour): the earth's turning
against the sun 15, the sun's mean longitude 0.04106864, the moon's 0.54901653, its perigee's 0.00464183.
"""

import math
from datetime import date, timedelta

import pytest

from exhibit.simulator.program import Job, Say
from exhibit.simulator.tidebook import tides
from exhibit.simulator.tidebook.programs import tide_table
from exhibit.simulator.truth import TidesWorked, TruthLog
from tests.simulator.workbench import at_desk, records

EARTH, SUN, MOON, PERIGEE = 15.0, 0.04106864, 0.54901653, 0.00464183
SPEEDS = {
    "M2": 2 * (EARTH - MOON + SUN),
    "S2": 2 * EARTH,
    "N2": 2 * EARTH - 3 * MOON + 2 * SUN + PERIGEE,
    "K2": 2 * (EARTH + SUN),
    "K1": EARTH + SUN,
    "O1": EARTH - 2 * MOON + SUN,
    "P1": EARTH - SUN,
    "M4": 4 * (EARTH - MOON + SUN),
}
EPOCH = date(1970, 1, 1)
MOON_1970, SUN_1970 = 197.95, 280.24
"""Mean longitudes of the moon and the sun on 1 January 1970 at 0 h, in degrees: from those of 1 January 2000
at 12 h (218.3164 and 280.4665, quoted from memory), by the motions above."""


def metres_by_floats(minute: float) -> float:
    return (
        tides.MEAN_LEVEL_MM
        + sum(
            each.amplitude_mm * math.cos(math.radians(each.phase_deg + SPEEDS[each.name] * minute / 60))
            for each in tides.SALLOWMOUTH_BAR
        )
    ) / 1000


def turns_by_search(first: int) -> list[tuple[float, float, bool]]:
    """High and low waters of a day by looking at every tenth of a minute: (minute, metres, high)."""
    heights = [metres_by_floats(first + tenth / 10) for tenth in range(-1, 24 * 600 + 1)]
    turns = []
    for at in range(1, len(heights) - 1):
        before, here, after = heights[at - 1 : at + 2]
        if (here > before) and (here >= after):
            turns.append(((at - 1) / 10, here, True))
        elif (here < before) and (here <= after):
            turns.append(((at - 1) / 10, here, False))
    return turns


def printed_for(day: date) -> tuple[str, TidesWorked]:
    """What the program prints for a day, and its record, without a machine around it."""
    log, job = TruthLog(), None
    job = Job(1, "TIDES", "TIDES", "TIDES", iter(()))
    steps = tide_table(job, "UPPER", day - timedelta(days=1), lambda: 0, log)
    text, wish = "", next(steps)
    while True:
        text += wish.text if isinstance(wish, Say) else ""
        try:
            wish = steps.send(Worked())
        except StopIteration:
            return text, log.records[0]


class Worked:
    worked = True


@pytest.mark.parametrize("each", tides.SALLOWMOUTH_BAR, ids=lambda each: each.name)
def test_each_constituents_speed_follows_from_the_motions_of_moon_and_sun(each):
    assert each.speed_1e7 == round(SPEEDS[each.name] * 1e7)


def test_the_whole_number_cosine_is_the_cosine():
    for step in range(-5000, 20_000):
        angle = step * tides.TURN // 10_007
        true = math.cos(2 * math.pi * angle / tides.TURN)
        assert tides.cosine(angle) == pytest.approx(true * tides.ONE, abs=4)


DAYS = [date(1970, 1, 2), date(1973, 7, 1), date(1996, 2, 29), date(1998, 11, 26), date(1999, 12, 31)]


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_the_hourly_heights_are_those_of_an_independent_sum(day):
    _, worked = printed_for(day)
    first = (day - EPOCH).days * 1440
    assert len(worked.heights_mm) == 24
    for hour, mm in enumerate(worked.heights_mm):
        # The speeds above have seven places; over thirty years that is some millimetres.
        assert mm / 1000 == pytest.approx(metres_by_floats(first + 60 * hour), abs=0.006)


@pytest.mark.parametrize("day", DAYS, ids=str)
def test_high_and_low_water_are_where_an_independent_search_finds_them(day):
    _, worked = printed_for(day)
    found = turns_by_search((day - EPOCH).days * 1440)
    assert [high for _, _, high in worked.turns] == [high for _, _, high in found]
    for (minute, mm, _), (true_minute, true_m, _) in zip(worked.turns, found, strict=True):
        assert minute == pytest.approx(true_minute, abs=1.6)
        assert mm / 1000 == pytest.approx(true_m, abs=0.006)


def test_a_year_of_days_has_turns_in_turn_and_none_missing():
    for number in range(0, 365, 7):
        day = date(1985, 1, 1) + timedelta(days=number)
        _, worked = printed_for(day)
        highs = [high for _, _, high in worked.turns]
        assert 3 <= len(highs) <= 4
        assert all(one != two for one, two in zip(highs, highs[1:], strict=False))


@pytest.mark.parametrize(
    ("mm", "text"),
    [(5396, " 5.40"), (5394, " 5.39"), (58, " 0.06"), (-58, "-0.06"), (-4, " 0.00"), (0, " 0.00")],
)
def test_millimetres_are_printed_as_metres_to_the_nearest_hundredth(mm, text):
    assert tides.metres(mm) == text


def test_the_printed_table_holds_the_numbers_that_were_worked_out():
    bench = at_desk()
    came = bench.command("RUN TIDES", "DESK TIDES: ", 120)
    worked = records(bench, TidesWorked)[0]
    assert worked.day == "1998-11-26"
    rows = [line.split()[1:] for line in came.split("\r\n") if line.startswith("METRES  ")]
    assert [float(cell) for row in rows for cell in row] == [
        pytest.approx(mm / 1000, abs=0.005001) for mm in worked.heights_mm
    ]
    turns = [line.split() for line in came.split("\r\n") if "WATER" in line]
    assert [(kind == "HIGH", time, float(metres)) for kind, _, time, metres in turns] == [
        (high, f"{minute // 60:02d}.{minute % 60:02d}", pytest.approx(mm / 1000, abs=0.005001))
        for minute, mm, high in worked.turns
    ]


def test_progress_comes_while_the_work_goes_on_not_at_its_end():
    bench = at_desk()
    bench.command("RUN TIDES", "DATUM\r\n")
    times_s = []
    for hours in range(3, 25, 3):
        bench.until(f"{hours} OF 24 HOURS WORKED", 60)
        times_s.append(bench.now_us / 1e6)
    gaps = [later - earlier for earlier, later in zip(times_s, times_s[1:], strict=False)]
    assert min(gaps) > 2.5
    assert max(gaps) < 4.5


def test_springs_come_a_day_and_a_half_after_new_and_full_moon():
    """The tides are highest when the parts of moon and sun are in step; these pull in line twice a month."""
    phase = {each.name: each.phase_deg for each in tides.SALLOWMOUTH_BAR}
    apart_an_hour = 2 * (MOON - SUN)
    assert SPEEDS["S2"] - SPEEDS["M2"] == pytest.approx(apart_an_hour)
    in_line_h = -2 * (MOON_1970 - SUN_1970) / apart_an_hour
    in_step_h = (phase["M2"] - phase["S2"]) / apart_an_hour
    month_h = 360 / apart_an_hour
    assert (in_step_h - in_line_h) % month_h == pytest.approx(1.5 * 24, abs=3)


def test_the_greatest_springs_are_near_the_equinoxes():
    """K2 is in step with S2 when the sun stands over the equator, at longitude 0 and 180."""
    phase = {each.name: each.phase_deg for each in tides.SALLOWMOUTH_BAR}
    in_step_h = (phase["S2"] - phase["K2"]) / (SPEEDS["K2"] - SPEEDS["S2"])
    sun_then = (SUN_1970 + SUN * in_step_h) % 180
    assert min(sun_then, 180 - sun_then) < 5


def test_over_a_year_the_day_of_the_greatest_range_follows_the_moon():
    def range_of(day: int) -> float:
        heights = [metres_by_floats(60 * (24 * day + hour)) for hour in range(25)]
        return max(heights) - min(heights)

    hours = 360 / (2 * (MOON - SUN))
    first_h = -2 * (MOON_1970 - SUN_1970) / (2 * (MOON - SUN)) % hours
    ages = []
    for number in range(50, 100):
        in_line_day = (first_h + number * hours) / 24
        near = range(round(in_line_day) - 5, round(in_line_day) + 8)
        ages.append(max(near, key=range_of) + 0.5 - in_line_day)
    assert 1.0 < sum(ages) / len(ages) < 2.0
