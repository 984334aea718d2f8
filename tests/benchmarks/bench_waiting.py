"""How fast a prompt is waited for in much output, beside pexpect, and the worst time for a single byte.

    python -m tests.benchmarks.bench_waiting

Ours is the whole of the decisions: cutting sequences, the screen, known lines, prompts, displays.
pexpect only searches. Ratios are of one run on one computer. Nothing here passes or fails.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable

import msgspec
import pexpect.fdpexpect

from exhibit.decisions.machine.pattern import Pattern
from exhibit.decisions.machine.script import Folder
from exhibit.folder.whole import read_folder
from exhibit.web.places import scripts_folder
from tests.benchmarks.bench_recording import opening
from tests.decisions.deciders import decider_for

LINE = b"TIDE 00417 HIGH WATER 06:12 4.31 M  LOW WATER 12:25 0.87 M\r\n"
PROMPT = b"NO DESK: "
PIECE_BYTES = 64
BYTES_ALONE = 100_000
SIZES_BYTES = (50_000, 100_000, 200_000, 400_000)


def ours_s(size_bytes: int) -> float:
    decider = decider_for(read_folder(scripts_folder() / "whimbrel"), opening())
    output = LINE * (size_bytes // len(LINE)) + PROMPT
    began_s = time.perf_counter()
    for start in range(0, len(output), PIECE_BYTES):
        decider.received(output[start : start + PIECE_BYTES], start)
    return time.perf_counter() - began_s


def pexpect_s(size_bytes: int, window: int | None) -> float:
    output = LINE * (size_bytes // len(LINE)) + PROMPT
    read_fd, write_fd = os.pipe()

    def write() -> None:
        for start in range(0, len(output), PIECE_BYTES):
            os.write(write_fd, output[start : start + PIECE_BYTES])
        os.close(write_fd)

    child = pexpect.fdpexpect.fdspawn(read_fd, maxread=PIECE_BYTES, searchwindowsize=window, timeout=600)
    writer = threading.Thread(target=write)
    writer.start()
    began_s = time.perf_counter()
    child.expect_exact(PROMPT)
    took_s = time.perf_counter() - began_s
    writer.join()
    os.close(read_fd)
    return took_s


def growing(name: str, take_s: Callable[[int], float]) -> list[float]:
    times_s = [take_s(size_bytes) for size_bytes in SIZES_BYTES]
    rows = "  ".join(
        f"{size_bytes / took_s / 1e6:7.2f}" for size_bytes, took_s in zip(SIZES_BYTES, times_s, strict=True)
    )
    print(f"  {name:34} {rows}   time grew {times_s[-1] / times_s[0]:5.1f} x")
    return times_s


def single_bytes() -> None:
    decider = decider_for(read_folder(scripts_folder() / "whimbrel"), opening())
    output = LINE * 500 + b"\x1b[24;1H" * 20 + b"\x1b[2J" * 20 + PROMPT
    times_us = []
    for at_us, byte in enumerate(output):
        began_ns = time.thread_time_ns()
        decider.received(bytes((byte,)), at_us)
        times_us.append((time.thread_time_ns() - began_ns) / 1000)
    times_us.sort()
    # Of processor time: what else the computer was doing doesn't count.
    print(
        f"single bytes: median {times_us[len(times_us) // 2]:.0f} us, "
        f"99.9 % {times_us[int(len(times_us) * 0.999)]:.0f} us, worst {times_us[-1]:.0f} us"
    )


def many_prompts(count: int) -> Folder:
    """The demonstration's folder with so many prompts: its own, and made-up ones that end as prompts do."""
    folder = read_folder(scripts_folder() / "whimbrel")
    known = folder.machine.prompts
    more = [
        msgspec.structs.replace(known[0], name=f"made-{number}", pattern=Pattern(f"BENCH {number} ASKS:"))
        for number in range(count - len(known))
    ]
    return msgspec.structs.replace(
        folder, machine=msgspec.structs.replace(folder.machine, prompts=[*known, *more])
    )


def byte_by_byte_s(folder: Folder) -> float:
    """Processor time for BYTES_ALONE of output, each byte for itself, as a bridge feeds at low speeds."""
    decider = decider_for(folder, opening())
    output = LINE * (BYTES_ALONE // len(LINE)) + PROMPT
    began_s = time.process_time()
    for at_us, byte in enumerate(output):
        decider.received(bytes((byte,)), at_us)
    return time.process_time() - began_s


def prompts() -> None:
    few = len(read_folder(scripts_folder() / "whimbrel").machine.prompts)
    folders = {count: many_prompts(count) for count in (few, 100, 1000)}
    took_s = {count: min(byte_by_byte_s(folder) for _ in range(3)) for count, folder in folders.items()}
    for count, best_s in took_s.items():
        print(
            f"byte by byte, {count} prompts: {BYTES_ALONE / best_s / 1e6:.3f} MB/s, "
            f"{best_s / took_s[few]:.2f} x the time of {few}"
        )


def main() -> None:
    sizes = ", ".join(f"{size_bytes // 1000} kB" for size_bytes in SIZES_BYTES)
    print(f"MB/s for outputs of {sizes}, the prompt at their end, in pieces of {PIECE_BYTES} bytes")
    ours = growing("exhibit, all decisions", ours_s)
    window = growing("pexpect, searchwindowsize=2000", lambda size_bytes: pexpect_s(size_bytes, 2000))
    plain = growing("pexpect, as it comes", lambda size_bytes: pexpect_s(size_bytes, None))
    print(f"  the output grew {SIZES_BYTES[-1] / SIZES_BYTES[0]:.0f} x")
    print(f"  pexpect takes {plain[-1] / ours[-1]:.2f} x our time as it comes, ", end="")
    print(f"{window[-1] / ours[-1]:.2f} x with a window, for the longest output")
    single_bytes()
    prompts()


if __name__ == "__main__":
    main()
