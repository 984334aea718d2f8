"""The summary says what stands in the recordings: no more, and nothing else."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from exhibit.facts import kinds
from exhibit.facts.errors import SetUpFault
from exhibit.paper.summary import figures, summary
from exhibit.paper.summary_words import SUMMARY
from exhibit.streams.recording import read
from exhibit.sums.day_record import DayRecord
from tests.paper.test_card import text

ONE_ROUND = Path("recordings/whimbrel-one-round.exhibit")
ENTRIES = list(read(ONE_ROUND))
OPENED = ENTRIES[0]


def folded(*facts: tuple[float, kinds.AnyFact]) -> DayRecord:
    """The record of these facts, each some seconds after the recording's beginning at 10:00."""
    record = DayRecord()
    record.begin("a")
    record.take(OPENED)
    rate = OPENED.fact.rate
    for number, (at_s, fact) in enumerate(facts, 2):
        record.take(kinds.Entry(seq=number, at_us=OPENED.at_us + int(at_s * 1e6 * rate), fact=fact))
    record.end()
    return record


def ran(round_: int, outcome: str = "done", why: str = "") -> list[kinds.AnyFact]:
    started = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="docent 1", round=round_)
    return [started, kinds.ScriptEnded(script="round", outcome=outcome, tidy=True, why=why)]


def calls(record: DayRecord) -> list[str]:
    [day] = record.days.values()
    says = SUMMARY["en"]
    return [value for name, value in figures(day, says, {}) if name == says["calls"]]


def test_the_kept_recording_is_told_as_it_was():
    facts = [entry.fact for entry in ENTRIES]
    record = DayRecord()
    record.begin(ONE_ROUND.name)
    for entry in ENTRIES:
        record.take(entry)
    record.end()
    [day] = record.days.values()
    assert len(day.scripts) == sum(isinstance(fact, kinds.ScriptStarted) for fact in facts)
    assert [hand.step.partition(".")[2] for hand in day.by_hand] == [
        fact.step for fact in facts if isinstance(fact, kinds.HandsOnConfirmed)
    ]
    assert len(day.troubles) == sum(isinstance(fact, kinds.TroubleRaised) for fact in facts)


def test_rounds_that_were_not_finished_and_those_without_an_end_are_said_to_be_so():
    began, ended = ran(1)
    failed = ran(2, "failed", "the board never came")
    [day] = folded((0, began), (60, ended), (70, failed[0]), (80, failed[1]), (90, ran(3)[0])).days.values()
    assert [(one.outcome, one.why) for one in day.scripts] == [
        ("done", ""),
        ("failed", "the board never came"),
        ("", ""),
    ]
    assert day.script_s == pytest.approx(70, abs=0.01)


def test_what_became_of_a_trouble_stands_with_it_and_by_whom():
    raised = kinds.TroubleRaised(
        trouble="x", line="DRIVE LEFT FAILED", words={"en": "Failed."}, do={"en": "Go."}
    )
    [day] = folded(
        (0, raised),
        (1, raised),
        (60, kinds.TroubleSeen(raised=2, by="docent 1")),
        (120, kinds.TroubleOver(raised=2, by="engineer 3")),
    ).days.values()
    first, second = day.troubles
    assert [(then.what, then.by) for then in first.then] == [("seen", "docent 1"), ("over", "engineer 3")]
    assert second.then == []


def test_every_answer_to_a_step_by_hand_is_there_with_its_number():
    asked = kinds.HandsOnAsked(
        script="opening", step="key", words={"en": "Turn it."}, caution={"en": "Mains."}
    )
    [day] = folded(
        (0, asked),
        (5, kinds.HandsOnPutOff(step="key", by="docent 1", because="too early")),
        (9, kinds.HandsOnRefused(step="key", by="docent 1", why="stuck")),
        (20, kinds.HandsOnConfirmed(step="key", by="docent 2")),
    ).days.values()
    assert [(hand.answer, hand.by) for hand in day.by_hand] == [
        ("too early", "docent 1"),
        ("refused", "docent 1"),
        ("done", "docent 2"),
    ]


def test_notes_are_counted_by_kind_and_never_quoted():
    note = kinds.NoteMade(kind="note", by="docent 1", digest="abc")
    [day] = folded(
        (0, note), (1, note), (2, kinds.NoteMade(kind="photograph", by="docent 1", digest=""))
    ).days.values()
    assert day.notes == {"note": 2, "photograph": 1}


def test_a_part_s_time_is_from_its_start_to_its_stop_and_said_twice_counts_once():
    on, off = kinds.PartStarted(part="lower-drive", by="x"), kinds.PartStopped(part="lower-drive", by="x")
    [day] = folded((0, on), (1, on), (3600, off), (3601, off), (4000, on)).days.values()
    assert day.part_s == {"lower-drive": pytest.approx(3600, abs=0.01)}


def test_a_day_ends_at_midnight():
    began, ended = ran(1)
    days = folded((0, began), (60, ended), (15 * 3600, ran(1)[0])).days
    assert [len(day.scripts) for day in days.values()] == [1, 1]


@pytest.mark.parametrize("tag", ["en", "de"])
def test_the_page_says_it_in_the_language(tag):
    page = text(summary([ONE_ROUND], tag))
    assert SUMMARY[tag]["of"].format(done=1, all=1) in page
    assert SUMMARY[tag]["simulated"] in page
    assert ONE_ROUND.name in page


def test_both_languages_have_every_sentence():
    assert {*SUMMARY["en"]} == {*SUMMARY["de"]}


def test_an_empty_folder_and_an_unknown_language_are_refused(tmp_path):
    with pytest.raises(SetUpFault, match="no recording"):
        summary([tmp_path])
    with pytest.raises(SetUpFault, match="'fr'"):
        summary([ONE_ROUND], "fr")


def test_recordings_of_two_machines_are_not_added_up(monkeypatch, tmp_path):
    other = msgspec.structs.replace(OPENED.fact, machine="heron")
    monkeypatch.setattr(
        "exhibit.paper.summary.read_opened", lambda path: other if path.parent == tmp_path else OPENED.fact
    )
    with pytest.raises(SetUpFault, match="another machine"):
        summary([ONE_ROUND, tmp_path / "other.exhibit"])


def test_how_often_somebody_was_called_stands_against_the_published_figures():
    raised = kinds.TroubleRaised(trouble="x", line="DRIVE LEFT FAILED", words={"en": "Failed."}, do={})
    began = kinds.ScriptStarted(script="round", title={"en": "A round"}, by="docent 1", round=1)
    few = folded((0, began), (10, raised), (3600, raised))
    many = folded((0, began), *((number, raised) for number in range(1, 12)), (3600, raised))
    assert calls(few) == ["at most 1 in ten minutes: few enough (up to about 6 an hour, ANSI/ISA-18.2)"]
    assert calls(many)[0].startswith("at most 11 in ten minutes: too many for one person")
    assert calls(folded((0, began))) == []
