"""Jobs take turns, use processor and disc, are called back and stopped; the accounts add up."""

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.processor import SLICE_US, SWITCH_US
from exhibit.simulator.tidebook import programs
from exhibit.simulator.tidebook.programs import sums_come_to
from exhibit.simulator.truth import DeskLeft, DeskTaken, JobBegun, JobOver
from tests.simulator.workbench import at_desk, records, take

PROMPT = "DESK TIDES: "


def begin(bench: Bench, *texts: str, prompt: str = PROMPT) -> None:
    for text in texts:
        assert "BEGUN" in bench.command(f"BEGIN {text}", prompt)


def over(bench: Bench) -> dict[int, JobOver]:
    return {record.number: record for record in records(bench, JobOver)}


def test_the_times_of_all_jobs_and_the_front_add_up_to_what_was_used_and_never_over_the_clocks():
    bench = at_desk()
    processor = bench.machine.processor
    front_before, used_before, began_us = processor.front.processor_us, processor.used_us, bench.now_us
    begin(bench, "SHUTTLE LOWER", "SUMS", "TIDES", "SUMS 2 PASSES")
    for _ in range(400):
        bench.run(0.137)
        used_us = processor.used_us - used_before
        jobs_us = sum(job.processor_us for job in processor.jobs.values())
        assert used_us == jobs_us + processor.front.processor_us - front_before
        assert used_us <= bench.now_us - began_us


def test_a_lone_job_that_only_does_sums_gets_nearly_all_the_time():
    bench = at_desk()
    begin(bench, "SUMS")
    began_us, job = bench.now_us, bench.machine.processor.jobs[1]
    before_us = job.processor_us
    bench.run(60)
    share = (job.processor_us - before_us) / (bench.now_us - began_us)
    assert 0.98 < share <= 1.0


def test_two_jobs_that_only_do_sums_share_the_processor_equally():
    bench = at_desk()
    begin(bench, "SUMS", "SUMS")
    one, two = (bench.machine.processor.jobs[number] for number in (1, 2))
    before = one.processor_us - two.processor_us
    bench.run(60)
    assert abs(one.processor_us - two.processor_us - before) <= 2 * SLICE_US
    # What changing over costs is nobody's: 1 ms for each slice of 40 ms.
    assert one.processor_us + two.processor_us == pytest.approx(
        60e6 * SLICE_US / (SLICE_US + SWITCH_US), rel=0.02
    )


def test_no_job_waits_longer_than_a_slice_of_each_other():
    bench = at_desk()
    begin(bench, "SUMS", "SUMS", "SUMS", "SUMS")
    last = {number: bench.now_us for number in (1, 2, 3, 4)}
    used = dict.fromkeys(last, 0)
    for _ in range(3000):
        bench.run(0.005)
        for number, job in bench.machine.processor.jobs.items():
            if job.processor_us != used[number]:
                used[number], last[number] = job.processor_us, bench.now_us
            assert bench.now_us - last[number] <= 4 * (SLICE_US + SWITCH_US) + SLICE_US + 10_000


def test_shuttle_ends_by_itself_after_its_passes_and_reports_each():
    bench = at_desk()
    came = bench.command("RUN SHUTTLE LOWER 3 PASSES", "ENDED\r\n", 120)
    assert came.split("\r\n")[2:6] == [
        *(f"SHUTTLE PASS {number}: 120 TRANSFERS, ERRORS 0" for number in (1, 2, 3)),
        "JOB 1 ENDED",
    ]
    record = over(bench)[1]
    assert (record.how, record.by, record.passes, record.transfers, record.errors) == ("ended", "", 3, 360, 0)
    assert bench.machine.drives["LOWER"].transfers == 360


@pytest.mark.parametrize("text", ["SHUTTLE LOWER 1 MINUTES", "SUMS 1 MINUTES"])
def test_an_exerciser_ends_by_itself_when_its_minutes_are_over(text):
    bench = at_desk()
    begin(bench, text)
    began_us = records(bench, JobBegun)[0].at_us
    bench.until("ENDED: ", 90)
    assert over(bench)[1].at_us - began_us == pytest.approx(60e6, abs=0.5e6)


