"""`exhibit timings`: what it prints about steps, and that --write changes their limits and nothing else."""

import datetime
import os
import shutil
import stat
import tomllib
from statistics import NormalDist

import msgspec
import pytest
from click.testing import CliRunner

from exhibit.commands.cli import main
from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.facts.units import duration_us
from exhibit.folder.reading.toml_lines import with_values
from exhibit.folder.report.findings import Checked, check_report
from exhibit.folder.whole import read_folder
from exhibit.records import limit_writing
from exhibit.records.limit_writing import write_limits
from exhibit.records.timings import rounded_limit_us, table, time_text, timings
from exhibit.streams.recording import RecordingWriter, digests
from tests.folder.folder_writing import ROOT
from tests.streams.samples import SMALL_RESERVE_BYTES, an_opening

S_US = 1_000_000
WHIMBREL = ROOT / "scripts" / "whimbrel"
SPREAD_S = [1.001, 1.7, 1.2, 1.4, 1.3]


@pytest.fixture
def folder(tmp_path):
    """A copy of the Whimbrel's folder, to be changed."""
    return shutil.copytree(WHIMBREL, tmp_path / "whimbrel")


@pytest.fixture
def record(tmp_path):
    """Makes a recording of runs (script, step, seconds, how it ended), each recording a day later."""
    day = 0

    def make(runs, **opening):
        nonlocal day
        day += 1
        wall = datetime.datetime(2026, 11, 1, 9, 30, tzinfo=datetime.UTC) + datetime.timedelta(days=day)
        opened = msgspec.structs.replace(
            an_opening(wall=wall.isoformat()), digests=digests(WHIMBREL, ()), **opening
        )
        writer = RecordingWriter(tmp_path / "recordings", opened, reserve_bytes=SMALL_RESERVE_BYTES)
        at_us = S_US
        for script, step, seconds, end in runs:
            writer.append(kinds.StepStarted(script=script, step=step), at_us)
            at_us += round(seconds * S_US)
            if end == "overdue":
                late = kinds.StepOverdue(
                    script=script, step=step, waited_for=[], within_us=at_us, last_lines=[]
                )
                writer.append(late, at_us)
            if end == "ended":
                writer.append(kinds.StepEnded(script=script, step=step), at_us)
            else:
                writer.append(kinds.StepFailed(script=script, step=step, why=end), at_us)
            at_us += S_US
        writer.close("the test is over", at_us)
        return writer.path

    (tmp_path / "recordings").mkdir()
    return make


def runs_of(step, count, script="round", end="ended"):
    """This many runs of a step, of 1 to 1.7 s."""
    return [(script, step, SPREAD_S[number % len(SPREAD_S)], end) for number in range(count)]


def row_of(found, step, script="round"):
    (row,) = [row for row in found.rows if (row.script, row.step) == (script, step)]
    return row


def everything_in(folder):
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


# -- what is printed ------------------------------------------------------------------------------------


def test_every_step_with_a_limit_has_its_row_in_the_day_s_order(folder, record):
    found = timings(folder, [record([])])
    scripts = read_folder(folder).scripts
    steps = [
        (name, step.name, step.within_us)
        for name in ("opening", "round", "closing", *sorted(scripts.keys() - {"opening", "round", "closing"}))
        for step in (*scripts[name].steps, *scripts[name].tidy_up)
        if hasattr(step, "within_us")
    ]
    assert [(row.script, row.step, row.limit_us) for row in found.rows] == steps


def test_59_good_runs_support_the_slowest_rounded_up(folder, record):
    found = timings(folder, [record(runs_of("take-the-desk", 59))])
    row = row_of(found, "take-the-desk")
    assert (row.supported_us, row.because) == (1_700_000, "the slowest of 59 runs")
    line = next(line for line in table(found) if "take-the-desk " in line)
    assert line.split() == [
        "take-the-desk", "59", "0", "0", "1.3", "s", "200", "ms", "1.7", "s", "30", "s", "1.7", "s",
        "the", "slowest", "of", "59", "runs",
    ]  # fmt: skip


def test_runs_are_counted_over_all_recordings(folder, record):
    paths = [record(runs_of("take-the-desk", 30)), record(runs_of("take-the-desk", 29))]
    assert row_of(timings(folder, paths), "take-the-desk").supported_us == 1_700_000
    assert row_of(timings(folder, [paths[0].parent]), "take-the-desk").supported_us == 1_700_000


def test_too_few_runs_support_no_limit(folder, record):
    row = row_of(timings(folder, [record(runs_of("take-the-desk", 12))]), "take-the-desk")
    because = "too few runs: 12 of 59; at least 77 of 100 keep the slowest"
    assert (row.supported_us, row.because) == (None, because)


