"""Each fault does what the handbook says, and only that."""

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.core import Options
from exhibit.simulator.faults import Faults
from exhibit.simulator.truth import (
    ByteArrived,
    BytesSent,
    CommandTaken,
    DeskTaken,
    DiscFailed,
    JobOver,
    PowerChanged,
)
from tests.simulator.workbench import at_desk, at_no_desk, at_starter, load_tidebook, records

PROMPT = "DESK TIDES: "


def sent(bench: Bench) -> str:
    return "".join(record.text for record in records(bench, BytesSent))


def test_disc_errors_are_counted_for_the_drive_and_the_job_and_logged():
    bench = at_desk()
    assert "LOG IS EMPTY" in bench.command("LOG", PROMPT)
    bench.act("fault disc 0.1")
    bench.command("BEGIN SHUTTLE LOWER 2 PASSES", PROMPT)
    bench.until("== JOB 1 SHUTTLE ENDED", 120)
    bench.act("fault none")
    failed = records(bench, DiscFailed)
    errors = sum(record.failures for record in failed)
    # 240 transfers, each failing with one in ten: about 26 failures, four sigma.
    assert 6 <= errors <= 50
    assert records(bench, JobOver)[0].errors == errors == bench.machine.drives["LOWER"].errors
    log = bench.command("LOG", PROMPT).split("\r\n")[1:-1]
    assert len(log) == min(12, len(failed))
    last = failed[-1]
    assert log[-1].split(maxsplit=2)[2] == (
        f"LOWER TRACK {last.track} SECTOR {last.sector} {'WRITE' if last.writing else 'READ'} "
        f"FAILED {last.failures} TIMES, MENDED"
    )


def test_a_transfer_that_fails_four_times_is_lost_and_the_job_says_so():
    bench = at_desk()
    bench.act("fault disc 1")
    bench.command("BEGIN SHUTTLE LOWER 1 PASSES", PROMPT)
    bench.run(5)
    bench.act("fault none")
    bench.command("CALL 1", "SHUTTLE: TRACK 0 SECTOR 0 FAILED\r\n")
    assert records(bench, DiscFailed)[0].failures == 4
    assert not records(bench, DiscFailed)[0].recovered
    bench.until("JOB 1 ENDED", 60)


def test_the_error_log_outlasts_the_power_and_can_be_emptied_at_the_start():
    bench = at_desk()
    bench.act("fault disc 1")
    bench.command("BEGIN SHUTTLE LOWER 1 PASSES", PROMPT)
    bench.run(2)
    bench.act("fault none")
    kept = len(bench.machine.book.error_log)
    assert kept
    bench.act("key off")
    bench.act("key on")
    bench.until("PRESS START")
    assert len(bench.machine.book.error_log) == kept


def test_the_keeper_can_empty_the_log_after_saying_so():
    bench = at_desk("KEEPER")
    bench.machine.book.error_log.append("OLD")
    bench.command("EMPTY LOG", "(NO)? ")
    bench.command("", "DESK KEEPER: ")
    assert bench.machine.book.error_log == ["OLD"]
    bench.command("EMPTY LOG", "(NO)? ")
    bench.command("YES", "DESK KEEPER: ")
    assert bench.machine.book.error_log == []


@pytest.mark.parametrize("text", ["SHUTTLE LOWER", "SUMS", "TIDES"])
def test_a_hung_job_gets_no_further_but_can_be_stopped(text):
    bench = at_desk()
    bench.command(f"BEGIN {text}", PROMPT)
    bench.run(3)
    assert bench.act("fault hang 1") == "done: fault hang 1"
    bench.run(1)
    job = bench.machine.processor.jobs[1]
    used = (job.processor_us, job.transfers)
    bench.run(120)
    assert (job.processor_us, job.transfers, job.state) == (*used, "DISC")
    assert "JOB 1 STOPPED" in bench.command("STOP 1", PROMPT)


def test_a_job_that_does_not_go_on_cannot_hang():
    assert at_desk().act("fault hang 1") == "refused: no job 1 goes on"


def arrivals(bench: Bench, typed: str) -> str:
    before = len(records(bench, ByteArrived))
    bench.send(typed.encode())
    bench.run(len(typed) * 0.0042 + 1)
    return "".join(chr(record.byte) for record in records(bench, ByteArrived)[before:])


