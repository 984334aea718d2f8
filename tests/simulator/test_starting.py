"""From cold: drives, the lasting store, the starter, TIDEBOOK's questions and their limits."""

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.truth import DriveChanged
from tests.simulator.workbench import at_lasting_store, at_one_operator, at_starter, records


def test_the_first_characters_come_half_a_second_after_the_key_is_turned():
    bench = Bench()
    bench.act("key on")
    bench.run(0.499)
    assert bench.heard == b""
    # Four characters of 4.1667 ms each (references: 2400 baud, ten bits).
    bench.run(0.02)
    assert bench.heard == b"WHIM"


@pytest.mark.parametrize("typed", ["\r", "x" * 60 + "\r"])
def test_what_was_typed_before_the_starter_asks_answers_nothing(typed: str):
    bench = at_lasting_store()
    bench.type(typed)
    bench.run(240)
    bench.act("switches 14000200")
    bench.act("press start")
    bench.until("DAY OF YEAR AND YEAR? ")
    assert bench.run(60) == ""
    assert bench.command("329 1970", "STARTER: ").endswith("DAY 329 OF 1970, WEDNESDAY\r\nSTARTER: ")
    assert bench.heard.count(b"\x13") == bench.heard.count(b"\x11")


@pytest.mark.parametrize(("name", "seconds"), [("small", 8), ("upper", 20), ("lower", 20)])
def test_a_drive_takes_its_time_to_come_up_to_speed(name, seconds):
    bench = Bench()
    bench.act("load SALLOW 1 upper protected")
    bench.act("load SALLOW 2 lower writable")
    bench.act(f"start {name}")
    bench.run(60)
    assert [(record.state, record.at_us) for record in records(bench, DriveChanged)] == [
        ("starting", 0),
        ("ready", seconds * 1_000_000),
    ]


def test_a_drive_that_is_stopped_while_it_starts_does_not_become_ready():
    bench = Bench()
    bench.act("start small")
    bench.run(5)
    bench.act("stop small")
    bench.run(60)
    assert [record.state for record in records(bench, DriveChanged)] == ["starting", "stopping", "standing"]


@pytest.mark.parametrize(
    ("before", "act", "why"),
    [
        ([], "start upper", "no pack"),
        ([], "press start", "no power"),
        ([], "press halt", "no power"),
        ([], "key off", "off already"),
        ([], "unload upper", "no pack"),
        ([], "load SALLOW 9 upper protected", "no pack SALLOW 9"),
        ([], "stop small", "standing"),
        ([], "switches 14000208", "not eight octal digits"),
        ([], "switches 1400020", "not eight octal digits"),
        (["key on"], "key on", "on already"),
        (["load SALLOW 1 upper protected"], "load SALLOW 2 upper protected", "SALLOW 1 is in"),
        (["load SALLOW 1 upper protected"], "load SALLOW 1 lower protected", "no pack SALLOW 1"),
        (["load SALLOW 1 upper protected", "start upper"], "unload upper", "must stand still"),
        (["load SALLOW 1 upper protected", "start upper"], "start upper", "starting"),
        (["fault power"], "start small", "mains"),
    ],
)
def test_an_act_that_cannot_be_is_refused_with_the_reason(before, act, why):
    bench = Bench()
    for each in before:
        assert bench.act(each).startswith("done: ")
    answer = bench.act(act)
    assert answer.startswith("refused: ")
    assert why in answer


def test_a_pack_can_be_changed_after_the_drive_has_come_to_rest():
    bench = at_lasting_store()
    bench.act("stop lower")
    bench.run(9.9)
    assert bench.act("unload lower").startswith("refused: ")
    assert "LOWER STOPPED" in bench.run(1)
    assert bench.act("unload lower") == "done: SALLOW 2 is on the shelf"
    assert bench.act("load SALLOW 2 lower protected") == "done: SALLOW 2 is in the lower drive, protected"
    bench.act("start lower")
    assert "LOWER READY: SALLOW 2, PROTECTED" in bench.run(21)


def test_the_lamps_say_what_stands_where():
    bench = at_lasting_store()
    bench.act("stop lower")
    assert bench.act("lamps") == (
        "done: key on; processor lasting store; switches 00000000; small ready; "
        "upper ready, SALLOW 1 protected; lower stopping, SALLOW 2 writable"
    )


