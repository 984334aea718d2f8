"""What the last run left unfinished is read from its recording, even if that wasn't closed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest

from exhibit.decisions.session.left_open import NOTHING
from exhibit.facts import kinds
from exhibit.streams.last_recording import left_open_by_last, this_boot
from exhibit.streams.recording import RecordingWriter
from tests.decisions.heron import command, folder, machine, opened, script

BOOT = "one run of the computer"
IS = opened().machine_is
WORK = folder(script("round", command("begin", "begin shuttle", "begun")))
HALF = [kinds.BytesTyped(bytes=one, count=1, by="script round") for one in "BEG"]


def recorded(place: Path, *facts: kinds.AnyFact, close: bool = False, **opened_as: Any) -> Path:
    """A recording with these facts; not closed, as that of a killed bridge isn't."""
    writer = RecordingWriter(place, opened(**{"boot": BOOT} | opened_as))
    for number, fact in enumerate(facts):
        writer.append(fact, number)
    if close:
        writer.close("told to", 99)
    writer.abandon()
    return writer.path


def test_a_machine_without_recordings_has_nothing_open(tmp_path: Path):
    assert left_open_by_last(tmp_path / "not there", WORK, BOOT, IS) == NOTHING
    recorded(tmp_path, *HALF, machine=machine(name="another"))
    assert left_open_by_last(tmp_path, WORK, BOOT, IS) == NOTHING


def test_half_a_command_in_a_recording_that_was_not_closed_is_found(tmp_path: Path):
    path = recorded(tmp_path, *HALF)
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.recording, left.half_typed, left.closed) == (path.name, "BEG", False)


def test_an_incomplete_last_line_and_a_damaged_one_are_skipped(tmp_path: Path):
    path = recorded(tmp_path, *HALF)
    lines = path.read_bytes().split(b"\n")
    lines[2] = b"x" + lines[2][1:]
    path.write_bytes(b"\n".join(lines) + b'{"seq": 5, "at_us"')
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.half_typed, left.closed) == ("BG", False)


def test_a_recording_that_was_closed_is_reported_as_closed(tmp_path: Path):
    recorded(tmp_path, close=True)
    assert left_open_by_last(tmp_path, WORK, BOOT, IS).closed


def test_real_and_simulated_machines_are_kept_apart(tmp_path: Path):
    path = recorded(tmp_path, *HALF, machine_is="real")
    later = "2026-11-25T10:00:00+00:00"
    practised = recorded(tmp_path, HALF[0], close=True, machine_is="simulated", wall=later)
    real, simulated = (left_open_by_last(tmp_path, WORK, BOOT, kind) for kind in ("real", "simulated"))
    assert (real.recording, real.half_typed, real.closed) == (path.name, "BEG", False)
    assert (simulated.recording, simulated.half_typed, simulated.closed) == (practised.name, "B", True)


def test_a_day_of_only_watching_in_between_is_skipped(tmp_path: Path):
    path = recorded(tmp_path, *HALF)
    recorded(tmp_path, close=True, typing="nothing", wall="2026-11-25T10:00:00+00:00")
    assert left_open_by_last(tmp_path, WORK, BOOT, IS).recording == path.name


def test_the_newest_counts_and_carries_what_the_one_before_it_left(tmp_path: Path):
    recorded(tmp_path, *HALF)
    first = left_open_by_last(tmp_path, WORK, BOOT, IS)
    recorded(tmp_path, first, close=True, wall="2026-11-25T10:00:00+00:00")
    second = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert second.half_typed == "BEG"
    assert second.closed


@pytest.mark.parametrize(
    ("boot_then", "boot_now", "close", "may_lack"),
    [
        (BOOT, BOOT, False, False),  # killed: all that was written is in the file
        (BOOT, "another", False, True),  # the computer has lost its power: synced once a second
        (BOOT, "another", True, False),
        ("", BOOT, False, True),
        (BOOT, "", False, True),
        ("", "", False, True),
    ],
)
def test_the_last_second_may_be_missing_if_the_computer_was_restarted(
    tmp_path, boot_then, boot_now, close, may_lack
):
    recorded(tmp_path, close=close, boot=boot_then)
    assert left_open_by_last(tmp_path, WORK, boot_now, IS).may_lack is may_lack


