"""Reads files into rows: one after another, or several at once in processes of their own."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from exhibit.records.index.recording_rows import ReadFile, Row, rows_of_file

Reading = Callable[[str, int, int], None]
"""Called as a file is read: with its name, its place among those to be read (from 1), and their number."""
Named = tuple[str, Path]
"""A file, with its name in the index."""
_Rows = list[Row | ReadFile]


def read_here(files: Sequence[Named], reading: Reading) -> Iterator[tuple[str, Iterable[Row | ReadFile]]]:
    """Each file's rows, which are read while they are taken."""
    for place, (name, path) in enumerate(files, 1):
        reading(name, place, len(files))
        yield name, rows_of_file(name, path)


def read_beside(files: Sequence[Named], reading: Reading) -> Iterator[tuple[str, Iterable[Row | ReadFile]]]:
    """The same in as many processes as there are processors, in the same order.

    At most that many files' rows are in memory. If processes can't be had, the files are read here.
    """
    workers = min(os.cpu_count() or 1, len(files))
    left = deque(files)
    # Not forked: the caller may have threads, or an event loop of its own.
    context = multiprocessing.get_context("spawn")
    under_way: deque[tuple[Named, Future[_Rows]]] = deque()
    with ProcessPoolExecutor(workers, context, initializer=_ignore_interrupts) as pool:
        try:
            for place in range(1, len(files) + 1):
                while left and len(under_way) <= workers:
                    under_way.append((left[0], _begun(pool, left[0])))
                    left.popleft()
                (name, path), rows = under_way.popleft()
                reading(name, place, len(files))
                try:
                    yield name, rows.result()
                except (BrokenProcessPool, OSError):
                    yield name, rows_of_file(name, path)
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def can_start() -> bool:
    """Whether other processes can be started: each looks at the file that this one was started from."""
    started_from = getattr(sys.modules.get("__main__"), "__file__", None)
    return started_from is None or os.path.exists(started_from)


def _begun(pool: ProcessPoolExecutor, file: Named) -> Future[_Rows]:
    try:
        return pool.submit(_all_rows, *file)
    except (BrokenProcessPool, OSError) as error:
        failed: Future[_Rows] = Future()
        failed.set_exception(error)
        return failed


def _all_rows(name: str, path: Path) -> _Rows:
    return list(rows_of_file(name, path))


def _ignore_interrupts() -> None:
    """Ctrl-C ends the process that started this one, and that one ends this."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