def test_both_exercisers_use_processor_and_disc_and_are_stopped_by_number():
    bench = at_desk()
    begin(bench, "SHUTTLE LOWER 5 MINUTES", "SUMS 5 MINUTES")
    bench.run(40)
    first, second = bench.command("STOP 1", PROMPT), bench.command("STOP 2", PROMPT)
    ended = over(bench)
    assert f"JOB 1 STOPPED: SHUTTLE, {ended[1].passes} PASSES, ERRORS 0" in first
    assert f"JOB 2 STOPPED: SUMS, {ended[2].passes} PASSES, ERRORS 0" in second
    for record in ended.values():
        assert (record.how, record.by, record.desk) == ("stopped", "TIDES", "TIDES")
        assert record.processor_us > 0
        assert record.transfers > 0
        assert record.passes > 0
    assert bench.machine.processor.jobs == {}
    before = bench.machine.drives["LOWER"].transfers
    bench.run(10)
    assert bench.machine.drives["LOWER"].transfers - before <= 1


def test_what_the_jobs_transferred_is_what_the_drives_did():
    bench = at_desk()
    before = {name: drive.transfers for name, drive in bench.machine.drives.items()}
    begin(bench, "SHUTTLE LOWER 2 PASSES", "SUMS 3 PASSES")
    bench.command("RUN TIDES", "JOB 3 ENDED", 200)
    bench.run(30)
    ended = over(bench)
    used = {name: drive.transfers - before[name] for name, drive in bench.machine.drives.items()}
    assert used == {
        "SMALL": 0,
        "UPPER": ended[2].transfers + ended[3].transfers,
        "LOWER": ended[1].transfers,
    }


def test_sums_comes_to_what_stepping_and_doubling_both_give():
    word = 1001
    for _ in range(10_000):
        word = (word * 5_517_445 + 1_234_567) % (1 << 24)
    assert sums_come_to(10_000, 1001) == word
    bench = at_desk()
    came = bench.command("RUN SUMS 2 PASSES", "ENDED\r\n")
    assert f"SUMS PASS 2: CAME TO {word:08o}, ERRORS 0" in came


def test_stopping_a_job_that_had_ended_by_itself_says_so_and_clears_it():
    bench = at_desk()
    begin(bench, "SUMS 1 PASSES")
    bench.until("ENDED: ")
    assert "JOB 1 HAD ENDED: SUMS, 1 PASSES, ERRORS 0\r\n" in bench.command("STOP 1", PROMPT)
    assert "CANNOT: NO JOB 1" in bench.command("STOP 1", PROMPT)
    assert [record.how for record in records(bench, JobOver)] == ["ended"]


def test_a_job_goes_on_after_its_desk_was_left_and_is_called_back_from_a_later_sign_on():
    bench = at_desk()
    begin(bench, "SHUTTLE LOWER 3 PASSES")
    assert "1 JOBS GO ON" in bench.command("LEAVE", "NO DESK: ")
    bench.run(12)
    assert "1 JOBS HERE" in take(bench, "TIDES")
    came = bench.command("CALL 1", "JOB 1 ENDED\r\n")
    assert [line for line in came.split("\r\n") if "PASS" in line] == [
        f"SHUTTLE PASS {number}: 120 TRANSFERS, ERRORS 0" for number in (1, 2, 3)
    ]


def test_cancel_lets_go_of_a_job_that_goes_on():
    bench = at_desk()
    bench.command("RUN SHUTTLE LOWER 3 PASSES", "PASS 1")
    bench.run(0.5)
    bench.send(b"\x18")
    assert bench.until(PROMPT) == "JOB 1 LET GO\r\n" + PROMPT
    bench.until("== JOB 1 SHUTTLE ENDED: 3 PASSES, ERRORS 0 ==", 60)


def test_cancel_forgets_what_was_typed_ahead_of_it():
    bench = at_desk()
    bench.command("RUN SUMS 3 PASSES", "PASSES\r\n")
    bench.send(b"STOP 1\r\x18")
    bench.until("LET GO")
    assert bench.until(PROMPT) == "\r\n" + PROMPT
    assert bench.run(1) == ""


