"""`exhibit mend` saves what can be read in a new file, and marks the rest; the old file stays as it is."""

from __future__ import annotations

import hashlib
import json
import random
from pathlib import Path

import pytest

from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault, SetUpFault
from exhibit.records.keeping.flipped_bit import flipped_bit
from exhibit.records.keeping.mending import FOLDER, mend
from exhibit.records.keeping.verifying import examine, verify
from exhibit.streams.recording import Damaged, RecordingWriter, read, read_all
from exhibit.streams.recording_files import last_crc
from tests.streams.samples import a_recording, an_opening

COUNT = 40


@pytest.fixture
def path(tmp_path) -> Path:
    return a_recording(tmp_path / "recordings", COUNT)


def mended(path: Path):
    """Mend it, and hold the new file to what every mended one must be."""
    before = path.read_bytes()
    outcome = mend(path)
    assert path.read_bytes() == before
    assert outcome.to == path.parent / FOLDER / path.name
    one = examine(outcome.to)
    assert not one.is_damaged
    verify([outcome.to]).refuse()
    return outcome, read_all(outcome.to)


def lines_of(path: Path) -> list[bytes]:
    return path.read_bytes().splitlines(keepends=True)


def seqs(path: Path) -> list[int]:
    """The numbers of the facts that are really there."""
    return [e.seq for e in read_all(path).entries if not isinstance(e.fact, kinds.FactsMissing)]


def test_a_name_that_is_no_recording_s_is_refused_as_a_folder_s_would_be(path, tmp_path):
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(SetUpFault, match="Name a file with --to, not a folder") as refused:
        mend(path, tmp_path / "saved")
    assert f"{tmp_path / 'saved' / path.name}" in f"{refused.value}"
    assert not (tmp_path / "saved").exists()
    assert mend(path, tmp_path / "saved" / path.name).to.is_file()


def test_lines_that_were_cut_out_are_marked_with_their_numbers_and_times(path):
    lines, whole = lines_of(path), read_all(path).entries
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    outcome, recording = mended(path)
    # Nothing shows that the line after the gap is as it was, since its checksum needs the one before.
    (gap,) = outcome.gaps
    assert (gap.first, gap.last) == (11, 15)
    marks = [e for e in recording.entries if isinstance(e.fact, kinds.FactsMissing)]
    (mark,) = marks
    assert (mark.seq, mark.fact.count, mark.at_us) == (15, 5, whole[9].at_us)
    assert mark.fact.until_us == whole[15].at_us
    assert mark.fact.at_bytes == len(b"".join(lines[:10]))
    assert seqs(outcome.to) == [*range(1, 11), *range(16, COUNT + 3)]
    same = {e.seq: e for e in recording.entries if e.seq != 1}
    assert all(same[e.seq] == e for e in whole if e.seq in same and e.seq not in (1, 15))


def test_whoever_reads_a_mended_recording_is_told_of_the_damage_as_before(path):
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    outcome, _ = mended(path)
    items = list(read(outcome.to))
    (place,) = [n for n, item in enumerate(items) if isinstance(item, Damaged)]
    assert items[place].mended
    assert isinstance(items[place + 1].fact, kinds.FactsMissing)


def test_the_first_line_names_the_damaged_recording_and_keeps_all_that_it_said(path):
    lines = lines_of(path)
    path.write_bytes(b"".join([*lines[:10], b"coffee\n", *lines[10:]]))
    crc = last_crc(path)
    outcome, recording = mended(path)
    opened = recording.entries[0].fact
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert opened.mended == kinds.Mended(file=path.name, digest=digest, last_crc=crc)
    plain = json.loads(lines_of(outcome.to)[0])
    del plain["mended"], plain["crc"]
    before = json.loads(lines[0])
    del before["crc"]
    assert {key: value for key, value in before.items() if key != "mended"} == plain


