"""What becomes of a trouble in a later recording belongs to the trouble."""

from __future__ import annotations

from exhibit.facts import kinds
from exhibit.records.index.asking import Index
from exhibit.records.index.rows import TroubleRow
from tests.records.index.written import write

NEXT_DAY = "2026-11-26T09:00:00+01:00"


def raised(since: str = "") -> kinds.TroubleRaised:
    return kinds.TroubleRaised(
        trouble="held", line="XOFF for 60 s", words={"en": "Held."}, do={"en": "Ask."}, since=since
    )


def troubles(folder, **values):
    with Index.open(folder) as index:
        return index.rows(TroubleRow, **values)


def test_a_trouble_that_is_over_in_the_next_recording_is_over_and_is_still_one(tmp_path):
    write(tmp_path / "a.exhibit", (60, raised()))
    over = kinds.TroubleOver(raised=2, by="docent 1", how="switched on again")
    write(tmp_path / "b.exhibit", (1, raised("2026-11-25T09:01:00+01:00")), (30, over), wall=NEXT_DAY)
    (one,) = troubles(tmp_path)
    assert one.recording == "a.exhibit"
    assert (one.over_at[:19], one.over_how) == ("2026-11-26T09:00:30", "switched on again")
    assert troubles(tmp_path, over_at="") == []


def test_what_another_machine_carries_over_is_its_own(tmp_path):
    write(tmp_path / "a.exhibit", (60, raised()))
    over = kinds.TroubleOver(raised=2, by="docent 1")
    write(
        tmp_path / "b.exhibit",
        (1, raised("2026-11-25T09:01:00+01:00")),
        (30, over),
        wall=NEXT_DAY,
        machine_is="real",
    )
    assert [one.over_at for one in troubles(tmp_path)] == [""]


def test_a_trouble_raised_after_the_carried_one_was_over_is_another(tmp_path):
    write(tmp_path / "a.exhibit", (60, raised()))
    over = kinds.TroubleOver(raised=2, by="docent 1")
    write(
        tmp_path / "b.exhibit",
        (1, raised("2026-11-25T09:01:00+01:00")),
        (30, over),
        (40, raised()),
        wall=NEXT_DAY,
    )
    assert [bool(one.over_at) for one in troubles(tmp_path)] == [True, False]
