"""A machine with an audience beyond the museum, while its workers are killed and Redis is started again.

    python -m tests.trials.hosted [FOLLOWERS [SECONDS]]        by default 5000 for 120 s

A recording that this process writes, a relay, a real Redis with TLS and its two users, three workers at one
port, and followers in a process of their own. Every ten seconds one of the workers is killed, and halfway
Redis is started again. Prints what each follower's captions were late, and what it all costs the processors.
"""

from __future__ import annotations

import json
import os
import signal
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.benchmarks.bench_followers import Written, cpu_s, percentile, write_for
from tests.relay.processes import Process, Served, exhibit
from tests.relay.redis_here import RedisHere, redis_here

WORKERS = 3
KILL_EVERY_S = 10.0
CAPTION_EVERY_S = 4.0
"""As soon as in the demonstration: of its 44 captions, all but one stand for longer. Then another one takes a
caption's place, and nobody gets it any more."""


class Trouble:
    """Kills workers and starts Redis again, in a thread of its own."""

    def __init__(self, page: Process, redis: RedisHere, seconds: float) -> None:
        self.killed = self.restarts = 0
        self._page, self._redis, self._half_s = page, redis, seconds / 2
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._run)

    def __enter__(self) -> Trouble:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def _run(self) -> None:
        began_s = time.monotonic()
        kill_s, known = KILL_EVERY_S, self._page.workers()
        while not self._over.wait(0.05):
            now_s = time.monotonic() - began_s
            living = self._page.workers()
            known = [pid for pid in known if pid in living] + [pid for pid in living if pid not in known]
            if now_s >= kill_s and known:
                os.kill(known[0], signal.SIGKILL)  # the one that has been there longest
                self.killed += 1
                kill_s += KILL_EVERY_S
            if not self.restarts and now_s >= self._half_s:
                self._redis.stop()
                self._redis.start()
                self.restarts += 1


@dataclass
class Result:
    """What came of it."""

    followers: int
    seconds: float
    captions: int
    missed: int
    missed_at: dict[int, int]
    """By the number of the caption: how many missed it."""
    turned_away: list[str]
    late_ms: list[float]
    received_kB_each_s: float
    relayed_kB_each_s: float
    killed: int
    restarts: int
    cores: dict[str, float]

    def __str__(self) -> str:
        half, most = percentile(self.late_ms, 50), percentile(self.late_ms, 99)
        cores = ", ".join(f"{name} {share:.1%}" for name, share in self.cores.items())
        return (
            f"{self.followers} followers for {self.seconds:g} s, {self.killed} workers killed, "
            f"Redis started again {self.restarts} times\n"
            f"  {self.captions} captions, missed by any follower: {self.missed} {self.missed_at or ''}; "
            f"not there: {len(self.turned_away)} {set(self.turned_away) or ''}\n"
            f"  a caption comes: half within {half:.0f} ms, 99 of 100 within {most:.0f} ms, the last "
            f"{max(self.late_ms, default=0):.0f} ms\n"
            f"  a follower gets {self.received_kB_each_s:.2f} kB/s, Redis {self.relayed_kB_each_s:.1f} kB/s; "
            f"of a core: {cores}"
        )


def follow(folder: Path, followers: int, seconds: float, *, trouble: bool = True) -> Result:
    """Play it once."""
    with ExitStack() as stack:
        (folder / "redis").mkdir()
        redis = stack.enter_context(redis_here(folder / "redis"))
        written = Written(folder / "recordings")
        stack.callback(written.writer.abandon)
        page, relay = (
            stack.enter_context(
                exhibit(
                    *(command, f"--{way}", redis.address, "--ca", f"{redis.ca}"),
                    *("--login", f"{redis.login(user)}", *more),
                )
            )
            for command, way, user, more in (
                ("page", "from", "page", ("--port", "0", "--workers", f"{WORKERS}")),
                ("relay", "to", "relay", ("--recordings", f"{folder / 'recordings'}")),
            )
        )
        relay.line("(The relay sends to)")
        at = Served(page.line("visitors' page: (http.*)"))
        arguments = [sys.executable, "-m", "tests.trials.returning", f"{at.port}", "0", f"{followers}"]
        with subprocess.Popen(arguments, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
            assert process.stdout is not None
            assert process.stdout.readline() == "following\n"
            watched = {"relay": relay.process.pid, "redis": redis.process.pid}
            watched |= {f"worker {number}": pid for number, pid in enumerate(page.workers(), 1)}
            got_bytes = len(redis.all_it_ever_got())
            used_s = {name: cpu_s(pid) for name, pid in watched.items()}
            began_s = time.monotonic()
            with ExitStack() as troubled:
                made = troubled.enter_context(Trouble(page, redis, seconds)) if trouble else None
                captions = write_for(written, seconds, CAPTION_EVERY_S)
            took_s = time.monotonic() - began_s
            relayed_bytes = len(redis.all_it_ever_got()) - got_bytes
            cores = {
                name: (cpu_s(pid) - used_s[name]) / took_s
                for name, pid in watched.items()
                if Path(f"/proc/{pid}/stat").exists()
            }
            said = process.communicate("stop\n")[0].splitlines()
        pages: list[dict[str, Any]] = json.loads(said[-1])
        cores["all followers"] = json.loads(said[0]) / took_s
    missed = Counter(number for page in pages for number in set(captions) - set(page["captions"]))
    return Result(
        followers,
        seconds,
        len(captions),
        sum(missed.values()),
        dict(missed),
        [page["gone"] for page in pages if page["gone"]],
        [
            late
            for page in pages
            for late, number in zip(page["late_ms"], page["captions"], strict=True)
            if number > 0
        ],
        statistics.mean(page["received_bytes"] for page in pages) / took_s / 1000,
        relayed_bytes / took_s / 1000,
        made.killed if made else 0,
        made.restarts if made else 0,
        cores,
    )


def main(followers: int = 5000, seconds: float = 120) -> int:
    """Play it and print what came of it."""
    with tempfile.TemporaryDirectory() as folder:
        result = follow(Path(folder), followers, seconds)
    print(result, flush=True)
    return 1 if result.missed or result.turned_away else 0


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
