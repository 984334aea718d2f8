"""Keys do what the handbook says: rubout, cancel, no echo, the nudge."""

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.truth import CommandTaken, DeskTaken, JobBegun, PlaceEntered
from tests.simulator.workbench import at_desk, at_no_desk, at_one_operator, at_starter, records


def type_and_wait(bench: Bench, data: bytes, then: str) -> str:
    bench.send(data)
    return bench.until(then)


def last_command(bench: Bench) -> str:
    return records(bench, CommandTaken)[-1].text


def test_small_letters_are_echoed_and_taken_as_capitals():
    bench = at_no_desk()
    assert type_and_wait(bench, b"time\r", "\r\n") == "TIME\r\n"
    assert last_command(bench) == "TIME"


@pytest.mark.parametrize("key", [b"\x7f", b"\x08"])
def test_rubout_takes_back_one_character_and_is_echoed_as_an_arrow(key):
    bench = at_no_desk()
    assert type_and_wait(bench, b"TIX" + key + b"ME\r", "\r\n") == "TIX<ME\r\n"
    assert last_command(bench) == "TIME"


def test_rubout_on_an_empty_line_rings_the_bell():
    bench = at_no_desk()
    bench.send(b"\x7f")
    assert bench.run(1) == "\a"


def test_cancel_forgets_the_line_and_prints_the_prompt_again():
    bench = at_no_desk()
    assert type_and_wait(bench, b"TAKE TI\x18", "NO DESK: ") == "TAKE TI CANCELLED\r\nNO DESK: "
    bench.command("TIME", "NO DESK: ")
    assert last_command(bench) == "TIME"


def test_again_shows_the_half_typed_line_behind_its_prompt_and_keeps_it():
    bench = at_no_desk()
    assert type_and_wait(bench, b"TAKX\x7f\x0e", "DESK: TAK") == "TAKX< AGAIN\r\nNO DESK: TAK"
    bench.send(b"E TIDES\r")
    bench.until("TIDES? ")
    assert last_command(bench) == "TAKE TIDES"


def test_again_at_a_question_shows_the_question_and_at_a_desks_word_rings_the_bell():
    bench = at_one_operator()
    bench.command("STOP TIDEBOOK", "(NO)? ")
    shown = type_and_wait(bench, b"YE\x0e", "? YE")
    assert shown == "YE AGAIN\r\nSTOP TIDEBOOK, SURE (NO)? YE"
    bench = at_no_desk()
    bench.command("TAKE TIDES", "TIDES? ")
    assert type_and_wait(bench, b"GREBE\x0e", "\a") == "\a"
    bench.send(b"519\r")
    bench.until("DESK TIDES: ")


def test_cancel_at_a_question_asks_it_again_and_takes_no_default():
    bench = at_one_operator()
    bench.command("STOP TIDEBOOK", "(NO)? ")
    assert type_and_wait(bench, b"YES\x18", "? ") == "YES CANCELLED\r\nSTOP TIDEBOOK, SURE (NO)? "
    assert bench.machine.place == "one operator"


def test_cancel_at_a_desks_word_gives_the_sign_on_up():
    bench = at_no_desk()
    bench.command("TAKE TIDES", "TIDES? ")
    assert type_and_wait(bench, b"GREBE\x18", "NO DESK: ") == " CANCELLED\r\nNO DESK: "
    assert records(bench, DeskTaken) == []


@pytest.mark.parametrize("ignored", [b"\n", b"\x00"])
def test_line_feed_and_nothing_are_ignored(ignored):
    bench = at_no_desk()
    assert type_and_wait(bench, b"TI" + ignored + b"ME\r", "\r\n") == "TIME\r\n"


@pytest.mark.parametrize("code", [b"\x01", b"\x1b", b"\x15", b"\x03"])
def test_any_other_control_code_is_not_taken_and_rings_the_bell(code):
    bench = at_no_desk()
    assert type_and_wait(bench, b"TI" + code + b"ME\r", "\r\n") == "TI\aME\r\n"
    assert last_command(bench) == "TIME"