def test_keys_of_a_later_version_in_the_first_line_are_kept(path):
    lines = lines_of(path)
    body = lines[0][: -codec.TAIL_BYTES] + b',"of_a_later_version":[1]'
    first = body + b',"crc":"00000000"}\n'
    first = first[:-11] + codec.line_crc(first, codec.FIRST_CRC) + b'"}\n'
    path.write_bytes(first + b"".join(lines[2:]))
    outcome = mend(path)
    assert json.loads(lines_of(outcome.to)[0])["of_a_later_version"] == [1]


def test_one_flipped_bit_anywhere_is_put_right(path):
    kept, whole = path.read_bytes(), read_all(path).entries
    first_bytes = len(lines_of(path)[0])
    for at in [*range(0, first_bytes, 211), *range(first_bytes, len(kept), 23)]:
        changed = bytearray(kept)
        changed[at] ^= 1 << (at % 8)
        path.write_bytes(changed)
        outcome, recording = mended(path)
        # Of a last line's own checksum and end, nothing follows that could show what they were.
        torn = len(kept) - 11 <= at < len(kept) - 3 or at == len(kept) - 1
        assert outcome.put_right or torn, at
        if not torn:
            assert outcome.gaps == [], at
            assert recording.entries[1:] == whole[1:], at
        outcome.to.unlink()


def test_where_a_bit_was_flipped_is_found_from_the_checksum_alone(path):
    lines, chance = lines_of(path), random.Random(5)
    for number in range(1, len(lines)):
        crc, line = lines[number - 1][-11:-3], lines[number]
        assert flipped_bit(line, crc) is None
        for _ in range(20):
            at, bit = chance.randrange(len(line) - codec.TAIL_BYTES), chance.randrange(8)
            hit = bytearray(line)
            hit[at] ^= 1 << bit
            found = flipped_bit(bytes(hit), crc)
            assert (found.byte, found.bit, found.line) == (at, bit, line)


def test_two_flipped_bits_are_not_taken_for_one(path):
    lines, chance, taken = lines_of(path), random.Random(6), 0
    line, crc = lines[5], lines[4][-11:-3]
    for _ in range(2000):
        hit = bytearray(line)
        for at in chance.sample(range(len(line) - codec.TAIL_BYTES), 2):
            hit[at] ^= 1 << chance.randrange(8)
        taken += flipped_bit(bytes(hit), crc) is not None
    assert taken == 0


def test_a_swapped_pair_a_double_and_zero_bytes_cost_only_what_was_hit(path):
    lines = lines_of(path)
    swapped = [*lines[:9], lines[10], lines[9], *lines[11:]]
    doubled = [*lines[:9], lines[8], *lines[9:]]
    zeros = [*lines[:9], b"\x00" * len(lines[9]), *lines[10:]]
    for content, lost in (swapped, {10, 11, 12}), (doubled, set()), (zeros, {10, 11}):
        path.write_bytes(b"".join(content))
        outcome, _ = mended(path)
        assert set(range(1, COUNT + 3)) - set(seqs(outcome.to)) <= lost
        outcome.to.unlink()


def test_a_torn_end_is_marked_and_nothing_is_made_up(path):
    kept = path.read_bytes()
    path.write_bytes(kept[:-40])
    outcome, recording = mended(path)
    assert [(gap.first, gap.is_end) for gap in outcome.gaps] == [(COUNT + 2, True)]
    assert isinstance(recording.entries[-1].fact, kinds.FactsMissing)
    assert recording.entries[-1].fact.until_us == 0


def test_the_recording_after_it_still_continues_it(tmp_path, path):
    writer = RecordingWriter(path.parent, an_opening(wall="2026-11-26T09:30:00+01:00"), reserve_bytes=4096)
    writer.close("the test is over", 0)
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    outcome = mend(path)
    path.unlink()
    outcome.to.rename(path)
    checked = verify([path.parent])
    checked.refuse()
    assert "continues the one before it" in checked.lines[1]


def test_a_mended_recording_that_is_damaged_again_is_mended_again(path):
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    first = mend(path)
    again = lines_of(first.to)
    first.to.write_bytes(b"".join(again[:20] + again[23:]))
    outcome, _ = mended(first.to)
    assert counts(outcome.to) == [5, 4]