def test_drives_that_were_ready_before_the_key_was_turned_are_named_after_the_sign_on():
    bench = Bench()
    bench.act("start small")
    bench.act("load SALLOW 1 upper protected")
    bench.act("start upper")
    bench.run(30)
    bench.act("key on")
    assert bench.run(5).split("\r\n")[2:] == [
        "SMALL READY: STARTER 5, MAY BE WRITTEN",
        "UPPER READY: SALLOW 1, PROTECTED",
        "",
    ]


def test_what_drives_did_while_the_machine_was_off_is_not_told_later():
    bench = at_lasting_store()
    bench.act("key off")
    bench.act("stop small")
    bench.act("stop upper")
    bench.run(20)
    bench.act("start small")
    bench.run(5)
    bench.act("key on")
    assert bench.run(10).split("\r\n")[2:] == [
        "LOWER READY: SALLOW 2, MAY BE WRITTEN",
        "SMALL READY: STARTER 5, MAY BE WRITTEN",
        "",
    ]


def test_start_with_other_switches_starts_nothing():
    bench = at_lasting_store()
    bench.act("switches 14000201")
    bench.act("press start")
    assert bench.run(5) == "NOTHING STARTS THERE\r\n"


def test_start_before_the_small_drive_is_ready_starts_nothing():
    bench = Bench()
    bench.act("key on")
    bench.run(2)
    bench.act("switches 14000200")
    bench.act("press start")
    assert bench.run(5) == "SMALL NOT READY\r\n"


def test_start_is_refused_while_a_program_runs():
    bench = at_starter()
    assert bench.act("press start") == "refused: the processor is running a program; press halt first"


def test_halt_gives_the_machine_back_to_the_lasting_store_from_which_it_starts_again():
    bench = at_starter()
    bench.act("press halt")
    assert bench.run(2) == "\r\nHALTED\r\nSET THE SWITCHES AND PRESS START\r\n"
    bench.act("press start")
    bench.until("YEAR? ")


def date_answered(question_bench: Bench, answer: str) -> bool:
    """Whether an answer to a date question was taken (else the question comes again)."""
    question_bench.send(answer.encode() + b"\r")
    came = question_bench.run(3)
    return "HOLDS" not in came


@pytest.mark.parametrize(
    ("answer", "taken"),
    [
        ("1 1970", True),
        ("365 1989", True),
        ("366 1972", True),
        ("60 1973", True),
        ("366 1973", False),
        ("367 1972", False),
        ("0 1973", False),
        ("365 1969", False),
        ("1 1990", False),
        ("329 1998", False),
        ("329", False),
        ("1973 329", False),
        ("25.11.1973", False),
        ("329 73", False),
        ("A 1973", False),
        ("329 19A3", False),
        ("1 00001973", False),
        ("", False),
    ],
)
def test_the_starter_holds_days_of_1970_to_1989_and_asks_again_for_any_other(answer, taken):
    bench = at_lasting_store()
    bench.act("switches 14000200")
    bench.act("press start")
    bench.until("YEAR? ")
    assert date_answered(bench, answer) is taken


@pytest.mark.parametrize(
    ("answer", "taken"),
    [
        ("1.1.1970", True),
        ("31.12.1999", True),
        ("29.2.1996", True),
        ("29.2.1998", False),
        ("31.12.1969", False),
        ("1.1.2000", False),
        ("25.11.2026", False),
        ("11.25.1998", False),
        ("329 1998", False),
        ("25.11.98", False),
        ("", False),
    ],
)
def test_tidebook_holds_days_of_1970_to_1999_and_asks_again_for_any_other(answer, taken):
    bench = at_starter()
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    assert date_answered(bench, answer) is taken


@pytest.mark.parametrize("answer", ["24.00", "9.60", "9", "", "9.5.1", "A.B"])
def test_a_time_of_day_that_is_none_is_asked_again(answer):
    bench = at_starter()
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("1.2.1973", "HOURS.MINUTES? ")
    assert (
        bench.command(answer, "HOURS.MINUTES? ") == "\r\n00.00 TO 23.59, AS IN 9.05\r\nTIME, HOURS.MINUTES? "
    )


def test_a_date_that_was_not_right_is_asked_again():
    bench = at_starter()
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("1.2.1973", "HOURS.MINUTES? ")
    bench.command("9.05", "THURSDAY 1.2.1973, DAY 32. RIGHT (YES)? ")
    bench.command("NO", "DAY.MONTH.YEAR? ")


