"""docs/recording-format.md says all that is needed to read a recording, and what it says is so."""

import json
import random
import re
import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path

import msgspec
import pytest

from exhibit.facts import codec
from exhibit.facts.kinds import ALL_KINDS, UnknownFact
from exhibit.records.keeping.mending import mend
from exhibit.streams.compressed.names import is_recordings_name
from exhibit.streams.compressed.zstandard_library import zstd
from exhibit.streams.recording import Damaged, read, read_all
from exhibit.web.places import recordings_folder
from tests.recordings.format_page import PAGE, with_list
from tests.recordings.one_of_each import lines
from tests.streams.samples import a_recording

TEXT = PAGE.read_text()
SAMPLES = [
    path
    for folder in (recordings_folder(), Path(__file__).resolve().parent)
    for path in sorted(folder.iterdir())
    if is_recordings_name(path.name)
]
"""Those that travel with the package, and those of each format that there was."""


def blocks(language: str = "") -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", TEXT, re.DOTALL | re.MULTILINE)


@pytest.fixture
def reader():
    """The page's own program, as somebody would type it in."""
    (program,) = blocks("python")
    names = {}
    exec(compile(program, "the page", "exec"), names)
    return names["facts"]


def test_the_list_of_facts_is_that_of_todays_code():
    assert with_list(TEXT) == TEXT, "run: python -m tests.recordings.format_page"
    assert [name for name in ALL_KINDS if f"\n### `{name}`\n" not in TEXT] == []


def keys_of(name: str) -> Counter[str]:
    """The keys of this kind of fact and of each object in it."""
    objects = msgspec.json.schema(ALL_KINDS[name])["$defs"].values()
    return Counter(key for each in objects for key in each["properties"] if key != "fact")


@pytest.mark.parametrize("name", ALL_KINDS)
def test_every_key_is_in_the_list_however_deep_it_lies(name):
    section = re.search(rf"^### `{name}`\n(.*?)^(?:### |<!-- )", TEXT, re.DOTALL | re.MULTILINE)[1]
    assert keys_of(name) - Counter(re.findall(r"^ *- `(\w+)`:", section, re.MULTILINE)) == Counter()


def test_it_says_of_each_time_whether_it_is_a_moment_or_a_length():
    times = {key for name in ALL_KINDS for key in keys_of(name) if key.endswith("_us")}
    said = TEXT[TEXT.index("Keys that end in `_us`") : TEXT.index("<!-- facts")]
    assert times - set(re.findall(r"`(\w+)`", said)) == set()


def test_the_format_number_is_todays():
    assert f"This page describes format **{codec.FORMAT}**." in TEXT


def test_its_program_reads_what_this_software_wrote(reader, tmp_path):
    path = tmp_path / "sample"
    path.write_bytes(lines())
    plain = list(reader(path))
    assert plain == [json.loads(line) for line in lines().splitlines()]
    assert len(plain) == len(read_all(path).entries)


def test_its_program_finds_the_same_damage(reader, tmp_path):
    path = a_recording(tmp_path, 12)
    kept = path.read_bytes()
    for at in range(kept.index(b"\n") - 40, len(kept)):
        changed = bytearray(kept)
        changed[at] ^= 1 << (at % 8)
        path.write_bytes(changed)
        found = [fact["seq"] if fact else None for fact in reader(path)]
        expected = [None if isinstance(item, Damaged) else item.seq for item in read(path)]
        # The software takes damaged lines that stand together for one damage.
        assert [seq for seq, after in pairwise([*found, 0]) if seq or after is not None] == expected, at


def test_its_program_reads_up_to_a_torn_line(reader, tmp_path):
    path = a_recording(tmp_path, 12)
    kept = path.read_bytes()
    for size_bytes in range(len(kept) - 200, len(kept)):
        path.write_bytes(kept[:size_bytes])
        whole = [fact["seq"] for fact in reader(path) if fact]
        assert whole == [entry.seq for entry in read_all(path).entries]


def as_read_by_exhibit(path):
    """The same as the page's program should give: the facts as JSON, and None for each damaged place."""
    found = []
    for item in read(path):
        if not isinstance(item, Damaged):
            plain = msgspec.to_builtins(item.fact)
            raw = json.loads(item.fact.raw) if isinstance(item.fact, UnknownFact) else plain
            found.append({"seq": item.seq, "at_us": item.at_us, **raw})
        elif not item.mended:
            found.append(None)
    return found