def test_the_seventy_third_character_of_a_line_rings_the_bell_and_is_not_taken():
    bench = at_no_desk()
    bench.send(b"A" * 40)
    bench.run(1)
    bench.send(b"A" * 33 + b"\r")
    assert bench.until("\r\n").endswith("A" * 32 + "\a\r\n")
    assert last_command(bench) == "A" * 72


def test_nothing_of_a_desks_word_is_echoed_also_not_its_corrections():
    bench = at_no_desk()
    bench.command("TAKE TIDES", "TIDES? ")
    came = type_and_wait(bench, b"GREBEX\x7f519\r", "DESK TIDES: ")
    assert came.startswith("\r\nDESK TIDES TAKEN")
    assert records(bench, CommandTaken)[-1] == CommandTaken(
        at_us=records(bench, CommandTaken)[-1].at_us, prompt="WORD FOR DESK TIDES? ", text="", secret_length=8
    )


def test_no_four_characters_of_a_desks_word_are_printed_all_day():
    bench = at_desk()
    bench.command("BEGIN SHUTTLE LOWER 1 PASSES", "DESK TIDES: ")
    bench.command("RUN TIDES", "JOB 2 ENDED", 120)
    for command in ("HELP", "JOBS", "LOG", "DRIVES", "TIME"):
        bench.command(command, "DESK TIDES: ")
    for word in ("GREBE519", "TWITE804", "SMEWS27Q"):
        for first in range(len(word) - 3):
            assert word[first : first + 4] not in bench.heard.decode()


@pytest.mark.parametrize(
    ("at", "prompt"),
    [
        (at_starter, "STARTER: "),
        (at_one_operator, "ONE OPERATOR: "),
        (at_no_desk, "NO DESK: "),
        (at_desk, "DESK TIDES: "),
    ],
)
def test_the_nudge_prints_the_prompt_again_and_does_nothing_else(at, prompt):
    bench = at()
    places, jobs = records(bench, PlaceEntered), records(bench, JobBegun)
    bench.send(b"\r")
    assert bench.run(5) == "\r\n" + prompt
    assert (records(bench, PlaceEntered), records(bench, JobBegun)) == (places, jobs)
    assert last_command(bench) == ""


@pytest.mark.parametrize("at", [at_starter, at_one_operator, at_no_desk, at_desk])
def test_what_is_no_command_is_not_understood_and_changes_nothing(at):
    bench = at()
    place = bench.machine.place
    assert "NOT UNDERSTOOD: FROB THE LOT\r\n" in bench.command("FROB THE LOT", ": ") + bench.run(3)
    assert bench.machine.place == place


WHOLE = {
    "TAKE DESK": "TAKE TIDES",
    "CHECK": "CHECK SMALL",
    "BEGIN": "BEGIN SUMS",
    "RUN": "RUN SUMS",
    "CALL": "CALL 1",
    "STOP": "STOP 1",
    "NOTICE": "NOTICE FOG",
    "WIPE": "WIPE LOWER",
}


def keeper() -> Bench:
    return at_desk("KEEPER")


@pytest.mark.parametrize(
    ("at", "commands"), [(at_starter, 5), (at_one_operator, 7), (at_no_desk, 3), (at_desk, 11), (keeper, 15)]
)
def test_all_that_help_lists_is_understood_there(at, commands):
    bench = at()
    bench.send(b"HELP\r")
    listed = bench.run(5).replace(" (UPPER, LOWER)", "").split("\r\n")[1:-1]
    named = [command for line in listed for command in line.split(", ")]
    assert len(named) == commands
    for command in named:
        other = at()
        other.send(WHOLE.get(command, command).encode() + b"\r")
        assert "NOT UNDERSTOOD" not in other.run(3), command


@pytest.mark.parametrize("command", ["NOTICE FOG", "EMPTY LOG", "WIPE LOWER", "CLOSE THE OFFICE"])
def test_what_is_the_keepers_is_not_understood_at_another_desk(command):
    assert "NOT UNDERSTOOD" in at_desk().command(command, "DESK TIDES: ")
