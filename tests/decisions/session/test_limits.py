"""Each limit, just inside and just outside: may the script start, may it go on, and from when?"""

from __future__ import annotations

import datetime

import msgspec
import pytest

from exhibit.decisions.machine.description import LinePattern, Pack
from exhibit.decisions.machine.opening_hours import OpeningHours, OtherHours
from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.script import TypeCommand
from exhibit.decisions.machine.wear_rules import ErrorSigns, Exerciser, Limits, Marks
from exhibit.decisions.rehearsal.rehearsed_decider import RehearsedDecider
from exhibit.decisions.session.limits import Gate, Refusal
from exhibit.decisions.session.programme import Wanted
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.visitor_words import OpenHours
from tests.decisions.again import check_decided_again, decided_then
from tests.decisions.deciders import decider_for
from tests.decisions.driver import Driver
from tests.decisions.heron import MACHINE, S, folder, hands_on, machine, opened, pack, pause, script
from tests.decisions.session.day import day, phase, refused

MIN = 60 * S
H = 60 * MIN
WORK = Exerciser(
    name="work",
    typed=Pattern("WORK {minutes: number}"),
    begun="working",
    job="job",
    minutes="minutes",
    ended=("stopped", "storm"),
    part="left",
    writes="",
    longest_us=H,
    because="",
)
WRITER = Exerciser(
    name="writer",
    typed=Pattern("WRITE"),
    begun="writing",
    job="job",
    minutes="",
    ended=("stopped",),
    part="left",
    writes="left",
    longest_us=None,
    because="it is a test",
)
HERON = machine(
    exercisers=(WORK, WRITER),
    lines=(
        *MACHINE.lines,
        LinePattern(name="working", pattern=Pattern("JOB {job: number} WORKS {minutes: number} MINUTES")),
        LinePattern(name="writing", pattern=Pattern("JOB {job: number} WRITES")),
        LinePattern(name="log", pattern=Pattern("ERROR AT {where: number}")),
        LinePattern(name="left-turns", pattern=Pattern("LEFT TURNS")),
        LinePattern(name="left-stands", pattern=Pattern("LEFT STANDS")),
    ),
    marks={
        "left": Marks(
            started=("opening.start-left", "left-turns"), stopped=("closing.stop-left", "left-stands")
        )
    },
    error_signs=ErrorSigns(readings=("board.load",), lines=("log",), anew=("let-go",)),
)


def types(name: str, command: str) -> TypeCommand:
    return TypeCommand(name=name, at=("ready",), command=command, until=("working",), within_us=30 * S)


OPENING = script("opening", hands_on("start-left"), pack("left-in"))
ROUND = script("round", types("one", "WORK 4"), types("two", "WORK 2"))
CLOSING = script("closing", hands_on("stop-left"))
WRITES = script("round", types("write", "WRITE"))


DOORS = OpeningHours(
    week=(OpenHours(opens="10:00", closes="17:00"),) * 7,
    others=(
        OtherHours(first=datetime.date(2026, 11, 26), last=datetime.date(2026, 11, 26), hours=None),
        OtherHours(
            first=datetime.date(2026, 11, 27),
            last=datetime.date(2026, 11, 27),
            hours=OpenHours(opens="10:00", closes="14:00"),
        ),
    ),
)


def gate(
    *facts,
    at_us: int = 0,
    wall: str = "2026-11-25T09:00:00+00:00",
    rest_us: int = 0,
    doors: OpeningHours | None = None,
    **limits,
) -> Gate:
    """The gate when these have happened, each with its time."""
    use = Use(opened(HERON, wall=wall))
    for when_us, fact in facts:
        use.note(when_us, fact)
    use.pass_time(at_us)
    held = msgspec.structs.replace(_folder(Limits(**limits), rest_us), hours=doors)
    return Gate(held, use, 1.0)


def _folder(limits: Limits, rest_us: int = 0, *scripts):
    described = folder(*(scripts or (OPENING, ROUND, CLOSING)), machine=HERON, rest_us=rest_us)
    return msgspec.structs.replace(described, limits=limits)