def as_read_by_the_page(reader, path):
    """Damaged lines that stand together are one damage to exhibit. Keys with their defaults are left out."""
    found = list(reader(path))
    return [fact for fact, after in pairwise([*found, 0]) if fact or after is not None]


def same(ours, theirs) -> bool:
    """Whether they are the same facts: the file leaves out nothing, and may have keys of another version."""
    return len(ours) == len(theirs) and all(
        (one is None) == (other is None)
        and (one is None or {key: one[key] for key in other if key in one} == without_crc(other))
        for one, other in zip(ours, theirs, strict=True)
    )


def without_crc(fact):
    return {key: value for key, value in fact.items() if key != "crc"}


def test_its_program_is_short_enough_to_be_written_in_an_evening():
    (program,) = blocks("python")
    assert len(program.splitlines()) <= 60


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_its_program_reads_every_sample_as_exhibit_does(reader, path, tmp_path):
    """Compressed ones once `zstd -d` has unpacked them."""
    plain = tmp_path / "plain"
    content = path.read_bytes()
    plain.write_bytes(zstd.decompress(content) if path.suffix == ".zst" else content)
    ours = as_read_by_exhibit(path)
    assert len(ours) > 50
    assert same(ours, as_read_by_the_page(reader, plain))


def test_its_program_reads_damage_of_every_kind_as_exhibit_does(reader, tmp_path):
    chance, path = random.Random(1971), a_recording(tmp_path, 60)
    kept = path.read_bytes().splitlines(keepends=True)
    for _ in range(400):
        lines = list(kept)
        for _ in range(chance.choice([1, 1, 2, 4])):
            at, other = chance.randrange(1, len(lines)), chance.randrange(1, len(lines))
            match chance.randrange(6):
                case 0:
                    lines[at], lines[other] = lines[other], lines[at]
                case 1:
                    del lines[at : at + chance.choice([1, 2, 9])]
                case 2:
                    lines[at:at] = lines[other : other + 3]
                case 3:
                    lines[at] = bytes(len(lines[at]))
                case 4:
                    lines[at] = lines[at][: chance.randrange(len(lines[at]))]
                case 5:
                    line = bytearray(lines[at])
                    if line:
                        line[chance.randrange(len(line))] ^= 1 << chance.randrange(8)
                    lines[at] = bytes(line)
            if len(lines) < 10:
                break
        path.write_bytes(b"".join(lines))
        assert same(as_read_by_exhibit(path), as_read_by_the_page(reader, path))


def test_its_program_reads_a_mended_recording_and_says_that_facts_are_missing(reader, tmp_path):
    path = a_recording(tmp_path, 40)
    lines = path.read_bytes().splitlines(keepends=True)
    path.write_bytes(b"".join(lines[:10] + lines[14:]))
    mended = mend(path).to
    theirs = as_read_by_the_page(reader, mended)
    assert None not in theirs
    assert same(as_read_by_exhibit(mended), theirs)


def test_its_program_prints_the_time_of_each_fact(tmp_path):
    (program,) = blocks("python")
    (tmp_path / "reader.py").write_text(program)
    path = a_recording(tmp_path, 12)
    said = subprocess.run(
        [sys.executable, tmp_path / "reader.py", path], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert len(said) == 14
    began = "2026-11-25 09:30:00.040000+01:00 bytes_received {'bytes': b'HIGH WATER 000001 "
    assert said[1].startswith(began)


def test_its_example_lines_are_true():
    first, *others = next(block for block in blocks() if '"recording_opened"' in block).splitlines()
    crc = codec.stored_crc(first.encode() + b"\n")
    assert others
    for text in others:
        line = text.encode() + b"\n"
        assert not isinstance(codec.decode_line(line, crc, codec.FORMAT).fact, UnknownFact)
        crc = codec.stored_crc(line)


def test_its_worked_checksum_is_true():
    line = next(block for block in blocks() if '"heartbeat"' in block).encode()
    assert codec.is_whole(line, codec.FIRST_CRC)
    quoted = line[: line.rindex(b',"crc":')].decode()
    assert f"`00000000{quoted}`" in TEXT


def test_the_first_line_tells_the_same_in_a_few_sentences():
    for word in ("RFC 8259", "UTF-8", "ISO/IEC 8859-1", "RFC 1952", "cbf43926", "00000000"):
        assert word in codec.HOW_TO_READ
        assert word in TEXT
