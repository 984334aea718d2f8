"""The opening ends with the panel locked, nothing is opened while it turns, and each caution says who may."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.folder.files import read_files
from exhibit.folder.whole import examine, folder_from

WHIMBREL = read_files(Path("scripts/whimbrel"))
OUT = b"""
[[step]]
name = "take-it-out"
pack_out = "sallow-2"
words = "pack-in-lower"
caution = "packs"
within = "10 min"
"""
LOCKED = b'leaves = "panel locked"\n'
AT_REST = b'leaves = "discs at rest"\n'


def found(name: str, old: bytes, new: bytes) -> list[tuple[bool, str]]:
    assert old in WHIMBREL[name]
    files = {**WHIMBREL, name: WHIMBREL[name].replace(old, new)}
    files.pop("simulated-docent.toml")
    return [(one.is_advice, one.what) for one in examine(files).mistakes]


def test_the_demonstration_ends_its_opening_with_the_panel_locked():
    assert found("opening.toml", LOCKED, LOCKED) == []


def test_an_opening_that_leaves_the_panel_open_gets_advice():
    assert found("opening.toml", LOCKED, b"") == [
        (True, "the opening doesn't end with a person who locks the panel and takes the key")
    ]


def test_nothing_is_done_by_hand_once_the_key_is_taken():
    earlier = found("opening.toml", b'caution = "switches"\n', b'caution = "switches"\n' + LOCKED)
    assert len(earlier) == 1
    assert earlier[0][0] is False
    assert "still has people work by hand" in earlier[0][1]


def test_a_drive_is_opened_in_the_closing_only_after_the_full_stop():
    assert found("closing.toml", AT_REST, AT_REST + OUT) == []
    what = "the closing has a drive opened before anybody has seen that it stands still"
    assert (False, what) in found("closing.toml", AT_REST, OUT)
    too_early = b'[[step]]\nname = "turn-the-key-off"'
    assert (False, what) in found("closing.toml", too_early, OUT + too_early)


def test_a_closing_in_which_nobody_looks_whether_all_stands_still_gets_advice():
    assert found("closing.toml", AT_REST, b"") == [
        (True, "nobody has to see in the closing that every disc stands still")
    ]


def test_an_unknown_state_is_a_mistake():
    assert [what for _, what in found("opening.toml", b'"panel locked"', b'"panel lokced"')][0].startswith(
        "leaves can't be"
    )


# -- who may


@pytest.mark.parametrize("name", ["mains", "spinning", "packs", "switches", "signal-plug"])
def test_each_caution_needs_to_say_who_may(name):
    lines = WHIMBREL["machine.toml"].split(b"[who_may]\n")[1].split(b"\n\n")[0].split(b"\n")
    line = next(line for line in lines if line.startswith(f"{name} =".encode()))
    assert found("machine.toml", line + b"\n", b"") == [
        (False, f'nobody has said who may do what the caution "{name}" stands before')
    ]


def test_who_may_of_no_caution_is_a_mistake():
    assert [what for _, what in found("machine.toml", b'mains = "docent"', b'mians = "docent"')][
        0
    ].startswith('no caution is named "mians"')


def test_people_read_it_with_the_caution_in_their_language():
    folder = folder_from(WHIMBREL, "whimbrel")
    steps = {step.name: step for step in folder.scripts["opening"].steps}
    assert steps["turn-the-key"].caution["en"].endswith(" Who may: a docent.")
    assert steps["pack-in-upper"].caution["de"].endswith(" Wer darf das: nur wer es gezeigt bekommen hat.")
    for trouble in folder.machine.troubles:
        assert not trouble.caution or "Who may" in trouble.caution["en"]
    for exerciser in folder.exercisers.values():
        assert "Who may" in exerciser.caution["en"]


def test_a_caution_that_stands_in_its_step_is_for_a_docent_and_one_about_a_pack_is_not():
    heron = folder_from(read_files(Path("scripts/heron")), "heron")
    assert heron.scripts["opening"].steps[0].caution["en"].endswith("Who may: a docent.")