def test_this_run_of_the_computer_has_one_name():
    assert this_boot() == this_boot() != ""


BY_HAND = kinds.TypedByHand(bytes="WI", count=2)
LATER = "2026-11-25T10:00:00+00:00"


def test_half_a_line_that_a_person_typed_since_is_found(tmp_path: Path):
    path = recorded(tmp_path, close=True)
    recorded(tmp_path, BY_HAND, close=True, typing="nothing", wall=LATER)
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.recording, left.half_typed, left.closed) == (path.name, "WI", True)


def test_it_is_found_even_if_no_script_ever_ran(tmp_path: Path):
    path = recorded(tmp_path, BY_HAND, close=True, typing="nothing")
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.recording, left.half_typed, left.closed, left.may_lack) == (path.name, "WI", True, False)


def test_typing_in_a_recording_that_lost_its_end_with_the_power_may_have_gone_on(tmp_path: Path):
    recorded(tmp_path, close=True)
    recorded(tmp_path, BY_HAND, typing="nothing", wall=LATER)
    assert not left_open_by_last(tmp_path, WORK, BOOT, IS).may_lack
    assert left_open_by_last(tmp_path, WORK, "another run of the computer", IS).may_lack


def test_a_run_of_scripts_after_it_counts_alone(tmp_path: Path):
    recorded(tmp_path, BY_HAND, close=True, typing="nothing")
    recorded(tmp_path, close=True, wall=LATER)
    assert left_open_by_last(tmp_path, WORK, BOOT, IS).half_typed == ""


MIDNIGHT = msgspec.structs.replace(NOTHING, recording="the day before", half_typed="WI")


def test_half_a_line_typed_before_midnight_is_found_though_nothing_was_typed_since(tmp_path: Path):
    recorded(tmp_path, close=True)
    recorded(tmp_path, MIDNIGHT, close=True, typing="nothing", wall=LATER)
    assert left_open_by_last(tmp_path, WORK, BOOT, IS).half_typed == "WI"


def test_what_a_person_typed_before_midnight_follows_what_a_run_had_half_typed(tmp_path: Path):
    recorded(tmp_path, *HALF)
    before = recorded(tmp_path, BY_HAND, close=True, typing="nothing", wall=LATER)
    midnight = msgspec.structs.replace(MIDNIGHT, recording=before.name)
    recorded(tmp_path, midnight, close=True, typing="nothing", wall="2026-11-26T00:00:00+00:00")
    assert left_open_by_last(tmp_path, WORK, BOOT, IS).half_typed == "BEGWI"


def test_half_a_line_is_found_though_the_machine_was_watched_again_since(tmp_path: Path):
    path = recorded(tmp_path, close=True)
    recorded(tmp_path, BY_HAND, close=True, typing="nothing", wall=LATER)
    recorded(tmp_path, close=True, typing="nothing", wall="2026-11-25T11:00:00+00:00")
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.recording, left.half_typed, left.closed) == (path.name, "WI", True)


def test_what_was_typed_in_several_watched_recordings_is_put_together(tmp_path: Path):
    recorded(tmp_path, BY_HAND, typing="nothing")
    more = kinds.TypedByHand(bytes="PE", count=2)
    last = recorded(tmp_path, more, close=True, typing="nothing", wall=LATER)
    left = left_open_by_last(tmp_path, WORK, BOOT, IS)
    assert (left.recording, left.half_typed, left.closed, left.may_lack) == (last.name, "WIPE", True, False)
    assert left_open_by_last(tmp_path, WORK, "another run of the computer", IS).may_lack
