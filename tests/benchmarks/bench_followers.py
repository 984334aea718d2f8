"""How many visitors' phones the web process bears, how late they are told, and whether one misses a caption.

    python -m tests.benchmarks.bench_followers [SECONDS] [COUNT ...]      by default 60 s with 500

A real web process follows a recording that this one writes: the console prints at 2400 baud, a status
display is read every five seconds, and a new caption comes every two and a half. The phones are in a
process of their own (tests/benchmarks/followers.py); the first page of them is the screen beside the
machine and asks for the console. Ask for 600 seconds for the ten minutes of the promise: no caption is
missed by any page.
Aims: the screen beside the machine within 100 ms at 500 phones, 99 of 100 captions within 150 ms.
"""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from exhibit.facts import kinds
from tests.pages import made_facts, web_processes

PRINT_EVERY_S = 0.04
READ_EVERY_S = 5.0
CAPTION_EVERY_S = 2.5


class Written:
    """A recording that goes on after the made day."""

    def __init__(self, folder: Path) -> None:
        self.writer = made_facts.begin(folder)
        for at_s, fact in made_facts.a_day():
            self.last_us = int(at_s * 1e6)
            if not isinstance(fact, kinds.CaptionShown):
                self.writer.append(fact, self.last_us)
        first = kinds.CaptionShown(
            caption="c", kind="seen", words={"en": "-1 0"}, part="processor", because=[1], source={}
        )
        self.writer.append(first, self.last_us)


def write_for(written: Written, seconds: float) -> list[int]:
    """Facts as a machine gives them, at their times. Gives the numbers of the captions told."""
    begun_s = time.monotonic()
    printed_s = read_s = told_s = 0.0
    captions: list[int] = []
    while (now_s := time.monotonic() - begun_s) < seconds:
        at_us = written.last_us + int(now_s * 1e6)
        stamp = f"T{time.time() * 1000:.0f}\r\n"
        if now_s >= printed_s:
            printed_s += PRINT_EVERY_S
            written.writer.append(kinds.BytesReceived(bytes=stamp, first_us=at_us), at_us)
        if now_s >= read_s:
            read_s += READ_EVERY_S
            for name, value in (
                ("load", int(now_s) % 100),
                ("disc-errors", 0),
                ("lower-transfers", int(now_s) * 40),
            ):
                fact = kinds.ReadingTaken(display="board", frame=2, name=name, value=value)
                written.writer.append(fact, at_us)
        if now_s >= told_s and seconds - now_s > 1.5:
            told_s += CAPTION_EVERY_S
            captions.append(len(captions))
            words = {"en": f"{captions[-1]} {time.time() * 1000:.0f}"}
            written.writer.append(
                kinds.CaptionShown(
                    caption="c", kind="seen", words=words, part="processor", because=[1], source={}
                ),
                at_us,
            )
        time.sleep(0.005)
    return captions


def cpu_s(pid: int) -> float:
    """Processor seconds used so far (proc(5))."""
    fields = Path(f"/proc/{pid}/stat").read_text("ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / 100


def percentile(values: list[float], hundredths: float) -> float:
    return (
        sorted(values)[min(len(values) - 1, int(len(values) * hundredths / 100))] if values else float("nan")
    )


def once(seconds: float, count: int) -> bool:
    """One run. False when a page missed a caption or was turned away."""
    with tempfile.TemporaryDirectory() as name:
        written = Written(Path(name) / "recordings")
        with web_processes.live(Path(name) / "recordings") as web:
            arguments = [
                sys.executable,
                "-m",
                "tests.benchmarks.followers",
                f"{web.port}",
                f"{count + 1}",
                "first",
            ]
            followers = subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
            assert followers.stdin is not None
            assert followers.stdout is not None
            assert followers.stdout.readline() == "following\n"
            used_s, begun_s = cpu_s(web.pid), time.monotonic()
            captions = write_for(written, seconds)
            share = (cpu_s(web.pid) - used_s) / (time.monotonic() - begun_s)
            pages = json.loads(followers.communicate("stop\n")[0])
        written.writer.abandon()
    screen, phones = pages[0], pages[1:]
    late_ms = [
        late
        for page in phones
        for late, number in zip(page["late_ms"], page["captions"], strict=True)
        if number > 0
    ]
    missed = sum(len(set(captions) - set(page["captions"])) for page in pages)
    gone = [page["gone"] for page in pages if page["gone"]]
    sent_kB = statistics.mean(page["received_bytes"] for page in phones) / seconds / 1000
    print(f"{count} phones for {seconds:g} s, {len(captions)} captions, web process {share:.0%} of a core")
    print(
        f"  captions missed by any page: {missed}; pages turned away or lost: {len(gone)} {set(gone) or ''}"
    )
    print(
        f"  a phone is told a caption: half within {percentile(late_ms, 50):.0f} ms, 99 of 100 within "
        f"{percentile(late_ms, 99):.0f} ms (aim <= 150), the last {max(late_ms, default=0):.0f} ms"
    )
    rows_ms = screen["rows_late_ms"]
    print(
        f"  the screen beside the machine is told a row: half within {percentile(rows_ms, 50):.0f} ms, "
        f"99 of 100 within {percentile(rows_ms, 99):.0f} ms (aim <= 100), {len(rows_ms)} times"
    )
    print(
        f"  a phone gets {sent_kB:.2f} kB/s, the screen {screen['received_bytes'] / seconds / 1000:.1f} kB/s",
        flush=True,
    )
    return not missed and not gone


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 60.0
    counts = [int(count) for count in sys.argv[2:]] or [500]
    results = [once(seconds, count) for count in counts]
    sys.exit(0 if all(results) else 1)


if __name__ == "__main__":
    main()
