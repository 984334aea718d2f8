"""The quick look through a recording finds what a careful reading finds, and is quick in damage too."""

from __future__ import annotations

import random
from pathlib import Path

import msgspec

from exhibit.facts import codec, kinds
from exhibit.facts.units import MIN_US, S_US
from exhibit.records.study import quick_scan
from exhibit.records.study.quick_scan import busy_spans, read_facts, scan
from exhibit.streams.recording import read_all
from tests.streams.samples import a_recording, an_opening

SAMPLE = Path(__file__).resolve().parents[3] / "recordings" / "whimbrel-one-round.exhibit"
LEFT_OUT = (
    kinds.BytesReceived,
    kinds.BytesTyped,
    kinds.SecretTyped,
    kinds.TypedByHand,
    kinds.DeadlineArmed,
    kinds.DeadlinePassed,
    kinds.Heartbeat,
)


def test_it_finds_every_fact_that_reading_finds_but_the_most_frequent_kinds(monkeypatch) -> None:
    whole = read_all(SAMPLE)
    for block_bytes in (4 * 1024 * 1024, 30_000):  # and where lines lie across two blocks
        monkeypatch.setattr(quick_scan, "_BLOCK_BYTES", block_bytes)
        scanned, entries = scan(SAMPLE)
        assert entries == [one for one in whole.entries if not isinstance(one.fact, LEFT_OUT)]
        assert (scanned.end_seq, scanned.end_us) == (whole.entries[-1].seq, whole.entries[-1].at_us)
        some = range(0, len(entries), 37)
        assert list(read_facts(SAMPLE, scanned, some)) == [entries[index] for index in some]


def test_damaged_lines_are_left_out_and_the_others_found(tmp_path) -> None:
    chance = random.Random(7)
    lines = SAMPLE.read_bytes().splitlines(keepends=True)
    whole = read_all(SAMPLE).entries
    for _ in range(10):
        broken = set(chance.sample(range(1, len(lines)), 40))
        path = tmp_path / "broken.exhibit"
        path.write_bytes(
            b"".join(b"\0" * 40 + b"\n" if n in broken else line for n, line in enumerate(lines))
        )
        _, entries = scan(path)
        assert entries == [
            one for one in whole if one.seq - 1 not in broken and not isinstance(one.fact, LEFT_OUT)
        ]


def test_a_line_without_end_costs_no_memory_and_no_time(tmp_path) -> None:
    path = tmp_path / "long.exhibit"
    with path.open("wb") as file:
        file.write(SAMPLE.read_bytes()[:100_000])
        file.seek(100_000 + 300 * codec.MAX_LINE_BYTES)  # a gap that takes no room on the disc
        file.write(b"x")
    scanned, entries = scan(path)
    assert entries
    assert scanned.end_us > 0


def test_numbers_and_times_that_go_back_are_left_out(tmp_path) -> None:
    lines, crc = [], codec.FIRST_CRC
    note = kinds.NoteMade(kind="note", by="docent 1", digest="a")
    for seq, at_us, fact in [
        (1, 0, msgspec.structs.replace(an_opening(), format=codec.FORMAT)),
        (2, 5, note),
        (9, 3, note),
        (2, 6, note),
        (3, 7, note),
    ]:
        line, crc = codec.encode_line(kinds.Entry(seq, at_us, fact), crc)
        lines.append(line)
    path = tmp_path / "back.exhibit"
    path.write_bytes(b"".join(lines))
    assert [one.seq for one in scan(path)[1]] == [1, 2, 3]


def test_times_with_bytes_are_busy_and_heartbeats_alone_are_not(tmp_path) -> None:
    beats = [
        (kinds.Heartbeat(wall="2026-11-25T09:30:00+01:00"), second * 2 * S_US) for second in range(1, 901)
    ]
    came = [(kinds.BytesReceived(bytes="TIDE", first_us=t - 1), t) for t in (61 * S_US, 1201 * S_US)]
    path = a_recording(tmp_path, sorted([*beats, *came], key=lambda one: one[1]))
    spans = busy_spans(path, scan(path)[0])
    assert any(a <= 61 * S_US <= b for a, b in spans)
    assert any(a <= 1201 * S_US <= b for a, b in spans)
    assert not any(a < 20 * MIN_US - 2 * S_US and b > 62 * S_US for a, b in spans if b > a)


def test_without_heartbeats_the_lines_themselves_are_looked_at(tmp_path) -> None:
    came = [(kinds.BytesReceived(bytes="TIDE", first_us=t), t) for t in range(0, 3600 * S_US, 600 * S_US)]
    path = a_recording(tmp_path, came)
    spans = busy_spans(path, scan(path)[0])
    assert all(b - a <= S_US for a, b in spans)
    assert {t for _, t in came} <= {a for a, _ in spans}
