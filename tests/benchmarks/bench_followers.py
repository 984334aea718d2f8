"""How many pages the web process bears, how late they are told, and what an answer costs.

    python -m tests.benchmarks.bench_followers [SECONDS] [CONSOLES+PHONES ...]

Without counts it compares what an answer costs a console and a phone, in the web process's own time, with
what it costs when the library's own layers answer, side by side; 10 s each. Otherwise 60 s unless told
otherwise: "600 1+500" is the ten minutes of the promise, in which no caption is missed by any page.

A real web process follows a recording that this one writes: the console prints at 2400 baud, a status
display is read every five seconds, and a new caption comes every two and a half. The pages are in a process
of their own (tests/benchmarks/followers.py), which is a bound too: its share of a core is printed.
Aims: 99 of 100 rows within 100 ms at 1,000 consoles, 99 of 100 captions within 150 ms at 1,000 phones; an
answer costs at most 60 and 130 us.
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
from tests.pages import made_facts
from tests.pages.web_processes import WebProcess
from tests.web.page_line import memory_kB

PRINT_EVERY_S = 0.04
READ_EVERY_S = 5.0
CAPTION_EVERY_S = 2.5


_WEB = """
from pathlib import Path
from exhibit.web import bounded_connections, website
from tests.benchmarks import library_sockets
if {library}:
    website.PageSockets = library_sockets.LibrarySockets
    # There a page's request lasts as long as the page is open.
    website.Turns = lambda app: app
    bounded_connections.ANSWER_WITHIN_S = 3600
website.serve_live(Path({where!r}), port=0, turn_after_s=3600, ready=lambda said: print(said, flush=True))
"""


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


def write_for(written: Written, seconds: float, caption_every_s: float = CAPTION_EVERY_S) -> list[int]:
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
            told_s += caption_every_s
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


def once(seconds: float, consoles: int, phones: int, library: bool = False) -> tuple[bool, float]:
    """One run. False when a page missed a caption or was turned away; and what an answer cost, in us."""
    with tempfile.TemporaryDirectory() as name:
        written = Written(Path(name) / "recordings")
        web = WebProcess(_WEB.format(where=str(Path(name) / "recordings"), library=library))
        try:
            arguments = [sys.executable, "-m", "tests.benchmarks.followers"]
            arguments += [f"{web.port}", f"{consoles}", f"{phones}"]
            followers = subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
            assert followers.stdin is not None
            assert followers.stdout is not None
            assert followers.stdout.readline() == "following\n"
            used_s, begun_s = cpu_s(web.pid), time.monotonic()
            captions = write_for(written, seconds)
            took_s, used_s = time.monotonic() - begun_s, cpu_s(web.pid) - used_s
            own_s, told = followers.communicate("stop\n")[0].splitlines()
            memory = memory_kB(web.pid)
        finally:
            web.end()
        written.writer.abandon()
    pages = json.loads(told)
    answers = max(1, sum(page["answers"] for page in pages))
    missed = sum(len(set(captions) - set(page["captions"])) for page in pages if not page["gone"])
    gone = [page["gone"] for page in pages if page["gone"]]
    cost_us = used_s / answers * 1e6
    print(
        f"{consoles} consoles and {phones} phones for {seconds:g} s{', by the library' if library else ''}: "
        f"{answers / took_s:,.0f} answers/s, {used_s / took_s:.0%} of a core, {cost_us:.0f} us each, "
        f"{memory / 1000:.0f} MB (the pages' own process: {float(own_s) / took_s:.0%} of a core)"
    )
    print(f"  captions missed by any page: {missed}; turned away or lost: {len(gone)} {set(gone) or ''}")
    for what, some, kind, aim_ms in (
        ("console is told a row", pages[:consoles], "rows_late_ms", 100),
        ("phone is told a caption", pages[consoles:], "late_ms", 150),
    ):
        late_ms = [late for page in some for late in page[kind] if late < seconds * 1000]
        if late_ms:
            sent_kB = statistics.mean(page["received_bytes"] for page in some) / seconds / 1000
            print(
                f"  a {what}: half within {percentile(late_ms, 50):.0f} ms, 99 of 100 within "
                f"{percentile(late_ms, 99):.0f} ms (aim <= {aim_ms}), the last {max(late_ms):.0f} ms; "
                f"each gets {sent_kB:.1f} kB/s"
            )
    sys.stdout.flush()
    return not missed and not gone, cost_us


def compare() -> bool:
    """What an answer costs, and what it costs when the library's own layers answer."""
    good = True
    for what, consoles, phones, aim_us in (("console", 300, 0, 60), ("phone", 0, 300, 130)):
        results = [once(10.0, consoles, phones, library) for library in (True, False)]
        (_, before_us), (all_there, now_us) = results
        good &= all_there
        print(
            f"=> an answer costs a {what} {now_us:.0f} us (aim <= {aim_us} on a good machine), by the "
            f"library {before_us:.0f} us: {now_us / before_us:.2f} of it",
            flush=True,
        )
    return good


def main() -> None:
    if not sys.argv[1:]:
        sys.exit(0 if compare() else 1)
    seconds, counts = 60.0, sys.argv[1:]
    if "+" not in counts[0]:
        seconds = float(counts.pop(0))
    results = [once(seconds, *map(int, count.split("+")))[0] for count in counts or ["1+500"]]
    sys.exit(0 if all(results) else 1)


if __name__ == "__main__":
    main()
