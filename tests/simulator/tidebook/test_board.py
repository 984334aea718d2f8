"""The board shows the core's own counters, ends each frame recognisably, and goes at any key."""

import re
from datetime import datetime

import pytest

from exhibit.simulator.bench import Bench
from exhibit.simulator.truth import BoardShown, CommandTaken
from tests.simulator.workbench import Paper24x80, at_desk, records

PARK = "\x1b[24;1H"
PROMPT = "DESK TIDES: "


def begin(bench: Bench, *texts: str) -> None:
    for text in texts:
        bench.command(f"BEGIN {text}", PROMPT)


def put_up(bench: Bench) -> Paper24x80:
    bench.command("BOARD", "\r\n")
    return Paper24x80()


def next_frame(bench: Bench, screen: Paper24x80) -> list[str]:
    screen.feed(bench.until(PARK, 30))
    return screen.text()


def shown(lines: list[str]) -> dict:
    """What a person reads off the board."""
    load, going = re.fullmatch(r"PROCESSOR LOAD +(\d+) PER CENT   JOBS GOING +(\d+)", lines[2]).groups()
    drives = re.fullmatch(r"DISC TRANSFERS   SMALL +(\d+)   UPPER +(\d+)   LOWER +(\d+)", lines[3]).groups()
    hours, minutes, seconds = re.search(r"UP +(\d+)\.(\d\d)\.(\d\d)$", lines[0]).groups()
    return {
        "processor_load": int(load),
        "jobs_going": int(going),
        "transfers": dict(zip(("SMALL", "UPPER", "LOWER"), map(int, drives), strict=True)),
        "disc_errors": int(re.fullmatch(r"DISC ERRORS +(\d+)", lines[4])[1]),
        "up_s": int(hours) * 3600 + int(minutes) * 60 + int(seconds),
        "jobs": [line.split() for line in lines[7:15] if line],
    }


def recorded(frame: BoardShown) -> dict:
    return {
        "processor_load": frame.processor_load,
        "jobs_going": frame.jobs_going,
        "transfers": frame.transfers,
        "disc_errors": frame.disc_errors,
        "up_s": frame.up_s,
        "jobs": [
            [
                str(cell)
                for cell in (
                    job.number,
                    job.name,
                    job.desk,
                    job.share,
                    job.seconds,
                    job.transfers,
                    job.errors,
                    job.state,
                )
            ]
            for job in frame.jobs
        ],
    }


def test_every_frame_shows_what_the_truth_log_says_it_showed():
    bench = at_desk()
    bench.act("fault disc 0.05")
    begin(bench, "SHUTTLE LOWER", "SUMS", "TIDES", "SUMS 1 PASSES")
    screen = put_up(bench)
    for number in range(20):
        read = shown(next_frame(bench, screen))
        frames = records(bench, BoardShown)
        assert len(frames) == number + 1
        assert read == recorded(frames[-1])
        assert frames[-1].at_us == bench.now_us
    assert read["disc_errors"] > 0
    assert {job[7] for job in read["jobs"]} >= {"ENDED", "RUNS"}


def test_the_counters_of_a_frame_are_the_cores_own():
    bench = at_desk()
    bench.act("fault disc 0.05")
    begin(bench, "SHUTTLE LOWER 1 PASSES", "SUMS 2 PASSES")
    bench.run(60)
    screen = put_up(bench)
    next_frame(bench, screen)
    read = shown(next_frame(bench, screen))
    machine = bench.machine
    since = machine.tidebook.board
    drives = machine.drives
    assert read["transfers"] == {
        name: drive.transfers - since.transfers_before[name] for name, drive in drives.items()
    }
    assert read["disc_errors"] == sum(drive.errors for drive in drives.values())
    assert read["disc_errors"] == sum(job.errors for job in machine.processor.jobs.values())
    assert [(int(job[0]), job[4], int(job[5]), int(job[6])) for job in read["jobs"]] == [
        (job.number, f"{job.processor_us // 100_000 / 10:.1f}", job.transfers, job.errors)
        for job in machine.processor.jobs.values()
    ]
    assert read["processor_load"] <= 2


def test_the_shares_add_up_to_about_the_load():
    bench = at_desk()
    begin(bench, "SUMS", "SUMS", "SHUTTLE LOWER")
    screen = put_up(bench)
    next_frame(bench, screen)
    read = shown(next_frame(bench, screen))
    assert read["processor_load"] == 100
    assert 90 <= sum(int(job[3]) for job in read["jobs"]) <= 100


def test_the_cursor_is_parked_at_line_24_column_1_only_at_a_frames_end():
    bench = at_desk()
    begin(bench, "SHUTTLE LOWER", "SUMS", "TIDES")
    put_up(bench)
    came = bench.run(60)
    assert came.count(PARK) == len(records(bench, BoardShown))
    for piece in came.split(PARK):
        assert not re.search(r"\x1b\[24;", piece)
    assert re.sub(r"\x1b\[\d+;\d+H|\x1b\[2J|[ -~]", "", came) == ""


