"""How fast recordings are written, checked, searched, replayed and sought in, and how large a day is.

    python tests/benchmarks/bench_recording.py [HOURS]

It makes a day of console output flat out at 9600 baud through the same pieces, writer and reader that the
software uses (8 hours unless told otherwise), in a folder that it removes again. Ratios are of one run on
one computer; absolute figures are not to be compared between runs. Nothing here passes or fails.
"""

from __future__ import annotations

import json
import os
import random
import sys
import tempfile
import time
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec

from exhibit.decisions.page.views import VIEW_VERSION, View
from exhibit.facts.display import Display
from exhibit.facts.kinds import BytesReceived, Heartbeat, RecordingOpened
from exhibit.streams.keyframes import Keyframes
from exhibit.streams.pieces import PieceKeeper
from exhibit.streams.player import AS_FAST_AS_POSSIBLE, Player
from exhibit.streams.recording import RecordingWriter, find_time, read, read_all

BYTES_PER_S = 960
ROUNDS = 5
CHECKED_BYTES = 30_000_000


def opening() -> RecordingOpened:
    return RecordingOpened(
        format=0,
        how_to_read="",
        software="benchmark",
        machine="whimbrel",
        title={"en": "The Whimbrel"},
        parts={},
        languages={"en": "English"},
        machine_is="simulated",
        typing="nothing",
        rate=1.0,
        wall="2026-11-25T09:30:00+00:00",
        line="none",
        eighth_bit="drop",
        parity="none",
        display=Display(),
        digests={},
        previous_file="",
        previous_crc="",
    )


def console_output(chance: random.Random) -> bytes:
    """A minute of printing and of status displays in turn."""
    out = b""
    while len(out) < 60 * BYTES_PER_S:
        for _ in range(40):
            hour, minute = chance.randrange(24), chance.randrange(60)
            out += (
                f"{chance.randrange(99999):05} HIGH WATER {hour:02}:{minute:02} AT SALLOWMOUTH\r\n".encode()
            )
        for _ in range(60):
            row, column = chance.randrange(1, 25), chance.randrange(1, 70)
            out += f"\x1b[{row};{column}H\x1b[7m{chance.randrange(10000):5}\x1b[m".encode()
    return out


def make_day(folder: Path, hours: float) -> tuple[Path, int, float]:
    """Record so many hours; give the file, the number of facts, and the seconds that it took."""
    writer = RecordingWriter(folder, opening())
    keeper = PieceKeeper(1_000_000 / BYTES_PER_S)
    output = console_output(random.Random(9600))
    began_s = time.perf_counter()
    at_us = 0
    # Two bytes at a time, as a reader thread would bring them.
    for number in range(0, int(hours * 3600 * BYTES_PER_S), 2):
        at_us = number * 1_000_000 // BYTES_PER_S
        if piece := keeper.take_due(at_us):
            writer.append(piece.fact, piece.at_us)
        where = number % (len(output) - 1)
        for piece in keeper.add(output[where : where + 2], at_us):
            writer.append(piece.fact, piece.at_us)
        if number % (2 * BYTES_PER_S) == 0:
            writer.append(Heartbeat(wall="2026-11-25T17:30:00.123456+00:00"), at_us)
    last = writer.close("made for a benchmark", at_us)
    return writer.path, last.seq, time.perf_counter() - began_s


def best_s(work: Callable[[], Any], rounds: int = ROUNDS) -> float:
    taken = []
    for _ in range(rounds):
        began_s = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began_s)
    return min(taken)


def checked_with(decode: Callable[[bytes], Any], content: list[bytes]) -> None:
    """The same checksums, and the line decoded without types."""
    crc = b"00000000"
    for line in content:
        if line[-11:-3] != b"%08x" % zlib.crc32(line[:-19], zlib.crc32(crc)):
            raise ValueError("damaged")
        crc = line[-11:-3]
        decode(line)


def checking(path: Path, folder: Path) -> None:
    part = folder / "part"
    lines = path.read_bytes()[:CHECKED_BYTES].splitlines(keepends=True)[:-1]
    part.write_bytes(b"".join(lines))
    ours_s = best_s(lambda: read_all(part))
    json_s = best_s(lambda: checked_with(json.loads, lines), 3)
    untyped_s = best_s(lambda: checked_with(msgspec.json.decode, lines))
    sums_s = best_s(lambda: checked_with(lambda line: None, lines))
    print(f"checking {part.stat().st_size / 1e6:.0f} MB, {len(lines)} facts, each line checked and decoded")
    print(f"  as facts, the reader itself   {ours_s:6.2f} s   {len(lines) / ours_s:9,.0f} facts/s")
    print(f"  json, dictionaries            {json_s:6.2f} s   {json_s / ours_s:.2f} x the reader")
    print(f"  msgspec, dictionaries         {untyped_s:6.2f} s   {untyped_s / ours_s:.2f} x the reader")
    print(f"  the checksums alone           {sums_s:6.2f} s   {sums_s / ours_s:.2f} x the reader")


