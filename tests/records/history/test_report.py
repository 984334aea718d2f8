"""The report before a visit says what got slower, what erred, what to bring, and what is still open."""

from __future__ import annotations

import random
import re
from datetime import date
from pathlib import Path

import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.folder.whole import read_folder
from exhibit.records.excerpt.privacy import Privacy
from exhibit.records.history.report import report, year_report
from exhibit.records.history.visit import LONGEST_NAME, Visit, shortened, verdicts, visit_of
from exhibit.records.work.writing import write_down
from tests.records.history.days_made import H_S, S_US, Timed, a_day, shuttle, step, trouble

WHIMBREL = Path(__file__).resolve().parents[3] / "scripts/whimbrel"
VISIT = date(2026, 11, 12)
"""The tenth of twenty days."""
AT = "2026-11-12T20:00:00+01:00"


def words(page: str) -> str:
    """What a reader of the page reads."""
    body = page[page.index("<body") :]
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def planted(folder: Path) -> Path:
    """Ten days before the visit and ten since: since then a step is slower, and a disc fails."""
    chance = random.Random(7)
    for day in range(20):
        facts: list[Timed] = [*shuttle(1 * H_S, 2 * H_S)]
        for run in range(3):
            at_s = 1000.0 + run * 3000
            facts += [
                (
                    kinds.ScriptStarted(script="round", title={"en": "A round"}, by="x", round=run + 1),
                    at_s - 1,
                )
            ]
            facts += step("load", at_s, (9.0 if day < 10 else 10.4) + chance.random() / 2)
            facts += step("add", at_s + 100, 2 + chance.random() / 5)
            facts += [(kinds.ScriptEnded(script="round", outcome="done", tidy=True, why=""), at_s + 500)]
        facts += [trouble("NOTICE", 3 * H_S, "notice")] if day == 3 else []
        facts += [trouble(f"TRACK {day} CANNOT READ LOWER", 600)] if day >= 10 else []
        if day == 15:
            facts.append((kinds.NoteMade(kind="note", by="docent 2", digest="0" * 64), 700))
        a_day(folder, day, facts)
    machine = read_folder(WHIMBREL)
    done = kinds.WorkDone(at=AT, by="engineer 1", act="swapped", part="lower-drive", board="A12")
    write_down(folder, machine, done, AT)
    pack = kinds.PackEntered(at=AT, by="engineer 1", label="SALLOW 1", original=True)
    write_down(folder, machine, pack, AT)
    return folder


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planted(tmp_path_factory.mktemp("days"))


@pytest.fixture(scope="module")
def visit(folder: Path) -> Visit:
    return visit_of([folder], VISIT, folder=read_folder(WHIMBREL))


@pytest.fixture(scope="module")
def page(visit: Visit) -> str:
    return words(report(visit, Privacy(), with_folder=True))


def test_the_step_that_got_slower_is_named_with_both_times_and_no_other_is(visit, page):
    assert [one.name for one in visit.slower] == ["round.load"]
    assert re.search(r"round\.load 9\.\d+ s 10\.\d+ s 1\.1\d", page)
    assert "round.add" not in page


@pytest.mark.parametrize(("since_s", "slower"), [(9.3, []), (9.6, ["round.load"])], ids=["3 %", "7 %"])
def test_a_step_a_little_longer_is_not_called_slower_however_sure_that_is(tmp_path, since_s, slower):
    for day in range(20):
        a_day(tmp_path, day, step("load", 60, (9.0 if day < 10 else since_s) + day % 3 / 100))
    found = visit_of([tmp_path], VISIT)
    assert [one.times.differs for one in found.steps if one.name == "round.load"] == [True]
    assert [one.name for one in found.slower] == slower
    said = words(report(found, Privacy(), with_folder=False))
    assert ("No step of 1 by more than chance and by 5 % or more." in said) is (not slower)


def test_a_step_that_was_quick_by_turns_before_is_called_slower_by_neither_command(tmp_path):
    # Since the visit no run is slower than the slow ones before: the charts see no lasting change.
    for day in range(20):
        facts: list[Timed] = []
        for run in range(4):
            facts += step("load", 60 + run * 60, 9.0 if day < 10 and run % 2 else 10.0)
        a_day(tmp_path, day, facts)
    found = visit_of([tmp_path], VISIT)
    assert [one.times.differs for one in found.steps if one.name == "round.load"] == [True]
    assert not found.slower