def worked(minutes: float, from_us: int = 0, job: str = "1"):
    fact = kinds.ExerciserBegun(
        exerciser="work", job=job, part="left", ends_us=from_us + round(minutes * MIN)
    )
    return from_us, fact


def errors(count: int):
    return 0, kinds.DiscErrorsCounted(by="board.load", count=count, stands_at=count)


def disc_errors(driver: Driver, count: int) -> None:
    """The machine prints so many entries of its log of errors."""
    for where in range(count):
        driver.prints(b"ERROR AT %d\r\n" % where)


def mounted(*, may_be_written: bool = True, original: bool = False):
    fact = kinds.PackMounted(
        label="REEDS 1", drive="left", may_be_written=may_be_written, by="1", original=original
    )
    return 0, fact


def holds(held: Gate, of=ROUND, number: int = 1, at_us: int = 0) -> tuple[str, int] | None:
    found: Refusal | None = held.holds(of, number, at_us)
    return (found.limit, found.until_us) if found else None


def test_without_limits_everything_may_start():
    assert holds(gate(worked(600), errors(9999), at_us=10 * H), at_us=10 * H) is None


# -- exercise. The round's commands begin 4 and 2 minutes of it.


def test_an_hours_exercise_just_fits_or_just_does_not():
    assert holds(gate(worked(10), hour_us=16 * MIN), at_us=20 * MIN) is None
    held = holds(gate(worked(10), hour_us=16 * MIN - 1), at_us=20 * MIN)
    assert held == ("exercise in an hour", H + 1)


def test_when_the_hour_has_room_again_it_may_start():
    waits = gate(worked(10), hour_us=12 * MIN)
    _, until_us = holds(waits, at_us=20 * MIN)
    assert until_us == H + 4 * MIN
    assert holds(gate(worked(10), hour_us=12 * MIN), at_us=until_us - 1) is not None
    assert holds(gate(worked(10), hour_us=12 * MIN), at_us=until_us) is None


def test_what_still_goes_on_counts_to_its_end():
    assert holds(gate(worked(10), hour_us=16 * MIN), at_us=MIN) is None
    assert holds(gate(worked(10), hour_us=16 * MIN - 1), at_us=MIN)[0] == "exercise in an hour"


def test_a_round_that_takes_more_than_an_hours_limit_never_fits():
    assert holds(gate(hour_us=6 * MIN - 1)) == ("exercise in an hour", 0)


def test_a_days_exercise_just_fits_or_just_does_not():
    assert holds(gate(worked(30), day_us=36 * MIN), at_us=5 * H) is None
    assert holds(gate(worked(30), day_us=36 * MIN - 1), at_us=5 * H) == ("exercise in a day", 0)


def test_at_midnight_the_day_has_its_whole_exercise_again():
    late = gate(worked(30), day_us=31 * MIN, wall="2026-11-25T22:00:00+00:00")
    assert holds(late, at_us=2 * H - 1) == ("exercise in a day", 0)
    assert holds(late, at_us=2 * H) is None


def test_a_years_exercise_just_fits_or_just_does_not_until_new_year():
    wall = "2026-12-31T22:00:00+00:00"
    assert holds(gate(worked(30), year_us=36 * MIN, wall=wall), at_us=H) is None
    late = gate(worked(30), year_us=36 * MIN - 1, wall=wall)
    assert holds(late, at_us=2 * H - 1) == ("exercise in a year", 0)
    assert holds(late, at_us=2 * H) is None


def test_a_script_that_exercises_nothing_is_never_held_for_it():
    full = gate(worked(600), errors(100), hour_us=1, day_us=1, year_us=1, errors_a_day=1, at_us=10 * H)
    assert holds(full, CLOSING, 0, 10 * H) is None


def test_one_that_does_not_end_by_itself_takes_as_long_as_its_script_may():
    limit = gate(mounted(), hour_us=WRITES.within_us)
    assert holds(limit, WRITES) is None
    assert holds(gate(mounted(), hour_us=WRITES.within_us - 1), WRITES) == ("exercise in an hour", 0)