def test_a_later_frame_paints_only_what_changed():
    bench = at_desk()
    begin(bench, "SUMS")
    put_up(bench)
    first = bench.until(PARK)
    second = bench.until(PARK)
    assert len(second) < len(first) / 4
    assert "JOB  NAME" not in second


def test_the_board_is_painted_again_every_five_seconds():
    bench = at_desk()
    put_up(bench)
    bench.run(62)
    times_us = [record.at_us for record in records(bench, BoardShown)]
    gaps = [later - earlier for earlier, later in zip(times_us[1:], times_us[2:], strict=False)]
    assert all(4_500_000 <= gap <= 5_500_000 for gap in gaps)


@pytest.mark.parametrize("key", [b"Q", b"\r", b"\x18", b" ", b"\x7f", b"\x00"])
def test_any_key_puts_the_board_away_and_is_not_kept(key):
    bench = at_desk()
    screen = put_up(bench)
    next_frame(bench, screen)
    commands = len(records(bench, CommandTaken))
    bench.send(key)
    came = bench.until(PROMPT, 10)
    assert came == f"\x1b[2J\x1b[1;1HBOARD PUT AWAY\r\n{PROMPT}"
    assert bench.run(5) == ""
    assert len(records(bench, CommandTaken)) == commands
    bench.command("TIME", PROMPT)


def test_a_key_between_two_frames_puts_the_board_away_at_once():
    bench = at_desk()
    screen = put_up(bench)
    next_frame(bench, screen)
    next_frame(bench, screen)
    began_us = bench.now_us
    bench.send(b"X")
    bench.until("BOARD PUT AWAY")
    # The key, and 24 characters of answer, at 4.1667 ms each.
    assert bench.now_us - began_us < 300_000


def test_after_the_board_a_notice_breaks_in_again():
    bench = at_desk()
    screen = put_up(bench)
    next_frame(bench, screen)
    bench.send(b"X")
    bench.until(PROMPT)
    bench.act("fault notice fog")
    assert bench.run(2).startswith("\r\n== NOTICE")


def test_uptime_is_shown_in_hours_minutes_and_seconds():
    bench = at_desk()
    bench.run(2 * 3600 + 34 * 60)
    screen = put_up(bench)
    up = re.search(r"UP +(\S+)$", next_frame(bench, screen)[0])[1]
    up_s = records(bench, BoardShown)[-1].up_s
    assert re.fullmatch(r"2\.34\.\d\d", up)
    assert shown(screen.text())["up_s"] == up_s
    began_us = bench.machine.tidebook.board.began_us
    assert up_s == pytest.approx((bench.now_us - began_us) / 1e6, abs=5)


def test_a_key_in_the_middle_of_a_frame_leaves_the_frame_unfinished():
    bench = at_desk()
    begin(bench, "SUMS", "SHUTTLE LOWER", "TIDES")
    put_up(bench)
    bench.until("PROCESSOR LOAD")
    bench.send(b"X")
    came = bench.until(PROMPT, 10)
    assert PARK not in came
    assert records(bench, BoardShown) == []


def test_date_and_time_on_the_board_are_the_machines():
    bench = at_desk()
    screen = put_up(bench)
    next_frame(bench, screen)
    lines = next_frame(bench, screen)
    day, number, time = re.match(r"TIDEBOOK BOARD    (\S+)  DAY +(\d+)   TIME (\S+)", lines[0]).groups()
    moment = datetime.strptime(f"{day} {time}", "%d.%m.%Y %H.%M.%S")  # noqa: DTZ007 the machine has no zone
    assert (moment.year, int(number)) == (1998, 329)
    assert 0 <= (bench.machine.tidebook.clock.now() - moment).total_seconds() < 3


def test_a_notice_stands_on_line_23_while_the_board_is_up():
    bench = at_desk()
    screen = put_up(bench)
    next_frame(bench, screen)
    bench.act("fault notice swell on the bar")
    lines = next_frame(bench, screen)
    assert re.fullmatch(r"== NOTICE 09\.1\d SWELL ON THE BAR ==", lines[22])
    bench.send(b"X")
    assert "SWELL" not in bench.until(PROMPT)


def test_with_eight_jobs_and_more_the_newest_eight_stand_on_lines_8_to_15():
    bench = at_desk()
    for number in range(1, 11):
        begin(bench, "SUMS 1 PASSES" if number < 6 else "SUMS")
        bench.run(12)
    screen = put_up(bench)
    read = shown(next_frame(bench, screen))
    assert [int(job[0]) for job in read["jobs"]][-5:] == [6, 7, 8, 9, 10]
    assert len(read["jobs"]) <= 8