def test_a_yes_or_no_question_takes_nothing_else():
    bench = at_one_operator()
    bench.command("STOP TIDEBOOK", "(NO)? ")
    assert "YES OR NO, OR RETURN ALONE" in bench.command("PERHAPS", "(NO)? ")
    assert bench.command("", "ONE OPERATOR: ") == "\r\nONE OPERATOR: "


def test_tidebook_is_not_on_other_discs():
    bench = at_starter()
    for name in ("SMALL", "LOWER"):
        bench.command("LOAD TIDEBOOK", "(UPPER)? ")
        assert f"NO TIDEBOOK ON {name}" in bench.command(name, "STARTER: ")


def test_loading_reads_every_sector_off_the_disc_and_takes_the_discs_time():
    bench = at_starter()
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    before, began_us = bench.machine.drives["UPPER"].transfers, bench.now_us
    bench.command("", "LOADED\r\n")
    assert bench.machine.drives["UPPER"].transfers - before == 320
    # Each sector has gone by when the next is asked for: a turn of 25 ms each (references: 60/rpm).
    assert bench.now_us - began_us >= 319 * 25_000


def test_a_drive_that_stops_while_loading_ends_the_loading():
    bench = at_starter()
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "...")
    bench.act("stop upper")
    assert "CANNOT READ UPPER" in bench.until("STARTER: ")


def test_the_check_reads_every_track():
    bench = at_starter()
    before = bench.machine.drives["LOWER"].transfers
    came = bench.command("CHECK LOWER", "STARTER: ")
    assert came == "\r\nCHECKING .................... SOUND\r\nSTARTER: "
    assert bench.machine.drives["LOWER"].transfers - before == 240


def test_the_check_counts_the_tracks_that_fail():
    bench = at_starter()
    bench.act("fault disc 1")
    assert " 128 TRACKS FAILED\r\n" in bench.command("CHECK SMALL", "STARTER: ", 120)


def test_a_starter_that_cannot_be_read_is_not_started():
    bench = at_lasting_store()
    bench.act("fault disc 1")
    bench.act("switches 14000200")
    bench.act("press start")
    assert bench.run(5) == "CANNOT READ SMALL\r\n"


def test_tidebook_does_not_stop_while_the_book_cannot_be_written():
    bench = at_one_operator()
    bench.act("fault disc 1")
    bench.command("STOP TIDEBOOK", "(NO)? ")
    assert "CANNOT: SMALL CANNOT BE WRITTEN" in bench.command("YES", "ONE OPERATOR: ")
    assert bench.machine.book.left_open


def test_the_starter_gives_the_machine_back_at_halt():
    bench = at_starter()
    bench.command("HALT", "PRESS START\r\n")
    bench.act("press start")
    bench.until("YEAR? ")


@pytest.mark.parametrize("end", ["key off", "press halt", "fault power"])
def test_without_the_orderly_shutdown_the_book_is_left_open_and_the_next_start_says_so(end):
    bench = at_one_operator()
    bench.act(end)
    bench.run(5)
    if end == "fault power":
        bench.run(20)
        bench.act("fault power back")
        for drive in ("small", "upper"):
            bench.act(f"start {drive}")
        bench.until("UPPER READY")
    elif end == "key off":
        bench.act("key on")
        bench.until("PRESS START")
    bench.act("press start")
    bench.until("YEAR? ")
    bench.command("329 1970", "STARTER: ")
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("25.11.1998", "HOURS.MINUTES? ")
    bench.command("09.12", "RIGHT (YES)? ")
    bench.command("", "THE BOOK WAS LEFT OPEN. CHECK IT (YES)? ")
    assert "CHECKING .................... SOUND" in bench.command("", "LOG (YES)? ")


def test_after_the_orderly_shutdown_the_next_start_asks_nothing_of_the_kind():
    bench = at_one_operator()
    bench.command("STOP TIDEBOOK", "(NO)? ")
    bench.command("YES", "DRIVES MAY BE STOPPED\r\n")
    bench.act("press start")
    bench.until("YEAR? ")
    bench.command("329 1970", "STARTER: ")
    bench.command("LOAD TIDEBOOK", "(UPPER)? ")
    bench.command("", "DAY.MONTH.YEAR? ")
    bench.command("25.11.1998", "HOURS.MINUTES? ")
    bench.command("09.12", "RIGHT (YES)? ")
    assert bench.command("", "? ") == "\r\nKEEP THE ERROR LOG (YES)? "