@pytest.mark.parametrize(("warm_s", "slower"), [(12.0, ["round.load"]), (9.0, [])], ids=["warm", "never"])
def test_a_step_that_is_slow_only_once_the_machine_is_warm_is_named_with_both_times(tmp_path, warm_s, slower):
    for day in range(20):
        facts: list[Timed] = []
        for run in range(4):
            warm = run > 1  # from the third on, an hour after power-on
            took_s = (warm_s if warm else 9.0) + (day + run) % 3 / 50
            facts += step("load", 300 + run * 300 + (3600 if warm else 0), took_s)
            facts += step("add", 350 + run * 300 + (3600 if warm else 0), 2 + (day + run) % 5 / 50)
        a_day(tmp_path, day, facts)
    found = visit_of([tmp_path], VISIT)
    assert found.slower == []
    assert [one.name for one in found.slower_warm] == slower
    said = words(report(found, Privacy(), with_folder=False))
    assert ("on for 30 minutes, by more than chance: round.load 9.0" in said) is bool(slower)


def test_a_drive_that_starts_more_slowly_since_the_visit_is_named(tmp_path):
    for day in range(20):
        ready_s = 8.0 + day % 3 / 50 + max(0, day - 9) * 0.3
        confirmed = kinds.HandsOnConfirmed(step="start-it", by="docent 1")
        facts: list[Timed] = [
            (kinds.ScriptStarted(script="opening", title={"en": "Opening"}, by="x", round=0), 1),
            (confirmed, 2),
            (kinds.PartStarted(part="lower-drive", by="opening.start-it"), 2),
            (kinds.PartStarted(part="lower-drive", by="lower-ready"), 2 + ready_s),
        ]
        a_day(tmp_path, day, facts, marked=False)
    said = words(report(visit_of([tmp_path], VISIT), Privacy(), with_folder=False))
    assert re.search(r"opening\.lower-drive ready 8\.\d+ s 9\.\d+ s 1\.2", said)
    assert (
        "its time begins with the person’s word" in said or "its time begins with the person's word" in said
    )


def test_two_exercisers_at_once_are_one_hour_in_which_an_exerciser_ran(tmp_path):
    other = kinds.ExerciserBegun(exerciser="shuttle", job="2", part="lower-drive", ends_us=0)
    ended = kinds.ExerciserEnded(exerciser="shuttle", job="2", by="job-ended")
    a_day(tmp_path, 0, [*shuttle(0, 4 * H_S), (other, 0.0), (ended, 4 * H_S)])
    said = words(report(visit_of([tmp_path], date(2026, 11, 1)), Privacy(), with_folder=False))
    assert "The machine was on for 4:00 h, an exerciser ran for 4:00 h." in said


def test_what_erred_since_is_there_with_how_often_and_that_it_is_new(page):
    often = "10 times on 10 days, new 2026-11-21 09:10 0 to 15 min"
    assert f"disc-cannot-be-read: TRACK # CANNOT READ LOWER {often}" in page


def test_what_erred_before_alone_is_not_there(page):
    assert "NOTICE" not in page


def test_what_to_bring_is_what_the_folder_s_troubles_say(page):
    assert "a spare read amplifier (because of disc-cannot-be-read)" in page
    assert "breakout box" not in page


def test_disc_errors_that_no_trouble_reports_say_what_to_bring_too(tmp_path):
    counted = kinds.DiscErrorsCounted(by="board.disc-errors", count=3, stands_at=3)
    a_day(tmp_path, 0, [(counted, 60)])
    visit = visit_of([tmp_path], date(2026, 11, 1), folder=read_folder(WHIMBREL))
    assert "a thermometer (because of disc errors)" in words(report(visit, Privacy(), with_folder=True))


def test_without_a_folder_it_says_where_that_would_stand(folder):
    said = words(report(visit_of([folder], VISIT), Privacy(), with_folder=False))
    assert "Name the machine’s folder with --folder" in said


def test_open_questions_are_troubles_that_nobody_ended_packs_without_copies_and_whether_work_helped(
    page, visit
):
    assert "Is “A disc can't be read” over? It was raised 10 times, last on 2026-11-21" in page
    assert "Pack SALLOW 1 is an original without a known copy." in page
    assert "1 in 44.0 h before, 9 in 36.0 h after lower-drive A12 swapped on 2026-11-12" in verdicts(visit)[0]
    assert "More often by more than chance" in verdicts(visit)[0]


