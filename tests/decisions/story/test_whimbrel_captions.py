"""The Whimbrel's captions stay true whatever its console says."""

from __future__ import annotations

from pathlib import Path

import pytest

from exhibit.decisions.story.story import Story
from exhibit.facts import kinds
from exhibit.folder.whole import read_folder

FOLDER = read_folder(Path(__file__).parents[3] / "scripts" / "whimbrel")
DRIVES_UPPER_WRITABLE = (
    "SMALL  READY     STARTER 5  MAY BE WRITTEN",
    "UPPER  READY     SALLOW 1   MAY BE WRITTEN",
    "LOWER  READY     SALLOW 2   MAY BE WRITTEN",
)
DRIVES = (DRIVES_UPPER_WRITABLE[0], "UPPER  READY     SALLOW 1   PROTECTED", DRIVES_UPPER_WRITABLE[2])
MENDED = "25.11.1998 09.40 LOWER TRACK 17 SECTOR 3 READ FAILED 2 TIMES, MENDED"
LOST = "25.11.1998 09.40 LOWER TRACK 17 SECTOR 3 READ FAILED 4 TIMES, LOST"


def captions_for(*lines: str) -> list[kinds.CaptionShown]:
    """The captions that these printed lines bring, in order."""
    story = Story(FOLDER)
    shown: list[kinds.CaptionShown] = []
    for seq, line in enumerate(lines, 1):
        for known in FOLDER.machine.lines:
            fields = known.pattern.match(line)
            if fields is not None:
                seen = kinds.PatternSeen(pattern=known.name, line=line, fields=fields)
                shown += story.note(kinds.Entry(seq, seq * 1000, seen))
    return shown


def test_nothing_is_claimed_of_the_upper_drive_while_its_pack_may_be_written():
    assert [c.part for c in captions_for(*DRIVES_UPPER_WRITABLE) if c.part == "upper-drive"] == []


def test_the_upper_drive_is_said_to_be_protected_when_its_own_line_says_so():
    (caption,) = (c for c in captions_for(*DRIVES) if c.part == "upper-drive")
    (line,) = captions_for(DRIVES[1])
    assert caption.words == line.words


def test_a_fault_that_was_mended_and_one_that_was_not_have_captions_of_their_own():
    (mended,), (lost,) = captions_for(MENDED), captions_for(LOST)
    assert mended.caption != lost.caption
    for tag in ("en", "de"):
        assert mended.words[tag] != lost.words[tag]
        assert "LOWER" in lost.words[tag]
        assert "17" in lost.words[tag]


@pytest.mark.parametrize(
    "line", ["DESK TIDES LEFT AT 09.12. 1 JOBS GO ON", "DESK TIDES TAKEN AT 09.12. 1 JOBS HERE"]
)
def test_a_single_job_is_never_called_jobs(line: str):
    (caption,) = captions_for(line)
    assert "1 job" not in caption.words["en"]
    assert "1 Auftr" not in caption.words["de"]
