"""The first fact of a recording says all that its page will need, also in years to come."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.bridge.setup import BridgeOrder, _opened
from exhibit.decisions.machine.first_fact import DAYS_AHEAD
from exhibit.facts.clock import read_wall
from exhibit.facts.use_before import DayBefore
from exhibit.folder.whole import read_folder
from exhibit.streams.pacing import RecordingClock

pytestmark = pytest.mark.pure

WHIMBREL = read_folder(Path(__file__).resolve().parents[2] / "scripts/whimbrel")
ORDER = BridgeOrder(folder=WHIMBREL, line="nowhere", recordings=Path("nowhere"))


def test_it_has_what_the_folder_says_of_the_machine_s_work():
    opened = _opened(ORDER, "scripts", RecordingClock(1.0))
    assert (opened.plots, opened.loads) == (WHIMBREL.machine.plots, WHIMBREL.machine.loads)
    assert opened.plots
    assert opened.loads
    assert (opened.chapters, opened.round_words) == (WHIMBREL.chapters, WHIMBREL.round_words)
    assert set(opened.chapters) >= {"opening", "round", "closing"}
    assert opened.hours is not None
    assert WHIMBREL.hours is not None
    assert opened.hours.days == WHIMBREL.hours.days(read_wall(opened.wall).date(), DAYS_AHEAD)


def test_it_has_what_the_day_has_brought_so_far():
    before = DayBefore(date="2026-11-25", woken="2026-11-25T09:00:00.000+01:00")
    assert _opened(ORDER, "nothing", RecordingClock(1.0), None, before).today == before
    assert _opened(ORDER, "nothing", RecordingClock(1.0)).today == DayBefore()
