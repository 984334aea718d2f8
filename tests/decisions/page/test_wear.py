"""The page knows how long each part has run, and why the machine rests."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from exhibit.decisions.page.views import View
from exhibit.decisions.wear.use import Use
from exhibit.facts import kinds
from exhibit.facts.use_before import PartUse, UseBefore
from tests.decisions.heron import S, opened

H = 3600 * S
NINE = "2026-11-25T09:00:00+00:00"


def items(*facts: tuple[int, kinds.AnyFact], before: UseBefore | None = None) -> dict[str, Any]:
    view = View()
    view.apply(kinds.Entry(1, 0, opened(wall=NINE, use_before=before)))
    for seq, (at_us, fact) in enumerate(facts, start=2):
        view.apply(kinds.Entry(seq, at_us, fact))
    found = view.batch(0)["items"]
    assert isinstance(found, dict)
    return found


def shown(found: dict[str, Any]) -> dict[str, tuple[float, str]]:
    """What visitors are told of each part: its hours, and since when it runs."""
    return {part: (told["hours"], told["since"]) for part, told in found["hours"].items()}


def ran(hours: float, *, running: bool = False, until: str = NINE) -> UseBefore:
    use = PartUse(run_us=round(hours * H), starts=1, running_since=["the machine"] if running else [])
    return UseBefore(at=until, parts={"left": use})


STARTED = kinds.PartStarted(part="left", by="left-ready")
STOPPED = kinds.PartStopped(part="left", by="left-stopped")


def test_a_part_of_which_nothing_was_recorded_has_no_hours():
    assert items()["hours"] == {}


def test_what_it_ran_in_this_recording_comes_to_what_it_had_run_before():
    found = items((H, STARTED), (3 * H, STOPPED), (4 * H, STARTED), before=ran(100.5))
    assert shown(found) == {"left": (102.5, "2026-11-25T13:00:00.000+00:00")}


def test_a_start_told_twice_is_one_and_a_stop_of_what_stands_is_none():
    found = items((0, STARTED), (H, kinds.PartStarted(part="left", by="opening.x")), (2 * H, STOPPED),
                  (3 * H, STOPPED))  # fmt: skip
    assert shown(found) == {"left": (2.0, "")}


@pytest.mark.parametrize(("until", "since"), [
    ("2026-11-25T08:00:00+00:00", "2026-11-25T09:00:00.000+00:00"),
    ("2026-11-25T07:59:59+00:00", ""),
])  # fmt: skip
def test_what_ran_when_the_last_recording_ended_runs_still_if_that_is_not_long_ago(until, since):
    assert shown(items(before=ran(5, running=True, until=until))) == {"left": (5.0, since)}


@pytest.mark.parametrize("began", [(H, STARTED), (H, kinds.PartStarted(part="left", by="opening.start"))])
def test_a_part_runs_since_it_was_started_though_a_recording_began_since(began):
    """The bridge was killed at 14:00, and begun again half an hour later."""
    use = Use(opened(wall=NINE, use_before=ran(5)))
    use.note(*began)
    before, opened_again = use.before(5 * H), opened(wall="2026-11-25T14:30:00+00:00")
    again = View()
    again.apply(kinds.Entry(1, 0, msgspec.structs.replace(opened_again, use_before=before)))
    assert shown(again.batch(0)["items"]) == {"left": (5.0, "2026-11-25T10:00:00+00:00")}
    again.apply(kinds.Entry(2, H, STOPPED))
    assert shown(again.batch(0)["items"]) == {"left": (10.0, "")}  # of half an hour nothing is recorded


def refused(until_us: int = 0) -> kinds.ScriptRefused:
    return kinds.ScriptRefused(script="round", limit="exercise in an hour", why="enough", until_us=until_us)


def test_why_it_rests_is_known_until_a_script_starts():
    found = items((S, refused(H)), (S, kinds.SessionResting(until_us=H)))
    assert found["refused"]["limit"] == "exercise in an hour"
    assert found["refused"]["until"] == found["session"]["until"] == "2026-11-25T10:00:00.000+00:00"
    started = kinds.ScriptStarted(script="round", title={}, by="", round=2)
    assert items((S, refused()), (2 * S, started))["refused"] is None


def test_a_pack_that_is_out_is_shown_no_more():
    mounted = kinds.PackMounted(label="REEDS 1", drive="left", may_be_written=True, by="1")
    assert list(items((S, mounted))["packs"]) == ["left"]
    assert items((S, mounted), (H, kinds.PackRemoved(label="REEDS 1", drive="left", by="1")))["packs"] == {}


def test_what_ran_before_counts_though_nobody_can_tell_when_that_was() -> None:
    found = items(before=ran(2.5, running=True, until="no date at all"))
    assert found["hours"] == {"left": {"hours": 2.5, "since": ""}}