def test_at_a_rate_the_museums_own_time_is_held_to_the_limit():
    use = Use(opened(HERON, rate=10.0))
    at_rate = Gate(_folder(Limits(hour_us=36 * S)), use, 10.0)
    assert holds(at_rate) is None
    assert holds(Gate(_folder(Limits(hour_us=36 * S - 1)), use, 10.0)) is not None


# -- starts, errors, times of the day, rest


def starts(count: int):
    facts = []
    for number in range(count):
        facts.append((2 * number, kinds.PartStarted(part="left", by="opening.start-left")))
        facts.append((2 * number + 1, kinds.PartStopped(part="left", by="closing.stop-left")))
    return facts


def test_a_part_may_be_started_so_often_a_day_and_no_more():
    assert holds(gate(*starts(2), starts_a_day=3), OPENING, 0, S) is None
    assert holds(gate(*starts(3), starts_a_day=3), OPENING, 0, S) == ("starts in a day", 0)
    assert holds(gate(*starts(3), starts_a_day=3), OPENING, 0, 24 * H) is None


def test_a_part_that_runs_is_not_started_again_by_an_opening():
    assert holds(gate(*starts(3)[:-1], starts_a_day=3), OPENING, 0, S) is None


def test_disc_errors_of_the_day_end_the_exercising():
    assert holds(gate(errors(5), errors_a_day=5)) is None
    assert holds(gate(errors(6), errors_a_day=5)) == ("disc errors", 0)
    assert holds(gate(errors(6), errors_a_day=5), at_us=24 * H) is None


def test_a_day_with_too_many_errors_is_not_opened_again():
    described = _folder(Limits(errors_a_day=5))
    for count, why in ((5, []), (6, ["the discs made 6 errors today, and the limit is 5"])):
        driver = day(described)
        disc_errors(driver, count)
        driver.asks("open")
        assert refused(driver) == why
        assert bool(driver.facts(kinds.ScriptStarted)) is not bool(why)


STANDS = "the left has stopped, and nothing has shown since that it was started again"


RESTS_FOR_THE_HOUR = _folder(Limits(hour_us=16 * MIN))


def resting_for_the_hour(wall: str = "2026-11-25T09:00:00+00:00") -> Driver:
    """The day is open, and no round begins before the exercisers have rested. It began 20 minutes ago."""
    driver = day(RESTS_FOR_THE_HOUR, wall)
    driver.prints(b"JOB 3 WORKS 20 MINUTES\r\n")
    driver.wait(20 * MIN)
    for request, step in (("open", ""), ("confirm", "start-left"), ("confirm", "left-in")):
        driver.asks(request, step)
    return driver


def test_a_part_that_stops_by_itself_stops_the_rounds_at_once_until_it_is_seen_to_run_again():
    driver = resting_for_the_hour()
    assert phase(driver) == "rounds"
    driver.prints(b"LEFT STANDS\r\n")
    turned = driver.facts(kinds.DayTurned)[-1]
    assert (turned.phase, turned.by, turned.why) == ("stopped", "the state of the machine's parts", STANDS)
    driver.asks("back")
    assert phase(driver) == "stopped"
    driver.prints(b"LEFT TURNS\r\n")
    driver.asks("back")
    assert phase(driver) == "rounds"


def test_a_part_that_stops_in_a_round_that_needs_it_ends_the_round():
    held = gate((0, kinds.PartStarted(part="left", by="x")), (1, kinds.PartStopped(part="left", by="x")))
    assert held.stops(ROUND, 1, 2).why == STANDS
    assert held.stops(CLOSING, 0, 2) is None
    assert holds(held, of=OPENING, number=0) is None


@pytest.mark.parametrize(("started", "is_held"), [
    (("opening.start-left", "left-turns"), True),
    (("left-turns",), False),
    (("round.one", "left-turns"), False),
])  # fmt: skip
def test_only_a_part_that_a_person_starts_outside_the_round_must_not_stop(started, is_held):
    marks = {"left": Marks(started=started, stopped=("left-stands",))}
    there = msgspec.structs.replace(HERON, marks=marks)
    use = Use(opened(there))
    use.note(0, kinds.PartStarted(part="left", by="x"))
    use.note(1, kinds.PartStopped(part="left", by="x"))
    described = msgspec.structs.replace(_folder(Limits()), machine=there)
    assert (holds(Gate(described, use, 1.0)) is not None) == is_held