def test_characters_are_garbled_on_their_way_in_by_one_bit_at_the_rate_asked_for():
    bench = at_no_desk()
    bench.act("fault garble in 0.2")
    typed = "A" * 2000
    came = arrivals(bench, typed)
    assert len(came) == len(typed)
    changed = [letter for letter in came if letter != "A"]
    # Binomial: 2000 at one in five, four sigma.
    assert 330 <= len(changed) <= 470
    assert {(ord(letter) ^ ord("A")).bit_count() for letter in changed} == {1}


def test_characters_are_lost_on_their_way_in_at_the_rate_asked_for():
    bench = at_no_desk()
    bench.act("fault lose in 0.2")
    assert 1530 <= len(arrivals(bench, "A" * 2000)) <= 1670


def test_characters_are_garbled_on_their_way_out_though_the_machine_sent_them_right():
    bench = at_starter()
    bench.act("fault garble out 0.1")
    before_heard, before_sent = len(bench.heard), len(sent(bench))
    bench.command("", "R", 20)
    for _ in range(30):
        bench.send(b"HELP\r")
        bench.run(2)
    heard, truth = bench.heard[before_heard:].decode("latin-1"), sent(bench)[before_sent:]
    assert len(heard) == len(truth)
    wrong = [(a, b) for a, b in zip(heard, truth, strict=True) if a != b]
    assert 0.06 < len(wrong) / len(truth) < 0.14
    assert {(ord(a) ^ ord(b)).bit_count() for a, b in wrong} == {1}


def test_characters_are_lost_on_their_way_out_though_the_machine_sent_them():
    bench = at_starter()
    bench.act("fault lose out 0.1")
    before_heard, before_sent = len(bench.heard), len(sent(bench))
    for _ in range(30):
        bench.send(b"HELP\r")
        bench.run(2)
    heard, truth = len(bench.heard) - before_heard, len(sent(bench)) - before_sent
    assert 0.86 < heard / truth < 0.94


def test_with_parity_a_garbled_character_is_found_by_its_parity():
    bench = at_no_desk(parity="even")
    bench.act("fault garble in 1")
    bench.type("AC")
    bench.run(1)
    assert {record.fate for record in records(bench, ByteArrived)[-2:]} == {"bad parity"}


def test_the_lookalike_is_printed_by_the_job_and_more_follows_it():
    bench = at_desk()
    bench.act("fault lookalike")
    bench.command("RUN SUMS 2 PASSES", PROMPT)
    assert bench.run(1.5) == ""
    assert "IS NOT WHAT IT LOOKS LIKE\r\nSUMS PASS" in bench.until("JOB 1 ENDED")
    bench.until(PROMPT)
    # Once only.
    bench.command("RUN SUMS 1 PASSES", "\r\n")
    assert PROMPT not in bench.until("JOB 2 ENDED")


def test_what_was_typed_ahead_is_gone_with_the_power():
    bench = at_desk()
    bench.command("RUN SUMS 5 PASSES", "PASSES\r\n")
    bench.send(b"HELP\r")
    bench.run(1)
    bench.act("key off")
    bench.act("key on")
    bench.act("switches 14000200")
    bench.act("press start")
    assert bench.run(20).endswith("DAY OF YEAR AND YEAR? ")


def test_a_power_cut_ends_everything_at_once_and_the_lasting_store_comes_back_with_the_mains():
    bench = at_desk()
    bench.command("BEGIN SUMS", PROMPT)
    bench.send(b"DRIVES\r")
    bench.until("SMALL")
    bench.act("fault power")
    assert bench.run(60) == ""
    assert [record.how for record in records(bench, JobOver)] == ["cut off"]
    assert {drive.state for drive in bench.machine.drives.values()} == {"standing"}
    bench.act("fault power back")
    assert bench.run(5).startswith("WHIMBREL LASTING STORE")
    assert [record.on for record in records(bench, PowerChanged)] == [True, False, True]


def test_the_mains_coming_back_while_the_key_is_off_turns_nothing_on():
    bench = Bench()
    bench.act("fault power")
    bench.act("fault power back")
    assert bench.run(5) == ""


def test_a_stuck_xoff_is_sent_while_characters_are_still_taken():
    bench = at_no_desk()
    bench.act("fault xoff")
    assert bench.run(1) == "\x13"
    bench.command("TIME", "NO DESK: ")
    bench.act("fault xoff off")
    assert bench.run(1) == "\x11"


