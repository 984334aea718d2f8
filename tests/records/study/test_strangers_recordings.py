"""A recording that was damaged or tampered with is shown as far as it is whole, or refused in sentences."""

from __future__ import annotations

import random
import time
from pathlib import Path

import msgspec
import pytest

from exhibit.facts import codec, kinds
from exhibit.facts.errors import RecordingFault
from exhibit.records.study.studied import Studied
from tests.sampling import sample
from tests.streams.samples import an_opening

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"
CASES = 200
LONGEST_S = 20.0
"""For one recording; it takes well under a second, and only a hang takes longer."""


def spoilt(whole: bytes, chance: random.Random) -> bytes:
    """The sample with one thing after another done to it."""
    lines = whole.splitlines(keepends=True)
    content = bytearray(whole)
    for _ in range(chance.randrange(1, 6)):
        place = chance.randrange(len(content))
        length = chance.randrange(1, 4000)
        match chance.randrange(7):
            case 0:
                content[place] ^= 1 << chance.randrange(8)
            case 1:
                del content[place : place + length]
            case 2:
                content[place:place] = content[place : place + length]
            case 3:
                content[place : place + length] = bytes(length)
            case 4:
                content[place:place] = lines[chance.randrange(len(lines))]
            case 5:
                content[place:place] = b"\n" * length
            case 6:
                content[place:place] = b"x" * length * 50
    return bytes(content)


@pytest.mark.trial(name="records-page")
def test_whatever_was_done_to_it_it_is_shown_or_refused_and_never_hangs(tmp_path: Path) -> None:
    whole = SAMPLE.read_bytes()
    for case in sample(list(range(CASES)), 12):
        chance = random.Random(case)
        path = tmp_path / f"{case}.exhibit"
        path.write_bytes(spoilt(whole, chance))
        began_s = time.monotonic()
        try:
            studied = Studied(path, tmp_path / "cache")
        except RecordingFault:
            continue
        try:
            line = msgspec.json.decode(studied.line())
            studied.start()
            for _ in range(5):
                end_seq, end_us = max(1, line["end_seq"]), line["end_us"]
                studied.moment(seq=chance.randrange(1, end_seq + 1), at_us=None)
                studied.moment(seq=None, at_us=chance.randrange(end_us + 1))
            list(studied.of_kind("step"))
        except RecordingFault:
            pass
        finally:
            studied.close()
        assert time.monotonic() - began_s < LONGEST_S, case


def test_a_stranger_s_thousands_of_marks_and_names_are_bounded(tmp_path: Path) -> None:
    lines, crc = [], codec.FIRST_CRC
    opened = msgspec.structs.replace(an_opening(), format=codec.FORMAT)
    facts: list[kinds.AnyFact | kinds.UnknownFact] = [opened]
    facts += [kinds.UnknownFact(name=f"kind_{n}", raw="{}") for n in range(2000)]
    facts += [kinds.TroubleRaised(trouble="x" * 9000, line="y" * 9000, words={}, do={}) for _ in range(300)]
    for seq, fact in enumerate(facts, 1):
        line, crc = codec.encode_line(kinds.Entry(seq, seq, fact), crc)
        lines.append(line)
    path = tmp_path / "many.exhibit"
    path.write_bytes(b"".join(lines))
    studied = Studied(path, tmp_path / "cache")
    answer = msgspec.json.decode(studied.line())
    assert len(answer["marks"]["troubles"]) == 300
    assert len(studied.line()) < 4_000_000
    assert len(studied.moment(seq=len(facts), at_us=None)) < 4_000_000
    studied.close()