def test_of_a_part_that_was_never_seen_to_run_nothing_is_held_against_a_round():
    assert holds(gate((1, kinds.PartStopped(part="left", by="x")))) is None


def test_a_limit_that_frees_a_round_later_today_does_not_keep_the_day_closed():
    for most_us, why in ((30 * MIN, None), (5 * MIN, "exercise in an hour")):
        held = gate(worked(30), hour_us=most_us, at_us=30 * MIN)
        refusal = held.no_more_today(ROUND, 30 * MIN)
        assert (refusal.limit if refusal else None) == why


@pytest.mark.parametrize(("minutes", "count", "is_held"), [
    (0, 5, False), (0, 6, True), (60, 5, False), (60, 6, True),
    (120, 10, False), (120, 11, True), (180, 15, False), (180, 16, True),
])  # fmt: skip
def test_so_many_errors_an_exerciser_hour_and_no_more(minutes, count, is_held):
    facts = [worked(minutes)] if minutes else []
    held = holds(gate(*facts, errors(count), errors_an_hour=5), at_us=4 * H)
    assert held == (("disc errors", 0) if is_held else None)


def test_readings_and_the_log_tell_of_the_same_errors():
    logged = [(n, kinds.DiscErrorsCounted(by="log", count=1, entry=f"ERROR AT {n}")) for n in range(4)]
    assert holds(gate(errors(5), *logged, errors_a_day=5)) is None


@pytest.mark.parametrize(("time", "round_held", "opening_held", "closing_held"), [
    ("16:29:59", None, None, None),
    ("16:30:00", "last round", None, None),
    ("16:59:59", "last round", None, None),
    ("17:00:00", "last round", "closing time", None),
    ("00:00:00", None, None, None),
])  # fmt: skip
def test_the_last_round_and_the_closing_time(time, round_held, opening_held, closing_held):
    late = gate(wall=f"2026-11-25T{time}+01:00", last_round_min=16 * 60 + 30, closes_min=17 * 60)
    held = [holds(late, ROUND), holds(late, OPENING, 0), holds(late, CLOSING, 0)]
    assert [one[0] if one else None for one in held] == [round_held, opening_held, closing_held]
    assert holds(late, script("diagnostic", pause("look")), 0) is None


@pytest.mark.parametrize(("day", "time", "round_held", "opening_held"), [
    ("25", "16:29:59", None, None),
    ("25", "16:30:00", "last round", None),
    ("25", "17:00:00", "last round", "closing time"),
    ("26", "11:00:00", "closed today", "closed today"),
    ("27", "13:30:00", "last round", None),
])  # fmt: skip
def test_the_last_round_and_the_closing_can_follow_the_doors_of_that_day(day, time, round_held, opening_held):
    late = gate(
        wall=f"2026-11-{day}T{time}+01:00",
        doors=DOORS,
        last_round_before_doors_min=30,
        closes_with_doors=True,
    )
    held = [holds(late, ROUND), holds(late, OPENING, 0)]
    assert [one[0] if one else None for one in held] == [round_held, opening_held]


def test_a_day_on_which_the_doors_stay_closed_is_said_to_be_one():
    closed = gate(wall="2026-11-26T11:00:00+01:00", doors=DOORS, closes_with_doors=True)
    refusal = closed.holds(OPENING, 0, 0)
    assert refusal is not None
    assert (refusal.limit, refusal.why) == ("closed today", "the doors stay closed today")


def test_a_wait_for_the_hour_that_ends_after_the_last_round_is_no_wait():
    full = gate(worked(10), hour_us=12 * MIN, last_round_min=10 * 60 + 5)
    assert holds(full, at_us=20 * MIN) == ("exercise in an hour", H + 4 * MIN)
    full = gate(worked(10), hour_us=12 * MIN, last_round_min=10 * 60 + 4)
    assert holds(full, at_us=20 * MIN) == ("exercise in an hour", 0)