def test_fewer_than_59_that_look_normal_support_a_limit_that_names_its_basis(folder, record):
    # Thirty values spread as normal ones, mean 5 s, deviation about 1 s.
    values = [5 + NormalDist().inv_cdf((i + 0.5) / 30) for i in range(30)]
    path = record([("round", "take-the-desk", value, "ended") for value in values])
    row = row_of(timings(folder, [path]), "take-the-desk")
    # k for n = 30, 95/95 is 2.2198 (scipy's noncentral t): 5 + 2.2198 x 0.9958 = 7.2105.
    assert row.because == "30 runs, assumed normal: mean + 2.22 deviations, or the slowest"
    assert row.supported_us == 7_300_000


def test_a_run_that_was_cut_off_raises_the_number_of_runs_needed(folder, record):
    path = record([*runs_of("take-the-desk", 91), *runs_of("take-the-desk", 1, end="overdue")])
    row = row_of(timings(folder, [path]), "take-the-desk")
    because = "too few runs: 92 of 93, 1 cut off; at least 94 of 100 keep the slowest"
    assert (row.supported_us, row.because) == (None, because)
    assert (row.times.overdue, row.times.failed) == (1, 0)
    more = record(runs_of("take-the-desk", 1))
    row = row_of(timings(folder, [path, more]), "take-the-desk")
    assert (row.supported_us, row.because) == (1_700_000, "the slowest of 92 runs, 1 cut off")


def test_nobody_is_hurried(folder, record):
    row = row_of(timings(folder, [record(runs_of("start-small", 100, "opening"))]), "start-small", "opening")
    assert row.supported_us is None
    assert "person" in row.because


def test_it_says_how_often_a_round_would_be_late(folder, record):
    path = record([*runs_of("take-the-desk", 59), *runs_of("begin-shuttle", 99)])
    # One in 60 and one in 100: 1 - 59/60 x 99/100 = 0.0265.
    assert any("up to 3 in 100 runs of round" in note for note in timings(folder, [path]).notes)


def test_limits_that_leave_no_time_to_type_again_are_reported(folder, record):
    found = timings(folder, [record(runs_of("take-the-desk", 59))])
    assert any("no time to type a command again" in note and "6 s" in note for note in found.notes)
    assert not any("type a command again" in note for note in timings(folder, [record([])]).notes)


def test_a_recording_counts_once_however_often_it_is_given(folder, record, tmp_path):
    path = record(runs_of("take-the-desk", 20))
    copy = shutil.copy(path, tmp_path / "again.exhibit")
    found = timings(folder, [path, path, path.parent, copy])
    assert len(row_of(found, "take-the-desk").times.good_us) == 20
    assert [note for note in found.notes if "copy" in note] == [
        "again.exhibit is a copy of another recording here and was left out."
    ]


def test_runs_in_which_the_recording_is_damaged_are_not_counted(folder, record):
    path = record(runs_of("take-the-desk", 3))
    lines = path.read_bytes().split(b"\n")
    (first_end, *_) = [place for place, line in enumerate(lines) if b"step_ended" in line]
    lines[first_end] = lines[first_end].replace(b"step_ended", b"step_endet")
    path.write_bytes(b"\n".join(lines))
    found = timings(folder, [path])
    assert len(row_of(found, "take-the-desk").times.good_us) == 2
    assert any("damaged in 1 place;" in note for note in found.notes)


def test_a_run_is_not_counted_across_damage(folder, record):
    path = record(runs_of("take-the-desk", 3))
    lines = path.read_bytes().split(b"\n")
    (end, *_) = [place for place, line in enumerate(lines) if b"step_ended" in line]
    # The end of the first run and the start of the second: the rest would look like one long run.
    for place in (end, end + 1):
        lines[place] = lines[place].replace(b"take-the-desk", b"take-the-dusk")
    path.write_bytes(b"\n".join(lines))
    assert row_of(timings(folder, [path]), "take-the-desk").times.good_us == [1_200_000]


def test_what_a_person_must_know_about_the_recordings_is_noted(folder, record):
    path = record(runs_of("no-longer-there", 2), rate=20.0)
    (folder / "closing.toml").write_bytes((folder / "closing.toml").read_bytes() + b"\n")
    notes = timings(folder, [path]).notes
    assert any("In 1 of 1 recordings closing.toml was not as it is now" in note for note in notes)
    assert any("no longer in the folder: round.no-longer-there" in note for note in notes)
    assert any("simulated" in note for note in notes)
    assert any("at 20 times the real speed" in note for note in notes)


