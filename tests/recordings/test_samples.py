"""Every recording that is kept reads to its end, undamaged, with every fact known."""

from pathlib import Path

import pytest

from exhibit.facts.codec import FIRST_CRC, FORMAT, encode_line
from exhibit.facts.kinds import ALL_KINDS, RecordingOpened, UnknownFact
from exhibit.streams.recording import read_all, read_opened
from tests.recordings.one_of_each import facts, lines

ROOT = Path(__file__).resolve().parents[2]
KEPT = Path(__file__).resolve().parent
SAMPLES = sorted([*KEPT.glob("*.exhibit"), *(ROOT / "recordings").rglob("*.exhibit")])


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_it_reads_to_its_end(path):
    read = read_all(path)
    assert read.damages == []
    assert read.end.offset_bytes == path.stat().st_size
    assert [entry.fact for entry in read.entries if isinstance(entry.fact, UnknownFact)] == []
    assert isinstance(read.entries[0].fact, RecordingOpened)


def test_there_is_a_sample_of_every_format_up_to_this_one():
    assert [read_opened(path).format for path in sorted(KEPT.glob("format-*.exhibit"))] == list(
        range(1, FORMAT + 1)
    )


def test_the_sample_of_this_format_has_a_fact_of_every_kind():
    read = read_all(KEPT / f"format-{FORMAT}.exhibit")
    assert {type(entry.fact) for entry in read.entries} == set(ALL_KINDS.values())


def test_this_version_reads_and_writes_just_what_the_kept_sample_says():
    path = KEPT / f"format-{FORMAT}.exhibit"
    assert [entry.fact for entry in read_all(path).entries] == facts()
    assert path.read_bytes() == lines()


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_written_again_it_is_the_same_to_the_byte(path):
    if read_opened(path).format != FORMAT:
        pytest.skip("a recording of an older format is not written again")
    crc, written = FIRST_CRC, b""
    for entry in read_all(path).entries:
        line, crc = encode_line(entry, crc)
        written += line
    assert written == path.read_bytes()