def test_a_wait_for_the_hour_that_ends_after_midnight_is_no_wait():
    late = {"wall": "2026-11-25T23:00:00+00:00", "hour_us": 12 * MIN}
    assert holds(gate(worked(10), **late), at_us=20 * MIN) == ("exercise in an hour", H + 4 * MIN)
    full = gate(worked(10), **late, last_round_min=23 * 60 + 30)
    assert holds(full, at_us=20 * MIN) == ("exercise in an hour", 0)


@pytest.mark.parametrize("rest_us", [20 * S, 50 * S])
def test_the_rest_since_the_last_round_is_kept_over_a_restart(rest_us):
    use = Use(opened(HERON))
    use.note(0, kinds.ScriptStarted(script="round", title={}, by="", round=1))
    use.note(MIN, kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""))
    again = Use(opened(HERON, wall="2026-11-25T09:01:05+00:00", use_before=use.before(65 * S)))
    rests = Gate(_folder(Limits(), rest_us), again, 1.0)
    assert holds(rests) == ("rest", rest_us - 5 * S)
    assert holds(rests, at_us=rest_us - 5 * S) is None


# -- packs


def test_an_exerciser_writes_only_on_a_pack_that_is_confirmed_and_may_be_written():
    assert holds(gate(mounted()), WRITES) is None
    assert holds(gate(mounted(may_be_written=False)), WRITES) == ("pack", 0)
    assert holds(gate(), WRITES) == ("pack", 0)
    removed = (1, kinds.PackRemoved(label="REEDS 1", drive="left", by="1"))
    assert holds(gate(mounted(), removed), WRITES) == ("pack", 0)
    assert holds(gate()) is None, "one that writes nothing needs no pack"


@pytest.mark.parametrize("name", ["opening", "round", "closing"])
def test_while_an_original_pack_is_mounted_nothing_runs_unattended(name):
    held = gate(mounted(may_be_written=False, original=True))
    assert holds(held, script(name, pause("look")), 0) == ("original pack", 0)
    assert holds(held, script("pack-copy", pause("look")), 0) is None


# -- while it runs


def test_what_ends_a_script_that_runs():
    assert gate(errors(5), errors_a_day=5).stops(ROUND, 1, 0) is None
    assert gate(errors(6), errors_a_day=5).stops(ROUND, 1, 0).limit == "disc errors"
    assert gate(errors(6), errors_a_day=5).stops(OPENING, 0, 0) is None
    late = gate(closes_min=9 * 60 + 1)
    assert late.stops(ROUND, 1, MIN - 1) is None
    assert late.stops(ROUND, 1, MIN).limit == "closing time"
    assert late.stops(CLOSING, 0, MIN) is None
    assert gate(mounted(original=True)).stops(OPENING, 0, 0).limit == "original pack"


# -- told by the machine


def driver(limits: Limits, *scripts, wanted: Wanted | None = None, rest_us: int = 20 * S, **more) -> Driver:
    described = _folder(limits, rest_us, *scripts)
    first = opened(HERON, **more)
    return Driver(decider_for(described, first, wanted or Wanted()), opened_as=first)


def told(held: Driver, *of: type) -> list:
    return [entry.fact for entry in held.entries if isinstance(entry.fact, of)]


def test_what_the_machine_prints_is_told_as_use():
    ran = driver(Limits(), script("opening", pause("wait", 7200 * S)), ROUND, CLOSING)
    ran.open_line()
    ran.prints(b"JOB 3 WORKS 4 MINUTES\r\n")
    ran.prints(b"JOB 5 WRITES\r\n")
    ran.prints(b"JOB 4 STOPPED\r\n")
    ran.prints(b"JOB 3 STOPPED\r\n")
    ran.prints(b"ERROR AT 7\r\nERROR AT 7\r\nERROR AT 8\r\n")
    begun = told(ran, kinds.ExerciserBegun)
    assert [(f.exerciser, f.job, f.part, f.ends_us) for f in begun] == [
        ("work", "3", "left", ran.now_us + 4 * MIN),
        ("writer", "5", "left", 0),
    ]
    assert [(f.exerciser, f.job, f.by) for f in told(ran, kinds.ExerciserEnded)] == [("work", "3", "stopped")]
    assert [f.entry for f in told(ran, kinds.DiscErrorsCounted)] == ["ERROR AT 7", "ERROR AT 8"]


