"""What an engineer waits for: the first reading of a long day, a search, a line a day, years of machines.

    python -m tests.benchmarks.bench_records [HOURS]

It makes a day flat out at 9600 baud (8 hours unless told otherwise), folders of 10 and of 1,000 recordings,
200 days of 40 rounds, and tables as 100 days each of twenty machines give them. All of it is invented.
Seconds of one run on one computer; beside each is what is aimed at. Nothing here passes or fails.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from typing import Any

from exhibit.records.index.asking import Index
from exhibit.records.index.rows import StepRow
from exhibit.records.index.storing import NAME
from exhibit.records.years.asking import ask
from exhibit.records.years.library import connect
from exhibit.records.years.queries import QUERIES
from exhibit.records.years.tables import TABLES, columns
from tests.benchmarks.bench_recording import make_day
from tests.records.index.written import received, script, write

DAYS, ROUNDS = 200, 40
MACHINES, DAYS_OF_EACH = 20, 100
FIRST = date(2026, 1, 5)


def took_s(work: Callable[[], Any]) -> float:
    began_s = time.perf_counter()
    work()
    return time.perf_counter() - began_s


def said(what: str, seconds: float, aim: str = "") -> None:
    print(f"  {what:<58} {seconds:8.3f} s{f'   (aim {aim})' if aim else ''}", flush=True)


def one_long_day(folder: Path, hours: float) -> None:
    path, facts, _ = make_day(folder, hours)
    print(f"one recording of {hours:g} h at 9600 baud: {path.stat().st_size / 1e6:.0f} MB, {facts} facts")
    said("reading it for the index, once", took_s(partial(opened, folder)))
    print(f"  the index has {(folder / NAME).stat().st_size / 1e6:.0f} MB")
    said("opening the index", took_s(partial(opened, folder)))
    with Index.open(folder) as index:
        for what, how in {
            "search all: a text that is there once": {"text": "made for a bench"},
            "search all: a text that is nowhere": {"text": "walrus"},
            "search all: two letters": {"text": "zq"},
            "search all: a pattern": {"pattern": r"9{4}\d HIGH"},
            "search all: the first 1,000 of a text in every line": {"text": "high water", "most": 1000},
            "search all: every line of a kind": {"kind": ["recording_closed"]},
        }.items():
            said(what, took_s(partial(found, index, how)), "<= 1.5")


def opened(folder: Path) -> None:
    Index.open(folder).close()


def found(index: Index, how: dict[str, Any]) -> int:
    return len(list(index.find(**how)))


def small(folder: Path, count: int) -> None:
    for number in range(count):
        wall = f"{FIRST + timedelta(days=number)}T09:00:00+00:00"
        write(
            folder / f"{number}.exhibit",
            received("HELLO\r\n", 1),
            *script("round", 1, 2, ("add", 2)),
            wall=wall,
        )


def many(folder: Path) -> None:
    print("folders of few and of many recordings")
    taken: dict[int, list[float]] = {}
    for count in (10, 1000):
        place = folder / f"{count}"
        place.mkdir()
        small(place, count)
        first_s = took_s(partial(opened, place))
        said(f"{count:>5}: reading all for the index, once", first_s)
        again_s = min(took_s(partial(opened, place)) for _ in range(5))
        with Index.open(place) as index:
            find_s = min(took_s(partial(found, index, {"text": "hello", "most": 10})) for _ in range(5))
            days_s = min(took_s(index.days) for _ in range(5))
        taken[count] = [again_s, find_s, days_s]
        for what, seconds in zip(
            ("opening", "ten lines of a text", "a line a day"), taken[count], strict=True
        ):
            said(f"{count:>5}: {what}", seconds)
    more_s = sum(taken[1000][:2]) - sum(taken[10][:2])
    print(f"  a thousand cost {more_s * 1000:.0f} ms more than ten, opening and finding")


def season(folder: Path) -> None:
    steps = [(f"step-{number}", 2.0 + number / 10) for number in range(12)]
    for number in range(DAYS):
        facts: list[Any] = []
        for round_ in range(1, ROUNDS + 1):
            facts += script("round", round_, round_ * 600, *steps)
        write(folder / f"{number}.exhibit", *facts, wall=f"{FIRST + timedelta(days=number)}T09:00:00+00:00")
    print(f"{DAYS} days of {ROUNDS} rounds of {len(steps)} steps")
    said("reading all for the index, once", took_s(partial(opened, folder)))
    said("exhibit days: opening, and a line a day", took_s(lambda: Index.open(folder).days()), "<= 5")
    with Index.open(folder) as index:
        said("one step's times, for a chart", took_s(lambda: index.rows(StepRow, step="step-7")), "<= 5")
        said("all steps' times", took_s(lambda: index.rows(StepRow)), "<= 5")


ROWS = {
    "recordings": 1,
    "days": 1,
    "scripts": 42,
    "steps": 42 * 25,
    "troubles": 3,
    "readings": 3000,
    "disc_errors": 4,
    "transfers": 3,
    "exercisers": 40,
    "parts": 8,
}
"""How many rows a day of a machine has; the other tables are small."""
MADE = {
    "script": "CASE WHEN n % 42 = 0 THEN 'opening' ELSE 'round' END",
    "step": "'step-' || (n % 25)",
    "outcome": "CASE WHEN hash(n, m, d) % 50 = 0 THEN 'failed' ELSE 'done' END",
    "took_us": "CAST(2000000 + hash(n, m, d) % 900000 + 20000 * (n % 25) * d / 10 AS BIGINT)",
    "overdue": "CAST(hash(n, d) % 40 = 0 AS BIGINT)",
    "on_s": "(hash(n, m, d) % 30000)::DOUBLE",
    "trouble": "'trouble-' || (hash(n, m, d) % 9)",
    "part": "'drive-' || (n % 4)",
    "by": "'board.disc-errors'",
    "count": "1",
    "recorded_s": "28000.0",
    "script_s": "26000.0",
    "ran_s": "600.0 + hash(n, m, d) % 900",
    "rounds": "40",
    "rounds_done": "39",
    "value": "(hash(n, m, d) % 1000)::DOUBLE",
    "name": "'reading-' || (n % 6)",
    "text": "'' || (hash(n, m, d) % 1000)",
    "part_s": "'{}'",
}
_EMPTY = {"VARCHAR": "''", "BIGINT": "n", "DOUBLE": "0.0", "BOOLEAN": "false"}


def tables(folder: Path) -> int:
    """Tables as the export would write them, a file for each machine. Returns how many rows they have."""
    total = 0
    with connect() as database:
        for table, rows in ROWS.items():
            (folder / table).mkdir()
            whose = {
                "machine": "'machine-' || m",
                "simulated": "false",
                "day": f"DATE '{FIRST}' + CAST(d AS INTEGER)",
                "month": f"left(CAST(DATE '{FIRST}' + CAST(d AS INTEGER) AS VARCHAR), 7)",
            }
            made = {
                name: whose.get(name) or MADE.get(name) or _EMPTY[kind]
                for name, kind in columns(TABLES[table]).items()
            }
            chosen = ", ".join(
                f'CAST({value} AS {columns(TABLES[table])[name]}) AS "{name}"' for name, value in made.items()
            )
            for machine in range(MACHINES):
                to = folder / table / f"machine-{machine}.parquet"
                database.execute(
                    f"COPY (SELECT {chosen} FROM range({rows}) AS rows(n), range({DAYS_OF_EACH}) AS days(d), "
                    f"(SELECT {machine} AS m)) TO '{to}' (FORMAT parquet, COMPRESSION zstd)"
                )
            total += rows * DAYS_OF_EACH * MACHINES
    return total


def many_machines(folder: Path) -> None:
    total = tables(folder)
    size_mb = sum(path.stat().st_size for path in folder.rglob("*.parquet")) / 1e6
    print(f"{DAYS_OF_EACH} days each of {MACHINES} machines: {total} rows in {size_mb:.0f} MB of tables")
    for memory in ("512MB", "128MB"):
        taken = {query: took_s(partial(ask, folder, query, memory)) for query in QUERIES}
        for query, seconds in taken.items():
            said(f"exhibit years --about {query}, within {memory}", seconds, "<= 10")
        said(f"all of them, within {memory}", sum(taken.values()), "<= 10")


def main() -> None:
    hours = float(sys.argv[1]) if len(sys.argv) > 1 else 8.0
    for work in (many, season, partial(one_long_day, hours=hours), many_machines):
        with tempfile.TemporaryDirectory() as name:
            work(Path(name))
    largest_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"the largest this process has been: {largest_mb:.0f} MB")


if __name__ == "__main__":
    main()
