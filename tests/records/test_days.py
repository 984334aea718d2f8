"""What `exhibit days` says of a day, and that the page counts in the same way."""

from __future__ import annotations

from pathlib import Path

from exhibit.facts import kinds
from exhibit.facts.units import S_US
from exhibit.records.days import day_table, days_more
from exhibit.records.index.asking import Index
from exhibit.records.study.day_marks import MarkMaker
from exhibit.records.went_wrong import went_wrong
from exhibit.streams.recording import read_all
from tests.records.index.written import script, write


def a_bad_day(folder: Path) -> Path:
    """A soak; then a step late and failed, disc errors, a garbled command, a silence, a trouble."""
    late = kinds.StepOverdue(script="soak", step="b", waited_for=["x"], within_us=1, last_lines=[])
    raised = kinds.TroubleRaised(trouble="held", line="XOFF", words={}, do={})
    before = kinds.TroubleRaised(trouble="held", line="XOFF", words={}, do={}, since="2026-11-24T09:00:00Z")
    return write(
        folder / "a.exhibit",
        (1, before),
        (2, kinds.PartStarted(part="drive", by="a person")),
        *script("soak", 0, 10, ("a", 5)),
        (19, kinds.ScriptStarted(script="soak", title={}, by="docent 1")),
        (20, kinds.StepStarted(script="soak", step="b")),
        (30, late),
        (31, kinds.StepFailed(script="soak", step="b", why="late")),
        (32, kinds.SessionFailed(why="late", last_lines=[])),
        (33, kinds.ScriptEnded(script="soak", outcome="failed", tidy=True, why="late")),
        (40, kinds.DiscErrorsCounted(by="log", count=2, entry="TRACK 1")),
        (41, kinds.TypingGarbled(command="ADD", expected="ADD", came_back="AXD", attempt=1)),
        (42, kinds.MachineSilent(heard_us=41 * S_US, due_us=41 * S_US, due="step")),
        (43, raised),
    )


def test_a_day_without_rounds_says_what_ran_and_what_nobody_stopped(tmp_path):
    a_bad_day(tmp_path)
    with Index.open(tmp_path) as index:
        line = day_table(index.days(), days_more(index))[1]
    assert "ran: soak" in line
    assert "not seen to be stopped: drive" in line


def test_what_went_wrong_is_as_many_in_the_list_of_days_and_on_the_page(tmp_path):
    path = a_bad_day(tmp_path)
    marks = MarkMaker().take_all(read_all(path).entries, 100 * S_US)
    with Index.open(tmp_path) as index:
        (more,) = days_more(index).values()
        assert more.wrong == len([*went_wrong(index)]) == len(marks.troubles) == 7