def test_a_line_of_the_error_log_is_one_error_however_often_the_log_is_printed():
    ran = driver(Limits(), script("opening", pause("wait", 7200 * S)))
    ran.open_line()
    for number in (1, 2, 3, 1, 2, 3, 4):
        ran.prints(f"ERROR AT {number}\r\n".encode())
    first = ran.decider.use_before(ran.now_us)
    assert first.days["2026-11-25"].errors == {"the error log": 4}
    again = driver(Limits(), script("opening", pause("wait", 7200 * S)), use_before=first)
    again.open_line()
    again.prints(b"ERROR AT 1\r\nERROR AT 4\r\nERROR AT 5\r\n")
    assert [f.entry for f in told(again, kinds.DiscErrorsCounted)] == ["ERROR AT 5"]


def test_a_broadcast_may_end_an_exerciser_whatever_its_number():
    ran = driver(Limits(), script("opening", pause("wait", 7200 * S)))
    ran.open_line()
    ran.prints(b"JOB 3 WORKS 4 MINUTES\r\nSTORM WARNING NOW\r\nEND OF WARNING\r\n")
    assert [f.by for f in told(ran, kinds.ExerciserEnded)] == ["storm"]


def board(load: int) -> bytes:
    return f"\x1b[2J\x1b[1;1HHERON BOARD 09.00\x1b[3;1HLOAD {load}\x1b[24;1H".encode()


def test_a_reading_that_grows_counts_what_it_grew_by_and_one_that_fell_began_anew():
    ran = driver(Limits(), script("opening", pause("wait", 7200 * S)))
    ran.open_line()
    for load in (0, 2, 2, 5, 1):
        ran.prints(board(load))
    assert [f.count for f in told(ran, kinds.DiscErrorsCounted)] == [2, 3, 1]
    assert ran.decider.use_before(ran.now_us).days["2026-11-25"].errors == {"readings": 6}


def test_where_the_machine_is_started_anew_its_reading_counts_from_nothing():
    ran = driver(Limits(), script("opening", pause("wait", 7200 * S)))
    ran.open_line()
    ran.prints(board(3))
    ran.prints(b"\x1b[2J\x1b[1;1HLET GO OF JOB 1\r\n")
    ran.prints(board(5))
    assert [f.count for f in told(ran, kinds.DiscErrorsCounted)] == [3, 0, 5]


def test_a_person_who_confirms_a_step_starts_and_stops_the_part_and_mounts_the_pack():
    ran = driver(Limits(), wanted=Wanted(rounds=0))
    ran.open_line()
    for step in ("start-left", "left-in", "stop-left"):
        ran.asks("confirm", step)
        ran.wait(MIN)
    assert told(ran, kinds.PartStarted, kinds.PartStopped) == [
        kinds.PartStarted(part="left", by="opening.start-left"),
        kinds.PartStopped(part="left", by="closing.stop-left"),
    ]
    assert ran.decider.use_before(ran.now_us).parts["left"].run_us == 2 * MIN
    assert ran.decider.use_before(ran.now_us).packs["left"].label == "REEDS 1"


def test_a_pack_that_a_person_confirms_to_be_out_is_mounted_no_more():
    out = pack("left-in")
    taken = msgspec.structs.replace(out, name="left-out", out=True)
    ran = driver(Limits(), script("opening", out, taken), wanted=Wanted(rounds=0, after=()))
    ran.open_line()
    ran.asks("confirm", "left-in")
    ran.asks("confirm", "left-out")
    assert told(ran, kinds.PackRemoved) == [kinds.PackRemoved(label="REEDS 1", drive="left", by="a docent")]
    assert ran.decider.use_before(ran.now_us).packs == {}