def test_recordings_of_another_machine_or_of_two_kinds_are_refused(folder, record):
    with pytest.raises(SetUpFault, match="of one machine say nothing about another"):
        timings(folder, [record([], machine="heron")])
    with pytest.raises(SetUpFault, match="count as times of the real one"):
        timings(folder, [record([]), record([], machine_is="real")])


def test_a_folder_without_recordings_is_refused(folder, tmp_path):
    with pytest.raises(SetUpFault, match="no recording of whimbrel"):
        timings(folder, [tmp_path])


@pytest.mark.parametrize(
    ("us", "limit", "text"),
    [
        (0, 0, "0 ms"), (1, 10_000, "10 ms"), (75_000, 80_000, "80 ms"), (80_000, 80_000, "80 ms"),
        (990_001, 1_000_000, "1 s"), (1_000_001, 1_100_000, "1.1 s"), (9_900_001, 10_000_000, "10 s"),
        (10_000_001, 11_000_000, "11 s"), (599_000_001, 600_000_000, "10 min"),
        (600_000_001, 660_000_000, "11 min"), (7_300_000_000, 7_320_000_000, "122 min"),
    ],
)  # fmt: skip
def test_a_limit_is_rounded_up_to_few_figures(us, limit, text):
    assert rounded_limit_us(us) == limit
    assert time_text(limit) == text


def test_a_rounded_limit_is_never_smaller_and_reads_back_as_itself():
    for us in [*range(1, 3_000_000, 1711), *range(3_000_000, 80_000_000_000, 77_777_777)]:
        limit = rounded_limit_us(us)
        assert us <= limit <= max(us + 10_000, us * 1.12)
        assert duration_us(time_text(limit)) == limit


# -- what is written ---------------------------------------------------------------------------------


def test_write_changes_the_supported_limits_and_not_another_byte(folder, record):
    before, report_before = everything_in(folder), check_report(Checked(folder))
    path = record([*runs_of("take-the-desk", 60), *runs_of("begin-shuttle", 12), *runs_of("stop-sums", 59)])
    ran = CliRunner().invoke(main, ["timings", f"{folder}", f"{path}", "--write"])
    assert ran.exit_code == 0, ran.output
    assert "take-the-desk: within was 30 s and is now 1.7 s." in ran.output
    after = everything_in(folder)
    assert {name for name in before if before[name] != after[name]} == {
        (folder / "round.toml").relative_to(folder)
    }
    assert set(after) == set(before)
    old, new = before[(folder / "round.toml").relative_to(folder)], (folder / "round.toml").read_bytes()
    changed = [(a, b) for a, b in zip(old.split(b"\n"), new.split(b"\n"), strict=True) if a != b]
    assert changed == [(b'within = "30 s"', b'within = "1.7 s"')] * 2
    steps = {step["name"]: step.get("within") for step in tomllib.loads(new.decode())["step"]}
    was = {step["name"]: step.get("within") for step in tomllib.loads(old.decode())["step"]}
    assert {name for name in steps if steps[name] != was[name]} == {"take-the-desk"}
    assert check_report(Checked(folder)) == report_before


def test_without_write_nothing_is_changed(folder, record):
    before = everything_in(folder)
    ran = CliRunner().invoke(main, ["timings", f"{folder}", f"{record(runs_of('take-the-desk', 60))}"])
    assert ran.exit_code == 0, ran.output
    assert everything_in(folder) == before


def test_comments_and_layout_of_a_file_are_kept(folder, record):
    path = folder / "round.toml"
    text = path.read_text("utf-8")
    odd = text.replace(
        'until = ["word-for-tides"]\nwithin = "30 s"',
        "until = ['word-for-tides'] # ä\n\twithin  =  '30 s'  # \"30 s\"",
        1,
    ).replace("\n", "\r\n")
    path.write_bytes(odd.encode())
    write_limits(folder, timings(folder, [record(runs_of("take-the-desk", 60))]).rows)
    assert path.read_bytes() == odd.replace("within  =  '30 s'", 'within  =  "1.7 s"').encode()


def test_a_limit_can_be_raised_too(folder, record):
    path = record([("round", "take-the-desk", 40 + number / 10, "ended") for number in range(59)])
    write_limits(folder, timings(folder, [path]).rows)
    step = next(step for step in read_folder(folder).scripts["round"].steps if step.name == "take-the-desk")
    assert step.within_us == 46 * S_US