def test_rounds_and_hours_are_those_since_the_visit(page):
    assert "Rounds done: 30 of 30. Scripts that were not finished: 0." in page
    assert "The machine was on for 40:00 h, an exerciser ran for 10:00 h." in page
    assert "lower-drive 40:00 h 10 10:00 h" in page


def test_a_note_is_named_and_not_read_out(page):
    assert "Notes (1) 2026-11-19" not in page
    assert "2026-11-17, docent 2: note" in page


def test_with_nothing_before_there_is_nothing_to_compare_and_nothing_is_new(folder):
    said = words(report(visit_of([folder], date(2026, 11, 1)), Privacy(), with_folder=False))
    assert "There is nothing from before 2026-11-01 to compare with." in said
    assert ", new" not in said


def test_what_makes_a_recording_doubtful_comes_last_and_no_work_is_judged_by_it(tmp_path):
    for day in range(20):
        stepped = [
            (kinds.ClockStepped(by_us=90 * S_US, wall=f"2026-11-{day + 2:02}T09:02:00+01:00"), 60 + n)
            for n in range(3)
        ]
        a_day(tmp_path, day, [*stepped, *([trouble("TRACK 1 CANNOT READ LOWER", 600)] if day % 2 else [])])
    done = kinds.WorkDone(at=AT, by="engineer 1", act="swapped", part="lower-drive", board="A12")
    write_down(tmp_path, read_folder(WHIMBREL), done, AT)
    found = visit_of([tmp_path], VISIT)
    assert not any("clock" in one for one in verdicts(found))
    said = words(report(found, Privacy(), with_folder=False))
    assert said.index("CANNOT READ LOWER") < said.index("clock: the computer")


def test_a_long_name_ends_with_a_whole_word_and_a_mark():
    assert (
        shortened("round failed: " + "a secret and RETURN " * 9)
        == "round failed: " + "a secret and RETURN " * 3 + "a secret and …"
    )
    assert shortened("short") == "short"
    assert len(shortened("x" * 200)) == LONGEST_NAME


def test_too_few_runs_are_said_and_no_step_is_called_slower(tmp_path):
    for day, took_s in ((0, 9.0), (10, 30.0)):
        a_day(tmp_path, day, step("load", 100, took_s))
    visit = visit_of([tmp_path], date(2026, 11, 8))
    said = words(report(visit, Privacy(), with_folder=False))
    assert visit.slower == []
    assert "1 step ran too seldom, before or since, to tell." in said


def test_a_folder_of_another_machine_is_refused(folder):
    heron = read_folder(WHIMBREL.parent / "heron")
    with pytest.raises(SetUpFault, match="the folder describes heron"):
        visit_of([folder], VISIT, folder=heron)


def test_a_time_without_recordings_is_said(folder):
    with pytest.raises(SetUpFault, match="no recording in that time"):
        visit_of([folder], date(2027, 1, 1))


def test_the_object_s_file_has_all_that_was_written_down_and_each_month(folder):
    visit = visit_of([folder], date(2026, 1, 1), until=date(2027, 1, 1))
    said = words(year_report(visit, Privacy()))
    assert "the year 2026" in said
    assert "2026-11 20 60 11 0" in said
    assert "2026-11-12: lower-drive, A12: swapped (engineer 1)" in said
    assert "SALLOW 1: contents not said; original" in said
    assert "notice: NOTICE once on 1 day" in said


def test_the_object_s_file_says_how_long_each_pack_turned(tmp_path):
    put_in = kinds.PackMounted(label="SALLOW 2", drive="lower-drive", may_be_written=True, by="docent 1")
    a_day(tmp_path, 0, [(put_in, 1 * H_S), *shuttle(2 * H_S, 3 * H_S)])
    visit = visit_of([tmp_path], date(2026, 1, 1), until=date(2027, 1, 1))
    assert "SALLOW 2 1 3:00 h 1:00 h" in words(year_report(visit, Privacy()))


def test_a_year_ends_with_its_last_day(folder):
    visit = visit_of([folder], date(2026, 1, 1), until=date(2026, 11, 10))
    assert visit.until == "2026-11-09"
    assert [likes.signature for likes in visit.history.likes] == ["notice: NOTICE"]


def test_strangers_words_bring_no_markup(tmp_path):
    bad = "</p><script>alert(1)</script>"
    a_day(tmp_path, 0, [trouble(bad, 60, bad)])
    page = report(visit_of([tmp_path], date(2026, 11, 1)), Privacy(), with_folder=False)
    assert "<script" not in page