# -- the programme


QUIET = script("round", pause("go-round", 10 * MIN))
SHUT = script("closing", pause("close"))


def ran(held: Driver) -> list[str]:
    return [f"{fact.script} {fact.round}" for fact in told(held, kinds.ScriptStarted)]


def test_a_round_that_must_wait_is_told_and_begins_when_it_may():
    held = driver(Limits(hour_us=16 * MIN), ROUND, SHUT, wanted=Wanted(before=(), rounds=1))
    held.prints(b"JOB 3 WORKS 20 MINUTES\r\n")
    held.wait(30 * MIN)
    held.open_line()
    (refused,) = told(held, kinds.ScriptRefused)
    assert (refused.script, refused.limit, refused.until_us) == ("round", "exercise in an hour", H + 10 * MIN)
    assert "20 min" in refused.why
    assert ran(held) == []
    assert told(held, kinds.SessionResting)[0].until_us == refused.until_us
    held.passes("rest")
    assert ran(held) == ["round 1"]


def test_where_no_round_fits_today_any_more_the_closing_comes_next():
    held = driver(Limits(day_us=21 * MIN), ROUND, SHUT, wanted=Wanted(before=(), rounds=None))
    held.prints(b"JOB 3 WORKS 20 MINUTES\r\n")
    held.wait(30 * MIN)
    held.open_line()
    assert [f.limit for f in told(held, kinds.ScriptRefused)] == ["exercise in a day"]
    held.run()
    assert ran(held) == ["closing 0"]
    assert held.over == "done"


def test_an_opening_that_may_not_start_ends_the_run_and_nothing_else_runs():
    held = driver(Limits(closes_min=8 * 60), OPENING, ROUND, SHUT)
    held.open_line()
    held.run()
    assert [f.limit for f in told(held, kinds.ScriptRefused)] == ["closing time"]
    assert ran(held) == []
    assert held.over == "stopped"


def beat(held: Driver, time: str) -> None:
    held.note(kinds.Heartbeat(wall=f"2026-11-25T{time}+00:00"))


def test_a_round_that_runs_at_closing_time_is_ended_and_the_closing_comes_next():
    held = driver(Limits(closes_min=9 * 60 + 5), QUIET, SHUT, wanted=Wanted(before=(), rounds=None))
    held.open_line()
    held.wait(4 * MIN)
    beat(held, "09:04:00")
    assert told(held, kinds.ScriptEnded) == []
    held.wait(MIN)
    beat(held, "09:05:00")
    (ended,) = told(held, kinds.ScriptEnded)
    assert (ended.script, ended.outcome, ended.tidy) == ("round", "stopped", True)
    assert [(f.script, f.limit) for f in told(held, kinds.ScriptRefused)] == [("round", "closing time")]
    assert ran(held) == ["round 1", "closing 0"]
    beat(held, "09:05:01")
    held.run()
    assert held.over == "done"
    assert len(told(held, kinds.ScriptEnded)) == 2


def test_disc_errors_beyond_the_limit_end_the_round_and_the_rounds():
    exercises = script("round", pause("go-round", 10 * MIN), types("one", "WORK 4"))
    held = driver(Limits(errors_a_day=2), exercises, SHUT, wanted=Wanted(before=(), rounds=None))
    held.open_line()
    held.prints(b"ERROR AT 1\r\nERROR AT 2\r\n")
    assert told(held, kinds.ScriptEnded) == []
    held.prints(b"ERROR AT 3\r\n")
    assert [f.limit for f in told(held, kinds.ScriptRefused)] == ["disc errors"]
    assert told(held, kinds.ScriptEnded)[0].outcome == "stopped"
    assert ran(held) == ["round 1", "closing 0"]


