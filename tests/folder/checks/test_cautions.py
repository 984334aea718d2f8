"""Where words send people to a drive, what to take care of comes first: with a trouble, and to stop a job."""

from __future__ import annotations

import datetime
import shutil

import pytest

from exhibit.folder.report.findings import Checked
from exhibit.folder.whole import folder_from
from tests.folder.folder_writing import FILES, ROOT, mistakes_in
from tests.folder.reading.visitors.heron_at_work import HERON

pytestmark = pytest.mark.pure
TODAY = datetime.date(2026, 11, 25)


def machine_toml(old: str, new: str) -> dict[str, bytes]:
    text = FILES["machine.toml"].decode()
    assert old in text
    return {**FILES, "machine.toml": text.replace(old, new).encode()}


def test_a_trouble_and_stopping_by_hand_have_the_words_of_their_caution():
    folder = folder_from(FILES, "whimbrel")
    of = {trouble.name: trouble.caution for trouble in folder.machine.troubles}
    assert "only when the drive has stopped" in of["upper-could-be-written"]["en"]
    assert of["wrong-word"] == {}
    assert "signal plug" in folder.exercisers["sums"].caution["en"]
    assert set(folder.exercisers["sums"].caution) == {"en", "de"}


def test_a_caution_that_no_language_has_is_a_mistake():
    found = mistakes_in(machine_toml('caution = "packs"', 'caution = "pakcs"'))
    assert {(one.what, one.write_instead) for one in found} == {
        ('no language has words for "pakcs" in [cautions]', 'caution = "packs"')
    }


def test_in_a_folder_of_one_language_the_words_can_stand_beside_the_trouble():
    machine = HERON["machine.toml"].decode()
    beside = machine.replace('do = "Leave it', 'caution = "Mains inside."\ndo = "Leave it')
    (trouble,) = folder_from({**HERON, "machine.toml": beside.encode()}, "heron").machine.troubles
    assert trouble.caution == {"en": "Mains inside. Who may: only a volunteer who has been shown this."}


def test_of_a_machine_with_packs_somebody_has_to_decide(tmp_path):
    copy = tmp_path / "whimbrel"
    shutil.copytree(ROOT / "scripts/whimbrel", copy)

    def asked() -> list[str]:
        return [
            one.what for one in Checked(copy, TODAY).advice if "doesn't say what to take care of" in one.what
        ]

    assert asked() == []
    machine = (copy / "machine.toml").read_text("utf-8")
    (copy / "machine.toml").write_text(machine.replace('caution = "none"\n', ""), "utf-8")
    assert len(asked()) == machine.count('caution = "none"')