def test_too_few_runs_and_a_persons_steps_are_never_written(folder, record):
    before = everything_in(folder)
    path = record([*runs_of("take-the-desk", 58), *runs_of("start-small", 100, "opening")])
    assert write_limits(folder, timings(folder, [path]).rows) == ["No limit was changed."]
    assert everything_in(folder) == before


def test_a_limit_beyond_that_of_its_script_is_kept_and_reported_while_others_are_written(folder, record):
    slow = [("round", "leave-them-at-it", 1000 + number, "ended") for number in range(59)]
    lines = write_limits(folder, timings(folder, [record([*slow, *runs_of("take-the-desk", 60)])]).rows)
    assert len(lines) == 2
    stays = "stays 30 s, because with 18 min the step has a longer limit than the whole script."
    assert f"round.leave-them-at-it: {stays}" in lines
    steps = {step.name: step for step in read_folder(folder).scripts["round"].steps}
    assert steps["leave-them-at-it"].within_us == 30 * S_US
    assert steps["take-the-desk"].within_us == 1_700_000


def test_a_second_write_changes_nothing(folder, record):
    path = record(runs_of("take-the-desk", 60))
    write_limits(folder, timings(folder, [path]).rows)
    before = everything_in(folder)
    assert write_limits(folder, timings(folder, [path]).rows) == ["No limit was changed."]
    assert everything_in(folder) == before


def test_a_limit_below_the_slowest_run_is_never_written(folder, record):
    row = row_of(timings(folder, [record(runs_of("take-the-desk", 60))]), "take-the-desk")
    before = everything_in(folder)
    for wrong_us in (1_600_000, 1_700_001):
        with pytest.raises(AssertionError, match=r"round\.take-the-desk"):
            write_limits(folder, [msgspec.structs.replace(row, supported_us=wrong_us)])
    assert everything_in(folder) == before


def test_the_files_keep_their_mode_and_a_link_stays_a_link(folder, record, tmp_path):
    elsewhere = folder / "kept" / "round.toml"
    elsewhere.parent.mkdir()
    shutil.move(folder / "round.toml", elsewhere)
    elsewhere.chmod(0o640)
    (folder / "round.toml").symlink_to(elsewhere)
    write_limits(folder, timings(folder, [record(runs_of("take-the-desk", 60))]).rows)
    assert (folder / "round.toml").is_symlink()
    assert stat.S_IMODE(os.stat(elsewhere).st_mode) == 0o640
    assert b'"1.7 s"' in elsewhere.read_bytes()


def test_what_somebody_else_writes_in_the_meantime_is_not_lost(folder, record, monkeypatch):
    rows = timings(folder, [record(runs_of("take-the-desk", 60))]).rows
    theirs = (folder / "round.toml").read_bytes() + b"# a note\n"

    def slowly(text, values):
        (folder / "round.toml").write_bytes(theirs)
        return with_values(text, values)

    monkeypatch.setattr(limit_writing, "with_values", slowly)
    with pytest.raises(SetUpFault, match="Somebody else has changed"):
        write_limits(folder, rows)
    assert (folder / "round.toml").read_bytes() == theirs


def test_a_file_that_can_not_be_replaced_is_left_whole(folder, record, monkeypatch):
    rows = timings(folder, [record(runs_of("take-the-desk", 60))]).rows
    before = everything_in(folder)

    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(SetUpFault, match="can't be written: No space left"):
        write_limits(folder, rows)
    assert everything_in(folder) == before


def test_each_extreme_is_named_with_its_recording_and_time(folder, record):
    record([("round", "take-the-desk", 1.5, "ended")])
    slow = record([("round", "take-the-desk", 1.2, "ended"), ("round", "take-the-desk", 7.25, "ended")])
    quick = record([("round", "take-the-desk", 0.4, "ended")])
    found = timings(folder, [slow.parent])
    assert found.extremes == [
        (
            "round.take-the-desk",
            f"400 ms in {quick.name} at 09:30:01",
            f"7.25 s in {slow.name} at 09:30:03",
        )
    ]
    assert any("quickest run" in line for line in table(found))


def test_steps_that_always_took_the_same_time_have_no_extremes(folder, record):
    found = timings(folder, [record([("round", "take-the-desk", 1, "ended")] * 3)])
    assert found.extremes == []
    assert not any("quickest run" in line for line in table(found))


@pytest.mark.parametrize(
    ("runs", "said"), [(4, "too few runs: 4 of 59"), (10, "at least 74 of 100 keep the slowest")]
)
def test_before_there_are_enough_runs_it_says_what_is_known(folder, record, runs, said):
    found = timings(folder, [record(runs_of("take-the-desk", runs))])
    assert row_of(found, "take-the-desk").because.endswith(said)