def test_a_tidy_up_is_not_disturbed_by_a_limit():
    held = driver(
        Limits(closes_min=9 * 60),
        script("round", pause("go-round", S), tidy_up=(pause("tidy", MIN),)),
        SHUT,
        wanted=Wanted(before=(), rounds=None),
        wall="2026-11-25T08:59:30+00:00",
    )
    held.open_line()
    held.passes("step")
    held.wait(40 * S)
    beat(held, "09:00:11")
    held.passes("step")
    assert told(held, kinds.ScriptEnded)[0].outcome == "done"
    held.passes("rest")
    assert ran(held) == ["round 1", "closing 0"]


def test_where_somebody_must_see_to_a_pack_the_machine_is_not_closed_down():
    held = driver(
        Limits(), WRITES, SHUT, script("packs", pack("left-in")), wanted=Wanted(before=(), rounds=1)
    )
    held.open_line()
    (refused,) = told(held, kinds.ScriptRefused)
    assert (refused.limit, "the script packs asks for it" in refused.why) == ("pack", True)
    assert (ran(held), held.over) == ([], "stopped")


def test_an_original_pack_that_is_put_in_ends_a_script_that_nobody_attends():
    first = script("opening", pack("left-in"), pause("wait"))
    original = machine(packs={"reeds": Pack(name="reeds", label="REEDS 0", drive="left", may_be_written=False,
                                            original=True)})  # fmt: skip
    held = Driver(decider_for(folder(first, QUIET, SHUT, machine=original), opened(original), Wanted()))
    held.open_line()
    held.asks("confirm", "left-in")
    assert [(f.script, f.limit) for f in told(held, kinds.ScriptRefused)] == [("opening", "original pack")]
    assert (ran(held), held.over) == (["opening 0"], "stopped")


def test_a_person_who_says_stop_is_obeyed_whatever_the_limits_say():
    held = driver(Limits(closes_min=9 * 60 + 5), QUIET, SHUT, wanted=Wanted(before=(), rounds=None))
    held.open_line()
    held.asks("stop")
    assert ran(held) == ["round 1"]
    assert held.over == "stopped"


def test_a_person_who_says_stop_while_a_limit_ends_a_round_is_obeyed_too():
    tidies = script("round", pause("go-round", 10 * MIN), tidy_up=(pause("tidy", MIN),))
    held = driver(Limits(closes_min=9 * 60 + 5), tidies, SHUT, wanted=Wanted(before=(), rounds=None))
    held.open_line()
    held.wait(5 * MIN)
    beat(held, "09:05:00")
    held.asks("stop")
    held.run()
    assert (ran(held), held.over) == (["round 1"], "stopped")


def test_in_a_rehearsal_no_limit_holds_a_script():
    rehearsed = RehearsedDecider(_folder(Limits(closes_min=8 * 60), 0, QUIET, SHUT), opened())
    commands = rehearsed.begin("round", {}, 0)
    assert any(isinstance(getattr(c, "fact", None), kinds.ScriptStarted) for c in commands)


@pytest.mark.parametrize("limits", [
    Limits(), Limits(errors_a_day=2), Limits(closes_min=9 * 60 + 2), Limits(hour_us=16 * MIN),
])  # fmt: skip
def test_what_was_decided_is_decided_again_from_the_recording(limits):
    exercises = script("round", pause("go-round", 3 * MIN), types("one", "WORK 4"))
    wanted = Wanted(before=(), rounds=None)
    held = driver(limits, exercises, SHUT, wanted=wanted)
    held.prints(b"JOB 3 WORKS 14 MINUTES\r\n")
    held.open_line()
    held.prints(b"ERROR AT 1\r\nERROR AT 2\r\nERROR AT 3\r\n" + board(4))
    held.run(within_us=2 * MIN)
    beat(held, "09:02:00")
    held.prints(b"JOB 3 STOPPED\r\n")
    held.run(within_us=2 * H)
    check_decided_again(_folder(limits, 20 * S, exercises, SHUT), wanted, held.entries)
    decided = {type(fact) for fact in decided_then(held.entries)}
    assert {kinds.ExerciserBegun, kinds.ExerciserEnded, kinds.DiscErrorsCounted} <= decided
    assert (kinds.ScriptRefused in decided) == (limits != Limits())
