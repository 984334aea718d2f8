"""docs/recording-format.md says all that is needed to read a recording, and what it says is so."""

import json
import re
from collections import Counter
from itertools import pairwise

import msgspec
import pytest

from exhibit.facts import codec
from exhibit.facts.kinds import ALL_KINDS, UnknownFact
from exhibit.streams.recording import Damaged, read, read_all
from tests.recordings.format_page import PAGE, with_list
from tests.recordings.one_of_each import lines
from tests.streams.samples import a_recording

TEXT = PAGE.read_text()


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