def test_every_taking_and_leaving_of_a_desk_is_on_record():
    bench = at_desk("KEEPER")
    bench.command("LEAVE", "NO DESK: ")
    take(bench, "KEEPER")
    bench.command("CLOSE THE OFFICE", "(NO)? ")
    bench.command("YES", "ONE OPERATOR: ")
    assert [record.desk for record in records(bench, DeskTaken)] == ["KEEPER"] * 2
    assert [record.desk for record in records(bench, DeskLeft)] == ["KEEPER"] * 2


def test_a_job_that_was_let_go_no_longer_waits_for_the_console():
    bench = at_desk()
    bench.command("RUN TIDES", "DATUM\r\n")
    bench.send(b"\x18")
    bench.until(PROMPT)
    bench.until("== JOB 1 TIDES ENDED: ERRORS 0 ==", 60)
    assert bench.command("CALL 1", "JOB 1 ENDED").count(" WORKED\r\n") == 8


def test_a_wrong_result_of_sums_is_counted_as_an_error(monkeypatch):
    monkeypatch.setattr(programs, "sums_come_to", lambda steps, start: -1)
    bench = at_desk()
    assert ", ERRORS 2\r\n" in bench.command("RUN SUMS 2 PASSES", "ENDED\r\n")
    assert over(bench)[1].errors == 2


class Forgetful(dict):
    """A pack that gives back something other than what was written."""

    def __setitem__(self, place: tuple[int, int], word: int) -> None:
        super().__setitem__(place, word ^ 0o7)


def test_a_word_that_shuttle_reads_back_wrong_is_counted_and_shown():
    bench = at_desk()
    bench.machine.drives["LOWER"].pack.words = Forgetful()
    came = bench.command("RUN SHUTTLE LOWER 1 PASSES", "ENDED\r\n", 120)
    # The first place is track 0, sector 0, whose pattern in the first pass is 0.
    assert "SHUTTLE: TRACK 0 SECTOR 0 READ 00000007\r\n" in came
    assert "SHUTTLE PASS 1: 120 TRANSFERS, ERRORS 60\r\n" in came
    assert over(bench)[1].errors == 60


def test_shuttle_gives_up_a_drive_that_fails_too_often():
    bench = at_desk()
    bench.act("fault disc 1")
    came = bench.command("RUN SHUTTLE LOWER", "ENDED\r\n", 200)
    assert "SHUTTLE: TOO MANY ERRORS\r\n" in came
    assert over(bench)[1].errors > 200


def test_a_job_whose_output_is_followed_waits_for_the_console():
    bench = at_desk()
    bench.send(b"RUN TIDES\r")
    bench.until("DATUM\r\n")
    bench.send(b"\x13")
    bench.run(60)
    job = bench.machine.processor.jobs[1]
    assert job.state == "LINE"
    used_us = job.processor_us
    bench.run(30)
    assert job.processor_us == used_us
    bench.send(b"\x11")
    bench.until("JOB 1 ENDED", 60)


def test_a_desk_can_neither_stop_nor_call_another_desks_job_but_the_keeper_can():
    bench = at_desk()
    begin(bench, "SUMS")
    bench.command("LEAVE", "NO DESK: ")
    assert "NO JOBS HERE" in take(bench, "SURVEY")
    for command in ("STOP 1", "CALL 1"):
        assert "CANNOT: JOB 1 IS DESK TIDES'S\r\n" in bench.command(command, "DESK SURVEY: ")
    bench.command("LEAVE", "NO DESK: ")
    take(bench, "KEEPER")
    assert "JOB 1 STOPPED" in bench.command("STOP 1", "DESK KEEPER: ")
    assert over(bench)[1].by == "KEEPER"


@pytest.mark.parametrize("command", ["STOP 7", "CALL 7", "STOP X", "STOP 9999", "CALL -1"])
def test_a_number_that_is_no_jobs_changes_nothing(command):
    bench = at_desk()
    assert f"CANNOT: NO JOB {command.split()[1]}\r\n" in bench.command(command, PROMPT)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "FISH",
        "SHUTTLE",
        "SHUTTLE SMALL",
        "SHUTTLE LOWER 0 PASSES",
        "SUMS 100 PASSES",
        "SUMS 61 MINUTES",
    ]
    + ["SUMS 5", "TIDES 5 PASSES", "SUMS FIVE PASSES"],
)
def test_what_is_no_program_or_no_limit_is_not_begun(text):
    bench = at_desk()
    assert "NOT UNDERSTOOD: " in bench.command(f"BEGIN {text}", PROMPT)
    assert records(bench, JobBegun) == []


