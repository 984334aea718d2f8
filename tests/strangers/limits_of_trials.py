"""A watchdog and a limit of memory for what is tried with a stranger's files."""

from __future__ import annotations

import resource
import signal
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from exhibit.facts.errors import ExhibitError

LONGEST_S = 1.0
"""No input may take longer than this."""
WAITING_S = 60.0
"""Nor may anything wait, as for a pipe into which nobody writes; but this computer may be busy."""
MOST_BYTES = 500_000_000
"""No command may take more memory than this."""


class Hangs(BaseException):
    """Raised in the middle of what takes too long; nothing catches it by accident."""


@contextmanager
def watched(longest_s: float = LONGEST_S) -> Iterator[None]:
    """Raises Hangs if the block takes more processor time than this: other programs don't count."""

    def too_long(*_: object) -> None:
        raise Hangs

    before = {number: signal.signal(number, too_long) for number in (signal.SIGPROF, signal.SIGALRM)}
    signal.setitimer(signal.ITIMER_PROF, longest_s)
    signal.setitimer(signal.ITIMER_REAL, WAITING_S)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.setitimer(signal.ITIMER_REAL, 0)
        for number, handler in before.items():
            signal.signal(number, handler)


def what_goes_wrong(do: Callable[[], object], longest_s: float = LONGEST_S) -> str:
    """What is wrong with how `do` ends; "" if it ends well or with three sentences."""
    began_s = time.process_time()
    try:
        with watched(longest_s):
            do()
    except ExhibitError as error:
        if not all(0 < len(sentence) < 5000 for sentence in (error.what, error.why, error.do)):
            return f"sentences that nobody would read: {error!r:.300}"
    except Hangs:
        return "hangs: " + _where()
    except MemoryError:
        return "takes too much memory: " + _where()
    except Exception as error:
        return f"{type(error).__name__}: {str(error)[:100]}: {_where()}"
    took_s = time.process_time() - began_s
    return f"takes {took_s:.1f} s" if took_s > longest_s else ""


def _where() -> str:
    frames = traceback.extract_tb(__import__("sys").exc_info()[2])
    own = [frame for frame in frames if "/exhibit/" in frame.filename and "/tests/" not in frame.filename]
    return " < ".join(f"{f.filename.rpartition('/exhibit/')[2]}:{f.lineno}" for f in own[::-1][:4])


def limit_memory(most_bytes: int = MOST_BYTES) -> None:
    """Let this process take this much more memory than it has now."""
    with open("/proc/self/statm") as file:
        now_bytes = int(file.read().split()[0]) * resource.getpagesize()
    resource.setrlimit(
        resource.RLIMIT_AS, (now_bytes + most_bytes, resource.getrlimit(resource.RLIMIT_AS)[1])
    )