def test_the_next_desks_word_is_echoed_and_the_one_after_that_is_not():
    bench = at_no_desk()
    bench.act("fault echo word")
    bench.command("TAKE TIDES", "TIDES? ")
    bench.send(b"GREBE519\r")
    assert bench.until(PROMPT).startswith("GREBE519\r\n")
    bench.command("LEAVE", "NO DESK: ")
    bench.command("TAKE TIDES", "TIDES? ")
    bench.send(b"GREBE519\r")
    assert bench.until(PROMPT).startswith("\r\n")
    assert [record.desk for record in records(bench, DeskTaken)] == ["TIDES", "TIDES"]


def test_each_echo_comes_late_and_nothing_is_lost_or_changed_in_order():
    bench = at_no_desk()
    bench.act("fault slow 400")
    bench.send(b"T")
    assert bench.run(0.4) == ""
    assert bench.run(0.1) == "T"
    bench.send(b"IME\r")
    bench.run(0.2)
    bench.act("fault slow 0")
    came = bench.until("NO DESK: ")
    assert came.startswith("IME\r\n25.11.1998")
    assert records(bench, CommandTaken)[-1].text == "TIME"


def test_a_late_echo_holds_the_one_character_buffer():
    bench = at_no_desk(one_char_buffer=True)
    bench.act("fault slow 400")
    bench.send(b"TIME")
    bench.run(3)
    fates = [record.fate for record in records(bench, ByteArrived)[-4:]]
    assert fates == ["kept", "kept", "lost", "lost"]


@pytest.mark.parametrize("rate", ["1.5", "-0.1", "often", "nan"])
def test_a_rate_that_is_no_probability_is_refused(rate):
    assert Bench().act(f"fault disc {rate}") == f"refused: {rate} is not a probability from 0 to 1"


def test_a_notice_before_tidebook_runs_is_refused():
    bench = at_starter()
    assert bench.act("fault notice fog") == "refused: TIDEBOOK does not run yet"
    load_tidebook(bench)
    assert bench.act("fault notice fog") == "done: fault notice fog"


def test_fault_none_mends_all_that_can_be_mended():
    bench = at_desk()
    for fault in ("disc 0.5", "garble in 0.5", "garble out 0.5", "lose in 0.5", "lose out 0.5", "slow 900"):
        bench.act(f"fault {fault}")
    bench.act("fault lookalike")
    bench.act("fault echo word")
    bench.act("fault none")
    came = bench.command("RUN SHUTTLE LOWER 1 PASSES", PROMPT, 60)
    assert came == (
        "\r\nJOB 1 BEGUN: SHUTTLE LOWER 1 PASSES\r\n"
        f"SHUTTLE PASS 1: 120 TRANSFERS, ERRORS 0\r\nJOB 1 ENDED\r\n{PROMPT}"
    )


def test_a_warm_disc_fails_and_a_cold_one_does_not():
    faults = Faults(warm_disc_rate=0.4)
    minute_us = 60_000_000
    rates = [faults.disc_rate_after(minutes * minute_us) for minutes in (0, 20, 30, 40, 500)]
    assert rates == pytest.approx([0, 0, 0.2, 0.4, 0.4])


def test_a_slow_start_delays_its_own_drive_only():
    bench = Bench()
    bench.act("key on")
    assert bench.act("fault slow start lower 1.5").startswith("done")
    for act in (
        "load SALLOW 1 upper protected",
        "load SALLOW 2 lower writable",
        "start upper",
        "start lower",
    ):
        assert bench.act(act).startswith("done")
    bench.until("UPPER READY", 21)
    bench.run(30 - bench.now_us / 1e6 - 0.001)
    assert b"LOWER READY" not in bench.heard
    bench.until("LOWER READY", 1)


@pytest.mark.parametrize(
    "act", ["fault slow start lower 0.5", "fault slow start lower much", "fault warm disc 2"]
)
def test_a_fault_that_can_not_be_is_refused(act):
    assert Bench().act(act).startswith("refused")


def test_drives_differ_a_little_from_start_to_start_if_they_may():
    def up_s(scatter: float, chance: int) -> float:
        bench = Bench(Options(scatter=scatter, chance=chance))
        bench.act("key on")
        bench.act("start small")
        bench.until("SMALL READY", 60)
        return bench.now_us / 1e6

    assert len({up_s(0.0, chance) for chance in range(5)}) == 1
    assert len({up_s(0.01, chance) for chance in range(5)}) == 5
    assert up_s(0.01, 3) == up_s(0.01, 3)
