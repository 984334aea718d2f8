"""What a bridge needs before it runs the scripts by the day, and whose clock it goes by."""

from __future__ import annotations

import signal
from pathlib import Path

import msgspec
import pytest

from exhibit.bridge import setup as bridge_setup
from exhibit.bridge.scripted import run_scripts
from exhibit.bridge.setup import BridgeOrder
from exhibit.decisions.session.day_programme import ByTheDay
from exhibit.facts import kinds
from exhibit.facts.clock import read_wall
from exhibit.facts.errors import SetUpFault
from exhibit.folder.secret_words import Secrets
from exhibit.line.events import Opened
from exhibit.streams.recording import read_all
from tests.decisions.heron import folder, pause, script

DAY = folder(*(script(name, pause("look")) for name in ("opening", "round", "closing")))
WHOLE = msgspec.structs.replace(DAY, presence_us=1_800_000_000)


def order(place: Path, described) -> BridgeOrder:
    return BridgeOrder(folder=described, line="none", recordings=place, requests=place / "door")


@pytest.mark.parametrize(
    ("described", "what"),
    [
        (DAY, "without a sign that somebody is there"),
        (msgspec.structs.replace(WHOLE, scripts={"round": DAY.scripts["round"]}), "no script opening and no"),
    ],
)
def test_a_day_needs_presence_and_its_three_scripts_before_anything_is_opened(tmp_path, described, what):
    with pytest.raises(SetUpFault) as raised:
        run_scripts(order(tmp_path, described), ByTheDay(), Secrets({}))
    assert what in raised.value.what
    assert [*tmp_path.iterdir()] == []


def test_its_recording_has_the_wall_times_of_the_zone_and_begins_before_the_opening(tmp_path, monkeypatch):
    found = {}
    monkeypatch.setattr(signal, "signal", found.__setitem__)

    class StillLine:
        def stop(self) -> None:
            pass

    def open_line(url, settings, clock_us, deliver, borrower):
        deliver(Opened("a line", clock_us(), 1))
        found[signal.SIGTERM](signal.SIGTERM, None)
        return StillLine()

    monkeypatch.setattr(bridge_setup, "open_line", open_line)
    zoned = msgspec.structs.replace(WHOLE, zone="Asia/Kathmandu")
    assert run_scripts(order(tmp_path, zoned), ByTheDay(), Secrets({})) == 0
    (recording,) = tmp_path.glob("*.exhibit")
    facts = [entry.fact for entry in read_all(recording).entries]
    walls = [fact.wall for fact in facts if isinstance(fact, kinds.RecordingOpened | kinds.Heartbeat)]
    assert len(walls) >= 2
    assert {f"{read_wall(wall).utcoffset()}" for wall in walls} == {"5:45:00"}
    assert [fact.phase for fact in facts if isinstance(fact, kinds.DayTurned)] == ["before opening"]