def test_a_pack_that_may_not_be_written_is_never_exercised():
    bench = at_desk()
    came = bench.command("BEGIN SHUTTLE UPPER 1 PASSES", PROMPT)
    assert "CANNOT: UPPER HOLDS NO PACK THAT MAY BE WRITTEN" in came
    assert bench.machine.drives["UPPER"].pack.words == {}


def test_a_drive_that_does_not_turn_is_not_exercised():
    bench = at_desk()
    bench.act("stop lower")
    bench.until("== LOWER STOPPED ==")
    assert "CANNOT: LOWER NOT READY" in bench.command("BEGIN SHUTTLE LOWER", PROMPT)


def test_no_more_jobs_go_on_at_once_than_six():
    bench = at_desk()
    begin(bench, *["SUMS"] * 6)
    assert "CANNOT: 6 JOBS GO ON ALREADY" in bench.command("BEGIN SUMS", PROMPT)
    bench.command("STOP 3", PROMPT)
    assert "JOB 7 BEGUN" in bench.command("BEGIN SUMS", PROMPT)


def test_job_numbers_begin_again_after_999_and_pass_over_one_that_is_still_there():
    bench = at_desk()
    begin(bench, "SUMS")
    bench.machine.tidebook.jobs.next_number = 999
    assert "JOB 999 BEGUN" in bench.command("BEGIN SUMS", PROMPT)
    assert "JOB 2 BEGUN" in bench.command("BEGIN SUMS", PROMPT)


def test_the_job_table_shows_every_job_with_its_state():
    bench = at_desk()
    assert "NO JOBS\r\n" in bench.command("JOBS", PROMPT)
    begin(bench, "SUMS 1 PASSES", "SUMS", "SUMS")
    bench.run(10)
    table = bench.command("JOBS", PROMPT).split("\r\n")[1:-1]
    assert table[0] == "JOB  NAME     DESK     SECONDS  STATE"
    assert [row.split()[:3] for row in table[1:]] == [[number, "SUMS", "TIDES"] for number in "123"]
    states = [row.split()[4] for row in table[1:]]
    assert states[0] == "ENDED"
    assert set(states[1:]) == {"RUNS", "READY"}


def test_ended_jobs_leave_the_table_when_there_are_more_than_four():
    bench = at_desk()
    for _ in range(7):
        begin(bench, "SUMS 1 PASSES")
        bench.run(4)
    assert len(bench.machine.processor.jobs) <= 5


def test_closing_the_office_stops_the_jobs_only_after_the_keeper_has_said_so():
    bench = at_desk("KEEPER")
    begin(bench, "SUMS", prompt="DESK KEEPER: ")
    bench.command("CLOSE THE OFFICE", "(NO)? ")
    bench.command("YES", "1 JOBS STILL GO ON. STOP THEM (NO)? ")
    assert "OFFICE STAYS OPEN" in bench.command("", "DESK KEEPER: ")
    assert over(bench) == {}
    bench.command("CLOSE THE OFFICE", "(NO)? ")
    bench.command("YES", "(NO)? ")
    assert "OFFICE CLOSED" in bench.command("YES", "ONE OPERATOR: ")
    assert over(bench)[1].how == "stopped"


def test_wipe_asks_and_then_writes_over_the_pack():
    bench = at_desk("KEEPER")
    bench.machine.drives["LOWER"].pack.words[5, 5] = 1
    bench.command("WIPE LOWER", "WIPE SALLOW 2, SURE (NO)? ")
    bench.command("", "DESK KEEPER: ")
    assert bench.machine.drives["LOWER"].pack.words == {(5, 5): 1}
    bench.command("WIPE LOWER", "(NO)? ")
    assert "WIPING .......... WIPED" in bench.command("YES", "DESK KEEPER: ")
    assert bench.machine.drives["LOWER"].pack.words == {(track, 0): 0 for track in range(240)}
    assert "CANNOT" in bench.command("WIPE UPPER", "DESK KEEPER: ")