def counts(path: Path) -> list[int]:
    """How many facts each mark says are missing."""
    facts = [entry.fact for entry in read_all(path).entries]
    return [fact.count for fact in facts if isinstance(fact, kinds.FactsMissing)]


def test_what_is_damaged_just_before_a_mark_has_a_mark_of_its_own(path):
    lines = lines_of(path)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    first = mend(path)
    again = lines_of(first.to)
    again[9] = again[9][:30] + b"?" * 20 + again[9][50:]
    first.to.write_bytes(b"".join(again))
    outcome, _ = mended(first.to)
    assert counts(outcome.to) == [1, 5]
    assert [(gap.first, gap.last) for gap in outcome.gaps] == [(10, 10)]


@pytest.mark.parametrize("after", [0, 5], ids=["at the end", "with facts after it"])
def test_a_mark_that_counts_more_than_is_missing_is_taken_for_damage(path, after):
    """Only something else than this program writes it, after damage, where numbers may be left out."""
    lines = lines_of(path)[: 11 + after]
    entries = read_all(path).entries[: 11 + after]
    entries[10] = kinds.Entry(
        11, entries[9].at_us, kinds.FactsMissing(count=9, why="?", at_bytes=0, length_bytes=0, until_us=0)
    )
    crc = codec.FIRST_CRC
    for place, entry in enumerate(entries):
        lines[place], crc = codec.encode_line(entry, crc)
    lines[9] = lines[9][:30] + b"?" * 20 + lines[9][50:]
    path.write_bytes(b"".join(lines))
    outcome, _ = mended(path)
    assert counts(outcome.to) == [2 if after else 1]
    assert seqs(outcome.to) == [*range(1, 10), *range(12, 12 + after)]


def test_nothing_is_written_over_and_nothing_is_left_behind(path):
    with pytest.raises(SetUpFault, match="in order"):
        mend(path)
    content = path.read_bytes()
    path.write_bytes(content[:-40])
    outcome = mend(path)
    with pytest.raises(SetUpFault, match="exists already"):
        mend(path)
    assert [one.name for one in outcome.to.parent.iterdir()] == [path.name]
    lines = content.splitlines(keepends=True)
    path.write_bytes(b"coffee\n" + b"".join(lines[1:]))
    with pytest.raises(RecordingFault, match="first line"):
        mend(path, path.parent / "other.exhibit")
    assert sorted(one.name for one in path.parent.iterdir()) == ["mended", path.name]


def test_one_that_is_being_written_is_left_alone(tmp_path):
    writer = RecordingWriter(tmp_path, an_opening(), reserve_bytes=4096)
    try:
        with pytest.raises(SetUpFault, match="still being written"):
            mend(writer.path)
    finally:
        writer.abandon()


def with_right_checksums(lines: list[bytes]) -> bytes:
    """These lines as faulty software would have written them."""
    content, crc = b"", codec.FIRST_CRC
    for line in lines:
        crc = codec.line_crc(line, crc)
        content += line[:-11] + crc + b'"}\n'
    return content


def test_what_cannot_be_is_not_saved_although_its_checksum_is_right(path):
    lines = lines_of(path)
    lines[20] = lines[20].replace(b'"bytes":"', b'"bytes":"' + b"x" * 70_000)
    path.write_bytes(with_right_checksums(lines))
    outcome, _ = mended(path)
    assert [(gap.first, gap.last) for gap in outcome.gaps] == [(21, 21)]


def test_numbers_that_were_left_out_after_a_place_that_is_put_right_are_marked(path):
    lines = lines_of(path)
    later = [line.replace(b'{"seq":', b'{"seq":1', 1) for line in lines[21:]]
    content = bytearray(with_right_checksums([*lines[:21], *later]))
    content[len(b"".join(lines[:20])) + 60] ^= 1
    path.write_bytes(content)
    outcome, _ = mended(path)
    assert [(gap.first, gap.last, gap.length_bytes) for gap in outcome.gaps] == [(22, 121, 0)]