def appending(folder: Path) -> None:
    fact = BytesReceived(bytes="x" * 38, first_us=10**10)
    count = 20_000
    writer = RecordingWriter(folder / "by thread", opening())
    by_thread_s = best_s(lambda: [writer.append(fact, 0) for _ in range(count)]) / count
    writer.abandon()
    writer = RecordingWriter(folder / "never", opening(), sync_every_s=3600.0)
    never_s = best_s(lambda: [writer.append(fact, 0) for _ in range(count)]) / count
    each_s = best_s(lambda: [(writer.append(fact, 0), os.fdatasync(writer._fd)) for _ in range(200)], 2) / 200
    worst_s = max(best_s(lambda: writer.append(fact, 0), 1) for _ in range(count))
    writer.abandon()
    print("appending a piece of 38 bytes")
    print(f"  synced by its thread          {by_thread_s * 1e6:6.1f} us  {1 / by_thread_s:9,.0f} facts/s")
    print(f"  never synced                  {never_s * 1e6:6.1f} us  {never_s / by_thread_s:.2f} x")
    print(f"  synced after each             {each_s * 1e6:6.1f} us  {each_s / by_thread_s:.0f} x")
    print(f"  the longest of {count}          {worst_s * 1e6:6.1f} us")


def finding(path: Path, hours: float) -> None:
    chance = random.Random(1)
    times_us = [chance.randrange(int(hours * 3.6e9)) for _ in range(200)]
    taken = [best_s(lambda at_us=at_us: find_time(path, at_us), 1) for at_us in times_us]
    target_us = max(times_us)
    linear_s = best_s(lambda: next(item for item in read(path) if item.at_us >= target_us), 1)
    print(f"finding a time in {path.stat().st_size / 1e6:.0f} MB")
    print(
        f"  by bisecting                  {sorted(taken)[100] * 1e3:6.2f} ms  worst {max(taken) * 1e3:.2f} ms"
    )
    print(f"  by reading up to it           {linear_s * 1e3:6.0f} ms  {linear_s / sorted(taken)[100]:,.0f} x")


def seeking(path: Path, cache: Path, seq: int) -> None:
    build_s = best_s(lambda: Keyframes(path, View, VIEW_VERSION, cache).seek(seq=sys.maxsize), 1)
    (kept,) = cache.iterdir()
    chance = random.Random(2)
    frames = Keyframes(path, View, VIEW_VERSION, cache)
    open_s = best_s(lambda: Keyframes(path, View, VIEW_VERSION, cache))
    taken = sorted(best_s(lambda: frames.seek(seq=chance.randrange(seq)), 1) for _ in range(100))
    print("seeking with the visitor page's view")
    print(f"  making all keyframes          {build_s:6.2f} s   {kept.stat().st_size / 1e6:.2f} MB of cache")
    print(f"  opening them                  {open_s * 1e3:6.1f} ms")
    print(f"  a seek, half below            {taken[50] * 1e3:6.1f} ms  (aim <= 60)")
    print(f"  the longest of 100            {taken[-1] * 1e3:6.1f} ms")


def replaying(path: Path, hours: float) -> None:
    def play(view: View | None) -> None:
        player = Player(path, AS_FAST_AS_POSSIBLE)
        player.resume(0)
        while entries := player.due(0):
            if view is not None:
                for entry in entries:
                    view.apply(entry)
        player.close()

    alone_s, shown_s = best_s(lambda: play(None), 1), best_s(lambda: play(View()), 1)
    print(f"replaying {hours:g} hours as fast as possible")
    print(f"  handed out only               {alone_s:6.2f} s   {hours * 3600 / alone_s:9,.0f} x real time")
    print(
        f"  shown to a visitor's view     {shown_s:6.2f} s   {hours * 3600 / shown_s:9,.0f} x (aim >= 3,000)"
    )


def main() -> None:
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else 8.0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path, seq, made_s = make_day(folder / "recordings", hours)
        size_bytes = path.stat().st_size
        print(f"{hours:g} hours flat out at 9600 baud: {seq} facts, made in {made_s:.1f} s")
        print(
            f"  {size_bytes / 1e6:.1f} MB, so {size_bytes * 8 / hours / 1e6:.1f} MB for 8 hours (at most 150)"
        )
        print(f"  {size_bytes / (hours * 3600 * BYTES_PER_S):.2f} x the bytes that were received")
        appending(folder)
        checking(path, folder)
        finding(path, hours)
        replaying(path, hours)
        seeking(path, folder / "cache", seq)


if __name__ == "__main__":
    main()
